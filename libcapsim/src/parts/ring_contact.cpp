// SPDX-License-Identifier: BSD-3-Clause
#include "parts/ring_contact.hpp"

#include <cmath>

namespace capsim {
namespace {

constexpr int pieces = 8;          // of a span, where it matters on which side of the curve a place lies
constexpr double close_mm = 0.05;  // a wire that lies so close to the equator lies at the nearest place of it

// The nodes of the equator as they lie, counted round and round.
struct Equator {
  std::span<const double> x;
  const std::vector<int>& nodes;
  int count = static_cast<int>(nodes.size());
  [[nodiscard]] const double* at(int k) const {
    if (k < -count || k >= 2 * count) k %= count;
    k = k < 0 ? k + count : k < count ? k : k - count;  // never more than one turn away
    return &x[2 * static_cast<std::size_t>(nodes[static_cast<std::size_t>(k)])];
  }
  [[nodiscard]] double distance2(int k, const double* y) const {
    const double* p = at(k);
    return (p[0] - y[0]) * (p[0] - y[0]) + (p[1] - y[1]) * (p[1] - y[1]);
  }
  // The longer way to a neighbour.
  [[nodiscard]] double spacing(int k) const {
    return std::sqrt(std::max(distance2(k - 1, at(k)), distance2(k + 1, at(k))));
  }
  [[nodiscard]] int nearest_of_all(const double* y) const {
    int nearest = 0;
    for (int k = 1; k < count; ++k)
      if (distance2(k, y) < distance2(nearest, y)) nearest = k;
    return nearest;
  }
  // Downhill from a node.
  [[nodiscard]] int nearest_from(int node, const double* y) const {
    for (int step = 0; step < count; ++step) {
      if (distance2(node + 1, y) < distance2(node, y))
        ++node;
      else if (distance2(node - 1, y) < distance2(node, y))
        --node;
      else
        break;
    }
    return node;
  }
};

// How often a closed polygon runs round a place, counter-clockwise; `corner(k)` for k = 0 .. count - 1.
template <class Corner>
int turns_round(const double* y, int count, const Corner& corner) {
  int turns = 0;
  Point a = corner(count - 1);
  for (int k = 0; k < count; ++k) {
    const Point b = corner(k);
    const bool up = a[1] <= y[1];
    if (up != (b[1] <= y[1])) {
      const double left = (b[0] - a[0]) * (y[1] - a[1]) - (y[0] - a[0]) * (b[1] - a[1]);
      if (up && left > 0) ++turns;
      if (!up && left < 0) --turns;
    }
    a = b;
  }
  return turns;
}

// Place, derivative and second derivative of the equator curve.
struct CurvePoint {
  double c[2] = {0, 0}, d[2] = {0, 0}, dd[2] = {0, 0};
  CurvePoint(const Equator& equator, const EquatorCurve::Weights& b, int span) {
    for (int k = 0; k < 6; ++k) {
      const double* p = equator.at(span - 2 + k);
      for (int a = 0; a < 2; ++a) {
        c[a] += b.n[k] * p[a];
        d[a] += b.d[k] * p[a];
        dd[a] += b.dd[k] * p[a];
      }
    }
  }
};

// The place of the curve that is nearest to y among those about a node.
template <class Touch>
Touch touch_near(const EquatorCurve& curve, const Equator& equator, const double* y, int node) {
  // Counted from 0, so that the digits do not depend on how the node was found.
  double u = ((node % equator.count) + equator.count) % equator.count;  // curve parameter, span + t
  Touch result;
  for (int i = 0; i < 30; ++i) {
    const int span = static_cast<int>(std::floor(u));
    const EquatorCurve::Weights b = curve.at(span, u - span);
    const CurvePoint at(equator, b, span);
    const double rx = at.c[0] - y[0], ry = at.c[1] - y[1];
    const double slope = rx * at.d[0] + ry * at.d[1], s2 = at.d[0] * at.d[0] + at.d[1] * at.d[1];
    const double turning = s2 + rx * at.dd[0] + ry * at.dd[1];
    const double step = std::clamp(-slope / (turning > 0.1 * s2 ? turning : s2), -0.5, 0.5);
    if (std::abs(step) < 1e-13 || i == 29) {
      result.span = span;
      result.t = u - span;
      result.basis = b;
      result.speed = std::sqrt(s2);
      result.tangent = {at.d[0] / result.speed, at.d[1] / result.speed};
      result.normal = {result.tangent[1], -result.tangent[0]};
      result.distance = std::hypot(rx, ry);
      result.gap = rx * result.normal[0] + ry * result.normal[1];
      result.normal_curvature = at.dd[0] * result.normal[0] + at.dd[1] * result.normal[1];
      break;
    }
    u = curve.moved(span, u - span, step);
  }
  return result;
}

// Whether y lies inside the curve; where the polygon of the nodes and the normal at the nearest place agree, they are
// right.
bool lies_inside(const EquatorCurve& curve, const Equator& equator, const double* y, bool by_normal) {
  const auto node = [&](int k) { return Point{equator.at(k)[0], equator.at(k)[1]}; };
  if ((turns_round(y, equator.count, node) > 0) == by_normal) return by_normal;
  const auto place = [&](int k) {
    const int span = k / pieces;
    const CurvePoint at(equator, curve.at(span, static_cast<double>(k % pieces) / pieces), span);
    return Point{at.c[0], at.c[1]};
  };
  return turns_round(y, pieces * equator.count, place) > 0;
}

}  // namespace

TensionRing::Touch TensionRing::touch(std::span<const double> x, int node) const {
  const Equator equator{x, support_.equator_nodes};
  const double* y = &x[static_cast<std::size_t>(wire_.first_coordinate + 2 * node)];
  const int nearest =
      span_.empty() ? equator.nearest_of_all(y) : equator.nearest_from(span_[static_cast<std::size_t>(node)], y);
  Touch result = touch_near<Touch>(*curve_, equator, y, nearest);
  if (result.distance < close_mm) return result;
  const bool inside = lies_inside(*curve_, equator, y, result.gap > 0);
  if (inside && result.gap > 0) return result;  // it presses on nothing, wherever the nearest place is
  // Between two folds of the equator a place that is nearer than its neighbours need not be the nearest of all: the
  // gap would jump where the other fold takes over, and with it the energy.
  for (int k = 0; k < equator.count; ++k) {
    const double here = equator.distance2(k, y);
    if (!(here < equator.distance2(k - 1, y) && here <= equator.distance2(k + 1, y))) continue;
    if (std::sqrt(here) > result.distance + equator.spacing(k)) continue;
    const Touch other = touch_near<Touch>(*curve_, equator, y, k);
    if (other.distance < result.distance) result = other;
  }
  // Where the equator makes a loop its normal turns round, and nothing has gone through the wall.
  if ((result.gap > 0) != inside) {
    result.gap = -result.gap;
    result.normal_curvature = -result.normal_curvature;
    for (double& n : result.normal) n = -n;
  }
  return result;
}

TensionRing::Slip TensionRing::slip(std::span<const double> x) const {
  Slip result;
  result.basis = curve_->at(support_.held_span, support_.held_place);
  const int m = static_cast<int>(support_.equator_nodes.size());
  const double* y = &x[static_cast<std::size_t>(wire_.first_coordinate + 2 * support_.held_node)];
  Point r{y[0], y[1]}, d{0, 0};
  for (int a = 0; a < 6; ++a) {
    const double* p =
        &x[2 * static_cast<std::size_t>(
                   support_.equator_nodes[static_cast<std::size_t>(((support_.held_span - 2 + a) % m + m) % m)])];
    for (int i = 0; i < 2; ++i) {
      r[i] -= result.basis.n[a] * p[i];
      d[i] += result.basis.d[a] * p[i];
    }
  }
  result.speed = std::hypot(d[0], d[1]);
  result.u = {d[0] / result.speed, d[1] / result.speed};
  result.n = {result.u[1], -result.u[0]};
  result.s = r[0] * result.u[0] + r[1] * result.u[1];
  result.across = r[0] * result.n[0] + r[1] * result.n[1];
  return result;
}

}  // namespace capsim
