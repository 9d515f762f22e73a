// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Running a scenario: the only place where something changes with time.

#include <functional>

#include "capsim/history.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// What a progress callback is told.
struct Progress {
  double day = 0;
  double duration_days = 0;
  double opening_area_mm2 = 0;
};

/// Called after every time step, from the thread that runs the simulation; false cancels the run.
using ProgressCallback = std::function<bool(const Progress&)>;

/// Runs a scenario from the end of surgery to its last day.
/// Throws ScenarioError for wrong input; every numerical outcome is in the history's status.
/// What the callback throws passes through.
[[nodiscard]] History simulate(const Scenario& scenario, const ProgressCallback& progress = {});

}  // namespace capsim
