# The integrator in time of SUNDIALS (BSD), found by name: the package's own configuration asks for OpenMP, MPI and more, none of which
# CVODE with serial vectors needs. Makes SundialsCvode::cvode.
find_path(SundialsCvode_INCLUDE_DIR NAMES cvode/cvode.h)
find_library(SundialsCvode_LIBRARY NAMES sundials_cvode)
mark_as_advanced(SundialsCvode_INCLUDE_DIR SundialsCvode_LIBRARY)

include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(SundialsCvode REQUIRED_VARS SundialsCvode_LIBRARY SundialsCvode_INCLUDE_DIR)

if(SundialsCvode_FOUND AND NOT TARGET SundialsCvode::cvode)
    add_library(SundialsCvode::cvode UNKNOWN IMPORTED)
    set_target_properties(SundialsCvode::cvode PROPERTIES
        IMPORTED_LOCATION "${SundialsCvode_LIBRARY}" INTERFACE_INCLUDE_DIRECTORIES "${SundialsCvode_INCLUDE_DIR}")
endif()
