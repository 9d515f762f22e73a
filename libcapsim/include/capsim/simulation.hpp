// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Running a scenario: the only place where something changes with time.
///
/// Model.   The tissue's state y (contraction law) is integrated by the Dormand-Prince 5(4) method;
///          its rate needs the fibres' stretches, hence the equilibrium at that state, found by
///          warm-started Newton iterations: an index-1 differential-algebraic system.
/// Guards.  Every try is checked for finite numbers before it is believed; a failed equilibrium or a
///          non-finite state is a rejected step, and a step below the smallest ends the run with a
///          status. Events stop the integrator exactly on their day.

#include <functional>
#include <memory>

#include "capsim/history.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

class Model;

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

/// The same for a model that was built before; the model may be shared between threads.
[[nodiscard]] History simulate(std::shared_ptr<const Model> model, const ProgressCallback& progress = {});

}  // namespace capsim
