// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The caller's way of running, as the library wants it.

#include <chrono>
#include <string>

#include "caller_memory.hpp"
#include "capsim/simulation.hpp"

namespace capsim::c_interface {

/// Looks after every step whether to go on: the caller's callback, flag and deadline. One for each call; it outlives
/// the run.
class RunControl {
 public:
  /// Refuses options that this library does not know.
  explicit RunControl(const capsim_run_options* given);
  /// Empty when nothing has to be asked.
  [[nodiscard]] ProgressCallback callback();
  /// The library's message, and what made the run stop where that was the flag or the deadline.
  [[nodiscard]] std::string reason(const std::string& message) const;

 private:
  bool go_on(const Progress& now);
  capsim_run_options options_ = CAPSIM_RUN_OPTIONS;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
  std::string stopped_by_;
};

}  // namespace capsim::c_interface
