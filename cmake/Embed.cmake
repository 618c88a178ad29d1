# rigproof_embed(TARGET HEADER NAMESPACE name=file ...): writes HEADER (below
# the target's binary folder) with one `inline constexpr std::string_view name`
# per file, and makes it part of TARGET's build.
function(rigproof_embed target header namespace)
  set(out ${CMAKE_CURRENT_BINARY_DIR}/${header})
  set(files)
  foreach(pair ${ARGN})
    string(REGEX REPLACE "^[^=]+=" "" file ${pair})
    list(APPEND files ${file})
  endforeach()
  add_custom_command(
    OUTPUT ${out}
    COMMAND ${CMAKE_COMMAND} -DOUT=${out} -DNAMESPACE=${namespace} "-DPAIRS=${ARGN}"
            -P ${PROJECT_SOURCE_DIR}/cmake/write_embedded.cmake
    DEPENDS ${files} ${PROJECT_SOURCE_DIR}/cmake/write_embedded.cmake
    VERBATIM)
  target_sources(${target} PRIVATE ${out})
  target_include_directories(${target} PRIVATE ${CMAKE_CURRENT_BINARY_DIR})
endfunction()
