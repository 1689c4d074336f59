# The two parts of SuiteSparse that Ebbwright links: AMD (BSD) and KLU with BTF (LGPL) and COLAMD (BSD).
# Found one by one, by name, so that no GPL part (UMFPACK, SPQR, CHOLMOD's supernodal and modify modules) can come along.
# Makes SuiteSparseParts::AMD and SuiteSparseParts::KLU.

find_path(SuiteSparseParts_INCLUDE_DIR NAMES klu.h PATH_SUFFIXES suitesparse)
foreach(part IN ITEMS amd klu btf colamd suitesparseconfig)
    find_library(SuiteSparseParts_${part}_LIBRARY NAMES ${part})
    list(APPEND suitesparse_parts_variables SuiteSparseParts_${part}_LIBRARY)
endforeach()
mark_as_advanced(SuiteSparseParts_INCLUDE_DIR ${suitesparse_parts_variables})

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(SuiteSparseParts REQUIRED_VARS SuiteSparseParts_INCLUDE_DIR ${suitesparse_parts_variables})

if(SuiteSparseParts_FOUND AND NOT TARGET SuiteSparseParts::KLU)
    foreach(part IN ITEMS amd klu btf colamd suitesparseconfig)
        string(TOUPPER ${part} name)
        add_library(SuiteSparseParts::${name} UNKNOWN IMPORTED)
        set_target_properties(SuiteSparseParts::${name} PROPERTIES
            IMPORTED_LOCATION "${SuiteSparseParts_${part}_LIBRARY}"
            INTERFACE_INCLUDE_DIRECTORIES "${SuiteSparseParts_INCLUDE_DIR}")
    endforeach()
    target_link_libraries(SuiteSparseParts::AMD INTERFACE SuiteSparseParts::SUITESPARSECONFIG)
    target_link_libraries(SuiteSparseParts::COLAMD INTERFACE SuiteSparseParts::SUITESPARSECONFIG)
    target_link_libraries(SuiteSparseParts::BTF INTERFACE SuiteSparseParts::SUITESPARSECONFIG)
    target_link_libraries(SuiteSparseParts::KLU INTERFACE SuiteSparseParts::AMD SuiteSparseParts::BTF SuiteSparseParts::COLAMD)
endif()
