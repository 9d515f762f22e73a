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
  /// Without a callback.
  RunControl(const capsim_cancel_flag* cancel, double deadline_seconds);
  /// Those that were given, as this library knows them.
  [[nodiscard]] const capsim_run_options& options() const noexcept { return options_; }
  /// Empty when nothing has to be asked.
  [[nodiscard]] ProgressCallback callback();
  /// What is asked: false when the flag or the deadline says no, or the host's callback.
  bool go_on(const Progress& now);
  /// The library's message, and what made the run stop where that was the flag or the deadline.
  [[nodiscard]] std::string reason(const std::string& message) const;

 private:
  void check() const;
  capsim_run_options options_ = CAPSIM_RUN_OPTIONS;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
  std::string stopped_by_;
};

}  // namespace capsim::c_interface
