// SPDX-License-Identifier: BSD-3-Clause
// A simulation on its way: time steps, rows, events.
#include "run/simulation_state.hpp"

#include <algorithm>
#include <cmath>

#include "capsim/cuts.hpp"

namespace capsim {
namespace {

/// A looser tolerance of forces for as long as it lives.
class Looser {
 public:
  Looser(double& tolerance_mN, double times) noexcept : tolerance_(&tolerance_mN), before_(tolerance_mN) {
    tolerance_mN *= times;
  }
  ~Looser() { *tolerance_ = before_; }
  Looser(const Looser&) = delete;
  Looser& operator=(const Looser&) = delete;

 private:
  double* tolerance_;
  double before_;
};

// Of the rest that a step extrapolates and interpolates stretches from; rows have the full tolerance. Under the rim
// alone it would save nothing. See decisions/split_time_steps.md.
constexpr double looser_in_steps_of_a_bag = 10;

}  // namespace

bool Simulation::Impl::run_to(double day, const ProgressCallback& progress) {
  go_on();
  if (now_.status != Status::completed) return false;
  const HostWatch::Call call = listening(progress);
  if (now_.unsettled != EyeState::Unsettled::nothing && !settle_and_record(now_.unsettled)) return false;
  const double last = std::min(day, scenario_.duration_days);
  if (next_event_due() && !recorder_.has_day(now_.day)) record(EventSide::before);  // cancelled on its day
  for (;;) {
    if (next_event_due()) {
      if (!act_on_due_events()) return false;
      continue;
    }
    if (now_.day >= last - same_day) return true;
    const double stop = now_.next_event < events_.size() ? std::min(events_[now_.next_event].day, last) : last;
    if (!advance(stop, progress)) return false;
    if (next_event_due()) record(EventSide::before);
  }
}

bool Simulation::Impl::advance(double stop, const ProgressCallback& progress) {
  begin_steps();
  while (now_.day < stop - same_day) {
    if (now_.diagnostics.steps >= scenario_.numerics.max_steps) return end_by_steps();
    if (!step(stop)) return false;
    if (!record_inside_step(stop)) return false;
    now_.day = stepper_.day();
    now_.tissue = stepper_.state();
    const bool last = now_.day >= scenario_.duration_days - same_day;
    const double interval = scenario_.output_every_days;
    const bool due_now = std::abs(now_.day - interval * std::round(now_.day / interval)) < 1e-7;
    // Between rows and stops the positions are those of the step's own equilibrium, for the predicted state.
    const bool wanted = last || due_now || now_.day >= stop - same_day || scenario_.zonule.failure_elongation_mm;
    if (wanted ? !equilibrate(now_.day, now_.tissue) : !put_back()) return end_by_equilibrium("after a time step");
    if (wanted) watch(&RunWatcher::row_at_end);
    now_.diagnostics.last_good_day = now_.day;
    now_.next_step_days = stepper_.next_step();
    if (fail_bundles()) {
      steps_go_on_ = false;
      now_.next_step_days = EyeState::first_step_days;
      if (!settle("after bundles of the zonule failed")) return false;
      begin_steps();
    }
    const bool event_day = next_event_due();
    if (!event_day && (last || due_now)) record(EventSide::none);
    if (progress &&
        !progress({now_.day, scenario_.duration_days, recorder_.opening_area_mm2(now_.positions, open_layers_)})) {
      if (!equilibrate_unasked(now_.day, now_.tissue)) return end_by_equilibrium("after a time step");
      now_.status = Status::cancelled;
      now_.message = "cancelled on day " + number(now_.day);
      if (event_day || !(last || due_now)) record_cancel();
      return false;
    }
  }
  return true;
}

void Simulation::Impl::begin_steps() {
  trail_.restart(now_.day, now_.positions);
  equilibrium_.forget_factor();
  if (steps_go_on_) return;
  parts_.stretches(now_.positions, stretches_);
  stepper_.start(now_.day, now_.tissue, stretches_, now_.next_step_days);
  steps_go_on_ = true;
  watch(&RunWatcher::steps_begin);
}

bool Simulation::Impl::step(double stop) {
  const long rejected = stepper_.rejected(), rates = stepper_.rates();
  SplitStepper::Outcome outcome{};
  std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
  try {
    outcome = stepper_.step(stop, rate_, rest_);
  } catch (...) {  // of the host
    go_back();
    throw;
  }
  now_.diagnostics.rejected_steps += stepper_.rejected() - rejected;
  now_.diagnostics.right_hand_sides += stepper_.rates() - rates;
  switch (outcome) {
    case SplitStepper::Outcome::accepted:
      std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
      ++now_.diagnostics.steps;
      watch(&RunWatcher::stepped, StepTaken{stepper_.day(),
                                            stop,
                                            stepper_.integrations(),
                                            {stepper_.inner_days(0), stepper_.inner_days(1), stepper_.inner_days(2)}});
      return true;
    case SplitStepper::Outcome::no_rest:
      if (last_report_.end == EquilibriumEnd::interrupted) return cancel_inside_step();
      return end_by_equilibrium("with the smallest time step");
    case SplitStepper::Outcome::non_finite:
      now_.status = Status::non_finite;
      now_.message = "a number in the tissue's state under the law " + name_of_law() + " is not finite after day " +
                     number(now_.day) + "; look for a rate or a weight of contraction that is far from usual";
      keep_last_day();
      return false;
    case SplitStepper::Outcome::step_too_small:
      now_.status = Status::step_too_small;
      now_.message = "the time step fell below 1e-6 day after day " + number(now_.day) +
                     ": the tissue changes faster than the time tolerance of " +
                     number(scenario_.numerics.time_tolerance) + " lets it be followed; try a larger one";
      keep_last_day();
      return false;
  }
  return false;
}

void Simulation::Impl::go_back() {
  (void)put_back();
  steps_go_on_ = false;
}

bool Simulation::Impl::cancel_inside_step() {
  go_back();
  now_.status = Status::cancelled;
  now_.message = "cancelled on day " + number(now_.day) + ", inside a time step";
  if (!recorder_.has_day(now_.day) && equilibrate_unasked(now_.day, now_.tissue)) record_cancel();
  return false;
}

void Simulation::Impl::record_cancel() {
  record(EventSide::none);
  now_.row_of_cancel = true;
}

bool Simulation::Impl::record_inside_step(double stop) {
  constexpr double many_rows = 3;
  trail_.forget_row();
  const double interval = scenario_.output_every_days;
  double due = interval * (std::floor(now_.day / interval + 1e-9) + 1);
  // Many rows are nearer to rest when they lie on the way to the rest of the corrected state.
  if (std::min(stepper_.day(), stop) - due > (many_rows - 1) * interval &&
      !equilibrate_unasked(stepper_.day(), stepper_.state()))
    return end_by_equilibrium("after a time step");
  for (; due < stepper_.day() - same_day && due < stop - same_day; due += interval) {
    if (watcher_ != nullptr && watcher_->passes_over_row()) {
      watcher_->passed_over_row();
      continue;
    }
    stepper_.state_at(due, rate_, row_tissue_);
    if (!equilibrate_unasked(due, row_tissue_, true)) return end_by_equilibrium("on output day " + number(due));
    now_.day = due;
    std::swap(now_.tissue, row_tissue_);
    watch(&RunWatcher::row_inside, due);
    record(EventSide::none);
    if (!ask_at_row()) return cancel_at_row();
    std::swap(now_.tissue, row_tissue_);
  }
  return true;
}

bool Simulation::Impl::ask_at_row() {
  try {
    return ask();
  } catch (...) {  // of the host
    stay_at_row();
    throw;
  }
}

void Simulation::Impl::stay_at_row() {
  std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
  steps_go_on_ = false;
  now_.diagnostics.last_good_day = now_.day;
}

bool Simulation::Impl::cancel_at_row() {
  stay_at_row();
  now_.status = Status::cancelled;
  now_.message = "cancelled on day " + number(now_.day);
  return false;
}

bool Simulation::Impl::equilibrate_unasked(double day, const std::vector<double>& y, bool inside_step) {
  const HostWatch::Quiet quiet(watch_);
  return equilibrate(day, y, inside_step);
}

bool Simulation::Impl::put_back() {
  std::copy(step_positions_.begin(), step_positions_.end(), now_.positions.begin());
  parts_.put_tissue(now_.tissue);
  parts_.set_day(now_.day);
  return true;
}

bool Simulation::Impl::end_by_steps() {
  if (!equilibrate(now_.day, now_.tissue)) return end_by_equilibrium("after a time step");
  now_.status = Status::too_many_steps;
  now_.message = "more than " + std::to_string(scenario_.numerics.max_steps) + " time steps; reached day " +
                 number(now_.day) + "; try more numerics.max_steps";
  if (!recorder_.has_day(now_.day)) record(EventSide::none);
  return false;
}

bool Simulation::Impl::rest(double day, const std::vector<double>& y, std::vector<double>& stretches) {
  {
    const Looser looser(equilibrium_.settings().tolerance_mN,
                        model_->bag_sites().empty() ? 1 : looser_in_steps_of_a_bag);
    if (!equilibrate(day, y)) return false;
  }
  parts_.stretches(now_.positions, stretches);
  if (watcher_ != nullptr) watcher_->tried(y, now_.positions);
  return true;
}

bool Simulation::Impl::equilibrate(double day, const std::vector<double>& y, bool inside_step) {
  parts_.put_tissue(y);
  parts_.set_day(day);
  if (inside_step) {
    trail_.between(day, now_.positions);
  } else {
    trail_.cut(day);
    trail_.extrapolate(day, now_.positions);
  }
  find_rest();
  if (ended_for_good(last_report_.end)) return false;
  if (!last_report_.converged()) {
    trail_.latest(now_.positions);  // the extrapolation may have overshot
    find_rest();
    if (!last_report_.converged()) return false;
  }
  now_.diagnostics.max_newton_iterations =
      std::max<long>(now_.diagnostics.max_newton_iterations, last_report_.iterations);
  if (inside_step)
    trail_.push_row(day, now_.positions);
  else
    trail_.push(day, now_.positions);
  return true;
}

void Simulation::Impl::find_rest() {
  last_report_ = equilibrium_.solve(now_.positions);
  Diagnostics& d = now_.diagnostics;
  // Not a number where nobody looked; an ordered comparison with it would trap in a host that traps.
  if (last_report_.converged() && !std::isnan(last_report_.least_pivot_mN_per_mm))
    d.least_pivot_mN_per_mm = last_report_.least_pivot_mN_per_mm;
  d.saddles_left += last_report_.saddles_left;
}

bool Simulation::Impl::ended_for_good(EquilibriumEnd end) {
  return end == EquilibriumEnd::interrupted || end == EquilibriumEnd::too_much_work;
}

bool Simulation::Impl::act_on_due_events() {
  const std::size_t first = now_.next_event;
  while (next_event_due()) ++now_.next_event;
  return act(std::span(events_).subspan(first, now_.next_event - first), first);
}

bool Simulation::Impl::act(std::span<const PlacedAction> actions, std::size_t first_event) {
  for (const PlacedAction& placed : actions) {
    for (const std::size_t cut : placed.cuts) open_cut(cut);
    parts_.act(*model_, placed.action, now_);
  }
  watch(&RunWatcher::acted, first_event, actions.size());
  connect();
  now_.next_step_days = EyeState::first_step_days;
  steps_go_on_ = false;
  return settle_and_record(EyeState::Unsettled::event);
}

void Simulation::Impl::open_cut(std::size_t planned) {
  const PlannedCut& cut = model_->cuts()[planned];
  now_.cuts.push_back({planned, length_along_leaf_mm(model_->mesh(), now_.positions, cut.line, cut.layers), now_.day});
  open_layers_ = open_layers(*model_, now_.cuts);
}

bool Simulation::Impl::fail_bundles() {
  if (!scenario_.zonule.failure_elongation_mm) return false;
  bool any = false;
  while (parts_.fail_bundles(*scenario_.zonule.failure_elongation_mm, now_)) {
    any = true;
    equilibrium_.forget_factor();
    find_rest();
    if (!last_report_.converged()) break;
  }
  return any;
}

bool Simulation::Impl::settle(std::string_view when) {
  parts_.put_tissue(now_.tissue);
  parts_.set_day(now_.day);
  equilibrium_.forget_factor();
  find_rest();
  if (!last_report_.converged()) return end_by_equilibrium(when);
  if (fail_bundles() && !last_report_.converged())
    return end_by_equilibrium("after bundles of the zonule failed, " + std::string(when));
  now_.diagnostics.last_good_day = now_.day;
  trail_.restart(now_.day, now_.positions);
  watch(&RunWatcher::settled);
  return true;
}

}  // namespace capsim
