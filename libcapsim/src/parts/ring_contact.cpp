// SPDX-License-Identifier: BSD-3-Clause
#include "parts/ring_contact.hpp"

#include <cmath>

namespace capsim {
namespace {

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

}  // namespace

TensionRing::Touch TensionRing::touch(std::span<const double> x, int node) const {
  const Equator equator{x, support_.equator_nodes};
  const double* y = &x[static_cast<std::size_t>(wire_.first_coordinate + 2 * node)];
  const int nearest =
      span_.empty() ? equator.nearest_of_all(y) : equator.nearest_from(span_[static_cast<std::size_t>(node)], y);
  // Counted from 0, so that the digits do not depend on how the node was found.
  double u = ((nearest % equator.count) + equator.count) % equator.count;  // curve parameter, span + t
  Touch result;
  for (int i = 0; i < 30; ++i) {
    const int span = static_cast<int>(std::floor(u));
    const EquatorCurve::Weights b = curve_->at(span, u - span);
    const CurvePoint at(equator, b, span);
    const double rx = at.c[0] - y[0], ry = at.c[1] - y[1];
    const double slope = rx * at.d[0] + ry * at.d[1], s2 = at.d[0] * at.d[0] + at.d[1] * at.d[1];
    const double curve = s2 + rx * at.dd[0] + ry * at.dd[1];
    const double step = std::clamp(-slope / (curve > 0.1 * s2 ? curve : s2), -0.5, 0.5);
    if (std::abs(step) < 1e-13 || i == 29) {
      result.span = span;
      result.t = u - span;
      result.basis = b;
      result.speed = std::sqrt(s2);
      result.tangent = {at.d[0] / result.speed, at.d[1] / result.speed};
      result.normal = {result.tangent[1], -result.tangent[0]};
      result.gap = rx * result.normal[0] + ry * result.normal[1];
      result.normal_curvature = at.dd[0] * result.normal[0] + at.dd[1] * result.normal[1];
      break;
    }
    u = curve_->moved(span, u - span, step);
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
