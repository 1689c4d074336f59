# Installs the build in BUILD_DIR below WORK_DIR, then configures, builds and runs the outside project against it.
# cmake -DBUILD_DIR=... -DWORK_DIR=... -DSOURCE_DIR=... -DCXX=... -DCXX_FLAGS=... -P outside.cmake
function(run)
    execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
    if(NOT result EQUAL 0)
        message(FATAL_ERROR "failed (${result}): ${ARGN}\n${output}")
    endif()
    set(last_output "${output}" PARENT_SCOPE)
endfunction()

file(REMOVE_RECURSE "${WORK_DIR}")
run("${CMAKE_COMMAND}" --install "${BUILD_DIR}" --prefix "${WORK_DIR}/first place")
file(RENAME "${WORK_DIR}/first place" "${WORK_DIR}/moved place")  # with a space, and moved: nothing may know where it was
set(prefix "${WORK_DIR}/moved place")
run("${prefix}/bin/ebbwright" --version)
file(GLOB_RECURSE texts "${prefix}/*.cmake" "${prefix}/*.h")
foreach(text IN LISTS texts)
    file(READ "${text}" content)
    string(FIND "${content}" "${BUILD_DIR}" found)
    if(NOT found EQUAL -1)
        message(FATAL_ERROR "${text} names the build folder")
    endif()
endforeach()
run("${CMAKE_COMMAND}" -S "${SOURCE_DIR}" -B "${WORK_DIR}/build" -G Ninja
    "-DCMAKE_PREFIX_PATH=${prefix}" "-DCMAKE_CXX_COMPILER=${CXX}" "-DCMAKE_CXX_FLAGS=${CXX_FLAGS}" -DCMAKE_BUILD_TYPE=Release)
run("${CMAKE_COMMAND}" --build "${WORK_DIR}/build")
run("${WORK_DIR}/build/outside")
message(STATUS "${last_output}")
