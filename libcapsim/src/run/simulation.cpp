// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <algorithm>
#include <chrono>
#include <string>

#include "capsim/model.hpp"
#include "capsim/version.hpp"
#include "run/simulation_state.hpp"

namespace capsim {

Simulation::Simulation(std::shared_ptr<const Model> model, SimulationExtras extras, const ProgressCallback& progress)
    : impl_(std::make_unique<Impl>(std::move(model), std::move(extras))) {
  const auto start = std::chrono::steady_clock::now();
  impl_->begin(progress);
  impl_->diagnostics_.wall_seconds =
      impl_->model_->build_seconds() + std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}
Simulation::Simulation(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Simulation::Simulation(const Simulation& other) : impl_(std::make_unique<Impl>(*other.impl_)) {}
Simulation& Simulation::operator=(const Simulation& other) {
  if (this != &other) impl_ = std::make_unique<Impl>(*other.impl_);
  return *this;
}
Simulation::Simulation(Simulation&&) noexcept = default;
Simulation& Simulation::operator=(Simulation&&) noexcept = default;
Simulation::~Simulation() = default;

bool Simulation::advance_to(double day, const ProgressCallback& progress) {
  const auto start = std::chrono::steady_clock::now();
  const bool good = impl_->run_to(day, progress);
  impl_->diagnostics_.wall_seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return good;
}

bool Simulation::apply(const std::variant<RelaxingCuts, ZonuleDamage, TensionRingSpec>& action) {
  Impl& m = *impl_;
  if (m.status_ == Status::cancelled) m.status_ = Status::completed;
  if (m.status_ != Status::completed) return false;
  // The action must be one that the scenario could have held, and that the mesh has lines for.
  Scenario with = m.scenario_;
  with.duration_days = std::max(with.duration_days, m.day_);
  with.events.push_back({m.day_, action});
  std::vector<Violation> violations = with.violations();
  if (const auto* cuts = std::get_if<RelaxingCuts>(&action))
    for (const double hour : cuts->hours)
      if (m.model_->find_cut(hour, cuts->length_mm) == nullptr)
        violations.push_back({"relaxing_cuts",
                              Impl::number(hour) + " o'clock, " + Impl::number(cuts->length_mm) + " mm",
                              "a cut line the model was built with", "name it among the model's possible cuts"});
  if (std::holds_alternative<TensionRingSpec>(action) && m.model_->ring_segments() == 0)
    violations.push_back(
        {"tension_ring", "a ring", "none: the model foresees no ring", "build the model with ring_possible"});
  if (!violations.empty()) throw ScenarioError(std::move(violations));
  m.record(EventSide::before);
  m.act(action);
  m.connect();
  m.next_step_ = Impl::first_step;
  m.steps_go_on_ = false;
  if (!m.settle("after an action on day " + Impl::number(m.day_))) return false;
  m.record(EventSide::after);
  return true;
}

double Simulation::day() const noexcept { return impl_->day_; }
Status Simulation::status() const noexcept { return impl_->status_; }
const std::string& Simulation::message() const noexcept { return impl_->message_; }
const Model& Simulation::model() const noexcept { return *impl_->model_; }
RunawayMargin Simulation::runaway_margin() const {
  const Impl& m = *impl_;
  if (!m.tissue_) return {};
  RunawayEye eye;
  std::vector<std::unique_ptr<Part>> own;
  const auto keep = [&](const Part* part) {
    if (part == nullptr) return;
    own.push_back(part->clone());
    eye.parts.push_back(own.back().get());
  };
  for (const Part* part : std::initializer_list<const Part*>{m.anterior_.get(), m.posterior_.get(), m.zonule_.get(),
                                                             m.backing_.get(), m.lens_.get(), m.ring_.get()})
    keep(part);
  for (const auto& part : m.more_) keep(part.get());
  SustainedPull pull(m.model_->mesh().anterior(), *m.tissue_, m.x_);
  const auto rest_of_tissue = std::make_unique<FibrousTissue>(*m.tissue_);
  for (auto& natural : rest_of_tissue->fields().natural) std::fill(natural.begin(), natural.end(), 1e9);  // slack
  for (auto& active : rest_of_tissue->fields().active) std::fill(active.begin(), active.end(), 0.0);
  eye.parts.push_back(rest_of_tissue.get());
  eye.pull = &pull;
  eye.x = m.x_;
  eye.dof_of_coordinate = m.model_->dof_map(m.open_layers_, m.lens_ != nullptr, m.ring_ != nullptr);
  eye.force_scale_mN = m.model_->force_scale_mN();
  eye.tolerance_mN = 10 * m.diagnostics_.tolerance_mN;  // a margin to three digits needs no more
  const std::vector<int> uncut(m.open_layers_.size(), 0);
  eye.first_area_mm2 = capsim::opening_area_mm2(m.model_->mesh(), m.model_->rest_as_stated(), uncut);
  eye.opening_area_mm2 = [&m](std::span<const double> x) {
    return capsim::opening_area_mm2(m.model_->mesh(), x, m.open_layers_);
  };
  return find_runaway(eye);
}

double Simulation::opening_area_mm2() const {
  return capsim::opening_area_mm2(impl_->model_->mesh(), impl_->x_, impl_->open_layers_);
}
std::span<const double> Simulation::positions() const noexcept { return impl_->x_; }
std::span<const double> Simulation::tissue_state() const noexcept {
  return impl_->tissue_ ? std::span<const double>(impl_->y_) : std::span<const double>();
}
History Simulation::history() const { return impl_->history(impl_->recorder_.series()); }

std::size_t Simulation::memory_bytes() const noexcept {
  const Impl& m = *impl_;
  std::size_t doubles =
      m.x_.capacity() + m.y_.capacity() + m.y_output_.capacity() + m.stretches_.capacity() + m.trail_.size();
  if (m.tissue_) doubles += (1 + 2 * fibre_families + m.tissue_->fields().growth.size()) * m.tissue_->points();
  return sizeof(Impl) + sizeof(double) * doubles + m.stepper_.memory_bytes() + m.recorder_.memory_bytes() +
         m.equilibrium_.memory_bytes() + m.zonule_->bundles().size() * sizeof(Zonule::Bundle);
}

History simulate(std::shared_ptr<const Model> model, const ProgressCallback& progress) {
  const double last = model->scenario().duration_days;
  Simulation simulation(std::move(model), {}, progress);
  if (simulation.status() == Status::completed) simulation.advance_to(last, progress);
  return simulation.history();
}

History simulate(const Scenario& scenario, const ProgressCallback& progress,
                 const std::shared_ptr<ModelLibrary>& library) {
  const auto start = std::chrono::steady_clock::now();
  try {
    const auto go_on = [&] { return !progress || progress({0, scenario.duration_days, 0}); };
    return simulate(std::make_shared<const Model>(scenario, std::vector<RelaxingCuts>{}, false, library, go_on),
                    progress);
  } catch (const ModelError& error) {
    // No rest state: a history without rows that says why.
    Diagnostics diagnostics;
    diagnostics.wall_seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    return History::assemble(
        scenario, error.status(), error.what(), std::string(version()), diagnostics, {},
        {{"day", "d", "Days since the end of surgery.", 1, {}}, {"event_side", "1", "Side of an event.", 1, {}}});
  }
}

}  // namespace capsim
