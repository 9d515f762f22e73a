// SPDX-License-Identifier: BSD-3-Clause
#include "run/eye_state.hpp"

#include <algorithm>
#include <cmath>

#include "capsim/model.hpp"
#include "run/eye_tissue.hpp"

namespace capsim {
namespace {

bool finite(const std::vector<double>& numbers) {
  return std::all_of(numbers.begin(), numbers.end(), [](double v) { return std::isfinite(v); });
}

}  // namespace

EyeState at_end_of_surgery(const Model& model, const EyeTissue& tissue) {
  EyeState state;
  state.positions = model.eye_as_stated();
  state.tissue.assign(tissue.numbers(), 0.0);
  tissue.start(state.tissue);
  state.strength_by_hour = model.scenario().zonule.strength_by_hour;
  state.diagnostics.work = model.in_situ_work();
  state.diagnostics.outline_off_mm = model.outline_off_mm();
  state.diagnostics.tolerance_mN = model.scenario().numerics.force_tolerance * model.force_scale_mN();
  return state;
}

std::vector<int> open_layers(const Model& model, const std::vector<EyeState::OpenCut>& cuts) {
  std::vector<int> layers(model.mesh().plan().cuts.size(), 0);
  for (const EyeState::OpenCut& cut : cuts) {
    const PlannedCut& planned = model.cuts()[cut.planned];
    int& open = layers[static_cast<std::size_t>(planned.line)];
    open = std::max(open, planned.layers);
  }
  return layers;
}

std::vector<CutRecord> cut_records(const Model& model, const std::vector<EyeState::OpenCut>& cuts) {
  std::vector<CutRecord> records;
  for (const EyeState::OpenCut& cut : cuts) {
    const PlannedCut& planned = model.cuts()[cut.planned];
    records.push_back({planned.hour, planned.length_mm, cut.length_on_day_mm, cut.day});
  }
  return records;
}

std::string misfit(const EyeState& state, const Model& model, const EyeTissue& tissue) {
  const bool same_sizes = state.positions.size() == static_cast<std::size_t>(model.coordinates()) &&
                          state.tissue.size() == tissue.numbers() && (!state.ring || model.ring_segments() > 0) &&
                          std::all_of(state.cuts.begin(), state.cuts.end(),
                                      [&](const EyeState::OpenCut& cut) { return cut.planned < model.cuts().size(); });
  if (!same_sizes) return "its model had other cut lines, another ring or another contraction law";
  const Scenario& scenario = model.scenario();
  if (!(state.day >= 0 && state.day <= scenario.duration_days && state.next_step_days > 0))
    return "its day or time step can't be";
  if (state.next_event > scenario.events.size()) return "it has seen more events than there are";
  if (!finite(state.positions) || !finite(state.tissue)) return "a number of its state is not finite";
  for (std::size_t i = 0; i < state.steps.count(); ++i)
    if (state.steps[i].stretches.size() != tissue.stretches()) return "its time steps were those of another tissue";
  return {};
}

}  // namespace capsim
