// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <span>
#include <string>

#include "capsim/model.hpp"
#include "capsim/version.hpp"
#include "run/simulation_state.hpp"

namespace capsim {

std::string_view to_word(Advance how) noexcept {
  constexpr std::string_view words[] = {"reached", "cancelled", "ended"};
  return words[static_cast<std::size_t>(how)];
}

Simulation::Simulation(std::shared_ptr<const Model> model, SimulationExtras extras, const ProgressCallback& progress) {
  refuse_null(model, extras);
  const auto start = std::chrono::steady_clock::now();
  const double build_seconds = model->build_seconds();
  const auto law = law_of(model->scenario(), extras);
  std::vector<Violation> violations;
  for (const Event& event : model->scenario().events) find_unchangeable(event, *law, violations);
  if (!violations.empty()) throw ScenarioError(std::move(violations));
  EyeParts parts(*model, law, extras.parts);
  Recorder recorder(*model);
  EyeState state = at_end_of_surgery(*model, parts.tissue());
  impl_ = std::make_unique<Impl>(std::move(model), std::move(parts), std::move(recorder), std::move(state));
  impl_->begin(progress);
  impl_->now_.diagnostics.wall_seconds =
      build_seconds + std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}
Simulation::Simulation(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
// A fork: the same state and records, parts of its own, a fresh factorization.
Simulation::Simulation(const Simulation& other) {
  const Impl& m = other.held();
  impl_ = std::make_unique<Impl>(m.model_, EyeParts(*m.model_, m.parts_.law(), m.parts_.from_host()), m.recorder_,
                                 m.state_now());
  impl_->go_on_from_state();
}
Simulation& Simulation::operator=(const Simulation& other) {
  if (this != &other) *this = Simulation(other);
  return *this;
}
Simulation::Simulation(Simulation&&) noexcept = default;
Simulation& Simulation::operator=(Simulation&&) noexcept = default;
Simulation::~Simulation() = default;

Simulation::Impl& Simulation::held() const {
  if (!impl_) throw ArgumentError("this Simulation was moved from: it holds no eye any more");
  return *impl_;
}

Advance Simulation::advance_to(double day, const ProgressCallback& progress) {
  Impl& m = held();
  if (std::isnan(day)) throw ArgumentError("advance_to needs a day, not a NaN");
  const Impl::AtWork work(m, "advance_to");
  const auto start = std::chrono::steady_clock::now();
  const bool good = m.run_to(day, progress);
  m.now_.diagnostics.wall_seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  if (good) return Advance::reached;
  return m.now_.status == Status::cancelled ? Advance::cancelled : Advance::ended;
}

bool Simulation::apply(const Action& action, const ProgressCallback& progress) {
  Impl& m = held();
  const Impl::AtWork work(m, "apply");
  if (m.now_.status != Status::completed && m.now_.status != Status::cancelled) return false;
  // The action must be one that the scenario could have held, that the mesh has lines for, and that is new.
  Scenario with = m.scenario_;
  with.duration_days = std::max(with.duration_days, m.now_.day);
  with.events.push_back({m.now_.day, action});
  std::vector<Violation> violations = with.violations();
  const PlacedAction placed = capsim::placed(*m.model_, with.events.back(), violations);
  find_unchangeable(with.events.back(), *m.parts_.law(), violations);
  find_repeated(placed, *m.model_, m.now_, violations);
  if (!violations.empty()) throw ScenarioError(std::move(violations));
  m.go_on();
  // Before the action nobody is asked: a no would leave open whether it was done.
  if (m.now_.unsettled != EyeState::Unsettled::nothing && !m.settle_and_record(m.now_.unsettled)) return false;
  m.record(EventSide::before);
  const HostWatch::Call call = m.listening(progress);
  return m.act(std::span(&placed, 1));
}

double Simulation::day() const { return held().now_.day; }
Status Simulation::status() const { return held().now_.status; }
const std::string& Simulation::message() const { return held().now_.message; }
const Model& Simulation::model() const { return *held().model_; }
RunawayMargin Simulation::runaway_margin() const {
  const Impl& m = held();
  const EyeTissue& all_tissue = m.parts_.tissue();
  if (all_tissue.none()) return {};
  RunawayEye eye;
  std::vector<std::unique_ptr<Part>> own;
  m.parts_.each([&](const Part& part) {
    if (!all_tissue.holds(part)) own.push_back(part.clone());
  });
  const std::vector<double>& x = m.now_.positions;
  all_tissue.each_tissue([&](const FibrousTissue& tissue) {
    eye.pulls.emplace_back(tissue.patch(), tissue, x);
    auto rest = std::make_unique<FibrousTissue>(tissue);
    for (auto& natural : rest->fields().natural) std::fill(natural.begin(), natural.end(), 1e9);  // slack
    for (auto& active : rest->fields().active) std::fill(active.begin(), active.end(), 0.0);
    own.push_back(std::move(rest));
  });
  for (const auto& part : own) eye.parts.push_back(part.get());
  eye.x = x;
  eye.dof_of_coordinate = m.model_->dof_map(m.open_layers_, m.parts_.lens() != nullptr, m.parts_.ring() != nullptr);
  eye.force_scale_mN = m.model_->force_scale_mN();
  eye.tolerance_mN = 10 * m.now_.diagnostics.tolerance_mN;  // a margin to three digits needs no more
  const std::vector<int> uncut(m.open_layers_.size(), 0);
  eye.first_area_mm2 = capsim::opening_area_mm2(m.model_->mesh(), m.model_->rest_as_stated(), uncut);
  eye.opening_area_mm2 = [&m](std::span<const double> at) {
    return capsim::opening_area_mm2(m.model_->mesh(), at, m.open_layers_);
  };
  return find_runaway(eye);
}

double Simulation::opening_area_mm2() const {
  const Impl& m = held();
  return capsim::opening_area_mm2(m.model_->mesh(), m.now_.positions, m.open_layers_);
}
std::span<const double> Simulation::positions() const { return held().now_.positions; }
std::span<const double> Simulation::tissue_state() const {
  const Impl& m = held();
  return std::span<const double>(m.now_.tissue).first(m.parts_.tissue().rim_variables());
}
const ContractionLaw& Simulation::law() const { return *held().parts_.law(); }
History Simulation::history() const { return held().history(); }

std::size_t Simulation::memory_bytes() const {
  const Impl& m = held();
  std::size_t doubles = m.trail_.size();
  for (const auto* v : {&m.now_.positions, &m.now_.tissue, &m.row_tissue_, &m.step_positions_, &m.stretches_})
    doubles += v->capacity();
  return sizeof(Impl) + sizeof(double) * doubles + m.parts_.memory_bytes() + m.stepper_.memory_bytes() +
         m.recorder_.memory_bytes() + m.equilibrium_.memory_bytes();
}

History never_begun(const Scenario& scenario, const ModelError& why, double seconds) {
  Diagnostics diagnostics;
  diagnostics.wall_seconds = seconds;
  diagnostics.work = why.work();
  std::vector<Series> no_rows;
  for (const Observable& o : observables().first(2))  // day and event_side
    no_rows.push_back({std::string(o.name), std::string(o.unit), std::string(o.description), 1, {}, o.axis});
  return History::assemble(scenario, why.status(), why.what(), std::string(version()), diagnostics, {},
                           std::move(no_rows));
}

namespace {

/// Runs a simulation to the last day of its scenario.
RunWithMargin run(Simulation simulation, const ProgressCallback& progress, bool with_margin) {
  const bool reached = simulation.status() == Status::completed &&
                       simulation.advance_to(simulation.model().scenario().duration_days, progress) == Advance::reached;
  RunWithMargin result{simulation.history(), {}};
  if (reached && with_margin) result.margin = simulation.runaway_margin();
  return result;
}

/// Runs a scenario; an eye without a rest state becomes a history without rows that says why.
RunWithMargin run(const Scenario& scenario, SimulationExtras extras, const ProgressCallback& progress,
                  const std::shared_ptr<ModelLibrary>& library, bool with_margin) {
  const auto start = std::chrono::steady_clock::now();
  const auto go_on = [&] { return !progress || progress({0, scenario.duration_days, 0}); };
  try {
    auto model = std::make_shared<const Model>(scenario, std::vector<RelaxingCuts>{}, false, library, go_on);
    // The simulation counts anew: it must not ask for the first time only when as much has been done again.
    if (model->in_situ_work() > HostWatch::work_between_looks(model->coordinates()) && !go_on())
      throw ModelError("cancelled before day 0", Status::cancelled, model->in_situ_work());
    return run(Simulation(std::move(model), std::move(extras), progress), progress, with_margin);
  } catch (const ModelError& error) {
    return {
        never_begun(scenario, error, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()),
        {}};
  }
}

}  // namespace

History simulate(std::shared_ptr<const Model> model, const ProgressCallback& progress) {
  return run(Simulation(std::move(model), {}, progress), progress, false).history;
}

History simulate(const Scenario& scenario, const ProgressCallback& progress,
                 const std::shared_ptr<ModelLibrary>& library) {
  return run(scenario, {}, progress, library, false).history;
}

History simulate(const Scenario& scenario, SimulationExtras extras, const ProgressCallback& progress) {
  return run(scenario, std::move(extras), progress, nullptr, false).history;
}

RunWithMargin simulate_with_margin(const Scenario& scenario, const ProgressCallback& progress,
                                   const std::shared_ptr<ModelLibrary>& library) {
  return run(scenario, {}, progress, library, true);
}

}  // namespace capsim
