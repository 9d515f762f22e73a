// SPDX-License-Identifier: BSD-3-Clause
#include "run/leaf_plan.hpp"

#include <algorithm>
#include <cmath>

#include "geometry/layer_plan.hpp"
#include "scenario/opening_outline.hpp"

namespace capsim {
namespace {

bool same_angle(double a, double b) { return std::abs(angle_difference(a, b)) < 1e-9; }

/// How many layers the interval before line `i` asks for: the integral of one over the size.
double layers_asked(const std::vector<LayerLine>& lines, std::size_t i) {
  const double length = lines[i].distance_mm - lines[i - 1].distance_mm;
  const bool at_end = lines[i].kind != LayerLine::equator;
  double sum = 0;
  for (int k = 0; k < 50; ++k) {
    const double at = length * (k + 0.5) / 50, d = std::min(at, at_end ? length - at : 1e9);
    const bool tip = lines[i].kind == LayerLine::tip || lines[i - 1].kind == LayerLine::tip;
    sum += length / 50 / ((tip ? 0.06 : 0.2) + 0.45 * d);
  }
  return sum;
}

/// Layers from the rim to where the cut's tip is; those of a cut that ends on no line stay.
int layers_to_tip(const PlannedCut& cut, const std::vector<LayerLine>& lines) {
  int layer = 0, found = cut.layers;
  for (const LayerLine& line : lines) {
    layer += line.layers_before;
    if (line.kind == LayerLine::tip && line.distance_mm == cut.length_mm) found = layer;
  }
  return found;
}

}  // namespace

std::vector<PlannedCut> planned_cuts(const Scenario& scenario, const std::vector<RelaxingCuts>& possible_cuts) {
  std::vector<PlannedCut> found;
  const auto plan = [&](const RelaxingCuts& cuts, double day) {
    for (const double hour : cuts.hours) found.push_back({hour, cuts.length_mm, day, 0, 0});
  };
  for (const Event& event : scenario.events)
    if (const auto* cuts = std::get_if<RelaxingCuts>(&event.action)) plan(*cuts, event.day);
  for (const RelaxingCuts& cuts : possible_cuts) plan(cuts, -1);
  return found;
}

std::vector<double> cut_angles(const std::vector<PlannedCut>& cuts) {
  std::vector<double> angles;
  for (const PlannedCut& cut : cuts) {
    const double angle = angle_of_hour(cut.hour);
    if (std::none_of(angles.begin(), angles.end(), [&](double known) { return same_angle(known, angle); }))
      angles.push_back(angle);
  }
  return angles;
}

StatedRim stated_rim(const OpeningSpec& opening, const std::vector<double>& column_angle, double contact_radius_mm,
                     double equator_radius_mm) {
  StatedRim rim;
  const Point center = opening_center(opening);
  for (const double angle : column_angle) {
    const double r = rim_distance(opening, angle);
    const Point point{center[0] + r * std::cos(angle), center[1] + r * std::sin(angle)};
    rim.points.push_back(point);
    const double rim_radius = std::hypot(point[0], point[1]);
    rim.edge_least = std::min(rim.edge_least, contact_radius_mm - rim_radius);
    rim.edge_most = std::max(rim.edge_most, contact_radius_mm - rim_radius);
    rim.leaf_mean += (equator_radius_mm - rim_radius) / static_cast<double>(column_angle.size());
  }
  return rim;
}

std::vector<double> tip_distances(const std::vector<PlannedCut>& cuts) {
  std::vector<double> tips;
  for (const PlannedCut& cut : cuts)
    if (std::none_of(tips.begin(), tips.end(), [&](double t) { return std::abs(t - cut.length_mm) < merge_mm; }))
      tips.push_back(cut.length_mm);
  return tips;
}

bool fit_contact_edge(const StatedRim& rim, std::vector<double>& tips) {
  bool fitted = rim.edge_least > narrow_zone_mm;
  for (double& tip : tips) {
    if (!fitted) break;
    if (rim.constant_edge() && std::abs(tip - rim.edge_least) < merge_mm)
      tip = rim.edge_least;
    else if (tip > rim.edge_least - merge_mm && tip < rim.edge_most + merge_mm && !rim.constant_edge())
      fitted = false;
  }
  std::sort(tips.begin(), tips.end());
  return fitted;
}

std::vector<LayerLine> leaf_lines(const StatedRim& rim, const std::vector<double>& tips, bool fitted_edge) {
  std::vector<LayerLine> lines{{LayerLine::rim, 0, 0}};
  const double edge = rim.edge_mean();
  bool edge_placed = !fitted_edge;
  for (const double tip : tips) {
    if (!edge_placed && edge < tip + 1e-9) {
      edge_placed = true;
      if (std::abs(edge - tip) > 1e-9) lines.push_back({LayerLine::edge, edge, 0});
    }
    lines.push_back({LayerLine::tip, tip, 0});
  }
  if (!edge_placed) lines.push_back({LayerLine::edge, edge, 0});
  lines.push_back({LayerLine::equator, rim.leaf_mean, 0});
  return lines;
}

std::vector<std::vector<double>> share_layers(std::vector<LayerLine>& lines, int budget) {
  double total = 0;
  for (std::size_t i = 1; i < lines.size(); ++i) total += layers_asked(lines, i);
  std::vector<std::vector<double>> spacing;
  for (std::size_t i = 1; i < lines.size(); ++i) {
    LayerLine& line = lines[i];
    line.layers_before = std::max(1, static_cast<int>(std::lround(budget * layers_asked(lines, i) / total)));
    const double length = line.distance_mm - lines[i - 1].distance_mm;
    const bool at_tip = line.kind == LayerLine::tip || lines[i - 1].kind == LayerLine::tip;
    spacing.push_back(
        graded(length, line.layers_before, true, line.kind != LayerLine::equator, at_tip ? 0.15 : 0.4, 1.0));
  }
  return spacing;
}

void put_line_at(double share, std::vector<double>& spacing) {
  if (spacing.size() < 3 || !(share > 0 && share < 1)) return;
  const double at = *std::min_element(spacing.begin() + 1, spacing.end() - 1, [share](double a, double b) {
    return std::abs(a - share) < std::abs(b - share);
  });
  for (double& line : spacing) line = line <= at ? line * share / at : 1 - (1 - line) * (1 - share) / (1 - at);
}

std::vector<MeshPlan::CutLine> cut_lines(const std::vector<double>& angles, const std::vector<int>& rays,
                                         const std::vector<LayerLine>& lines, std::vector<PlannedCut>& cuts) {
  for (const LayerLine& line : lines)
    for (PlannedCut& cut : cuts)
      if (line.kind == LayerLine::tip && std::abs(cut.length_mm - line.distance_mm) < merge_mm)
        cut.length_mm = line.distance_mm;
  std::vector<MeshPlan::CutLine> found;
  for (std::size_t m = 0; m < angles.size(); ++m) {
    MeshPlan::CutLine cut_line;
    cut_line.ray = rays[m];
    for (PlannedCut& cut : cuts) {
      if (!same_angle(angle_of_hour(cut.hour), angles[m])) continue;
      cut.line = static_cast<int>(m);
      cut.layers = layers_to_tip(cut, lines);
      cut_line.tip_layer = std::max(cut_line.tip_layer, cut.layers);
    }
    found.push_back(cut_line);
  }
  return found;
}

}  // namespace capsim
