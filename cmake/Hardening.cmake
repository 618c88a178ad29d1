# What Release programs are built with because they read strangers' bytes. Levels and flags that a
# compiler lacks are left out; tests/e2e/package_test.py looks at the packaged programs.
include(CheckCXXCompilerFlag)
include(CheckCXXSourceCompiles)

set(rigproof_hardening -fPIE -fstack-protector-strong)
foreach(flag -fstack-clash-protection -fcf-protection=full)
  string(MAKE_C_IDENTIFIER "RIGPROOF_HAS${flag}" known)
  check_cxx_compiler_flag(${flag} ${known})
  if(${known})
    list(APPEND rigproof_hardening ${flag})
  endif()
endforeach()

# The C library says which level it gives for this compiler.
set(CMAKE_REQUIRED_FLAGS "-O2 -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3")
check_cxx_source_compiles("
  #include <cstdlib>
  #if !defined(__USE_FORTIFY_LEVEL) || __USE_FORTIFY_LEVEL < 3
  #error
  #endif
  int main() {}" RIGPROOF_HAS_FORTIFY_3)
unset(CMAKE_REQUIRED_FLAGS)
if(RIGPROOF_HAS_FORTIFY_3)
  list(APPEND rigproof_hardening -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3)
else()
  list(APPEND rigproof_hardening -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2)
endif()

# Not for tests, which are compiled without optimisation, and fortifying needs it.
set(rigproof_hardened "$<CONFIG:Release>,$<NOT:$<BOOL:$<TARGET_PROPERTY:RIGPROOF_IS_TEST>>>")
target_compile_options(rigproof_options INTERFACE
  "$<$<AND:${rigproof_hardened}>:${rigproof_hardening}>")
target_link_options(rigproof_options INTERFACE
  "$<$<AND:${rigproof_hardened}>:-pie;LINKER:-z,relro;LINKER:-z,now>")
