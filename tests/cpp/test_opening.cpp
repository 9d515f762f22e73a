// SPDX-License-Identifier: BSD-3-Clause
// The opening as a shape: areas, diameters and circles against geometry that can be worked by hand.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "capsim/opening.hpp"

using namespace capsim;

namespace {

constexpr double rounding = 1e-12;

/// Nodes of an ellipse with half axes a (along `tilt`) and b about `center`, counter-clockwise.
std::vector<Point> ellipse(double a, double b, double tilt, Point center, int nodes, double start = 0) {
  std::vector<Point> points;
  for (int k = 0; k < nodes; ++k) {
    const double t = start + 2 * pi * k / nodes, x = a * std::cos(t), y = b * std::sin(t);
    points.push_back(
        {center[0] + x * std::cos(tilt) - y * std::sin(tilt), center[1] + x * std::sin(tilt) + y * std::cos(tilt)});
  }
  return points;
}

std::vector<Point> turned(const std::vector<Point>& points, double angle, Point shift) {
  std::vector<Point> result;
  for (const Point& p : points) result.push_back(moved(p, angle, shift));
  return result;
}

std::vector<Point> square(double half, Point center) {
  return {{center[0] - half, center[1] - half},
          {center[0] + half, center[1] - half},
          {center[0] + half, center[1] + half},
          {center[0] - half, center[1] + half}};
}

/// Area of the part of a disc of radius r that lies beyond a line at distance d from its centre.
double cap(double r, double d) { return r * r * std::acos(d / r) - d * std::sqrt(r * r - d * d); }

/// 48 quadratic edges follow a circle to 1e-6 of its radius; each is measured as four chords, whose
/// sagitta is 1.4e-4 of it.
constexpr double edge_error = 2e-6, chord_error = 1.5e-4;

}  // namespace

TEST_CASE("area_diameters_and_centre_of_a_circle", "[opening]") {
  for (const Point center : {Point{0, 0}, Point{0.4, -0.7}})
    for (const double start : {0.0, 0.013, 1.0}) {
      const OpeningShape s = measure_opening(ellipse(2.5, 2.5, 0, center, 96, start), 2, true);
      CHECK(s.area_mm2 == Approx(pi * 6.25).epsilon(edge_error));
      CHECK(s.signed_area_mm2 == s.area_mm2);
      CHECK(s.equivalent_diameter_mm == Approx(5).epsilon(edge_error));
      CHECK(s.min_diameter_mm == Approx(5).epsilon(chord_error));
      CHECK(s.max_diameter_mm == Approx(5).epsilon(chord_error));
      CHECK(s.center_mm[0] == Approx(center[0]).margin(1e-9));
      CHECK(s.center_mm[1] == Approx(center[1]).margin(1e-9));
      CHECK(s.clear_radius_mm == Approx(2.5 - std::hypot(center[0], center[1])).epsilon(2 * chord_error));
      CHECK_FALSE(s.lips_cross);
    }
}

TEST_CASE("every_chord_of_a_round_opening_is_its_diameter_wherever_its_nodes_lie", "[opening]") {
  // Rays through nodes are met by the edges on both sides, or by neither, unless that is looked after.
  for (const int nodes : {24, 48, 90, 96, 120, 360})
    for (const double start : {0.0, pi / 2, pi / 180, 1e-9, 0.5}) {
      INFO(nodes << " nodes from " << start);
      const OpeningShape s = measure_opening(ellipse(2.5, 2.5, 0, {0, 0}, nodes, start), 2, false);
      const double sagitta = 2.5 * (1 - std::cos(pi / nodes));  // no chord is shorter than this allows
      CHECK(s.min_diameter_mm >= 5 - 2 * sagitta - 1e-9);
      CHECK(s.max_diameter_mm <= 5 + 1e-3);
    }
}

TEST_CASE("ellipse_diameters_and_meridians", "[opening]") {
  for (const double tilt : {0.0, 0.5, 1.5, 2.8}) {
    const OpeningShape s = measure_opening(ellipse(3, 2, tilt, {0.2, 0.1}, 96), 2, true);
    CHECK(s.area_mm2 == Approx(pi * 6).epsilon(edge_error));
    CHECK(s.max_diameter_mm == Approx(6).epsilon(4e-4));  // a meridian every degree, chords of 1.9 degrees
    CHECK(s.min_diameter_mm == Approx(4).epsilon(4e-4));
    const double step = pi / 180 * 1.01;
    CHECK(std::abs(std::remainder(s.max_meridian - tilt, pi)) <= step);
    CHECK(std::abs(std::remainder(s.min_meridian - tilt - pi / 2, pi)) <= step);
    CHECK(s.max_meridian >= 0);
    CHECK(s.max_meridian < pi);
  }
}

TEST_CASE("opening_area_is_rotation_invariant", "[opening]") {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> spread(-0.2, 0.2);
  std::vector<Point> rim = ellipse(2.6, 2.3, 0, {0, 0}, 96);
  for (Point& p : rim) p = {p[0] + 0.1 * spread(random), p[1] + 0.1 * spread(random)};
  for (const int order : {1, 2}) {
    const OpeningShape s = measure_opening(rim, order, true);
    for (const double angle : {0.3, 2.0, -1.1}) {
      const OpeningShape t = measure_opening(turned(rim, angle, {0, 0}), order, true);
      CHECK(t.area_mm2 == Approx(s.area_mm2).epsilon(rounding));
      CHECK(t.clear_radius_mm == Approx(s.clear_radius_mm).epsilon(rounding));
      const Point center = moved(s.center_mm, angle, {0, 0});
      CHECK(t.center_mm[0] == Approx(center[0]).margin(rounding));
      CHECK(t.center_mm[1] == Approx(center[1]).margin(rounding));
      const OpeningShape u = measure_opening(turned(rim, angle, {3, -2}), order, true);
      CHECK(u.area_mm2 == Approx(s.area_mm2).epsilon(1e-11));
    }
  }
}

TEST_CASE("polygons_of_four_node_meshes_are_measured_as_polygons", "[opening]") {
  const OpeningShape s = measure_opening(square(1.5, {0.5, 0}), 1, true);
  CHECK(s.area_mm2 == Approx(9).epsilon(rounding));
  CHECK(s.center_mm[0] == Approx(0.5).epsilon(rounding));
  CHECK(s.min_diameter_mm == Approx(3).epsilon(rounding));
  CHECK(s.max_diameter_mm == Approx(3 * std::sqrt(2)).epsilon(rounding));
  CHECK(s.clear_radius_mm == Approx(1).epsilon(rounding));
}

TEST_CASE("no_circle_is_clear_when_the_pupil_centre_is_covered", "[opening]") {
  const OpeningShape s = measure_opening(square(1, {3, 0}), 1, true);
  CHECK(s.clear_radius_mm == 0);
  CHECK(s.area_mm2 == Approx(4).epsilon(rounding));
}

TEST_CASE("gaping_slits_count_and_closed_ones_do_not", "[opening]") {
  // A square with a slit of length 1 from the middle of its right side, gaping by g at the rim.
  const auto slit = [](double gape) {
    return std::vector<Point>{{-2, -2}, {2, -2}, {2, -gape / 2}, {3, 0}, {2, gape / 2}, {2, 2}, {-2, 2}};
  };
  for (const double gape : {0.0, 0.4}) {
    const OpeningShape s = measure_opening(slit(gape), 1, true);
    CHECK(s.area_mm2 == Approx(16 + 0.5 * gape).epsilon(rounding));
    CHECK_FALSE(s.lips_cross);
  }
}

TEST_CASE("crossed_lips_are_flagged_and_hide_what_lies_under_them", "[opening]") {
  // The lips of a slit cross at (8/3, 0); beyond, up to the tip at (4, 0), they enclose the leaf, not the
  // hole.
  const std::vector<Point> crossed{{-2, -2}, {2, -2}, {2, -1}, {3, 0.5}, {4, 0}, {3, -0.5}, {2, 1}, {2, 2}, {-2, 2}};
  const OpeningShape s = measure_opening(crossed, 1, true);
  CHECK(s.lips_cross);
  CHECK(s.signed_area_mm2 == Approx(16).epsilon(rounding));       // the square, + 2/3, - 2/3
  CHECK(s.area_mm2 == Approx(16 + 2.0 / 3).epsilon(rounding));    // the square and the slit up to the crossing
  CHECK(measure_opening(crossed, 1, false).lips_cross == false);  // not asked for
}

TEST_CASE("visible_area_counts_each_point_once", "[opening]") {
  CHECK(visible_area(square(1, {0, 0})) == Approx(4).epsilon(rounding));
  // Twice round the same square: wound twice, seen once.
  std::vector<Point> twice = square(1, {0, 0});
  const std::vector<Point> again = square(1, {0, 0});
  twice.insert(twice.end(), again.begin(), again.end());
  CHECK(visible_area(twice) == Approx(4).epsilon(1e-9));
  // A bow tie: its right half runs the wrong way round.
  CHECK(visible_area(std::vector<Point>{{-1, 1}, {-1, -1}, {1, 1}, {1, -1}}) == Approx(1).epsilon(rounding));
  // Clockwise: nothing is open.
  CHECK(visible_area(std::vector<Point>{{-1, -1}, {-1, 1}, {1, 1}, {1, -1}}) == Approx(0).margin(rounding));
}

TEST_CASE("disc_inside_a_polygon_is_worked_by_hand", "[opening]") {
  const std::vector<Point> box = square(2, {0, 0});
  CHECK(disc_area_inside(box, {0, 0}, 1.5) == Approx(pi * 2.25).epsilon(rounding));  // wholly inside
  CHECK(disc_area_inside(box, {0, 0}, 4) == Approx(16).epsilon(rounding));           // covers the box
  CHECK(disc_area_inside(box, {0, 0}, 2.5) == Approx(pi * 6.25 - 4 * cap(2.5, 2)).epsilon(rounding));
  CHECK(disc_area_inside(box, {2, 0}, 1) == Approx(pi / 2).epsilon(rounding));         // half over the side
  CHECK(disc_area_inside(box, {2, 2}, 1) == Approx(pi / 4).epsilon(rounding));         // a quarter over the corner
  CHECK(disc_area_inside(box, {4, 0}, 1.5) == Approx(0).margin(rounding));             // outside
  CHECK(disc_area_inside(box, {3, 0}, 1.5) == Approx(cap(1.5, 1)).epsilon(rounding));  // a cap reaches in
}

TEST_CASE("the_radial_profile_is_the_distance_to_the_first_crossing", "[opening]") {
  const auto box = radial_profile(square(2, {0, 0}), {1, 0.5}, 360);
  REQUIRE(box.size() == 360);
  for (int k = 0; k < 360; ++k) {
    const double c = std::cos(2 * pi * k / 360), s = std::sin(2 * pi * k / 360);
    const double to_side = std::min(c > 1e-12    ? 1 / c
                                    : c < -1e-12 ? -3 / c
                                                 : 1e9,
                                    s > 1e-12    ? 1.5 / s
                                    : s < -1e-12 ? -2.5 / s
                                                 : 1e9);
    INFO("direction " << k);
    CHECK(box[static_cast<std::size_t>(k)] == Approx(to_side).epsilon(1e-9));
  }
  // Through the corners, where two edges meet on the ray.
  const auto corners = radial_profile(square(2, {0, 0}), {0, 0}, 8);
  for (std::size_t k = 0; k < 8; ++k) CHECK(corners[k] == Approx(k % 2 == 0 ? 2 : 2 * std::sqrt(2)).epsilon(1e-9));
  for (const double distance : radial_profile(square(2, {0, 0}), {5, 0}, 12)) CHECK(distance == 0);  // from outside
  // A flap in the way: the nearest crossing counts.
  const std::vector<Point> notched{{-2, -2}, {2, -2}, {2, -0.5}, {1, 0.1}, {2, 0.5}, {2, 2}, {-2, 2}};
  CHECK(radial_profile(notched, {0, 0.1}, 4)[0] == Approx(1).epsilon(1e-9));
}

TEST_CASE("a_finer_rim_polygon_keeps_the_nodes_and_lies_on_the_quadratic_edges", "[opening]") {
  const std::vector<Point> rim = ellipse(2.5, 2.5, 0, {0, 0}, 48);
  const auto polygon = rim_polygon(rim, 2, 4);
  REQUIRE(polygon.size() == 96);
  for (std::size_t k = 0; k < 48; ++k)
    for (const std::size_t d : {0u, 1u}) CHECK(polygon[2 * k][d] == Approx(rim[k][d]).margin(rounding));
  for (const Point& p : polygon) CHECK(std::hypot(p[0], p[1]) == Approx(2.5).epsilon(2e-5));
  CHECK(rim_polygon(rim, 1, 4).size() == rim.size());  // straight edges need no pieces
}
