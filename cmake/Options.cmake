# Language, warnings and sanitizers for every target of ours.
add_library(rigproof_options INTERFACE)
target_compile_features(rigproof_options INTERFACE cxx_std_20)
target_include_directories(rigproof_options INTERFACE ${PROJECT_SOURCE_DIR})
target_compile_options(rigproof_options INTERFACE
  -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wold-style-cast
  -Wnon-virtual-dtor -Woverloaded-virtual -Werror
  # GCC 12 sees overlaps in plain string sums (its bug 105651). clang-tidy reads the same
  # commands and does not know that warning; GCC passes over -Wno- of what it does not know.
  $<$<CXX_COMPILER_ID:GNU>:-Wno-unknown-warning-option>
  $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>)
target_link_libraries(rigproof_options INTERFACE Threads::Threads)
if(RIGPROOF_SANITIZE)
  # Instrumented, GCC 12 takes sums in <string> for sizes that they cannot have.
  target_compile_options(rigproof_options INTERFACE
    $<$<CXX_COMPILER_ID:GNU>:-Wno-stringop-overflow>)
  target_compile_options(rigproof_options INTERFACE
    -fsanitize=${RIGPROOF_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(rigproof_options INTERFACE -fsanitize=${RIGPROOF_SANITIZE})
endif()
if(RIGPROOF_FUZZ)
  if(NOT CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
    message(FATAL_ERROR "RIGPROOF_FUZZ needs clang++: its libFuzzer drives the targets")
  endif()
  target_compile_options(rigproof_options INTERFACE -fsanitize=fuzzer-no-link)
endif()
