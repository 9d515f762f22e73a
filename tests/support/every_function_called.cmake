# SPDX-License-Identifier: BSD-3-Clause
# cmake -DNM=... -DHEADER=... -DOBJECTS=... -P every_function_called.cmake: each function that the header declares is
# called by the compiled tests. OBJECTS is a file with the paths of their object files, one a line. A name in a comment, a
# text or code that is never compiled is no reference of an object; that each is entered, too, when the tests run is
# counted in the build for the address sanitizer (functions_entered.py).
file(READ "${HEADER}" header)
string(REGEX MATCHALL "CAPSIM_FUNCTION [^;(]*capsim_[a-z0-9_]+\\(" declarations "${header}")
list(TRANSFORM declarations REPLACE ".*(capsim_[a-z0-9_]+)\\($" "\\1")
list(LENGTH declarations count)
if(count LESS 100)
  message(FATAL_ERROR "Only ${count} functions were found in ${HEADER}")
endif()
file(STRINGS "${OBJECTS}" objects)
list(FILTER objects EXCLUDE REGEX "\\.(gch|pch)$")  # a precompiled header is no object file
execute_process(COMMAND "${NM}" --undefined-only --format=posix ${objects}
  OUTPUT_VARIABLE output COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "capsim_[a-z0-9_]+ U" called "${output}")
list(TRANSFORM called REPLACE " U$" "")
set(missing ${declarations})
list(REMOVE_ITEM missing ${called})
if(missing)
  message(FATAL_ERROR "No test calls: ${missing}")
endif()
list(LENGTH objects files)
message(STATUS "${count} functions, called from ${files} object files")
