# SPDX-License-Identifier: BSD-3-Clause
#
# What the library is built with. Whoever links capsim::capsim needs none of the header-only
# ones, so only their folders are used and no target of theirs is linked: nothing of them can
# leak into an install, nor into a project that adds this one as a subdirectory.

# A project around this one must see HDF5's target when it links a static capsim.
set(CMAKE_FIND_PACKAGE_TARGETS_GLOBAL ON)

find_package(Eigen3 3.4 REQUIRED NO_MODULE)
find_package(nlohmann_json 3.11 REQUIRED)
find_package(Boost 1.74 QUIET CONFIG)
if(NOT Boost_FOUND)
  find_package(Boost 1.74 REQUIRED MODULE)
endif()

set(CAPSIM_HEADER_ONLY_DIRS ${Boost_INCLUDE_DIRS})
foreach(dependency IN ITEMS Eigen3::Eigen nlohmann_json::nlohmann_json)
  get_target_property(dirs ${dependency} INTERFACE_INCLUDE_DIRECTORIES)
  list(APPEND CAPSIM_HEADER_ONLY_DIRS ${dirs})
endforeach()
list(REMOVE_DUPLICATES CAPSIM_HEADER_ONLY_DIRS)
target_include_directories(capsim SYSTEM PRIVATE ${CAPSIM_HEADER_ONLY_DIRS})

if(CAPSIM_RESULTS_FILE)
  set(HDF5_PREFER_PARALLEL OFF)
  find_package(HDF5 1.10 REQUIRED COMPONENTS C)
  # The C library alone when it is shared: it brings its own dependencies along.
  set(CAPSIM_HDF5_TARGET HDF5::HDF5)
  if(TARGET hdf5::hdf5)
    get_target_property(location hdf5::hdf5 IMPORTED_LOCATION)
    if(location MATCHES "\\.(so|dylib)(\\.|$)")
      set(CAPSIM_HDF5_TARGET hdf5::hdf5)
    endif()
  endif()
  get_target_property(type capsim TYPE)
  if(type STREQUAL "SHARED_LIBRARY")
    target_link_libraries(capsim PRIVATE "$<BUILD_INTERFACE:${CAPSIM_HDF5_TARGET}>")
  else()
    target_link_libraries(capsim PRIVATE ${CAPSIM_HDF5_TARGET})  # exported as link-only
  endif()
endif()
