# SPDX-License-Identifier: BSD-3-Clause
# cmake -DFOLDER=... -DLIST=... -P all_listed.cmake: every .cpp file of FOLDER has its name in LIST.
file(STRINGS "${LIST}" listed)
list(TRANSFORM listed REPLACE ".*/" "")
file(GLOB_RECURSE present RELATIVE "${FOLDER}" "${FOLDER}/*.cpp")
list(TRANSFORM present REPLACE ".*/" "")
if(NOT present)
  message(FATAL_ERROR "No .cpp file in ${FOLDER}")
endif()
list(REMOVE_ITEM present ${listed})
if(present)
  message(FATAL_ERROR "In ${FOLDER} but listed in no CMakeLists.txt: ${present}")
endif()
