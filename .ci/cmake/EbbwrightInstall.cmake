# Install rules. Headers go to include/ebbwright/, which is on the include path of whoever links Ebbwright::solver, so that
# `#include "solver/..."` reads the same outside as inside.
include(CMakePackageConfigHelpers)

set(package_dir "${CMAKE_INSTALL_LIBDIR}/cmake/Ebbwright")

install(TARGETS ebbwright_solver EXPORT EbbwrightSolverTargets ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}")
install(TARGETS ebbwright_netfiles EXPORT EbbwrightNetfilesTargets ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}")
if(TARGET ebbwright)
    install(TARGETS ebbwright RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}")
endif()

foreach(room IN ITEMS solver netfiles)
    install(DIRECTORY "${PROJECT_SOURCE_DIR}/${room}/" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/ebbwright/${room}"
            FILES_MATCHING PATTERN "*.h")
endforeach()
install(FILES "${PROJECT_BINARY_DIR}/generated/solver/version.h" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/ebbwright/solver")

install(EXPORT EbbwrightSolverTargets NAMESPACE Ebbwright:: DESTINATION "${package_dir}")
install(EXPORT EbbwrightNetfilesTargets NAMESPACE Ebbwright:: DESTINATION "${package_dir}")

configure_package_config_file("${PROJECT_SOURCE_DIR}/.ci/cmake/EbbwrightConfig.cmake.in"
    "${PROJECT_BINARY_DIR}/EbbwrightConfig.cmake" INSTALL_DESTINATION "${package_dir}")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/EbbwrightConfigVersion.cmake" COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/EbbwrightConfig.cmake" "${PROJECT_BINARY_DIR}/EbbwrightConfigVersion.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindSuiteSparseParts.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindSundialsCvode.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindClp.cmake"
        DESTINATION "${package_dir}")
