// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What Python does between two time steps of a run.

#include <pybind11/pybind11.h>

#include <chrono>
#include <utility>

#include "capsim/simulation.hpp"

namespace capsim::python {

/// Called after every time step without the GIL: lets Python handle signals (Ctrl-C) and asks the
/// Python callback, if any, whether to go on.
class StepWatcher {
 public:
  explicit StepWatcher(pybind11::object callback) : callback_(std::move(callback)) {}

  bool operator()(const Progress& progress) {
    const auto now = Clock::now();
    if (callback_.is_none() && now - last_look_ < time_between_looks) return true;
    last_look_ = now;
    const pybind11::gil_scoped_acquire python;
    if (PyErr_CheckSignals() != 0) throw pybind11::error_already_set();
    if (callback_.is_none()) return true;
    return callback_(progress.day, progress.duration_days, progress.opening_area_mm2).cast<bool>();
  }

 private:
  using Clock = std::chrono::steady_clock;
  /// A tenth of what a person notices after Ctrl-C; taking the GIL this rarely costs nothing.
  static constexpr std::chrono::milliseconds time_between_looks{50};
  pybind11::object callback_;
  Clock::time_point last_look_ = Clock::now();
};

}  // namespace capsim::python
