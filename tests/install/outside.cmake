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

# Who asks for what is not there is told so when configuring, and not by a failing build: a later version, a part that is none.
function(refused asks expected)
    file(WRITE "${WORK_DIR}/asks/CMakeLists.txt" "cmake_minimum_required(VERSION 3.25)\nproject(Asks LANGUAGES CXX)\nfind_package(Ebbwright ${asks})\n")
    execute_process(COMMAND "${CMAKE_COMMAND}" -S "${WORK_DIR}/asks" -B "${WORK_DIR}/asks/build" -G Ninja "-DCMAKE_PREFIX_PATH=${prefix}"
        "-DCMAKE_CXX_COMPILER=${CXX}" RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
    if(result EQUAL 0 OR NOT output MATCHES "${expected}")
        message(FATAL_ERROR "find_package(Ebbwright ${asks}) was to be refused with '${expected}' (${result}):\n${output}")
    endif()
endfunction()
refused("0.2 REQUIRED" "compatible with requested[ \n]+version \"0.2\"")
refused("1.0 REQUIRED" "compatible with requested[ \n]+version \"1.0\"")
refused("0.1 REQUIRED COMPONENTS solver pictures" "no component 'pictures'")
