# Install rules. Headers go to include/ebbwright/, which is on the include path of whoever links Ebbwright::solver, so that
# `#include "solver/..."` reads the same outside as inside.
include(CMakePackageConfigHelpers)

set(package_dir "${CMAKE_INSTALL_LIBDIR}/cmake/Ebbwright")

install(TARGETS ebbwright_solver EXPORT EbbwrightSolverTargets ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT development)
install(TARGETS ebbwright_netfiles EXPORT EbbwrightNetfilesTargets ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT development)
if(TARGET ebbwright)
    install(TARGETS ebbwright RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}" COMPONENT program)
endif()

foreach(room IN ITEMS solver netfiles)
    install(DIRECTORY "${PROJECT_SOURCE_DIR}/${room}/" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/ebbwright/${room}"
            COMPONENT development FILES_MATCHING PATTERN "*.h")
endforeach()
install(FILES "${PROJECT_BINARY_DIR}/generated/solver/version.h" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/ebbwright/solver" COMPONENT development)

install(EXPORT EbbwrightSolverTargets NAMESPACE Ebbwright:: DESTINATION "${package_dir}" COMPONENT development)
install(EXPORT EbbwrightNetfilesTargets NAMESPACE Ebbwright:: DESTINATION "${package_dir}" COMPONENT development)

configure_package_config_file("${PROJECT_SOURCE_DIR}/.ci/cmake/EbbwrightConfig.cmake.in"
    "${PROJECT_BINARY_DIR}/EbbwrightConfig.cmake" INSTALL_DESTINATION "${package_dir}")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/EbbwrightConfigVersion.cmake" COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/EbbwrightConfig.cmake" "${PROJECT_BINARY_DIR}/EbbwrightConfigVersion.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindSuiteSparseParts.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindSundialsCvode.cmake"
              "${PROJECT_SOURCE_DIR}/.ci/cmake/FindClp.cmake"
        DESTINATION "${package_dir}" COMPONENT development)

# ---- what goes with the program: the pages and completions it writes itself, and the documents ----
set(doc_dir "${CMAKE_INSTALL_DATAROOTDIR}/doc/ebbwright")  # by the name of the package, not of the project
set(development_doc_dir "${CMAKE_INSTALL_DATAROOTDIR}/doc/libebbwright-dev")
find_program(EBBWRIGHT_GZIP gzip REQUIRED)
mark_as_advanced(EBBWRIGHT_GZIP)
if(TARGET ebbwright)
    set(written "${PROJECT_BINARY_DIR}/generated/written")
    file(MAKE_DIRECTORY "${written}")
    add_custom_command(OUTPUT "${written}/done"
        COMMAND "${CMAKE_COMMAND}" -E rm -rf "${written}/manual" "${written}/completions"
        COMMAND "${CMAKE_COMMAND}" -E make_directory "${written}/manual" "${written}/completions"
        COMMAND ebbwright --write-manual "${written}/manual"
        COMMAND ebbwright --write-completions "${written}/completions"
        COMMAND sh -c "exec \"$0\" -9n \"$1\"/*.1" "${EBBWRIGHT_GZIP}" "${written}/manual"
        COMMAND "${CMAKE_COMMAND}" -E touch "${written}/done"
        DEPENDS ebbwright COMMENT "The manual pages and completions" VERBATIM)
    add_custom_target(ebbwright_manual ALL DEPENDS "${written}/done")
    install(DIRECTORY "${written}/manual/" DESTINATION "${CMAKE_INSTALL_MANDIR}/man1" COMPONENT program FILES_MATCHING PATTERN "*.1.gz")
    install(FILES "${written}/completions/ebbwright.bash" DESTINATION "${CMAKE_INSTALL_DATAROOTDIR}/bash-completion/completions" RENAME ebbwright
            COMPONENT program)
    install(FILES "${written}/completions/_ebbwright" DESTINATION "${CMAKE_INSTALL_DATAROOTDIR}/zsh/vendor-completions" COMPONENT program)
    install(FILES "${written}/completions/ebbwright.fish" DESTINATION "${CMAKE_INSTALL_DATAROOTDIR}/fish/vendor_completions.d" COMPONENT program)
endif()

file(GLOB documents CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/docs/*.md" "${PROJECT_SOURCE_DIR}/docs/*.xsd")
install(FILES ${documents} DESTINATION "${doc_dir}" COMPONENT program)
install(DIRECTORY "${PROJECT_SOURCE_DIR}/examples/" DESTINATION "${doc_dir}/examples" COMPONENT program FILES_MATCHING PATTERN "*.xml")

# The notices that the licences of what stands in the binaries ask for, word for word from the packages they come from.
configure_file("${PROJECT_SOURCE_DIR}/.ci/cmake/copyright.in" "${PROJECT_BINARY_DIR}/generated/copyright" @ONLY)
foreach(package IN ITEMS libcli11-dev nlohmann-json3-dev libeigen3-dev libboost1.74-dev libjs-d3)
    if(EXISTS "/usr/share/doc/${package}/copyright")
        file(READ "/usr/share/doc/${package}/copyright" notice)
        file(APPEND "${PROJECT_BINARY_DIR}/generated/copyright" "---- ${package} ----\n\n${notice}\n")
    endif()
endforeach()
configure_file("${PROJECT_SOURCE_DIR}/.ci/cmake/changelog.in" "${PROJECT_BINARY_DIR}/generated/changelog" @ONLY)
execute_process(COMMAND "${EBBWRIGHT_GZIP}" -9nkf "${PROJECT_BINARY_DIR}/generated/changelog" COMMAND_ERROR_IS_FATAL ANY)
foreach(component IN ITEMS program development)
    set(folder "${doc_dir}")
    if(component STREQUAL "development")
        set(folder "${development_doc_dir}")
    endif()
    install(FILES "${PROJECT_BINARY_DIR}/generated/copyright" "${PROJECT_BINARY_DIR}/generated/changelog.gz" DESTINATION "${folder}"
            COMPONENT ${component})
endforeach()

if(PROJECT_IS_TOP_LEVEL)
    include(EbbwrightPackage)
endif()
