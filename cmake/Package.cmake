# `cpack -G DEB` in the build folder: a package for the Debian that built it.
set(CPACK_PACKAGE_NAME rigproof)
set(CPACK_PACKAGE_CONTACT "The developers of rigproof <rigproof@localhost>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY ${PROJECT_DESCRIPTION})
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_GENERATOR DEB)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION video)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)  # what the programs load, asked of dpkg
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS "pci.ids, usb.ids")  # names of devices
include(CPack)
