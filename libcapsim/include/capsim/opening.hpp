// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The opening as a shape: visible area, diameters, centroid, clear circle, crossing lips.
///
/// Model.   The rim is a closed curve of straight (order 1) or quadratic (order 2) edges, run
///          counter-clockwise, down one lip of an open cut and up the other. The visible area is the
///          area of all points that the curve winds round at least once: slits that gape count, and
///          flaps that overlap hide what lies under them, where a signed polygon area would go wrong.
///          Diameters are chords through the centroid.
/// Reference. Theory: section 8.

#include <span>
#include <vector>

#include "capsim/frame.hpp"

namespace capsim {

struct OpeningShape {
  double area_mm2 = 0;         ///< Visible area.
  double signed_area_mm2 = 0;  ///< Of the rim curve; equal to the visible area unless lips cross.
  Point center_mm{0, 0};       ///< Centroid of area.
  double equivalent_diameter_mm = 0;
  double min_diameter_mm = 0, max_diameter_mm = 0;
  double min_meridian = 0, max_meridian = 0;  ///< Angle of the chord, 0 <= a < pi [rad].
  double clear_radius_mm = 0;                 ///< Of the largest circle about the pupil centre inside the opening.
  bool lips_cross = false;
};

/// Memory of the measurements below. One that is kept and passed again makes them take none of their
/// own, once it has met a rim of that many nodes.
struct OpeningWorkspace {
  struct Edge {
    double left, right;  ///< x at the lower and the upper end, inside a slab of height.
    int turn;
  };
  std::vector<Point> polygon, meridians;
  std::vector<double> profile, heights;
  std::vector<Edge> edges;
};

/// Measures the opening whose rim nodes lie at `nodes`; `order` as in MeshSpec (for order 2 corner
/// and mid-side nodes alternate, a corner first). `may_cross` asks for the search for crossings.
[[nodiscard]] OpeningShape measure_opening(std::span<const Point> nodes, int order, bool may_cross);
[[nodiscard]] OpeningShape measure_opening(std::span<const Point> nodes, int order, bool may_cross,
                                           OpeningWorkspace& workspace);

/// The visible area alone [mm2], see measure_opening.
[[nodiscard]] double opening_area(std::span<const Point> nodes, int order, bool may_cross);
[[nodiscard]] double opening_area(std::span<const Point> nodes, int order, bool may_cross, OpeningWorkspace& workspace);

/// The rim as a polygon, each quadratic edge in `pieces` straight ones.
[[nodiscard]] std::vector<Point> rim_polygon(std::span<const Point> nodes, int order, int pieces);
void rim_polygon(std::span<const Point> nodes, int order, int pieces, std::vector<Point>& polygon);

/// Area [mm2] of the part of a disc of radius `radius` about `center` inside a polygon.
[[nodiscard]] double disc_area_inside(std::span<const Point> polygon, Point center, double radius);

/// Meridians on which chords are measured.
inline constexpr int chord_meridians = 180;

/// Distance from `from` to the first crossing of the polygon in each of `count` directions, the k-th at
/// angle 2 pi k / count; all 0 when `from` lies outside.
[[nodiscard]] std::vector<double> radial_profile(std::span<const Point> polygon, Point from, int count);
/// The same for directions that were made before, see ray_directions.
void radial_profile(std::span<const Point> polygon, Point from, std::span<const Point> rays,
                    std::vector<double>& profile);
/// Unit vectors at the angles 2 pi k / count.
[[nodiscard]] std::vector<Point> ray_directions(int count);

/// Area of the points with winding number one or more.
[[nodiscard]] double visible_area(std::span<const Point> polygon);
[[nodiscard]] double visible_area(std::span<const Point> polygon, OpeningWorkspace& workspace);

}  // namespace capsim
