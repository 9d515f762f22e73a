# SPDX-License-Identifier: BSD-3-Clause
#
# Which Python the package is built for: the first of [active virtual environment, `python3` on
# the path, the system's] that can import NumPy. -DPython_EXECUTABLE=... overrides the choice.
# Include before find_package(Python ...).
if(NOT Python_EXECUTABLE)
  set(candidates "")
  if(DEFINED ENV{VIRTUAL_ENV})
    list(APPEND candidates "$ENV{VIRTUAL_ENV}/bin/python" "$ENV{VIRTUAL_ENV}/Scripts/python.exe")
  endif()
  find_program(first_python3 NAMES python3 python NO_CACHE)
  if(first_python3)
    list(APPEND candidates "${first_python3}")
  endif()
  list(APPEND candidates /usr/bin/python3)
  foreach(candidate IN LISTS candidates)
    if(EXISTS "${candidate}")
      execute_process(COMMAND "${candidate}" -c "import numpy, sys; print(sys.executable)"
        RESULT_VARIABLE failed OUTPUT_VARIABLE executable ERROR_QUIET OUTPUT_STRIP_TRAILING_WHITESPACE)
      if(failed EQUAL 0)
        set(Python_EXECUTABLE "${executable}" CACHE FILEPATH "The Python to build for")
        break()
      endif()
    endif()
  endforeach()
endif()
if(Python_EXECUTABLE)
  message(STATUS "Python for the package: ${Python_EXECUTABLE}")
else()
  message(STATUS "No Python that can import NumPy was found; set Python_EXECUTABLE")
endif()
