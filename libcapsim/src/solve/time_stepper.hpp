// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Adaptive Dormand-Prince steps with dense output and guards against silent failure.
///
/// The right-hand side may refuse a state (return false); a refused or non-finite try is a rejected
/// step. The interpolant between two accepted days is that of the method, of fourth order.
/// Memory is taken by start() for a state of another length than before, and by nothing else.

#include <functional>
#include <memory>
#include <vector>

namespace capsim {

class TimeStepper {
 public:
  /// dy/dt at (day, y); false when it can't be evaluated there.
  using Rate = std::function<bool(double day, const std::vector<double>& y, std::vector<double>& dydt)>;
  enum class Outcome { accepted, step_too_small, non_finite };

  TimeStepper(double tolerance, double max_step);
  ~TimeStepper();
  TimeStepper(TimeStepper&&) noexcept;
  TimeStepper& operator=(TimeStepper&&) noexcept;

  /// Takes the memory for states of that length.
  void reserve(std::size_t variables);
  /// Starts (or restarts) at `day` with state y, trying `first_step` first; false when the rate can't
  /// be evaluated there.
  [[nodiscard]] bool start(double day, const std::vector<double>& y, const Rate& rate, double first_step = 0.5);
  /// The same where the rate at `day` and y is known; false when it is not finite.
  [[nodiscard]] bool start(double day, const std::vector<double>& y, const std::vector<double>& rate_there,
                           double first_step);
  /// The step it would try next.
  [[nodiscard]] double next_step() const noexcept;
  /// Takes one accepted step that does not pass `limit`.
  [[nodiscard]] Outcome step(double limit, const Rate& rate);
  [[nodiscard]] double day() const noexcept;
  [[nodiscard]] double previous_day() const noexcept;
  [[nodiscard]] const std::vector<double>& state() const noexcept;
  /// State at `day` between previous_day() and day().
  void interpolate(double day, std::vector<double>& y) const;
  [[nodiscard]] long accepted() const noexcept;
  [[nodiscard]] long rejected() const noexcept;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace capsim
