# SPDX-License-Identifier: BSD-3-Clause
# cmake -DHEADERS=... -P only_standard_includes.cmake: each #include of a public header is of another
# public header ("capsim/...") or of the C++ standard library (<vector>: one lower-case word).
file(GLOB headers "${HEADERS}/*.hpp")
if(NOT headers)
  message(FATAL_ERROR "No header in ${HEADERS}")
endif()
set(others "")
foreach(header IN LISTS headers)
  file(STRINGS "${header}" lines REGEX "^[ \t]*#[ \t]*include")
  foreach(line IN LISTS lines)
    if(NOT line MATCHES "include[ \t]*(\"capsim/[a-z_]+\\.hpp\"|<[a-z_]+>)")
      string(APPEND others "\n  ${header}: ${line}")
    endif()
  endforeach()
endforeach()
if(others)
  message(FATAL_ERROR "Not of the standard library:${others}")
endif()
