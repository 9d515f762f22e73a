# SPDX-License-Identifier: BSD-3-Clause
#
# An overlay port, from the sources it lies in:
#   vcpkg install capsim --overlay-ports=libcapsim/packaging/vcpkg
get_filename_component(SOURCE_PATH "${CMAKE_CURRENT_LIST_DIR}/../../.." ABSOLUTE)

vcpkg_check_features(OUT_FEATURE_OPTIONS features FEATURES results-file CAPSIM_RESULTS_FILE)
vcpkg_cmake_configure(SOURCE_PATH "${SOURCE_PATH}"
  OPTIONS ${features} -DCAPSIM_BUILD_TESTS=OFF -DCAPSIM_BUILD_PYTHON=OFF -DCAPSIM_BUILD_EXAMPLES=OFF
    -DCAPSIM_BUILD_BENCHMARKS=OFF)
vcpkg_cmake_install()
vcpkg_cmake_config_fixup(CONFIG_PATH lib/cmake/capsim)
vcpkg_fixup_pkgconfig()
file(REMOVE_RECURSE "${CURRENT_PACKAGES_DIR}/debug/include" "${CURRENT_PACKAGES_DIR}/debug/share")
vcpkg_install_copyright(FILE_LIST "${SOURCE_PATH}/LICENSE")
