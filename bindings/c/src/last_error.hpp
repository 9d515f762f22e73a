// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The border that no exception crosses, and what a failed call leaves in its handle.

#include <exception>
#include <new>
#include <string>
#include <utility>
#include <vector>

#include "capsim.h"
#include "capsim/error.hpp"

namespace capsim::c_interface {

/// A call that can't do what it was asked, with its status and one violated constraint or a text.
class Refusal : public std::exception {
 public:
  Refusal(capsim_status status, std::string text) : status_(status), text_(std::move(text)) {}
  Refusal(capsim_status status, Violation violation)
      : status_(status), text_(violation.to_string()), violations_{std::move(violation)} {}
  [[nodiscard]] capsim_status status() const noexcept { return status_; }
  [[nodiscard]] const char* what() const noexcept override { return text_.c_str(); }
  [[nodiscard]] const std::vector<Violation>& violations() const noexcept { return violations_; }

 private:
  capsim_status status_;
  std::string text_;
  std::vector<Violation> violations_;
};

/// Why the last call on a handle failed, empty when it did not; and whom to tell.
struct LastError {
  std::string text;
  std::vector<Violation> violations;
  capsim_log_callback log = nullptr;
  void* log_user = nullptr;

  /// One line for the host's log. What a callback throws is dropped: a log must not end a run.
  void tell(capsim_log_level level, const std::string& line) const noexcept {
    if (log == nullptr) return;
    try {
      log(level, line.c_str(), log_user);
    } catch (...) {  // see above
    }
  }

  void clear() noexcept {
    text.clear();
    violations.clear();
  }
  /// Keeps what fits into memory: without memory the status alone must do.
  capsim_status keep(capsim_status status, const char* what, const std::vector<Violation>& all = {}) noexcept {
    try {
      text = what;
      violations = all;
      if (log != nullptr) tell(status < 0 ? CAPSIM_LOG_ERROR : CAPSIM_LOG_WARNING, std::string(text));
    } catch (...) {
      clear();
    }
    return status;
  }
};

/// The status of the exception being handled; its text and violations go to `error`.
capsim_status keep_current_exception(LastError& error) noexcept;

/// Runs `work`, which returns a status; whatever it throws becomes a status and the last error.
template <class Work>
capsim_status guarded(LastError& error, Work work) noexcept {
  error.clear();
  try {
    return work();
  } catch (...) {
    return keep_current_exception(error);
  }
}

/// The same where there is no handle to keep a text in.
template <class Work>
capsim_status guarded(Work work) noexcept {
  LastError forgotten;
  return guarded(forgotten, std::move(work));
}

}  // namespace capsim::c_interface
