# Duktape::duktape: the script engine that runs the charting library (Debian: duktape-dev).
find_path(Duktape_INCLUDE_DIR duktape.h)
find_library(Duktape_LIBRARY duktape)
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(Duktape REQUIRED_VARS Duktape_LIBRARY Duktape_INCLUDE_DIR)
if(Duktape_FOUND AND NOT TARGET Duktape::duktape)
    add_library(Duktape::duktape UNKNOWN IMPORTED)
    set_target_properties(Duktape::duktape PROPERTIES IMPORTED_LOCATION "${Duktape_LIBRARY}" INTERFACE_INCLUDE_DIRECTORIES "${Duktape_INCLUDE_DIR}")
endif()
