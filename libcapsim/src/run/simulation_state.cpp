// SPDX-License-Identifier: BSD-3-Clause
// What a simulation holds: how it begins, goes on from a state, and shows itself.
#include "run/simulation_state.hpp"

#include <algorithm>

#include "capsim/version.hpp"
#include "text/number_in_text.hpp"

namespace capsim {

std::string Simulation::Impl::number(double v) { return with_numbers("%.4g", {v}); }

void Simulation::Impl::begin(const ProgressCallback& progress) {
  const HostWatch::Call call = listening(progress);
  if (scenario_.tension_ring) {
    parts_.take_first_ring(*model_, now_);
    watch(&RunWatcher::ring_laid);
  }
  connect();
  (void)settle_and_record(EyeState::Unsettled::day_0);
}

HostWatch::Call Simulation::Impl::listening(const ProgressCallback& progress) {
  return {watch_, progress, equilibrium_.counts().work(),
          progress ? recorder_.opening_area_mm2(now_.positions, open_layers_) : 0.0};
}

bool Simulation::Impl::settle_and_record(EyeState::Unsettled jump) {
  now_.unsettled = jump;
  const bool event = jump == EyeState::Unsettled::event;
  if (!settle(event ? "after the event of day " + number(now_.day) : "at the end of surgery")) return false;
  now_.unsettled = EyeState::Unsettled::nothing;
  record(event ? EventSide::after : next_event_due() ? EventSide::before : EventSide::none);
  return true;
}

void Simulation::Impl::go_on_from_state() {
  parts_.follow(*model_, now_);
  last_report_.residual_mN = now_.residual_mN;
  last_report_.energy = now_.energy;
  connect();
  trail_.restart(now_.day, now_.positions);
  steps_go_on_ = now_.steps.count() > 0;
  if (steps_go_on_) stepper_.resume(now_.day, now_.tissue, now_.steps, now_.next_step_days);
}

EyeState Simulation::Impl::state_now() const {
  EyeState state = now_;
  if (steps_go_on_)
    state.steps = stepper_.trail();
  else
    state.steps.clear();
  state.residual_mN = last_report_.residual_mN;
  state.energy = last_report_.energy;
  put_counts(equilibrium_.counts(), state.diagnostics);
  find_worst_element(state.diagnostics);
  return state;
}

SplitStepper Simulation::Impl::new_stepper() const {
  return {scenario_.numerics.time_tolerance, std::min(scenario_.numerics.max_step_days, 365.0)};
}

void Simulation::Impl::reserve_rows() {
  const double days = std::max(scenario_.duration_days - now_.day, 0.0);
  recorder_.reserve(static_cast<std::size_t>(days / scenario_.output_every_days) +
                    2 * (events_.size() - now_.next_event) + 3);
}

bool Simulation::Impl::next_event_due() const {
  return now_.next_event < events_.size() && events_[now_.next_event].day < now_.day + same_day;
}

EquilibriumCounts Simulation::Impl::counts_of(const Diagnostics& d) {
  EquilibriumCounts c;
  c.equilibria = d.equilibria;
  c.iterations = d.newton_iterations;
  c.factorizations = d.factorizations;
  c.projected = d.projected_factorizations;
  c.seconds_elements = d.seconds_elements;
  c.seconds_factor = d.seconds_factor;
  c.seconds_solve = d.seconds_solve;
  return c;
}

void Simulation::Impl::put_counts(const EquilibriumCounts& c, Diagnostics& d) const {
  d.equilibria = counted_.equilibria + c.equilibria;
  d.newton_iterations = counted_.iterations + c.iterations;
  d.factorizations = counted_.factorizations + c.factorizations;
  d.projected_factorizations = counted_.projected + c.projected;
  d.seconds_elements = counted_.seconds_elements + c.seconds_elements;
  d.seconds_factor = counted_.seconds_factor + c.seconds_factor;
  d.seconds_solve = counted_.seconds_solve + c.seconds_solve;
  d.work = worked_ + c.work();
}

History Simulation::Impl::history() const {
  Diagnostics d = now_.diagnostics;
  put_counts(equilibrium_.counts(), d);
  find_worst_element(d);
  std::string message = now_.message;
  if (message.empty())
    message = now_.day >= scenario_.duration_days - same_day ? "completed " + number(scenario_.duration_days) + " days"
                                                             : "on its way, day " + number(now_.day);
  return History::assemble(scenario_, now_.status, message, std::string(version()), d, cut_records(*model_, now_.cuts),
                           recorder_.series());
}

void Simulation::Impl::go_on() {
  if (now_.status != Status::cancelled) return;
  if (now_.row_of_cancel) recorder_.drop_last();
  now_.row_of_cancel = false;
  now_.status = Status::completed;
  now_.message.clear();
}

void Simulation::Impl::connect() {
  list_.clear();
  parts_.each([this](Part& part) { list_.push_back(&part); });
  parts_.set_day(now_.day);  // a row recorded before the next step sees the lens of today
  const bool ring = parts_.ring() != nullptr;
  equilibrium_.settings().tolerance_mN = now_.diagnostics.tolerance_mN;
  equilibrium_.settings().shift_mN_per_mm = 1e-8 * model_->force_scale_mN();
  equilibrium_.settings().step_cap_mm = ring ? 0.1 : 0.2;
  // The stiff wire leaves a kept factorization quickly behind.
  equilibrium_.settings().max_work = share_of_one * scenario_.numerics.max_work;
  equilibrium_.settings().all_work = scenario_.numerics.max_work - worked_;
  equilibrium_.watch([this] { return ask(); });
  equilibrium_.share_patterns(model_->patterns());
  equilibrium_.set_system(list_, model_->dof_map(open_layers_, parts_.lens() != nullptr, ring));
  reserve_rows();
}

void Simulation::Impl::record(EventSide side) {
  Snapshot s = parts_.seen();
  s.day = now_.day;
  s.side = side;
  s.x = now_.positions;
  s.parts = list_;
  s.open_layers = open_layers_;
  s.energy = last_report_.energy;
  s.residual_mN = last_report_.residual_mN;
  now_.diagnostics.residual_mN = last_report_.residual_mN;
  recorder_.record(s);
  watch(&RunWatcher::recorded, side);
}

}  // namespace capsim
