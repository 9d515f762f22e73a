// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A small invented history, for tests of what keeps and reads histories.

#include <utility>
#include <vector>

#include "capsim/history.hpp"

namespace capsim::sample {

inline constexpr std::size_t rows = 5;

/// Days 0, 30, 30 (just before and just after a cut), 60, 61.5.
inline std::vector<Series> series() {
  return {
      {"day", "day", "Day after surgery.", 1, {0, 30, 30, 60, 61.5}},
      {"event_side", "1", "Just before (-1) or just after (1) an event, else 0.", 1, {0, -1, 1, 0, 0}},
      {"opening_area_mm2", "mm2", "Area of the opening.", 1, {21.6, 19.5, 20.25, 20.0, 19.75}},
      {"lens_center_mm", "mm", "Centre of the optic.", 2, {0, 0, .01, .02, .03, .04, .05, .06, .07, .08}},
      {"rim_outline_mm", "mm", "Rim, x y of each point.", 6, {3,  0,  0,   3,  -3, -3,  2,    0,    0, 2,
                                                              -2, -2, 2.5, 0,  0,  2.5, -2.5, -2.5, 1, 0,
                                                              0,  1,  -1,  -1, 4,  5,   6,    7,    8, 9}},
  };
}

/// A scenario with one relaxing cut, in a left eye.
inline Scenario scenario() {
  Scenario scenario;
  scenario.name = "invented \u00e9ye";
  scenario.eye = Eye::left;
  scenario.duration_days = 61.5;
  scenario.zonule.strength_by_hour = {{4, 0.2}, {5, 0.0}};
  scenario.events = {{30, RelaxingCuts{{10.5}, 0.75}}};
  return scenario;
}

inline Diagnostics diagnostics() {
  Diagnostics d;
  d.steps = 41;
  d.rejected_steps = 3;
  d.right_hand_sides = 90;
  d.equilibria = 95;
  d.newton_iterations = 9007199254740993;  // 2^53 + 1: not a double
  d.max_newton_iterations = 12;
  d.factorizations = 17;
  d.projected_factorizations = 1;
  d.residual_mN = 1.25e-7;
  d.tolerance_mN = 6e-5;
  d.worst_element_hour = 4.5;
  d.worst_element_ratio = 0.31;
  d.last_good_day = 61.5;
  d.wall_seconds = 0.75;
  d.seconds_elements = 0.5;
  d.seconds_factor = 0.125;
  d.seconds_solve = 0.0625;
  return d;
}

inline History history_of(std::vector<Series> series, Status status = Status::completed,
                          std::vector<CutRecord> cuts = {{10.5, 0.75, 0.8125, 30}}) {
  return History::assemble(scenario(), status, "Reached the last day.", "0.1.0", diagnostics(), std::move(cuts),
                           std::move(series));
}

inline History history() { return history_of(series()); }

}  // namespace capsim::sample
