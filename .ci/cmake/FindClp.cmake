# The linear programming code Clp of COIN-OR (EPL-1.0), by its C interface. Makes Clp::clp.
find_path(Clp_INCLUDE_DIR NAMES Clp_C_Interface.h PATH_SUFFIXES coin)
find_library(Clp_LIBRARY NAMES Clp)
find_library(Clp_utils_LIBRARY NAMES CoinUtils)
mark_as_advanced(Clp_INCLUDE_DIR Clp_LIBRARY Clp_utils_LIBRARY)

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(Clp REQUIRED_VARS Clp_LIBRARY Clp_utils_LIBRARY Clp_INCLUDE_DIR)

if(Clp_FOUND AND NOT TARGET Clp::clp)
    add_library(Clp::clp UNKNOWN IMPORTED)
    set_target_properties(Clp::clp PROPERTIES
        IMPORTED_LOCATION "${Clp_LIBRARY}" INTERFACE_INCLUDE_DIRECTORIES "${Clp_INCLUDE_DIR}" INTERFACE_LINK_LIBRARIES "${Clp_utils_LIBRARY}")
endif()
