// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Which of the allowed words a misspelt word was probably meant to be.

#include <string_view>
#include <vector>

namespace capsim {

/// Insertions, deletions, replacements and swaps of neighbours that turn `a` into `b`, ignoring case.
[[nodiscard]] int edit_distance(std::string_view a, std::string_view b);

/// The allowed word nearest to `word`, or empty when none is near enough to be worth suggesting.
/// A word that only lacks its unit or its first half, `diameter_mm` for `optic_diameter_mm`, is near.
[[nodiscard]] std::string_view nearest_word(std::string_view word, const std::vector<std::string_view>& allowed);

}  // namespace capsim
