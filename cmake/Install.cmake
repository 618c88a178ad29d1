# Where a Linux user expects the parts: program, the programs that it starts, manual pages.
# profiles/ installs its starters and their schema.
install(TARGETS rigproof RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(TARGETS rigproof_media rigproof_costs rigproof_topology
  RUNTIME DESTINATION ${CMAKE_INSTALL_LIBEXECDIR}/rigproof)
install(FILES LICENSE README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(DIRECTORY docs DESTINATION ${CMAKE_INSTALL_DOCDIR})
