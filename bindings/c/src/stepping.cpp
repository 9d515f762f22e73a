// SPDX-License-Identifier: BSD-3-Clause
// A simulation that the caller steps through time.
#include <algorithm>
#include <stdexcept>
#include <string>

#include "caller_memory.hpp"
#include "handles.hpp"
#include "memory_limit.hpp"
#include "run_options.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

/// The model for the scenario; null when the host wanted no more before it was built.
std::shared_ptr<const capsim::Model> model_of(const capsim_simulation& handle, const capsim_scenario& scenario,
                                              RunControl& control) {
  const capsim::Progress now{0, scenario.scenario.duration_days, 0};
  try {
    return std::make_shared<const capsim::Model>(scenario.scenario, handle.foreseen_cuts, handle.foreseen_ring, nullptr,
                                                 [&] { return control.go_on(now); });
  } catch (const capsim::ModelError& error) {
    if (error.status() == capsim::Status::cancelled) return nullptr;
    throw;
  }
}

capsim_status not_begun(capsim_simulation& handle, const RunControl& control) {
  return handle.error.keep(CAPSIM_NOT_COMPLETED,
                           control.reason("the host wanted no more while the model was built").c_str());
}

std::string size_of(const capsim::Model& model) {
  return std::to_string(2 * model.mesh().nodes()) + " coordinates of nodes, " + std::to_string(model.build_seconds()) +
         " s for the model";
}

/// OK while the run goes on, else its status with the reason; a guest that broke its contract comes first.
capsim_status progress_of(capsim_simulation& handle, const RunControl* control = nullptr) {
  if (const std::string fault = handle.faults->take(); !fault.empty()) throw Refusal(CAPSIM_BAD_GUEST, fault);
  if (handle.running->status() == capsim::Status::completed) return CAPSIM_OK;
  const std::string& message = handle.running->message();
  return handle.error.keep(CAPSIM_NOT_COMPLETED, (control != nullptr ? control->reason(message) : message).c_str());
}

capsim_status act(capsim_simulation& handle, capsim::Simulation& running, const capsim::Action& action) {
  RunControl control(&handle.watch);
  (void)running.apply(action, control.callback());
  return progress_of(handle, &control);
}

/// Runs `work` on the simulation, when it has been started.
template <class Work>
capsim_status step(capsim_simulation* handle, Work work) noexcept {
  return at_work(handle, [&]() -> capsim_status {
    if (!handle->running) throw Refusal(CAPSIM_NOT_STARTED, capsim_status_text(CAPSIM_NOT_STARTED));
    return work(*handle->running);
  });
}

template <class Work>
capsim_status foresee(capsim_simulation* handle, Work work) noexcept {
  return at_work(handle, [&] {
    if (handle->running) throw Refusal(CAPSIM_BAD_ARGUMENT, "the simulation has been started: foresee before");
    work();
    return CAPSIM_OK;
  });
}

}  // namespace

extern "C" {

capsim_simulation* capsim_simulation_create(void) {
  try {
    return new capsim_simulation;
  } catch (...) {
    return nullptr;
  }
}

void capsim_simulation_destroy(capsim_simulation* simulation) {
  if (simulation == nullptr || simulation->busy) return;  // from inside its own callback: the call needs it still
  delete simulation;
}

capsim_simulation* capsim_simulation_fork(const capsim_simulation* simulation) {
  try {
    if (simulation == nullptr) return nullptr;
    auto fork = std::make_unique<capsim_simulation>(*simulation);
    fork->error = {};  // its log, too, is not the other's
    fork->watch = CAPSIM_RUN_OPTIONS;
    fork->busy = false;
    return fork.release();
  } catch (...) {
    return nullptr;
  }
}

capsim_status capsim_simulation_set_log(capsim_simulation* simulation, capsim_log_callback log, void* user) {
  return set_log(simulation, log, user);
}

capsim_status capsim_simulation_set_memory_limit(capsim_simulation* simulation, size_t bytes) {
  return set_memory_limit(simulation, bytes);
}

capsim_status capsim_simulation_set_watch(capsim_simulation* simulation, const capsim_run_options* watch) {
  return at_work(simulation, [&] {
    simulation->watch = RunControl(watch).options();
    return CAPSIM_OK;
  });
}

capsim_status capsim_simulation_foresee_cuts(capsim_simulation* simulation, const double* hours, size_t count,
                                             double length_mm) {
  return foresee(simulation, [&] {
    const auto list = given_list(hours, count, "hours");
    simulation->foreseen_cuts.push_back({{list.begin(), list.end()}, length_mm});
  });
}

capsim_status capsim_simulation_foresee_ring(capsim_simulation* simulation) {
  return foresee(simulation, [&] { simulation->foreseen_ring = true; });
}

capsim_status capsim_simulation_start(capsim_simulation* simulation, const capsim_scenario* scenario) {
  return at_work(simulation, [&]() -> capsim_status {
    if (scenario == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "scenario is NULL");
    simulation->running.reset();
    simulation->last_advance = CAPSIM_ADVANCE_NONE;
    refuse_beyond(simulation->memory_limit_bytes, scenario->scenario);
    RunControl control(&simulation->watch);
    simulation->model = model_of(*simulation, *scenario, control);
    if (!simulation->model) return not_begun(*simulation, control);
    simulation->running.emplace(simulation->model, simulation->guests, control.callback());
    simulation->error.tell(CAPSIM_LOG_INFO, "started: " + size_of(*simulation->model));
    return progress_of(*simulation, &control);
  });
}

capsim_status capsim_simulation_advance_to(capsim_simulation* simulation, double day,
                                           const capsim_run_options* options) {
  return step(simulation, [&](capsim::Simulation& running) {
    simulation->last_advance = CAPSIM_ADVANCE_NONE;
    RunControl control(options);
    const capsim::Advance how = running.advance_to(day, control.callback());
    const capsim_status status = progress_of(*simulation, &control);
    simulation->last_advance = static_cast<capsim_advance>(how);
    if (how == capsim::Advance::reached)
      simulation->error.tell(CAPSIM_LOG_INFO, "reached day " + std::to_string(running.day()));
    return status;
  });
}

capsim_advance capsim_simulation_last_advance(const capsim_simulation* simulation) {
  return simulation == nullptr ? CAPSIM_ADVANCE_NONE : simulation->last_advance;
}
const char* capsim_advance_name(capsim_advance how) {
  if (how < CAPSIM_ADVANCE_REACHED || how > CAPSIM_ADVANCE_ENDED) return "none";
  return capsim::to_word(static_cast<capsim::Advance>(how)).data();
}

capsim_status capsim_simulation_cut(capsim_simulation* simulation, const double* hours, size_t count,
                                    double length_mm) {
  return step(simulation, [&](capsim::Simulation& running) {
    const auto list = given_list(hours, count, "hours");
    return act(*simulation, running, capsim::RelaxingCuts{{list.begin(), list.end()}, length_mm});
  });
}

capsim_status capsim_simulation_damage_zonule(capsim_simulation* simulation, const int32_t* hours,
                                              const double* strengths, size_t count) {
  return step(simulation, [&](capsim::Simulation& running) {
    const auto hour_list = given_list(hours, count, "hours");
    const auto strength_list = given_list(strengths, count, "strengths");
    capsim::ZonuleDamage damage;
    for (std::size_t k = 0; k < count; ++k) damage.strength_by_hour[hour_list[k]] = strength_list[k];
    return act(*simulation, running, damage);
  });
}

capsim_status capsim_simulation_insert_ring(capsim_simulation* simulation, const capsim_scenario* ring) {
  return step(simulation, [&](capsim::Simulation& running) {
    capsim::TensionRingSpec spec;
    if (ring != nullptr) spec = ring->scenario.tension_ring.value_or(spec);
    return act(*simulation, running, spec);
  });
}

capsim_status capsim_simulation_apply_event(capsim_simulation* simulation, const capsim_scenario* from, size_t index) {
  return step(simulation, [&](capsim::Simulation& running) {
    if (from == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "from is NULL");
    const auto& events = from->scenario.events;
    if (index >= events.size())
      throw Refusal(CAPSIM_NOT_FOUND,
                    "there is no event " + std::to_string(index) + " among " + std::to_string(events.size()));
    return act(*simulation, running, events[index].action);
  });
}

// ---- reading -----------------------------------------------------------------------------------

double capsim_simulation_day(const capsim_simulation* simulation) {
  return simulation == nullptr || !simulation->running ? 0 : simulation->running->day();
}

capsim_status capsim_simulation_opening_area_mm2(const capsim_simulation* simulation, double* area) {
  if (simulation == nullptr || area == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!simulation->running) return CAPSIM_NOT_STARTED;
  return guarded([&] {
    *area = simulation->running->opening_area_mm2();
    return CAPSIM_OK;
  });
}

capsim_end capsim_simulation_end(const capsim_simulation* simulation) {
  if (simulation == nullptr || !simulation->running) return CAPSIM_END_NONE;
  return static_cast<capsim_end>(simulation->running->status());
}

capsim_status capsim_simulation_history(const capsim_simulation* simulation, capsim_history* history) {
  if (simulation == nullptr || history == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (history->busy) return CAPSIM_BUSY;
  history->result.reset();
  return guarded(history->error, [&]() -> capsim_status {
    if (!simulation->running) throw Refusal(CAPSIM_NOT_STARTED, capsim_status_text(CAPSIM_NOT_STARTED));
    history->result.emplace(simulation->running->history());
    return CAPSIM_OK;
  });
}

size_t capsim_simulation_memory_bytes(const capsim_simulation* simulation) {
  return simulation == nullptr || !simulation->running ? 0 : simulation->running->memory_bytes();
}

capsim_status capsim_simulation_positions_mm(const capsim_simulation* simulation, double* x, size_t size,
                                             size_t* needed) {
  if (simulation == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!simulation->running) return CAPSIM_NOT_STARTED;
  return copy_numbers(simulation->running->positions(), x, size, needed);
}

capsim_status capsim_simulation_tissue_state(const capsim_simulation* simulation, double* y, size_t size,
                                             size_t* needed) {
  if (simulation == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!simulation->running) return CAPSIM_NOT_STARTED;
  return copy_numbers(simulation->running->tissue_state(), y, size, needed);
}

capsim_status capsim_simulation_equator_nodes(const capsim_simulation* simulation, int32_t* nodes, size_t size,
                                              size_t* needed) {
  if (simulation == nullptr || (nodes == nullptr && (size != 0 || needed == nullptr))) return CAPSIM_BAD_ARGUMENT;
  if (!simulation->running) return CAPSIM_NOT_STARTED;
  return guarded([&]() -> capsim_status {
    const auto& list = simulation->model->mesh().equator_nodes();
    if (needed != nullptr) *needed = list.size();
    if (nodes == nullptr) return CAPSIM_OK;
    if (size < list.size()) return CAPSIM_BUFFER_TOO_SMALL;
    std::copy(list.begin(), list.end(), nodes);
    return CAPSIM_OK;
  });
}

// ---- guests and runaway ------------------------------------------------------------------------

capsim_status capsim_simulation_add_part(capsim_simulation* simulation, const capsim_part* part) {
  return at_work(simulation, [&] {
    simulation->guests.parts.push_back(part_of(part, simulation->faults));
    return CAPSIM_OK;
  });
}

capsim_status capsim_simulation_set_law(capsim_simulation* simulation, const capsim_law* law) {
  return at_work(simulation, [&] {
    simulation->guests.law = law == nullptr ? nullptr : law_of(law, simulation->faults);
    return CAPSIM_OK;
  });
}

const char* capsim_runaway_end_name(capsim_runaway_end end) {
  if (end < CAPSIM_RUNAWAY_TIPS || end > CAPSIM_RUNAWAY_NOTHING_PULLS) return "unknown";
  return capsim::to_word(static_cast<capsim::RunawayEnd>(end)).data();
}

capsim_status capsim_simulation_runaway_margin(capsim_simulation* simulation, capsim_runaway_margin* margin) {
  return step(simulation, [&](const capsim::Simulation& running) {
    const capsim::RunawayMargin found = running.runaway_margin();
    return fill_struct(margin,
                       capsim_runaway_margin{sizeof(capsim_runaway_margin), static_cast<capsim_runaway_end>(found.end),
                                             found.contraction_factor, found.area_mm2, found.equilibria},
                       CAPSIM_SIZE_UP_TO(capsim_runaway_margin, equilibria));
  });
}

// ---- checkpoints -------------------------------------------------------------------------------

capsim_status capsim_simulation_checkpoint(capsim_simulation* simulation, void* bytes, size_t size, size_t* needed) {
  return step(simulation, [&](capsim::Simulation& running) -> capsim_status {
    if (bytes == nullptr && (size != 0 || needed == nullptr))
      throw Refusal(CAPSIM_BAD_ARGUMENT, "there is neither a buffer nor a place for its size");
    const std::string state = running.checkpoint();
    if (needed != nullptr) *needed = state.size();
    if (bytes == nullptr) return CAPSIM_OK;
    if (size < state.size()) return CAPSIM_BUFFER_TOO_SMALL;
    std::memcpy(bytes, state.data(), state.size());
    return CAPSIM_OK;
  });
}

capsim_status capsim_simulation_restore(capsim_simulation* simulation, const capsim_scenario* scenario,
                                        const void* bytes, size_t size) {
  return at_work(simulation, [&]() -> capsim_status {
    const std::string state(given(static_cast<const char*>(bytes), "bytes"), size);
    if (scenario == nullptr && !simulation->model)
      throw Refusal(CAPSIM_NOT_STARTED, "there is nothing to roll back: give the scenario");
    if (scenario != nullptr) refuse_beyond(simulation->memory_limit_bytes, scenario->scenario);
    std::shared_ptr<const capsim::Model> model = simulation->model;
    try {
      capsim::Simulation::check_checkpoint(state);  // before a model is built for them
      RunControl control(&simulation->watch);
      if (scenario != nullptr) model = model_of(*simulation, *scenario, control);
      if (!model) return not_begun(*simulation, control);
      simulation->running.emplace(capsim::Simulation::restore(model, state, simulation->guests));
    } catch (const capsim::CheckpointError& error) {
      throw Refusal(CAPSIM_BAD_CHECKPOINT, error.what());
    }
    simulation->model = model;
    simulation->last_advance = CAPSIM_ADVANCE_NONE;
    return progress_of(*simulation);
  });
}

// ---- errors ------------------------------------------------------------------------------------

capsim_status capsim_simulation_error(const capsim_simulation* simulation, char* text, size_t size, size_t* needed) {
  if (simulation == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(simulation->error.text, text, size, needed);
}
size_t capsim_simulation_violation_count(const capsim_simulation* simulation) {
  return simulation == nullptr ? 0 : simulation->error.violations.size();
}
capsim_status capsim_simulation_violation(const capsim_simulation* simulation, size_t index, capsim_violation_part part,
                                          char* text, size_t size, size_t* needed) {
  if (simulation == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(simulation->error, index, part, text, size, needed); });
}

}  // extern "C"
