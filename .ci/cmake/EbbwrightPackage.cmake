# `cpack -G DEB` in the build folder: a package of the program and one of the library's headers and archives.
set(CPACK_GENERATOR "DEB;TGZ")
set(CPACK_PACKAGE_NAME "ebbwright")
set(CPACK_PACKAGE_VENDOR "Ebbwright")
set(CPACK_PACKAGE_CONTACT "Ebbwright packaging <packaging@ebbwright.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "${PROJECT_DESCRIPTION}")
set(CPACK_PACKAGING_INSTALL_PREFIX "/usr")
set(CPACK_STRIP_FILES ON)
set(CPACK_COMPONENTS_ALL program development)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)

set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME "ebbwright")
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION "science")
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION "Finds flows, levels, turnover and pump duty of a farm written as an XML file,
follows its routines in time, and chooses pumps, pipes and valve openings.")

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME "libebbwright-dev")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION "libdevel")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
    "libsuitesparse-dev, libsundials-dev, coinor-libclp-dev, libpugixml-dev, libfmt-dev")
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION "The library: headers, static libraries and the CMake package, to solve the
hydraulics of a farm from a program of one's own.")
include(CPack)
