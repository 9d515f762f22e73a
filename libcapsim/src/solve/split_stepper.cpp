// SPDX-License-Identifier: BSD-3-Clause
#include "solve/split_stepper.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {
namespace {

constexpr double smallest_step = 1e-6;         // days
constexpr std::size_t usual_inner_steps = 64;  // in one step: their ends are kept, in memory taken beforehand
constexpr double inner_share = 0.1;            // of the tolerance, for the integration between equilibria
// In units of the tolerance: what a correction may change in a good step, from where on the equilibrium is solved once
// more, and from where on a try is given up. Chosen so that the areas are as near to a tight reference as those of
// fifth-order steps with an equilibrium at every stage were, see decisions/split_time_steps.md.
constexpr double good_change = 0.5, second_rest_from = 2, largest_change = 30;

}  // namespace

SplitStepper::SplitStepper(double tolerance, double max_step)
    : tolerance_(tolerance), max_step_(max_step), inner_(inner_share * tolerance, max_step) {}

void SplitStepper::start(double day, const std::vector<double>& y, const std::vector<double>& stretches,
                         double first_step) {
  day_ = previous_day_ = day;
  y_ = previous_y_ = y;
  next_step_ = std::min(first_step, max_step_);
  trail_.clear();
  prepare(y.size(), stretches.size());
  trail_.push(day, stretches);
}

void SplitStepper::resume(double day, const std::vector<double>& y, const StretchTrail& trail, double next_step) {
  day_ = previous_day_ = day;
  y_ = previous_y_ = y;
  next_step_ = std::min(next_step, max_step_);
  trail_ = trail;
  prepare(y.size(), trail.count() > 0 ? trail[0].stretches.size() : 0);
}

TimeStepper::Rate SplitStepper::with_polynomial(std::size_t points, const Rate& rate) {
  points_ = points;
  rate_ = &rate;
  return [this](double day, const std::vector<double>& y, std::vector<double>& dydt) {
    trail_.at(day, points_, polynomial_);
    (*rate_)(day, y, polynomial_, dydt);
    ++rates_;
    return true;
  };
}

// All memory that steps will need.
void SplitStepper::prepare(std::size_t variables, std::size_t stretches) {
  for (auto* v : {&predicted_, &corrected_, &start_rate_}) v->resize(variables);
  for (auto* v : {&stretches_, &polynomial_}) v->resize(stretches);
  trail_.reserve(stretches);
  for (auto& days : inner_days_) days.reserve(usual_inner_steps);
  inner_.reserve(variables);
}

SplitStepper::Try SplitStepper::integrate(double from, double to, const std::vector<double>& y, std::size_t points,
                                          const Rate& rate, std::vector<double>& end) {
  const TimeStepper::Rate with = with_polynomial(points, rate);
  std::vector<double>& days = inner_days_[integrations_++];
  days.clear();
  if (!inner_.start(from, y, start_rate_, to - from)) return Try::non_finite;
  while (inner_.day() < to) {
    const TimeStepper::Outcome outcome = inner_.step(to, with);
    if (outcome != TimeStepper::Outcome::accepted)
      return outcome == TimeStepper::Outcome::non_finite ? Try::non_finite : Try::too_fast;
    days.push_back(inner_.day());
  }
  end = inner_.state();
  return Try::accepted;
}

double SplitStepper::change(const std::vector<double>& a, const std::vector<double>& b) const noexcept {
  double largest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double e = std::abs(a[i] - b[i]) / (tolerance_ * (1 + std::abs(b[i])));
    if (!(e <= largest)) largest = e;  // also catches a NaN
  }
  return largest;
}

SplitStepper::Try SplitStepper::attempt(double to, const Rate& rate, const Rest& rest) {
  integrations_ = 0;
  Try end = integrate(day_, to, y_, StretchTrail::depth - 1, rate, predicted_);
  if (end != Try::accepted) return end;
  if (!rest(to, predicted_, stretches_)) return Try::no_rest;
  trail_.push(to, stretches_);
  const auto correct = [&] { return integrate(day_, to, y_, StretchTrail::depth, rate, corrected_); };
  end = correct();
  if (end != Try::accepted) return trail_.drop_latest(), end;
  error_ = change(predicted_, corrected_);
  end = error_ <= largest_change ? Try::accepted : std::isnan(error_) ? Try::non_finite : Try::too_large;
  if (end == Try::accepted && error_ > second_rest_from) {
    std::swap(predicted_, corrected_);
    if (!rest(to, predicted_, stretches_)) return trail_.drop_latest(), Try::no_rest;
    trail_.put_latest(stretches_);
    end = correct();
    if (end == Try::accepted && !(change(predicted_, corrected_) <= second_rest_from)) end = Try::too_large;
  }
  if (end != Try::accepted) trail_.drop_latest();
  return end;
}

SplitStepper::Outcome SplitStepper::step(double limit, const Rate& rate, const Rest& rest) {
  // At the latest equilibrium every polynomial has the stretches found there.
  static_cast<void>(with_polynomial(StretchTrail::depth, rate)(day_, y_, start_rate_));
  for (;;) {
    // Never leave a sliver of a step before the limit.
    const double left = limit - day_;
    double dt = std::min({next_step_, max_step_, left});
    if (dt < left && left < 1.2 * dt) dt = 0.5 * left;
    const double to = dt >= left ? limit : day_ + dt;
    const double order =
        static_cast<double>(std::min(trail_.count(), StretchTrail::depth - 1)) + 1;  // of the prediction
    const Try end = attempt(to, rate, rest);
    if (end == Try::accepted) {
      const double growth = std::clamp(0.9 * std::pow(good_change / std::max(error_, 1e-10), 1 / order), 0.3, 2.5);
      // A step that was cut short by the limit says nothing against the longer one.
      next_step_ = dt < next_step_ && growth >= 1 ? std::max(next_step_, growth * dt) : growth * dt;
      next_step_ = std::min(next_step_, max_step_);
      previous_day_ = day_;
      day_ = to;
      std::swap(previous_y_, y_);
      std::swap(y_, corrected_);
      return Outcome::accepted;
    }
    ++rejected_;
    next_step_ = dt * (end == Try::too_large && error_ > good_change
                           ? std::clamp(0.9 * std::pow(good_change / error_, 1 / order), 0.2, 0.5)
                           : 0.25);
    if (next_step_ < smallest_step)
      return end == Try::no_rest      ? Outcome::no_rest
             : end == Try::non_finite ? Outcome::non_finite
                                      : Outcome::step_too_small;
  }
}

void SplitStepper::state_at(double day, const Rate& rate, std::vector<double>& y) {
  const TimeStepper::Rate with = with_polynomial(StretchTrail::depth, rate);
  // The corrected integration may have taken several steps of its own: once more from the start, then.
  if (day < inner_.previous_day() || inner_.day() > day_)
    static_cast<void>(inner_.start(previous_day_, previous_y_, with, day_ - previous_day_));
  while (inner_.day() < day) static_cast<void>(inner_.step(day_, with));
  inner_.interpolate(day, y);
}

std::size_t SplitStepper::memory_bytes() const noexcept {
  std::size_t doubles = 9 * y_.capacity();  // stages and copies of the inner stepper
  for (const auto* v : {&y_, &previous_y_, &predicted_, &corrected_, &stretches_, &polynomial_, &start_rate_})
    doubles += v->capacity();
  return (doubles + trail_.size()) * sizeof(double);
}

}  // namespace capsim
