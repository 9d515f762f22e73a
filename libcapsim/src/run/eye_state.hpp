// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  All that changes with time in an eye, as plain values.
///
/// A copy of it is a fork and its list is a checkpoint: EyeParts, the equilibrium and the time steps are made anew from
/// it and go on to the same bits. A new member goes into `each_value` as well, and is then copied, written and read.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "capsim/history.hpp"
#include "capsim/scenario.hpp"
#include "solve/stretch_trail.hpp"

namespace capsim {

class EyeTissue;
class Model;

struct EyeState {
  /// A cut that has been made.
  struct OpenCut {
    std::size_t planned = 0;      ///< Which of Model::cuts().
    double length_on_day_mm = 0;  ///< Along the leaf as it lay just before the cut.
    double day = 0;
  };
  /// The tension ring in the bag, and the place on the equator where its middle is held.
  struct Ring {
    TensionRingSpec spec;
    double day = 0;  ///< Of its insertion.
    int held_span = 0;
    double held_place = 0;
    bool operator==(const Ring&) const = default;
  };
  /// What still has to come to rest, because the host stopped it there.
  enum class Unsettled { nothing, day_0, event };
  static constexpr double first_step_days = 0.5;  ///< At the start and after an event.

  double day = 0;
  double next_step_days = first_step_days;
  std::vector<double> positions;  ///< Coordinates of nodes, optic and ring, as Model numbers them [mm].
  std::vector<double> tissue;     ///< Variables of the contraction laws, see EyeTissue; one zero without any tissue.
  StretchTrail steps;             ///< Equilibria that the time steps go on from; empty after a jump.
  ByHour strength_by_hour;        ///< Of the zonule, in force today.
  ContractionChange contraction;  ///< What has changed since surgery.
  std::vector<char> failed_bundles;
  std::vector<OpenCut> cuts;  ///< In the order in which they were made.
  std::optional<Ring> ring;
  std::size_t next_event = 0;  ///< Of the scenario's events by day.
  Unsettled unsettled = Unsettled::nothing;
  bool row_of_cancel = false;  ///< The last row shows where the run was cancelled, and goes when it goes on.
  Status status = Status::completed;
  std::string message;
  Diagnostics diagnostics;
  double residual_mN = 0, energy = 0;  ///< Of the last equilibrium.
};

/// Shows every member with its name to `visit(name, value)`; `State` is EyeState or const EyeState.
template <class State, class Visit>
void each_value(State& state, Visit&& visit) {
  visit("day", state.day);
  visit("next_step_days", state.next_step_days);
  visit("positions", state.positions);
  visit("tissue", state.tissue);
  visit("steps", state.steps);
  visit("strength_by_hour", state.strength_by_hour);
  visit("contraction", state.contraction);
  visit("failed_bundles", state.failed_bundles);
  visit("cuts", state.cuts);
  visit("ring", state.ring);
  visit("next_event", state.next_event);
  visit("unsettled", state.unsettled);
  visit("row_of_cancel", state.row_of_cancel);
  visit("status", state.status);
  visit("message", state.message);
  visit("diagnostics", state.diagnostics);
  visit("residual_mN", state.residual_mN);
  visit("energy", state.energy);
}

/// The eye at the end of surgery, before the ring is in and before it has come to rest.
[[nodiscard]] EyeState at_end_of_surgery(const Model& model, const EyeTissue& tissue);

/// Element layers that are open from the rim, for each cut line of the mesh.
[[nodiscard]] std::vector<int> open_layers(const Model& model, const std::vector<EyeState::OpenCut>& cuts);

/// What a history says about the cuts.
[[nodiscard]] std::vector<CutRecord> cut_records(const Model& model, const std::vector<EyeState::OpenCut>& cuts);

/// What is wrong with a state for this model and its tissue, or empty: sizes, indices, and numbers that can't be.
[[nodiscard]] std::string misfit(const EyeState& state, const Model& model, const EyeTissue& tissue);

}  // namespace capsim
