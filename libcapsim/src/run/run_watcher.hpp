// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What goes along with a run, step by step, and sees the discrete solution as it comes about.

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "capsim/history.hpp"
#include "run/eye_parts.hpp"
#include "run/eye_state.hpp"

namespace capsim {

/// A step in time that was accepted, and how it was integrated.
struct StepTaken {
  double day = 0;   ///< Its end.
  double stop = 0;  ///< Where steps end at the latest: the next event, or the last day.
  /// The prediction, and a correction for every rest.
  std::size_t integrations = 0;
  std::array<std::span<const double>, 3> inner_days;  ///< Ends of the inner steps of each.
};

class RunWatcher {
 public:
  /// The eye that is watched. The watcher may put other tissue and days into the parts where it is said so.
  struct Eye {
    const EyeState& state;
    EyeParts& parts;
    std::span<const int> open_layers;
    std::span<const Series> rows;  ///< Recorded so far.
  };
  virtual ~RunWatcher() = default;
  /// A tension ring was laid in at the end of surgery, or events acted; the rest that follows is still to be found.
  virtual void ring_laid(const Eye& eye) = 0;
  virtual void acted(const Eye& eye, std::size_t first_event, std::size_t count) = 0;
  /// At rest after a jump.
  virtual void settled(const Eye& eye) = 0;
  /// The polynomials of the time steps begin here.
  virtual void steps_begin(const Eye& eye) = 0;
  /// A rest that the step under way has found, for a state that was tried.
  virtual void tried(const std::vector<double>& tissue, std::span<const double> x) = 0;
  /// A step was accepted: it rests on what was tried last. The eye still stands at its beginning. Parts may be changed.
  virtual void stepped(const Eye& eye, const StepTaken& step) = 0;
  /// Whether the next row inside a step is of no interest: then it is neither brought to rest nor recorded, but told.
  [[nodiscard]] virtual bool passes_over_row() const noexcept = 0;
  virtual void passed_over_row() = 0;
  /// At rest for a row: inside the last step, or at its end.
  virtual void row_inside(const Eye& eye, double day) = 0;
  virtual void row_at_end(const Eye& eye) = 0;
  virtual void recorded(const Eye& eye, EventSide side) = 0;
};

}  // namespace capsim
