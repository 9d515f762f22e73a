// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/version.hpp"

#include <catch2/catch.hpp>
#include <string>

#include "capsim/results_file.hpp"

TEST_CASE("version_is_that_of_the_package", "[version]") { CHECK(capsim::version() == CAPSIM_EXPECTED_VERSION); }

TEST_CASE("version_of_the_headers_is_that_of_the_library", "[version]") {
  CHECK(std::to_string(CAPSIM_VERSION_MAJOR) + "." + std::to_string(CAPSIM_VERSION_MINOR) + "." +
            std::to_string(CAPSIM_VERSION_PATCH) ==
        capsim::version());
  CHECK(CAPSIM_VERSION_NUMBER == 10000 * CAPSIM_VERSION_MAJOR + 100 * CAPSIM_VERSION_MINOR + CAPSIM_VERSION_PATCH);
}

TEST_CASE("headers_say_whether_results_can_be_saved", "[version]") {
#ifdef CAPSIM_EXPECTED_RESULTS_FILE
  CHECK(CAPSIM_HAS_RESULTS_FILE == 1);
#else
  CHECK(CAPSIM_HAS_RESULTS_FILE == 0);
#endif
}
