# SPDX-License-Identifier: BSD-3-Clause
#
# The library inside other programs: planners, the C interface, and flags that it must refuse.
# Included by CMakeLists.txt beside it, after the executable capsim_tests is made.

# Flags under which NaN checks vanish are refused by the compiler, with the reason.
foreach(flag IN ITEMS -ffast-math -Ofast -ffinite-math-only)
  if(NOT MSVC)
    add_test(NAME "build_is_refused_with: ${flag}"
      COMMAND "${CMAKE_CXX_COMPILER}" -std=c++20 ${flag} -fsyntax-only "-DCAPSIM_VERSION=\"0\""
              "-I${PROJECT_SOURCE_DIR}/libcapsim/include" "-I${PROJECT_BINARY_DIR}/libcapsim/identity"
              "${PROJECT_SOURCE_DIR}/libcapsim/src/text/version.cpp")
    set_tests_properties("build_is_refused_with: ${flag}" PROPERTIES
      PASS_REGULAR_EXPRESSION "error: #error \"libcapsim can't be built with")
  endif()
endforeach()

# Planners in C++; the consumer stage builds them once more against an installed copy.
foreach(example IN ITEMS fork_and_compare part_of_your_own)
  if(TARGET capsim_example_${example})
    add_test(NAME "planner_runs: ${example}" COMMAND capsim_example_${example})
    add_dependencies(capsim_tests capsim_example_${example})
  endif()
endforeach()

if(NOT TARGET capsim_c)
  return()
endif()
target_link_libraries(capsim_tests PRIVATE capsim_c_static)

# The header is plain C99, and C++98 reads it too.
foreach(language IN ITEMS c++ c)
  set(source "${CMAKE_CURRENT_BINARY_DIR}/c_header.${language}")
  file(CONFIGURE OUTPUT "${source}" CONTENT "#include <capsim.h>\n#include <capsim.h>\n")
  if(language STREQUAL "c")
    set(compiler "${CMAKE_C_COMPILER}" -std=c99 -Wstrict-prototypes -x c)
  else()
    set(compiler "${CMAKE_CXX_COMPILER}" -std=c++98 -Wno-long-long -x c++)
  endif()
  if(NOT MSVC)
    add_test(NAME "c_header_compiles_as: ${language}"
      COMMAND ${compiler} -pedantic -Wall -Wextra -Werror -fsyntax-only
              "-I${PROJECT_SOURCE_DIR}/bindings/c" "${source}")
  endif()
endforeach()

if(UNIX AND NOT APPLE)
  add_test(NAME shared_c_library_shows_its_own_functions_only
    COMMAND "${CMAKE_COMMAND}" "-DNM=${CMAKE_NM}" "-DREADELF=${CMAKE_READELF}" "-DLIBRARY=$<TARGET_FILE:capsim_c>"
            "-DHEADER=${PROJECT_SOURCE_DIR}/bindings/c/capsim.h" "-DRECORD=${PROJECT_SOURCE_DIR}/bindings/c/symbols.txt"
            -P "${CMAKE_CURRENT_SOURCE_DIR}/support/shown_symbols.cmake")
endif()

get_property(c_interface_sources GLOBAL PROPERTY CAPSIM_LISTED_C_SOURCES)
capsim_test_all_listed(every_c_interface_source_is_listed
  "${PROJECT_SOURCE_DIR}/bindings/c/src" ${c_interface_sources})

# Other languages, by the C interface alone.
find_program(CAPSIM_CARGO cargo)
if(CAPSIM_CARGO AND UNIX)
  add_test(NAME rust_crate_and_its_planner
    COMMAND "${CMAKE_COMMAND}" -E env "CAPSIM_LIB_DIR=$<TARGET_FILE_DIR:capsim_c>"
            "CARGO_TARGET_DIR=${CMAKE_CURRENT_BINARY_DIR}/rust" "${CAPSIM_CARGO}" test --offline --quiet
            --manifest-path "${PROJECT_SOURCE_DIR}/bindings/rust/Cargo.toml")
  set_tests_properties(rust_crate_and_its_planner PROPERTIES TIMEOUT 600 RESOURCE_LOCK cargo)
else()
  add_test(NAME rust_crate_and_its_planner COMMAND "${CMAKE_COMMAND}" -E echo "skipped: no cargo here, or it is switched off")
  set_tests_properties(rust_crate_and_its_planner PROPERTIES SKIP_REGULAR_EXPRESSION "skipped: ")
endif()
# Java 17 has its foreign-function interface in a module that later versions have under another name.
find_program(CAPSIM_JAVAC javac)
set(capsim_java "")
if(CAPSIM_JAVAC AND UNIX)
  execute_process(COMMAND "${CAPSIM_JAVAC}" --add-modules jdk.incubator.foreign --version
    RESULT_VARIABLE failed OUTPUT_QUIET ERROR_QUIET)
  if(failed EQUAL 0)
    set(capsim_java "${CAPSIM_JAVAC}")
  endif()
endif()
if(capsim_java)
  cmake_path(GET capsim_java PARENT_PATH java_folder)
  add_test(NAME java_planner_compiles COMMAND "${capsim_java}" --add-modules jdk.incubator.foreign
    -d "${CMAKE_CURRENT_BINARY_DIR}/java" "${PROJECT_SOURCE_DIR}/examples/embedding/Planner.java")
  add_test(NAME java_planner_runs COMMAND "${java_folder}/java" --add-modules jdk.incubator.foreign
    --enable-native-access=ALL-UNNAMED -cp "${CMAKE_CURRENT_BINARY_DIR}/java" Planner "$<TARGET_FILE:capsim_c>")
  set_tests_properties(java_planner_compiles PROPERTIES FIXTURES_SETUP java_planner)
  set_tests_properties(java_planner_runs PROPERTIES FIXTURES_REQUIRED java_planner)
else()
  add_test(NAME java_planner_runs
    COMMAND "${CMAKE_COMMAND}" -E echo "skipped: no javac with jdk.incubator.foreign (Java 17) here, or it is switched off")
  set_tests_properties(java_planner_runs PROPERTIES SKIP_REGULAR_EXPRESSION "skipped: ")
endif()

if(Python_EXECUTABLE AND UNIX)
  add_test(NAME every_language_gives_the_same_digits
    COMMAND "${CMAKE_COMMAND}" -E env "PYTHONPATH=${PROJECT_BINARY_DIR}/python" "${Python_EXECUTABLE}"
            "${CMAKE_CURRENT_SOURCE_DIR}/support/same_digits.py" "$<TARGET_FILE:capsim_c>"
            "$<TARGET_FILE:capsim_planner_c>" "${PROJECT_SOURCE_DIR}" "${CMAKE_CURRENT_BINARY_DIR}"
            "$<$<BOOL:${CAPSIM_CARGO}>:${CAPSIM_CARGO}>" "${capsim_java}")
  set_tests_properties(every_language_gives_the_same_digits PROPERTIES SKIP_RETURN_CODE 77 RESOURCE_LOCK cargo)
  if(capsim_java)
    set_tests_properties(every_language_gives_the_same_digits PROPERTIES FIXTURES_REQUIRED java_planner)
  endif()
endif()

add_test(NAME c_planner_in_c99 COMMAND capsim_planner_c)
add_executable(capsim_planner_c "${PROJECT_SOURCE_DIR}/examples/embedding/planner.c")
target_link_libraries(capsim_planner_c PRIVATE capsim_c)
set_target_properties(capsim_planner_c PROPERTIES C_STANDARD 99 C_EXTENSIONS OFF)

# A host that does everything wrong; under the address sanitizer with all the others.
add_executable(capsim_wrong_calls consumer/abusive.c)
target_link_libraries(capsim_wrong_calls PRIVATE capsim_c_static)
set_target_properties(capsim_wrong_calls PROPERTIES C_STANDARD 99 C_EXTENSIONS OFF)
if(UNIX)
  target_link_libraries(capsim_wrong_calls PRIVATE m)
endif()
add_test(NAME every_wrong_call_is_refused COMMAND capsim_wrong_calls)

# A host with threads of its own; what it does is looked at under the thread sanitizer.
if(UNIX)
  find_package(Threads REQUIRED)
  add_executable(capsim_threaded_host consumer/threaded_host.c)
  target_link_libraries(capsim_threaded_host PRIVATE capsim_c_static Threads::Threads)
  set_target_properties(capsim_threaded_host PROPERTIES C_STANDARD 99 C_EXTENSIONS OFF)
  add_test(NAME threads_of_a_host_fork_run_batches_and_cancel COMMAND capsim_threaded_host)
endif()

# A function that no test calls is a promise that nobody keeps.
set(capsim_objects_that_call "$<TARGET_OBJECTS:capsim_tests>" "$<TARGET_OBJECTS:capsim_wrong_calls>")
if(TARGET capsim_threaded_host)
  list(APPEND capsim_objects_that_call "$<TARGET_OBJECTS:capsim_threaded_host>")
endif()
if(CMAKE_NM)
  file(GENERATE OUTPUT "${CMAKE_CURRENT_BINARY_DIR}/objects_that_call.txt"
    CONTENT "$<JOIN:${capsim_objects_that_call},\n>\n")
  add_test(NAME every_c_function_is_called_in_a_test
    COMMAND "${CMAKE_COMMAND}" "-DNM=${CMAKE_NM}" "-DHEADER=${PROJECT_SOURCE_DIR}/bindings/c/capsim.h"
            "-DOBJECTS=${CMAKE_CURRENT_BINARY_DIR}/objects_that_call.txt"
            -P "${CMAKE_CURRENT_SOURCE_DIR}/support/every_function_called.cmake")
endif()

# How often each of them is entered, for the build with the address sanitizer (tests/sanitize.sh).
option(CAPSIM_COUNT_C_CALLS "Compile the C interface with the compiler's counters of calls" OFF)
mark_as_advanced(CAPSIM_COUNT_C_CALLS)
if(CAPSIM_COUNT_C_CALLS)
  target_compile_options(capsim_c_objects PRIVATE --coverage)
  target_link_options(capsim_c PRIVATE --coverage)
  target_link_options(capsim_c_static INTERFACE --coverage)
endif()
