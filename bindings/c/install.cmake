# SPDX-License-Identifier: BSD-3-Clause
#
# Installs the C interface: header, both libraries, their CMake targets and the pkg-config file.
# capsimConfig.cmake finds the targets as the components `c` and `c_static`.
include(GNUInstallDirs)

foreach(target IN ITEMS capsim_c capsim_c_static)
  install(TARGETS ${target} EXPORT ${target}Targets
    RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}" COMPONENT capsim_runtime
    LIBRARY DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT capsim_runtime
            NAMELINK_COMPONENT capsim_development
    ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT capsim_development
    INCLUDES DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
  install(EXPORT ${target}Targets NAMESPACE capsim::
    DESTINATION "${CMAKE_INSTALL_LIBDIR}/cmake/capsim" COMPONENT capsim_development)
endforeach()
install(FILES "${CMAKE_CURRENT_LIST_DIR}/capsim.h"
  DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}" COMPONENT capsim_development)

# pkg-config: as for the C++ library, paths are relative to the file itself. A shared libcapsim_c
# needs nothing else; `pkg-config --static` adds the C++ library and its runtime.
set(capsim_pkgconfig_dir "${CMAKE_INSTALL_LIBDIR}/pkgconfig")
if(IS_ABSOLUTE "${CMAKE_INSTALL_LIBDIR}")
  string(REPLACE " " "\\ " CAPSIM_PC_PREFIX "${CMAKE_INSTALL_PREFIX}")
  string(REPLACE " " "\\ " CAPSIM_PC_LIBDIR "${CMAKE_INSTALL_LIBDIR}")
else()
  file(RELATIVE_PATH up "/${capsim_pkgconfig_dir}" "/")
  string(REGEX REPLACE "/$" "" up "${up}")
  set(CAPSIM_PC_PREFIX "\${pcfiledir}/${up}")
  set(CAPSIM_PC_LIBDIR "\${prefix}/${CMAKE_INSTALL_LIBDIR}")
endif()
if(IS_ABSOLUTE "${CMAKE_INSTALL_INCLUDEDIR}")
  string(REPLACE " " "\\ " CAPSIM_PC_INCLUDEDIR "${CMAKE_INSTALL_INCLUDEDIR}")
else()
  set(CAPSIM_PC_INCLUDEDIR "\${prefix}/${CMAKE_INSTALL_INCLUDEDIR}")
endif()
configure_file("${CMAKE_CURRENT_LIST_DIR}/capsim_c.pc.in" "${CMAKE_CURRENT_BINARY_DIR}/capsim_c.pc" @ONLY)
install(FILES "${CMAKE_CURRENT_BINARY_DIR}/capsim_c.pc"
  DESTINATION "${capsim_pkgconfig_dir}" COMPONENT capsim_development)
