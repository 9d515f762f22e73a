// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Time steps that integrate the tissue between equilibria, with the stretches as polynomials in time.
///
/// The tissue's state y follows dy/dt = r(t, y, l), the stretches l = L(t, y) follow from an equilibrium. An
/// equilibrium costs hundreds of times a rate, and stretches change slowly; so a step from t0 to t1
///   predicts   y1* by integrating r with l extrapolated through the equilibria before,
///   solves     l1 = L(t1, y1*), the one equilibrium of the step,
///   corrects   y1 by integrating r again with l interpolated through l1 and the three equilibria before.
/// The inner integration is Dormand-Prince under its own error control. What the correction changed, in units of the
/// tolerance, is the error estimate that chooses the outer step: the correction is one order better than the
/// prediction, of fourth order once four equilibria are known. Where the correction changes much the equilibrium is
/// solved once more for the corrected state before the step is accepted, and where that does not settle it the step
/// is halved. Theory: section 10; figures: decisions/split_time_steps.md.

#include <array>
#include <functional>
#include <span>
#include <vector>

#include "solve/stretch_trail.hpp"
#include "solve/time_stepper.hpp"

namespace capsim {

class SplitStepper {
 public:
  /// dy/dt at a day, a state and the stretches there.
  using Rate = std::function<void(double day, const std::vector<double>& y, const std::vector<double>& stretches,
                                  std::vector<double>& dydt)>;
  /// The stretches at rest under a state; false when there is no equilibrium.
  using Rest = std::function<bool(double day, const std::vector<double>& y, std::vector<double>& stretches)>;
  /// no_rest: the last thing that shortened the step to nothing was an equilibrium that was not found.
  enum class Outcome { accepted, no_rest, step_too_small, non_finite };

  SplitStepper(double tolerance, double max_step);

  /// Starts at a day with a state and the stretches at rest there, trying `first_step` first.
  void start(double day, const std::vector<double>& y, const std::vector<double>& stretches, double first_step);
  /// Goes on from where another stepper stood: its day, state, equilibria and next step.
  void resume(double day, const std::vector<double>& y, const StretchTrail& trail, double next_step);
  /// Takes one accepted step that does not pass `limit`.
  [[nodiscard]] Outcome step(double limit, const Rate& rate, const Rest& rest);
  /// State at `day`, which must rise from call to call, between previous_day() and day().
  void state_at(double day, const Rate& rate, std::vector<double>& y);

  [[nodiscard]] double day() const noexcept { return day_; }
  [[nodiscard]] double previous_day() const noexcept { return previous_day_; }
  [[nodiscard]] const std::vector<double>& state() const noexcept { return y_; }
  [[nodiscard]] double next_step() const noexcept { return next_step_; }
  [[nodiscard]] const StretchTrail& trail() const noexcept { return trail_; }
  [[nodiscard]] long rejected() const noexcept { return rejected_; }
  /// Evaluations of the rate so far.
  [[nodiscard]] long rates() const noexcept { return rates_; }
  /// Estimated error of the last accepted step, in units of the tolerance.
  [[nodiscard]] double error() const noexcept { return error_; }
  /// How the accepted step was integrated: the ends of the inner steps of the prediction (0) and of each correction.
  [[nodiscard]] std::size_t integrations() const noexcept { return integrations_; }
  [[nodiscard]] std::span<const double> inner_days(std::size_t integration) const noexcept {
    return inner_days_[integration];
  }
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  /// One try; what came of it. too_fast: no inner step is short enough for the rate.
  enum class Try { accepted, too_large, no_rest, too_fast, non_finite };
  [[nodiscard]] Try integrate(double from, double to, const std::vector<double>& y, std::size_t points,
                              const Rate& rate, std::vector<double>& end);
  [[nodiscard]] TimeStepper::Rate with_polynomial(std::size_t points, const Rate& rate);
  void prepare(std::size_t variables, std::size_t stretches);
  [[nodiscard]] double change(const std::vector<double>& a, const std::vector<double>& b) const noexcept;
  [[nodiscard]] Try attempt(double to, const Rate& rate, const Rest& rest);

  double tolerance_, max_step_, next_step_ = 0.5;
  double day_ = 0, previous_day_ = 0, error_ = 0;
  long rejected_ = 0, rates_ = 0;
  // Of the integration under way, here so that the function handed to it is one pointer and takes no memory.
  std::size_t points_ = 0;
  const Rate* rate_ = nullptr;
  StretchTrail trail_;
  TimeStepper inner_;
  std::vector<double> y_, previous_y_, predicted_, corrected_, stretches_, polynomial_;
  std::vector<double> start_rate_;  // where the step under way starts: the same for prediction and corrections
  std::size_t integrations_ = 0;
  std::array<std::vector<double>, 3> inner_days_;
};

}  // namespace capsim
