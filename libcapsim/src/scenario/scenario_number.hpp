// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The number at a dotted path of a scenario: `zonule.strength_by_hour.4`, `events[0].relaxing_cuts.length_mm`.

#include <string>
#include <string_view>

#include "capsim/scenario.hpp"
#include "scenario/limits.hpp"

namespace capsim {

struct ScenarioNumber {
  double* value = nullptr;  ///< Null: there is no such number, see `instead`.
  Limits limits{};
  std::string_view unit;  ///< As field_unit.
  std::string instead;    ///< Why there is none.
};

/// Finds the number; an hour that is not listed is added with the value that holds there. The pointer lasts as long as
/// the scenario stays as it is.
[[nodiscard]] ScenarioNumber number_at(Scenario& scenario, std::string_view path);

}  // namespace capsim
