# SPDX-License-Identifier: BSD-3-Clause
#
# How a library of this project is installed: the C++ one by install.cmake, the C ones by bindings/c.
include(GNUInstallDirs)

# The library, and its CMake target capsim::<target> in <target>Targets.cmake beside capsimConfig.cmake.
function(capsim_install_target target)
  install(TARGETS ${target} EXPORT ${target}Targets
    RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}" COMPONENT capsim_runtime
    LIBRARY DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT capsim_runtime
            NAMELINK_COMPONENT capsim_development
    ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}" COMPONENT capsim_development
    INCLUDES DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
  install(EXPORT ${target}Targets NAMESPACE capsim::
    DESTINATION "${CMAKE_INSTALL_LIBDIR}/cmake/capsim" COMPONENT capsim_development)
endfunction()

# A pkg-config file from <template>.in. Its paths are relative to the file itself, so that the tree can be
# moved, unless the packager chose absolute folders.
function(capsim_install_pkgconfig template)
  set(folder "${CMAKE_INSTALL_LIBDIR}/pkgconfig")
  if(IS_ABSOLUTE "${CMAKE_INSTALL_LIBDIR}")
    string(REPLACE " " "\\ " CAPSIM_PC_PREFIX "${CMAKE_INSTALL_PREFIX}")
    string(REPLACE " " "\\ " CAPSIM_PC_LIBDIR "${CMAKE_INSTALL_LIBDIR}")
  else()
    file(RELATIVE_PATH up "/${folder}" "/")
    string(REGEX REPLACE "/$" "" up "${up}")
    set(CAPSIM_PC_PREFIX "\${pcfiledir}/${up}")
    set(CAPSIM_PC_LIBDIR "\${prefix}/${CMAKE_INSTALL_LIBDIR}")
  endif()
  if(IS_ABSOLUTE "${CMAKE_INSTALL_INCLUDEDIR}")
    string(REPLACE " " "\\ " CAPSIM_PC_INCLUDEDIR "${CMAKE_INSTALL_INCLUDEDIR}")
  else()
    set(CAPSIM_PC_INCLUDEDIR "\${prefix}/${CMAKE_INSTALL_INCLUDEDIR}")
  endif()
  get_filename_component(name "${template}" NAME)
  configure_file("${template}.in" "${CMAKE_CURRENT_BINARY_DIR}/${name}" @ONLY)
  install(FILES "${CMAKE_CURRENT_BINARY_DIR}/${name}" DESTINATION "${folder}" COMPONENT capsim_development)
endfunction()
