# How every target of Ebbwright is compiled, and the helper that makes a library of a room.

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

get_property(several_configurations GLOBAL PROPERTY GENERATOR_IS_MULTI_CONFIG)
if(NOT several_configurations AND NOT CMAKE_BUILD_TYPE)
    set(CMAKE_BUILD_TYPE Release CACHE STRING "Kind of build" FORCE)
endif()

find_program(EBBWRIGHT_CCACHE ccache)
if(EBBWRIGHT_CCACHE AND NOT DEFINED CMAKE_CXX_COMPILER_LAUNCHER)
    set(CMAKE_CXX_COMPILER_LAUNCHER "${EBBWRIGHT_CCACHE}")
endif()

# Only our own code is held to our warnings: the flags travel privately, the libraries' headers are SYSTEM.
add_library(ebbwright_flags INTERFACE)
target_compile_options(ebbwright_flags INTERFACE -Wall -Wextra -Wpedantic -Wconversion $<$<BOOL:${EBBWRIGHT_WERROR}>:-Werror>)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
    # g++ 12 sees an overlapping copy inside libstdc++ whenever a literal is put before a std::string (GCC bug 105651, mended in 13).
    target_compile_options(ebbwright_flags INTERFACE -Wno-restrict)
endif()

# The instrumented builds must instrument everything that is linked together, so these are not per target.
if(EBBWRIGHT_SANITIZE)
    add_compile_options(-fsanitize=${EBBWRIGHT_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
    add_link_options(-fsanitize=${EBBWRIGHT_SANITIZE})
endif()
if(EBBWRIGHT_COVERAGE)
    add_compile_options(--coverage -fprofile-update=atomic)  # else threads lose counts, down to less than none
    add_link_options(--coverage)
endif()
if(EBBWRIGHT_FUZZ)
    add_compile_options(-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all)
    add_link_options(-fsanitize=address,undefined)
endif()

# ebbwright_add_room(NAME [EXCLUDE files...]): static library ebbwright_NAME of every .cpp below NAME/, alias Ebbwright::NAME.
function(ebbwright_add_room room)
    cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "EXCLUDE")
    file(GLOB_RECURSE sources CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/${room}/*.cpp")
    file(GLOB_RECURSE headers CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/${room}/*.h")
    foreach(excluded IN LISTS arg_EXCLUDE)
        list(REMOVE_ITEM sources "${PROJECT_SOURCE_DIR}/${excluded}")
    endforeach()
    if(NOT sources)  # a room without sources yet still is a library
        set(sources "${PROJECT_BINARY_DIR}/generated/${room}_empty.cpp")
        file(CONFIGURE OUTPUT "${sources}" CONTENT "// This room has no source file yet.\n")
    endif()
    add_library(ebbwright_${room} STATIC ${sources} ${headers})
    add_library(Ebbwright::${room} ALIAS ebbwright_${room})
    set_target_properties(ebbwright_${room} PROPERTIES EXPORT_NAME ${room} POSITION_INDEPENDENT_CODE ON)
    target_compile_features(ebbwright_${room} PUBLIC cxx_std_20)
    target_link_libraries(ebbwright_${room} PRIVATE $<BUILD_INTERFACE:ebbwright_flags>)
endfunction()

# ebbwright_embed(TARGET NAME FILE): the file becomes part of TARGET as ebb::cli::assets::NAME().
function(ebbwright_embed target name file)
    set(source "${PROJECT_BINARY_DIR}/generated/assets/${name}.cpp")
    set(script "${PROJECT_SOURCE_DIR}/.ci/cmake/EmbedFile.cmake")
    add_custom_command(OUTPUT "${source}"
        COMMAND "${CMAKE_COMMAND}" "-DIN=${file}" "-DOUT=${source}" "-DNAME=${name}" -P "${script}"
        DEPENDS "${file}" "${script}" VERBATIM)
    target_sources(${target} PRIVATE "${source}")
endfunction()
