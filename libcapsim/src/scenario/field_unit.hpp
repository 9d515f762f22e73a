// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The unit that the name of a scenario's number carries as its suffix.

#include <string_view>

namespace capsim {

/// "mN/mm" of `stiffness_mN_per_mm`, "clock hour" of `gap_hour`, "1" of a share or a ratio.
[[nodiscard]] std::string_view field_unit(std::string_view key) noexcept;

}  // namespace capsim
