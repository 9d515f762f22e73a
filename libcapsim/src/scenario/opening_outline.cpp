// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/opening_outline.hpp"

#include <cmath>

namespace capsim {
namespace {

double cross(const Point& a, const Point& b) { return a[0] * b[1] - a[1] * b[0]; }
double dot(const Point& a, const Point& b) { return a[0] * b[0] + a[1] * b[1]; }
Point minus(const Point& a, const Point& b) { return {a[0] - b[0], a[1] - b[1]}; }

double ellipse_distance(double first, double second, double angle) {
  const double c = std::cos(angle) / first;
  const double s = std::sin(angle) / second;
  return 1 / std::hypot(c, s);
}

/// Distance along the ray from `center` to the polygon; 0 when it is missed.
double ray_distance(const std::vector<Point>& points, const Point& center, double angle) {
  const Point direction{std::cos(angle), std::sin(angle)};
  for (std::size_t k = 0; k < points.size(); ++k) {
    const Point a = minus(points[k], center);
    const Point b = minus(points[(k + 1) % points.size()], center);
    const double side_a = cross(direction, a);
    const double side_b = cross(direction, b);
    if ((side_a <= 0) == (side_b <= 0)) continue;
    const double t = side_a / (side_a - side_b);
    const double distance = (1 - t) * dot(direction, a) + t * dot(direction, b);
    if (distance > 0) return distance;
  }
  return 0;
}

int side(const Point& a, const Point& b, const Point& p) {
  const double turn = cross(minus(b, a), minus(p, a));
  return turn > 0 ? 1 : turn < 0 ? -1 : 0;
}

bool segments_meet(const Point& a, const Point& b, const Point& c, const Point& d) {
  const bool boxes_apart =
      std::fmax(a[0], b[0]) < std::fmin(c[0], d[0]) || std::fmax(c[0], d[0]) < std::fmin(a[0], b[0]) ||
      std::fmax(a[1], b[1]) < std::fmin(c[1], d[1]) || std::fmax(c[1], d[1]) < std::fmin(a[1], b[1]);
  return !boxes_apart && side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0;
}

}  // namespace

Point opening_center(const OpeningSpec& opening) {
  return opening.outline_mm.empty() ? opening.center_mm : polygon_centroid(opening.outline_mm);
}

double rim_distance(const OpeningSpec& opening, double angle) {
  if (!opening.outline_mm.empty()) return ray_distance(opening.outline_mm, opening_center(opening), angle);
  if (!opening.diameters_mm) return opening.diameter_mm / 2;
  const auto& [first, second] = *opening.diameters_mm;
  return ellipse_distance(first / 2, second / 2, angle - angle_of_hour(opening.axis_hour));
}

double polygon_area(const std::vector<Point>& points) {
  double twice = 0;
  for (std::size_t k = 0; k < points.size(); ++k)
    twice += cross(minus(points[k], points[0]), minus(points[(k + 1) % points.size()], points[0]));
  return twice / 2;
}

Point polygon_centroid(const std::vector<Point>& points) {
  if (points.empty()) return {0, 0};
  const Point& origin = points[0];  // keeps the sums small for an outline far from the pupil centre
  double twice = 0;
  Point moment{0, 0};
  Point sum{0, 0};
  for (std::size_t k = 0; k < points.size(); ++k) {
    const Point a = minus(points[k], origin);
    const Point b = minus(points[(k + 1) % points.size()], origin);
    const double area = cross(a, b);
    twice += area;
    for (std::size_t i = 0; i < 2; ++i) {
      moment[i] += area * (a[i] + b[i]);
      sum[i] += a[i];
    }
  }
  const double count = static_cast<double>(points.size());
  if (twice == 0) return {origin[0] + sum[0] / count, origin[1] + sum[1] / count};
  return {origin[0] + moment[0] / (3 * twice), origin[1] + moment[1] / (3 * twice)};
}

bool is_star_shaped(const std::vector<Point>& points, const Point& center) {
  double turned = 0;
  int sense = 0;
  for (std::size_t k = 0; k < points.size(); ++k) {
    const Point a = minus(points[k], center);
    const Point b = minus(points[(k + 1) % points.size()], center);
    const double turn = std::atan2(cross(a, b), dot(a, b));
    const int sign = turn > 0 ? 1 : turn < 0 ? -1 : 0;
    if (sign == 0 || (sense != 0 && sign != sense)) return false;
    sense = sign;
    turned += turn;
  }
  const double once_round = 2 * pi;
  return std::abs(std::abs(turned) - once_round) < 0.1 * once_round;  // a whole number of turns up to rounding
}

std::optional<std::pair<std::size_t, std::size_t>> crossing_edges(const std::vector<Point>& points) {
  const std::size_t n = points.size();
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;  // neighbours across the closing edge
      if (segments_meet(points[i], points[i + 1], points[j], points[(j + 1) % n])) return std::pair{i, j};
    }
  return std::nullopt;
}

}  // namespace capsim
