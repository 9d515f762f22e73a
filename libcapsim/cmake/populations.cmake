# SPDX-License-Identifier: BSD-3-Clause
#
# Builds the population files into the library, so that it reads nothing at run time and a browser
# has them too. The order here is the order of population_names().
set(CAPSIM_POPULATIONS
  age_related_cataract
  polished_rim
  silicone_lens
  pseudoexfoliation
  age_related_cataract_whole_bag
  polished_rim_whole_bag
  silicone_lens_whole_bag
  pseudoexfoliation_whole_bag
)

set(CAPSIM_POPULATION_TEXTS "")
foreach(name IN LISTS CAPSIM_POPULATIONS)
  set(file "${CMAKE_CURRENT_SOURCE_DIR}/data/populations/${name}.json")
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${file}")
  file(READ "${file}" text)
  if(text MATCHES "\\)json\"")
    message(FATAL_ERROR "${file} holds the end mark of the text it is built into")
  endif()
  string(APPEND CAPSIM_POPULATION_TEXTS "    R\"json(${text})json\",\n")
endforeach()
configure_file(src/run/population_texts.cpp.in population_texts.cpp @ONLY)
target_sources(capsim PRIVATE "${CMAKE_CURRENT_BINARY_DIR}/population_texts.cpp")
