// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/opening.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "geometry/edge_distances.hpp"

namespace capsim {
namespace {

double cross(Point a, Point b) { return a[0] * b[1] - a[1] * b[0]; }
double dot(Point a, Point b) { return a[0] * b[0] + a[1] * b[1]; }
Point minus(Point a, Point b) { return {a[0] - b[0], a[1] - b[1]}; }

// The index after i, or `step` after it, round a polygon of n; a division would cost more than what is done there.
std::size_t after(std::size_t i, std::size_t n, std::size_t step = 1) { return i + step < n ? i + step : i + step - n; }

double squared_distance_to_segment(Point p, Point a, Point b) {
  const Point ab = minus(b, a), ap = minus(p, a);
  const double l2 = dot(ab, ab), t = l2 > 0 ? std::clamp(dot(ap, ab) / l2, 0.0, 1.0) : 0;
  const Point d{ap[0] - t * ab[0], ap[1] - t * ab[1]};
  return dot(d, d);
}

int winding(std::span<const Point> polygon, Point p) {
  int w = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point a = polygon[i], b = polygon[after(i, polygon.size())];
    const double side = cross(minus(b, a), minus(p, a));
    if (a[1] <= p[1] && b[1] > p[1] && side > 0) ++w;
    if (a[1] > p[1] && b[1] <= p[1] && side < 0) --w;
  }
  return w;
}

// Proper crossing of two segments; the parameter of a on ab.
bool crossing(Point a, Point b, Point c, Point d, double& t) {
  const Point r = minus(b, a), s = minus(d, c), q = minus(c, a);
  const double n = cross(r, s);
  if (n == 0) return false;
  t = cross(q, s) / n;
  const double u = cross(q, r) / n;
  return t > 0 && t < 1 && u > 0 && u < 1;
}

bool crosses_itself(std::span<const Point> polygon) {
  const std::size_t n = polygon.size();
  double t = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Point a = polygon[i], b = polygon[after(i, n)];
    const double x0 = std::min(a[0], b[0]), x1 = std::max(a[0], b[0]), y0 = std::min(a[1], b[1]),
                 y1 = std::max(a[1], b[1]);
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;
      const Point c = polygon[j], d = polygon[after(j, n)];
      if (std::max(c[0], d[0]) < x0 || std::min(c[0], d[0]) > x1 || std::max(c[1], d[1]) < y0 ||
          std::min(c[1], d[1]) > y1)
        continue;
      if (crossing(a, b, c, d, t)) return true;
    }
  }
  return false;
}

// Area, and its first moments, of the region left of the edge p(t), t in [-1, 1].
struct Moments {
  double area = 0, x = 0, y = 0;
  void add(Point p, Point dp, double weight) {
    const double c = 0.5 * cross(p, dp) * weight;
    area += c;
    x += c * p[0] * 2 / 3;
    y += c * p[1] * 2 / 3;
  }
};

Moments moments(std::span<const Point> nodes, int order) {
  Moments m;
  const double g = std::sqrt(0.6), at[3] = {-g, 0, g}, w[3] = {5.0 / 9, 8.0 / 9, 5.0 / 9};
  const std::size_t n = nodes.size(), step = static_cast<std::size_t>(order);
  for (std::size_t i = 0; i + step <= n; i += step) {
    const Point a = nodes[i], b = nodes[after(i, n, step)];
    const Point middle = order == 2 ? nodes[i + 1] : Point{0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])};
    for (int q = 0; q < 3; ++q) {
      const double t = at[q];
      Point p, d;
      for (int k = 0; k < 2; ++k) {
        p[k] = -0.5 * t * (1 - t) * a[k] + 0.5 * t * (1 + t) * b[k] + (1 - t * t) * middle[k];
        d[k] = (t - 0.5) * a[k] + (t + 0.5) * b[k] - 2 * t * middle[k];
      }
      m.add(p, d, w[q]);
    }
  }
  return m;
}

}  // namespace

std::vector<Point> rim_polygon(std::span<const Point> nodes, int order, int pieces) {
  std::vector<Point> polygon;
  rim_polygon(nodes, order, pieces, polygon);
  return polygon;
}

void rim_polygon(std::span<const Point> nodes, int order, int pieces, std::vector<Point>& polygon) {
  polygon.clear();
  if (order == 1) {
    polygon.assign(nodes.begin(), nodes.end());
    return;
  }
  polygon.reserve(nodes.size() / 2 * static_cast<std::size_t>(pieces));
  for (std::size_t i = 0; i + 2 <= nodes.size(); i += 2) {
    const Point a = nodes[i], m = nodes[i + 1], b = nodes[after(i, nodes.size(), 2)];
    for (int k = 0; k < pieces; ++k) {
      const double t = -1 + 2.0 * k / pieces;
      polygon.push_back({-0.5 * t * (1 - t) * a[0] + 0.5 * t * (1 + t) * b[0] + (1 - t * t) * m[0],
                         -0.5 * t * (1 - t) * a[1] + 0.5 * t * (1 + t) * b[1] + (1 - t * t) * m[1]});
    }
  }
}

double visible_area(std::span<const Point> polygon) {
  OpeningWorkspace workspace;
  return visible_area(polygon, workspace);
}

double visible_area(std::span<const Point> polygon, OpeningWorkspace& workspace) {
  // Slabs between all heights at which an edge starts, ends or crosses another: inside a slab the
  // edges do not cross, so the region is a stack of trapezoids.
  const std::size_t n = polygon.size();
  std::vector<double>& heights = workspace.heights;
  heights.clear();
  double t = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Point a = polygon[i], b = polygon[after(i, n)];
    heights.push_back(a[1]);
    for (std::size_t j = i + 1; j < n; ++j)
      if (crossing(a, b, polygon[j], polygon[after(j, n)], t)) heights.push_back(a[1] + t * (b[1] - a[1]));
  }
  std::sort(heights.begin(), heights.end());
  double area = 0;
  std::vector<OpeningWorkspace::Edge>& cuts = workspace.edges;
  for (std::size_t h = 0; h + 1 < heights.size(); ++h) {
    const double y0 = heights[h], y1 = heights[h + 1];
    if (!(y1 - y0 > 0)) continue;
    cuts.clear();
    const double middle = 0.5 * (y0 + y1);
    for (std::size_t i = 0; i < n; ++i) {
      const Point a = polygon[i], b = polygon[after(i, n)];
      if ((a[1] <= middle) == (b[1] <= middle)) continue;
      const double slope = (b[0] - a[0]) / (b[1] - a[1]);
      cuts.push_back({a[0] + slope * (y0 - a[1]), a[0] + slope * (y1 - a[1]), b[1] > a[1] ? -1 : 1});
    }
    std::sort(cuts.begin(), cuts.end(),
              [](const auto& p, const auto& q) { return p.left + p.right < q.left + q.right; });
    int w = 0;
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
      w += cuts[i].turn;
      if (w >= 1) area += 0.5 * (y1 - y0) * (cuts[i + 1].left - cuts[i].left + cuts[i + 1].right - cuts[i].right);
    }
  }
  return area;
}

std::vector<Point> ray_directions(int count) {
  std::vector<Point> rays;
  for (int k = 0; k < count; ++k) rays.push_back({std::cos(2 * pi * k / count), std::sin(2 * pi * k / count)});
  return rays;
}

std::vector<double> radial_profile(std::span<const Point> polygon, Point from, int count) {
  std::vector<double> profile;
  radial_profile(polygon, from, ray_directions(count), profile);
  return profile;
}

namespace {

// Rays that an edge from a to b, seen from the origin, meets. `before` is the last ray at or clockwise of the edge's
// start, and becomes that of its end; neighbouring edges hand it on, so that no angle is computed.
class RayWalk {
 public:
  RayWalk(std::span<const Point> rays, Point start) : rays_(rays), count_(static_cast<int>(rays.size())) {
    seek(start);
  }
  template <class Visit>
  void along(Point a, Point b, Visit&& visit) {
    const double turn = cross(a, b);
    if (turn == 0) {  // towards the origin, away from it, or through it
      if (dot(a, b) > 0 && on(before_, a)) visit(ray(before_));
      seek(b);
      return;
    }
    if (on(before_, a)) visit(ray(before_));
    if (on(before_ + 1, a)) visit(ray(before_ + 1));
    if (turn > 0) {
      for (int k = 0; k < count_ && side(before_ + 1, b) >= 0; ++k) visit(ray(++before_));
    } else {
      for (int k = 0; k < count_ && side(before_, b) < 0; ++k) visit(ray(before_--));
    }
    before_ = ray(before_);
    if (on(before_, b)) visit(before_);
    if (on(before_ + 1, b)) visit(ray(before_ + 1));
  }

 private:
  static constexpr double shared = 1e-10;  // rad: a ray through a vertex belongs to both edges, never to none
  [[nodiscard]] int ray(int k) const { return k < 0 ? k + count_ : k >= count_ ? k - count_ : k; }
  [[nodiscard]] double side(int k, Point p) const { return cross(rays_[static_cast<std::size_t>(ray(k))], p); }
  [[nodiscard]] bool on(int k, Point p) const {
    return std::abs(side(k, p)) <= shared * (std::abs(p[0]) + std::abs(p[1])) &&
           dot(rays_[static_cast<std::size_t>(ray(k))], p) > 0;
  }
  void seek(Point p) {
    const double angle = std::atan2(p[1], p[0]);
    before_ = static_cast<int>(std::floor((angle < 0 ? angle + 2 * pi : angle) * count_ / (2 * pi))) % count_;
    if (side(before_, p) < 0) before_ = ray(before_ - 1);
    if (side(before_ + 1, p) >= 0 && dot(rays_[static_cast<std::size_t>(ray(before_ + 1))], p) > 0)
      before_ = ray(before_ + 1);
  }
  std::span<const Point> rays_;
  int count_, before_ = 0;
};

}  // namespace

void radial_profile(std::span<const Point> polygon, Point from, std::span<const Point> rays,
                    std::vector<double>& nearest) {
  nearest.assign(rays.size(), 0.0);
  if (winding(polygon, from) < 1) return;
  std::fill(nearest.begin(), nearest.end(), std::numeric_limits<double>::infinity());
  RayWalk walk(rays, minus(polygon[0], from));
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point a = minus(polygon[i], from), b = minus(polygon[after(i, polygon.size())], from), d = minus(b, a);
    const double dd = dot(d, d), ad = cross(a, d);
    walk.along(a, b, [&](int k) {
      // An edge along the ray (the lip of a cut) is met at its nearer end.
      const double n = cross(rays[static_cast<std::size_t>(k)], d);
      const bool along = n * n <= 1e-12 * dd;
      double& distance = nearest[static_cast<std::size_t>(k)];
      distance = std::min(distance, along ? std::sqrt(std::min(dot(a, a), dot(b, b))) : ad / n);
    });
  }
  for (double& v : nearest)
    if (!(v < std::numeric_limits<double>::infinity())) v = 0;
}

double disc_area_inside(std::span<const Point> polygon, Point center, double radius) {
  const double r2 = radius * radius;
  // A disc that no edge reaches is wholly inside or outside.
  double nearest2 = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < polygon.size(); ++i)
    nearest2 = std::min(nearest2, squared_distance_to_segment(center, polygon[i], polygon[after(i, polygon.size())]));
  if (nearest2 >= r2) return std::abs(winding(polygon, center)) * pi * r2;
  // Sum over edges of the signed area of disc and triangle (center, a, b).
  double area = 0;
  const auto sector = [&](Point a, Point b) { return 0.5 * r2 * std::atan2(cross(a, b), dot(a, b)); };
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point a = minus(polygon[i], center), b = minus(polygon[after(i, polygon.size())], center), d = minus(b, a);
    const double dd = dot(d, d), ad = dot(a, d), disc = ad * ad - dd * (dot(a, a) - r2);
    if (dd == 0) continue;
    double t0 = 1, t1 = 0;
    if (disc > 0) {
      t0 = std::max((-ad - std::sqrt(disc)) / dd, 0.0);
      t1 = std::min((-ad + std::sqrt(disc)) / dd, 1.0);
    }
    if (!(t0 < t1)) {
      area += sector(a, b);
      continue;
    }
    const Point p{a[0] + t0 * d[0], a[1] + t0 * d[1]}, q{a[0] + t1 * d[0], a[1] + t1 * d[1]};
    area += (t0 > 0 ? sector(a, p) : 0) + 0.5 * cross(p, q) + (t1 < 1 ? sector(q, b) : 0);
  }
  return std::abs(area);
}

void edge_distances(std::span<const Point> polygon, std::vector<double>& distances) {
  distances.clear();
  if (winding(polygon, {0, 0}) < 1) return;
  for (std::size_t i = 0; i < polygon.size(); ++i)
    distances.push_back(std::sqrt(squared_distance_to_segment({0, 0}, polygon[i], polygon[after(i, polygon.size())])));
}

double opening_area(std::span<const Point> nodes, int order, bool may_cross) {
  OpeningWorkspace workspace;
  return opening_area(nodes, order, may_cross, workspace);
}

double opening_area(std::span<const Point> nodes, int order, bool may_cross, OpeningWorkspace& workspace) {
  if (may_cross) {
    rim_polygon(nodes, order, 4, workspace.polygon);
    if (crosses_itself(workspace.polygon)) return visible_area(workspace.polygon, workspace);
  }
  return std::max(moments(nodes, order).area, 0.0);
}

OpeningShape measure_opening(std::span<const Point> nodes, int order, bool may_cross) {
  OpeningWorkspace workspace;
  return measure_opening(nodes, order, may_cross, workspace);
}

OpeningShape measure_opening(std::span<const Point> nodes, int order, bool may_cross, OpeningWorkspace& workspace) {
  OpeningShape s;
  const Moments m = moments(nodes, order);
  s.signed_area_mm2 = m.area;
  rim_polygon(nodes, order, 4, workspace.polygon);
  const std::vector<Point>& polygon = workspace.polygon;
  s.lips_cross = may_cross && crosses_itself(polygon);
  s.area_mm2 = s.lips_cross ? visible_area(polygon, workspace) : std::max(m.area, 0.0);
  if (std::abs(m.area) > 1e-12) s.center_mm = {m.x / m.area, m.y / m.area};
  s.equivalent_diameter_mm = 2 * std::sqrt(s.area_mm2 / pi);
  s.min_diameter_mm = std::numeric_limits<double>::infinity();
  static const std::vector<Point> meridians = ray_directions(2 * chord_meridians);  // for the many eyes beside a run
  if (workspace.meridians.empty()) workspace.meridians = meridians;
  radial_profile(polygon, s.center_mm, workspace.meridians, workspace.profile);
  const std::vector<double>& profile = workspace.profile;
  for (int k = 0; k < chord_meridians; ++k) {
    const double angle = pi * k / chord_meridians;
    const double chord = profile[static_cast<std::size_t>(k)] + profile[static_cast<std::size_t>(k + chord_meridians)];
    if (chord < s.min_diameter_mm) {
      s.min_diameter_mm = chord;
      s.min_meridian = angle;
    }
    if (chord > s.max_diameter_mm) {
      s.max_diameter_mm = chord;
      s.max_meridian = angle;
    }
  }
  if (winding(polygon, {0, 0}) >= 1) {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < polygon.size(); ++i)
      least = std::min(least, squared_distance_to_segment({0, 0}, polygon[i], polygon[after(i, polygon.size())]));
    s.clear_radius_mm = std::sqrt(least);
  }
  return s;
}

}  // namespace capsim
