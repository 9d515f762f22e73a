# SPDX-License-Identifier: BSD-3-Clause
#
# Installs library, headers, CMake package and pkg-config file. The tree can be moved afterwards.
include(CMakePackageConfigHelpers)
include("${CMAKE_CURRENT_LIST_DIR}/install_library.cmake")

capsim_install_target(capsim)
install(DIRECTORY "${CMAKE_CURRENT_SOURCE_DIR}/include/capsim"
  DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}" COMPONENT capsim_development
  FILES_MATCHING PATTERN "*.hpp")
install(FILES "${CAPSIM_BUILT_WITH_DIR}/capsim/built_with.hpp"
  DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}/capsim" COMPONENT capsim_development)
install(FILES "${CMAKE_CURRENT_SOURCE_DIR}/doc/scenario.schema.json"
  DESTINATION "${CMAKE_INSTALL_DATADIR}/capsim" COMPONENT capsim_development)
install(FILES "${PROJECT_SOURCE_DIR}/LICENSE"
  DESTINATION "${CMAKE_INSTALL_DATADIR}/licenses/capsim" COMPONENT capsim_development)

# What there is to read, and the examples for those who build against the library.
install(DIRECTORY "${CMAKE_CURRENT_SOURCE_DIR}/doc/"
  DESTINATION "${CMAKE_INSTALL_DOCDIR}" COMPONENT capsim_documentation
  FILES_MATCHING PATTERN "*.md" PATTERN "*.svg" PATTERN "*.png" PATTERN "*.bib" PATTERN "*.cff")
install(DIRECTORY "${PROJECT_SOURCE_DIR}/examples/embedding"
  DESTINATION "${CMAKE_INSTALL_DOCDIR}/examples" COMPONENT capsim_documentation OPTIONAL)

get_target_property(capsim_type capsim TYPE)
set(CAPSIM_NEEDS_HDF5 OFF)
if(CAPSIM_RESULTS_FILE AND capsim_type STREQUAL "STATIC_LIBRARY")
  set(CAPSIM_NEEDS_HDF5 ON)
endif()
set(capsim_package_dir "${CMAKE_INSTALL_LIBDIR}/cmake/capsim")
configure_package_config_file("${CMAKE_CURRENT_LIST_DIR}/capsimConfig.cmake.in"
  "${CMAKE_CURRENT_BINARY_DIR}/capsimConfig.cmake"
  INSTALL_DESTINATION "${capsim_package_dir}")
write_basic_package_version_file("${CMAKE_CURRENT_BINARY_DIR}/capsimConfigVersion.cmake"
  VERSION "${PROJECT_VERSION}" COMPATIBILITY SameMinorVersion)
install(FILES
  "${CMAKE_CURRENT_BINARY_DIR}/capsimConfig.cmake"
  "${CMAKE_CURRENT_BINARY_DIR}/capsimConfigVersion.cmake"
  DESTINATION "${capsim_package_dir}" COMPONENT capsim_development)

# What pkg-config adds: HDF5 to a static library, and the C++ runtime to a program that is not linked as C++
# (the C interface, linked statically).
set(CAPSIM_PC_EXTRA_LIBS "")
if(CAPSIM_NEEDS_HDF5)
  if(CAPSIM_HDF5_TARGET STREQUAL "hdf5::hdf5")
    get_target_property(libraries hdf5::hdf5 IMPORTED_LOCATION)
  else()
    set(libraries ${HDF5_C_LIBRARIES})
  endif()
  foreach(library IN LISTS libraries)
    string(REPLACE " " "\\ " library "${library}")
    string(APPEND CAPSIM_PC_EXTRA_LIBS " ${library}")
  endforeach()
endif()
set(CAPSIM_PC_CXX_RUNTIME "")
foreach(library IN LISTS CMAKE_CXX_IMPLICIT_LINK_LIBRARIES)
  if(library MATCHES "^(stdc\\+\\+|c\\+\\+|m)$")
    string(APPEND CAPSIM_PC_CXX_RUNTIME " -l${library}")
  endif()
endforeach()
capsim_install_pkgconfig("${CMAKE_CURRENT_LIST_DIR}/capsim.pc")
