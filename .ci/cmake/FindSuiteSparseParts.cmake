# Parts of SuiteSparse, found one by one, by name, so that no GPL part (UMFPACK, SPQR, CHOLMOD's supernodal and modify modules) can
# come along. Components: AMD (BSD), which the solver links, and KLU (LGPL; brings BTF, LGPL, and COLAMD, BSD), a second opinion in the
# tests. Makes SuiteSparseParts::<component>.

set(suitesparse_parts suitesparseconfig)
if("AMD" IN_LIST SuiteSparseParts_FIND_COMPONENTS)
    list(APPEND suitesparse_parts amd)
endif()
if("KLU" IN_LIST SuiteSparseParts_FIND_COMPONENTS)
    list(APPEND suitesparse_parts amd btf colamd klu)
endif()
list(REMOVE_DUPLICATES suitesparse_parts)

find_path(SuiteSparseParts_INCLUDE_DIR NAMES amd.h PATH_SUFFIXES suitesparse)
set(suitesparse_parts_variables SuiteSparseParts_INCLUDE_DIR)
foreach(part IN LISTS suitesparse_parts)
    find_library(SuiteSparseParts_${part}_LIBRARY NAMES ${part})
    list(APPEND suitesparse_parts_variables SuiteSparseParts_${part}_LIBRARY)
    string(TOUPPER ${part} name)
    if(SuiteSparseParts_${part}_LIBRARY)
        set(SuiteSparseParts_${name}_FOUND TRUE)
    endif()
endforeach()
mark_as_advanced(${suitesparse_parts_variables})

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(SuiteSparseParts REQUIRED_VARS ${suitesparse_parts_variables} HANDLE_COMPONENTS)

if(SuiteSparseParts_FOUND)
    foreach(part IN LISTS suitesparse_parts)  # each after what it stands on
        string(TOUPPER ${part} name)
        if(NOT TARGET SuiteSparseParts::${name})
            add_library(SuiteSparseParts::${name} UNKNOWN IMPORTED)
            set_target_properties(SuiteSparseParts::${name} PROPERTIES
                IMPORTED_LOCATION "${SuiteSparseParts_${part}_LIBRARY}"
                INTERFACE_INCLUDE_DIRECTORIES "${SuiteSparseParts_INCLUDE_DIR}")
            if(name STREQUAL "KLU")
                target_link_libraries(SuiteSparseParts::KLU INTERFACE SuiteSparseParts::AMD SuiteSparseParts::BTF SuiteSparseParts::COLAMD)
            elseif(NOT name STREQUAL "SUITESPARSECONFIG")
                target_link_libraries(SuiteSparseParts::${name} INTERFACE SuiteSparseParts::SUITESPARSECONFIG)
            endif()
        endif()
    endforeach()
endif()
