# SPDX-License-Identifier: BSD-3-Clause
#
# Run in every build: writes RESULT, a header with what tells one build from another, when that has changed.
# Takes SOURCE_DIR (libcapsim), RESULT, COMPILER and OPTIONS.
file(GLOB_RECURSE files RELATIVE "${SOURCE_DIR}"
  "${SOURCE_DIR}/include/*.hpp" "${SOURCE_DIR}/src/*.hpp" "${SOURCE_DIR}/src/*.cpp" "${SOURCE_DIR}/src/*.in"
  "${SOURCE_DIR}/data/*.json" "${SOURCE_DIR}/CMakeLists.txt")
list(SORT files)
set(sums "${COMPILER}\n${OPTIONS}\n")
foreach(name IN LISTS files)
  file(SHA256 "${SOURCE_DIR}/${name}" sum)
  string(APPEND sums "${name} ${sum}\n")
endforeach()
string(SHA256 build "${sums}")
string(SUBSTRING "${build}" 0 16 build)

set(commit "")
find_program(git git)
if(git)
  execute_process(COMMAND "${git}" -C "${SOURCE_DIR}" rev-parse HEAD
    OUTPUT_VARIABLE commit ERROR_QUIET OUTPUT_STRIP_TRAILING_WHITESPACE RESULT_VARIABLE failed)
  # A copy unpacked inside somebody else's repository is not of its commits.
  execute_process(COMMAND "${git}" -C "${SOURCE_DIR}" ls-files --error-unmatch CMakeLists.txt
    OUTPUT_QUIET ERROR_QUIET RESULT_VARIABLE not_tracked)
  if(failed OR not_tracked)
    set(commit "")
  else()
    execute_process(COMMAND "${git}" -C "${SOURCE_DIR}" status --porcelain --untracked-files=no .
      OUTPUT_VARIABLE changes ERROR_QUIET)
    if(changes)
      string(APPEND commit "+")
    endif()
  endif()
endif()

set(text "#pragma once
#define CAPSIM_BUILD \"${build}\"
#define CAPSIM_COMMIT \"${commit}\"
")
set(before "")
if(EXISTS "${RESULT}")
  file(READ "${RESULT}" before)
endif()
if(NOT before STREQUAL text)
  file(WRITE "${RESULT}" "${text}")
endif()
