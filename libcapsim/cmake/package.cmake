# SPDX-License-Identifier: BSD-3-Clause
#
# `cpack -G DEB` in a build folder: one package of library, headers, C interface, documentation and examples.
set(CPACK_PACKAGE_NAME "capsim")
set(CPACK_PACKAGE_VENDOR "capsim")
set(CPACK_PACKAGE_CONTACT "The capsim contributors <capsim@localhost>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "${PROJECT_DESCRIPTION}")
set(CPACK_PACKAGE_DESCRIPTION
  "Finite elements of the lens capsule after cataract surgery and of what its opening does over months.
 For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols.")
set(CPACK_PACKAGING_INSTALL_PREFIX "/usr")
set(CPACK_RESOURCE_FILE_LICENSE "${PROJECT_SOURCE_DIR}/LICENSE")
set(CPACK_VERBATIM_VARIABLES ON)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEB_COMPONENT_INSTALL OFF)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION "libdevel")
set(CPACK_DEBIAN_PACKAGE_DEPENDS "libhdf5-dev")  # a static libcapsim is linked with it
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
include(CPack)
