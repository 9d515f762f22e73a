// SPDX-License-Identifier: BSD-3-Clause
// A simulation as bytes, and back: what is kept so that it goes on to the same bits.
#include <stdexcept>

#include "run/checkpoint.hpp"
#include "run/simulation_state.hpp"

namespace capsim {

std::string Simulation::checkpoint() {
  Impl& m = *impl_;
  if (m.unsettled_ != Impl::Unsettled::nothing && m.status_ == Status::cancelled) {  // bytes hold an eye at rest
    const std::string message = m.message_;
    if (m.settle_and_record(m.unsettled_)) m.message_ = message;
  }
  m.connect();
  m.trail_.restart(m.day_, m.x_);
  Checkpoint c;
  c.scenario = m.scenario_.to_json(-1);
  c.version = std::string(version());
  c.law = std::string(m.law_->name());
  c.day = m.day_;
  c.next_step = m.next_step_;
  c.x = m.x_;
  c.y = m.y_;
  if (m.steps_go_on_)
    for (std::size_t i = 0; i < m.stepper_.trail().count(); ++i)
      c.equilibria.emplace_back(m.stepper_.trail()[i].day, m.stepper_.trail()[i].stretches);
  c.open_layers = m.open_layers_;
  c.next_event = m.next_event_;
  c.zonule = m.zonule_spec_;
  c.failed = m.zonule_->failed();
  c.status = m.status_;
  c.message = m.message_;
  c.cuts = m.cuts_;
  c.diagnostics = m.history(m.recorder_.series()).diagnostics();
  c.series = m.recorder_.series();
  if (m.ring_) {
    c.ring = m.ring_spec_;
    c.ring_day = m.ring_day_;
    c.held_span = m.ring_->held_span();
    c.held_place = m.ring_->held_place();
  }
  c.residual_mN = m.last_report_.residual_mN;
  c.energy = m.last_report_.energy;
  return to_bytes(c);
}

Simulation Simulation::restore(std::shared_ptr<const Model> model, const std::string& bytes, SimulationExtras extras) {
  const Checkpoint c = from_bytes(bytes);
  if (c.scenario != model->scenario().to_json(-1))
    throw std::invalid_argument(
        "checkpoint: of another scenario than the model's; build the model from the scenario it was made with");
  auto impl = std::make_unique<Impl>(std::move(model), std::move(extras));
  Impl& m = *impl;
  if (c.law != m.law_->name() || c.x.size() != m.x_.size() || c.y.size() != m.y_.size() ||
      c.open_layers.size() != m.open_layers_.size() || c.equilibria.size() > StretchTrail::depth ||
      std::any_of(c.equilibria.begin(), c.equilibria.end(),
                  [&](const auto& e) { return e.second.size() != m.stretches_.size(); }))
    throw std::invalid_argument(
        "checkpoint: its model had other cut lines, another ring or another contraction law; build the model as "
        "it was, and pass the same law");
  m.day_ = c.day;
  m.next_step_ = c.next_step;
  m.x_ = c.x;
  m.y_ = c.y;
  m.open_layers_ = c.open_layers;
  m.next_event_ = c.next_event;
  m.zonule_spec_ = c.zonule;
  m.zonule_->set_strength(c.zonule);
  m.zonule_->set_failed(c.failed);
  m.status_ = c.status;
  m.message_ = c.message;
  m.cuts_ = c.cuts;
  m.diagnostics_ = c.diagnostics;
  m.counted_.equilibria = c.diagnostics.equilibria;
  m.counted_.iterations = c.diagnostics.newton_iterations;
  m.counted_.factorizations = c.diagnostics.factorizations;
  m.counted_.projected = c.diagnostics.projected_factorizations;
  m.counted_.seconds_elements = c.diagnostics.seconds_elements;
  m.counted_.seconds_factor = c.diagnostics.seconds_factor;
  m.counted_.seconds_solve = c.diagnostics.seconds_solve;
  m.recorder_.restore(c.series);
  if (c.ring) {
    m.ring_ = m.model_->make_tension_ring(*c.ring);
    m.ring_->set_insertion_day(c.ring_day);
    m.ring_->hold_at(c.held_span, c.held_place);
    m.ring_spec_ = c.ring;
    m.ring_day_ = c.ring_day;
  }
  m.last_report_.residual_mN = c.residual_mN;
  m.last_report_.energy = c.energy;
  m.put_state(m.y_);
  m.connect();
  m.trail_.restart(m.day_, m.x_);
  if (!c.equilibria.empty()) {
    StretchTrail trail;
    for (const auto& [day, stretches] : c.equilibria) trail.push(day, stretches);
    m.stepper_.resume(m.day_, m.y_, trail, m.next_step_);
    m.steps_go_on_ = true;
  }
  Simulation result(std::move(impl));
  return result;
}

}  // namespace capsim
