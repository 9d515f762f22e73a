// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Catch2 version 3 under the header name of version 2, for which the tests are written.

#include <catch2/catch_all.hpp>

using Catch::Approx;
