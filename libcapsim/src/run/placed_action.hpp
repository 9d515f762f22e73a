// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What is done to the eye on one day, with every cut looked up: once, at the border; inside it is an index.

#include <cstddef>
#include <vector>

#include "capsim/model.hpp"
#include "run/eye_state.hpp"

namespace capsim {

/// One event of the scenario or one action of the caller: both go the same way from here.
struct PlacedAction {
  double day = 0;
  Action action;
  std::vector<std::size_t> cuts;  ///< Which of Model::cuts() an action of relaxing cuts opens.
};

/// The action of an event on this model. What the model has no place for is added to `violations`.
[[nodiscard]] PlacedAction placed(const Model& model, const Event& event, std::vector<Violation>& violations);

/// The events of the model's scenario by day; those of one day in the scenario's order.
[[nodiscard]] std::vector<PlacedAction> placed_events(const Model& model);

/// Adds a change of the contraction under a law that has no such values.
void find_unchangeable(const Event& event, const ContractionLaw& law, std::vector<Violation>& violations);

/// Adds what can't be done twice: a cut that is open to its tip already, a second ring.
void find_repeated(const PlacedAction& placed, const Model& model, const EyeState& state,
                   std::vector<Violation>& violations);

}  // namespace capsim
