// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The version of the library.

#include <string_view>

namespace capsim {

/// "major.minor.patch" of the library that is linked.
[[nodiscard]] std::string_view version() noexcept;

}  // namespace capsim
