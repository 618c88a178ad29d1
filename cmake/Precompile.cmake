# With RIGPROOF_PCH, the headers that most sources parse again are parsed once a target. Sources name
# what they use all the same: clang-tidy and the plain presets compile them without.
set(RIGPROOF_OFTEN_INCLUDED
  <algorithm> <cmath> <cstdint> <filesystem> <functional> <map> <memory> <optional> <span> <string>
  <string_view> <utility> <vector>)
if(RIGPROOF_PCH)
  # What ccache asks for to keep objects that used a precompiled header.
  add_compile_options(
    $<$<CXX_COMPILER_ID:GNU>:-fpch-preprocess>
    # GCC 12 sees writes past the end in <string> and <vector> once they are precompiled.
    $<$<CXX_COMPILER_ID:GNU>:-Wno-array-bounds>
    $<$<CXX_COMPILER_ID:GNU>:-Wno-stringop-overflow>
    $<$<CXX_COMPILER_ID:GNU>:-Wno-stringop-overread>
    "$<$<CXX_COMPILER_ID:Clang>:SHELL:-Xclang -fno-pch-timestamp>")
endif()

# rigproof_precompile(TARGET): for a library, which must know fmt.
function(rigproof_precompile target)
  if(RIGPROOF_PCH)
    target_precompile_headers(${target} PRIVATE ${RIGPROOF_OFTEN_INCLUDED} <fmt/format.h>)
  endif()
endfunction()
