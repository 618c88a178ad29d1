# Where a Linux user expects the parts: program, costs program, profiles and their schema, papers.
install(TARGETS rigproof RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
if(TARGET rigproof_costs)
  install(TARGETS rigproof_costs RUNTIME DESTINATION ${CMAKE_INSTALL_LIBEXECDIR}/rigproof)
endif()
install(DIRECTORY ${PROJECT_SOURCE_DIR}/profiles/
  DESTINATION ${CMAKE_INSTALL_DATADIR}/rigproof/profiles
  FILES_MATCHING PATTERN "*.json" PATTERN "CMakeFiles" EXCLUDE)
install(FILES LICENSE README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
