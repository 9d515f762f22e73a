// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Which rows of a run its derivatives are made of, and what of them.

#include <span>
#include <vector>

#include "capsim/history.hpp"

namespace capsim {

struct Scenario;

/// What is asked of a row.
enum class RowUse : char {
  none,
  area,  ///< The visible area alone.
  all
};
using RowsWanted = std::vector<RowUse>;

/// Days of the rows that a run will have, both sides of events, when it comes to its end.
[[nodiscard]] std::vector<double> planned_days(const Scenario& scenario);

/// Adds the rows on either side of the chosen days.
void want_days(std::span<const double> row_days, std::span<const double> chosen, RowsWanted& wanted);

/// Of the rows recorded so far those that are asked for. Outcomes are made of the ends, the sides of events, those
/// round the days of losses, and those of the largest values.
[[nodiscard]] RowsWanted rows_wanted(std::span<const Series> all, bool outcomes, std::span<const double> chosen_days);

}  // namespace capsim
