// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/version.hpp"

#include <catch2/catch.hpp>

TEST_CASE("version_is_that_of_the_package", "[version]") { CHECK(capsim::version() == CAPSIM_EXPECTED_VERSION); }
