// SPDX-License-Identifier: BSD-3-Clause
#include "run/placed_action.hpp"

#include <algorithm>
#include <string>

#include "capsim/error.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

std::string words(double hour, double length_mm) { return with_numbers("%.4g o'clock, %.4g mm", {hour, length_mm}); }

}  // namespace

PlacedAction placed(const Model& model, const Event& event, std::vector<Violation>& violations) {
  if (std::holds_alternative<TensionRingSpec>(event.action) && model.ring_segments() == 0)
    violations.push_back({"tension_ring", "a ring", "none: the model foresees no ring",
                          "build the model with ring_possible; in C, capsim_simulation_foresee_ring"});
  PlacedAction found{event.day, event.action, {}};
  const auto* cuts = std::get_if<RelaxingCuts>(&event.action);
  if (cuts == nullptr) return found;
  for (const double hour : cuts->hours) {
    if (const PlannedCut* cut = model.find_cut(hour, cuts->length_mm))
      found.cuts.push_back(static_cast<std::size_t>(cut - model.cuts().data()));
    else
      violations.push_back({"relaxing_cuts", words(hour, cuts->length_mm), "a cut line the model was built with",
                            "name it among the model's possible cuts; in C, capsim_simulation_foresee_cuts"});
  }
  return found;
}

std::vector<PlacedAction> placed_events(const Model& model) {
  std::vector<Violation> violations;
  std::vector<PlacedAction> events;
  for (const Event& event : model.scenario().events) events.push_back(placed(model, event, violations));
  if (!violations.empty()) throw InternalError("an event of the scenario: " + violations.front().to_string());
  std::stable_sort(events.begin(), events.end(),
                   [](const PlacedAction& a, const PlacedAction& b) { return a.day < b.day; });
  return events;
}

void find_unchangeable(const Event& event, const ContractionLaw& law, std::vector<Violation>& violations) {
  const auto* change = std::get_if<ContractionChange>(&event.action);
  if (change != nullptr && law.changed(*change) == nullptr)
    violations.push_back({"contraction_change", "a change under the law " + std::string(law.name()),
                          "a law with values that can change", "let the law say how, with `changed`"});
}

void find_repeated(const PlacedAction& placed, const Model& model, const EyeState& state,
                   std::vector<Violation>& violations) {
  if (std::holds_alternative<TensionRingSpec>(placed.action) && state.ring)
    violations.push_back({"tension_ring", "a second ring", "the only ring", "there is one in the bag already"});
  const std::vector<int> open = open_layers(model, state.cuts);
  for (const std::size_t k : placed.cuts) {
    const PlannedCut& cut = model.cuts()[k];
    if (open[static_cast<std::size_t>(cut.line)] >= cut.layers)
      violations.push_back({"relaxing_cuts", words(cut.hour, cut.length_mm), "a cut that has not been made",
                            "the leaf is open to there already; a longer cut would lengthen it"});
  }
}

}  // namespace capsim
