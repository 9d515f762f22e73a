// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The anterior leaf before it is meshed: where cuts, contact edge and layer lines lie in situ.

#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/model.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

inline constexpr double merge_mm = 0.04;  ///< Mandatory mesh lines closer than this are merged.
/// A contact zone is fitted when it is nowhere narrower, and none when it is nowhere wider.
inline constexpr double narrow_zone_mm = 0.01;

/// Cuts of the scenario's events, and after them those that are only possible.
[[nodiscard]] std::vector<PlannedCut> planned_cuts(const Scenario& scenario,
                                                   const std::vector<RelaxingCuts>& possible_cuts);

/// Angle [rad] of each clock hour that has cuts: two cuts at the same hour lengthen each other.
[[nodiscard]] std::vector<double> cut_angles(const std::vector<PlannedCut>& cuts);

/// Rim of the stated opening, a point for each column, and how far it is from contact edge and equator [mm].
struct StatedRim {
  std::vector<Point> points;
  double edge_least = 1e9, edge_most = -1e9;  ///< To the contact edge; negative beyond it.
  double leaf_mean = 0;                       ///< To the equator.
  [[nodiscard]] double edge_mean() const { return 0.5 * (edge_least + edge_most); }
  /// Whether the edge is as far from the rim all round.
  [[nodiscard]] bool constant_edge() const { return edge_most - edge_least < merge_mm; }
};
[[nodiscard]] StatedRim stated_rim(const OpeningSpec& opening, const std::vector<double>& column_angle,
                                   double contact_radius_mm, double equator_radius_mm);

/// Distances of tips from the rim, each once and increasing; true unless the contact edge can't be a layer line. A tip
/// line that nearly coincides with a constant edge moves onto it, one that would cross the edge leaves it unfitted.
[[nodiscard]] bool fit_contact_edge(const StatedRim& rim, std::vector<double>& tips);
[[nodiscard]] std::vector<double> tip_distances(const std::vector<PlannedCut>& cuts);

/// Rim, tips, contact edge where it is fitted, and equator, in this order outward.
[[nodiscard]] std::vector<LayerLine> leaf_lines(const StatedRim& rim, const std::vector<double>& tips,
                                                bool fitted_edge);

/// Shares `budget` layers among the intervals of the lines, as many to each as fit a size that grows away from what the
/// lines are; returns the relative positions of layers inside each interval.
[[nodiscard]] std::vector<std::vector<double>> share_layers(std::vector<LayerLine>& lines, int budget);

/// Moves the inner line that is nearest to `share` of the way there, and the others of the interval along; nothing
/// where the interval has one layer only.
void put_line_at(double share, std::vector<double>& spacing);

/// Puts each cut onto its mesh line and layer line; the longest cut of an hour defines the mesh line.
[[nodiscard]] std::vector<MeshPlan::CutLine> cut_lines(const std::vector<double>& angles, const std::vector<int>& rays,
                                                       const std::vector<LayerLine>& lines,
                                                       std::vector<PlannedCut>& cuts);

}  // namespace capsim
