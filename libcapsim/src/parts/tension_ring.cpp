// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/tension_ring.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "capsim/error.hpp"
#include "parts/equator_curve.hpp"

namespace capsim {
namespace {

constexpr int margin = 3;               // spans a touch may move before the cliques are renewed
constexpr int window = 6 + 2 * margin;  // equator nodes in a contact clique

struct Barrier {
  double energy, slope, curvature;  // by the gap; slope <= 0
  Barrier(double gap, double k, double softness) noexcept : energy(0), slope(0), curvature(0) {
    const double p = -gap;
    if (!(p > 0)) return;
    if (p < softness) {
      energy = k * p * p * p / (6 * softness);
      slope = -k * p * p / (2 * softness);
      curvature = k * p / softness;
    } else {
      const double q = p - 0.5 * softness;
      energy = k * (0.5 * q * q + softness * softness / 24);
      slope = -k * q;
      curvature = k;
    }
  }
};

}  // namespace

struct TensionRing::Touch {
  int span = 0;
  double t = 0, gap = 1, speed = 1, normal_curvature = 0;
  Point tangent{}, normal{};  // normal points out of the bag
  EquatorCurve::Weights basis{};
};

// s = (y - c).u with u the unit tangent at the held place c of the curve; r = y - c.
struct TensionRing::Slip {
  double s = 0, across = 0, speed = 1;  // across = r.n
  Point u{}, n{};
  EquatorCurve::Weights basis{};
};

TensionRing::TensionRing(Wire wire, Support support) : wire_(wire), support_(std::move(support)) {
  if (support_.equator_nodes.empty()) {
    support_.held_node = -1;  // nothing to be held on
    return;
  }
  if (!support_.equator_angles.empty() && support_.equator_angles.size() != support_.equator_nodes.size())
    throw InternalError("tension ring: one angle per equator node is needed");
  curve_ = support_.equator_angles.empty()
               ? std::make_shared<const EquatorCurve>(static_cast<int>(support_.equator_nodes.size()))
               : std::make_shared<const EquatorCurve>(support_.equator_angles);
}
TensionRing::~TensionRing() = default;
TensionRing::TensionRing(const TensionRing&) = default;

std::unique_ptr<Part> TensionRing::clone() const { return std::make_unique<TensionRing>(*this); }

void TensionRing::set_day(double day) {
  creep_ = wire_.creep_fraction +
           (1 - wire_.creep_fraction) * std::exp(-std::max(day - insertion_day_, 0.0) / wire_.creep_days);
}

void TensionRing::move_anchors(double angle, Point shift) {
  support_.eyelet_at = moved(support_.eyelet_at, angle, shift);
}

int TensionRing::spans_between(int from, int to) const noexcept {
  const int m = static_cast<int>(support_.equator_nodes.size()), d = ((to - from) % m + m) % m;
  return d > m / 2 ? d - m : d;
}

double TensionRing::node_length(int node) const noexcept {
  return node == 0 || node == wire_.segments ? 0.5 * wire_.segment_length_mm : wire_.segment_length_mm;
}

TensionRing::Touch TensionRing::touch(std::span<const double> x, int node) const {
  const auto& ring = support_.equator_nodes;
  const int m = static_cast<int>(ring.size());
  const double* y = &x[static_cast<std::size_t>(wire_.first_coordinate + 2 * node)];
  const auto at = [&](int k) {
    if (k < -m || k >= 2 * m) k %= m;
    k = k < 0 ? k + m : k < m ? k : k - m;  // never more than one turn away
    return &x[2 * static_cast<std::size_t>(ring[static_cast<std::size_t>(k)])];
  };
  const auto distance2 = [&](int k) {
    const double* p = at(k);
    return (p[0] - y[0]) * (p[0] - y[0]) + (p[1] - y[1]) * (p[1] - y[1]);
  };
  // Nearest node: walk downhill from where it was last, or search all of them the first time.
  int nearest = 0;
  if (span_.empty()) {
    for (int k = 1; k < m; ++k)
      if (distance2(k) < distance2(nearest)) nearest = k;
  } else {
    nearest = span_[static_cast<std::size_t>(node)];
    for (int step = 0; step < m; ++step) {
      if (distance2(nearest + 1) < distance2(nearest))
        ++nearest;
      else if (distance2(nearest - 1) < distance2(nearest))
        --nearest;
      else
        break;
    }
  }
  // Counted from 0, so that the digits do not depend on how the node was found.
  nearest = ((nearest % m) + m) % m;
  Touch result;
  double u = nearest;  // curve parameter, span + t
  for (int i = 0; i < 30; ++i) {
    const int span = static_cast<int>(std::floor(u));
    const EquatorCurve::Weights b = curve_->at(span, u - span);
    double c[2] = {0, 0}, d[2] = {0, 0}, dd[2] = {0, 0};
    for (int k = 0; k < 6; ++k) {
      const double* p = at(span - 2 + k);
      for (int a = 0; a < 2; ++a) {
        c[a] += b.n[k] * p[a];
        d[a] += b.d[k] * p[a];
        dd[a] += b.dd[k] * p[a];
      }
    }
    const double rx = c[0] - y[0], ry = c[1] - y[1];
    const double slope = rx * d[0] + ry * d[1], s2 = d[0] * d[0] + d[1] * d[1];
    const double curve = s2 + rx * dd[0] + ry * dd[1];
    const double step = std::clamp(-slope / (curve > 0.1 * s2 ? curve : s2), -0.5, 0.5);
    if (std::abs(step) < 1e-13 || i == 29) {
      result.span = span;
      result.t = u - span;
      result.basis = b;
      result.speed = std::sqrt(s2);
      result.tangent = {d[0] / result.speed, d[1] / result.speed};
      result.normal = {result.tangent[1], -result.tangent[0]};
      result.gap = rx * result.normal[0] + ry * result.normal[1];
      result.normal_curvature = dd[0] * result.normal[0] + dd[1] * result.normal[1];
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

void TensionRing::hold_where_it_lies(std::span<const double> x) {
  if (support_.equator_nodes.empty() || support_.held_node < 0) return;
  span_.clear();
  const Touch k = touch(x, support_.held_node);
  support_.held_span = k.span;
  support_.held_place = k.t;
}

void TensionRing::hold_at(int span, double place) noexcept {
  support_.held_span = span;
  support_.held_place = place;
}

void TensionRing::couplings(std::span<const double> x, Cliques& cliques) {
  const int c = wire_.first_coordinate;
  for (int i = 1; i < wire_.segments; ++i) {
    const int b = c + 2 * (i - 1);
    const std::array<int, 6> bend{b, b + 1, b + 2, b + 3, b + 4, b + 5};
    cliques.add(bend);
  }
  if (!support_.equator_nodes.empty()) {
    const int m = static_cast<int>(support_.equator_nodes.size());
    std::vector<int> spans(static_cast<std::size_t>(wire_.segments) + 1);
    for (int j = 0; j <= wire_.segments; ++j) spans[static_cast<std::size_t>(j)] = touch(x, j).span;
    span_ = spans;
    for (int j = 0; j <= wire_.segments; ++j) {
      std::array<int, 2 * window + 2> k{c + 2 * j, c + 2 * j + 1};
      for (int w = 0; w < window; ++w) {
        const int node = support_.equator_nodes[static_cast<std::size_t>(((span_[j] - 2 - margin + w) % m + m) % m)];
        k[2 + 2 * w] = 2 * node;
        k[3 + 2 * w] = 2 * node + 1;
      }
      cliques.add(k);
    }
  }
  if (support_.held_node >= 0) {
    const int m = static_cast<int>(support_.equator_nodes.size());
    std::array<int, 14> k{c + 2 * support_.held_node, c + 2 * support_.held_node + 1};
    for (int a = 0; a < 6; ++a) {
      const int node = support_.equator_nodes[static_cast<std::size_t>(((support_.held_span - 2 + a) % m + m) % m)];
      k[static_cast<std::size_t>(2 + 2 * a)] = 2 * node;
      k[static_cast<std::size_t>(3 + 2 * a)] = 2 * node + 1;
    }
    cliques.add(k);
  }
  if (support_.eyelet_node >= 0) {
    const std::array<int, 2> k{c + 2 * support_.eyelet_node, c + 2 * support_.eyelet_node + 1};
    cliques.add(k);
  }
}

bool TensionRing::couplings_hold(std::span<const double> x) const {
  if (support_.equator_nodes.empty()) return true;
  for (int j = 0; j <= wire_.segments; ++j)
    if (std::abs(spans_between(span_[static_cast<std::size_t>(j)], touch(x, j).span)) > margin) return false;
  return true;
}

double TensionRing::energy(std::span<const double> x) const {
  const double* p = &x[static_cast<std::size_t>(wire_.first_coordinate)];
  const double l = wire_.segment_length_mm, bending = creep_ * wire_.bending_stiffness_mN_mm2;
  double total = 0;
  for (int i = 0; i < wire_.segments; ++i) {
    const double strain = std::hypot(p[2 * i + 2] - p[2 * i], p[2 * i + 3] - p[2 * i + 1]) / l - 1;
    total += 0.5 * wire_.axial_stiffness_mN * l * strain * strain;
  }
  for (int i = 1; i < wire_.segments; ++i) {
    const double ax = p[2 * i] - p[2 * i - 2], ay = p[2 * i + 1] - p[2 * i - 1];
    const double bx = p[2 * i + 2] - p[2 * i], by = p[2 * i + 3] - p[2 * i + 1];
    const double k = std::atan2(ax * by - ay * bx, ax * bx + ay * by) / l - wire_.natural_curvature_per_mm;
    total += 0.5 * bending * l * k * k;
  }
  if (!support_.equator_nodes.empty())
    for (int j = 0; j <= wire_.segments; ++j)
      total += node_length(j) *
               Barrier(touch(x, j).gap, support_.contact_stiffness_mN_per_mm2, support_.contact_softness_mm).energy;
  if (support_.held_node >= 0) {
    const double s = slip(x).s;
    total += 0.5 * support_.held_stiffness_mN_per_mm * s * s;
  }
  if (support_.eyelet_node >= 0) {
    const double* e = p + 2 * support_.eyelet_node;
    const double dx = e[0] - support_.eyelet_at[0], dy = e[1] - support_.eyelet_at[1];
    total += 0.5 * support_.eyelet_stiffness_mN_per_mm * (dx * dx + dy * dy);
  }
  return total;
}

double TensionRing::gradient(std::span<const double> x, std::span<double> g) const {
  const double* p = &x[static_cast<std::size_t>(wire_.first_coordinate)];
  double* f = &g[static_cast<std::size_t>(wire_.first_coordinate)];
  const double l = wire_.segment_length_mm, bending = creep_ * wire_.bending_stiffness_mN_mm2;
  double total = 0;  // the energy, from what the forces need anyway
  for (int i = 0; i < wire_.segments; ++i) {
    const double ex = p[2 * i + 2] - p[2 * i], ey = p[2 * i + 3] - p[2 * i + 1], length = std::hypot(ex, ey);
    const double strain = length / l - 1, n = wire_.axial_stiffness_mN * strain / length;
    total += 0.5 * wire_.axial_stiffness_mN * l * strain * strain;
    f[2 * i] -= n * ex;
    f[2 * i + 1] -= n * ey;
    f[2 * i + 2] += n * ex;
    f[2 * i + 3] += n * ey;
  }
  for (int i = 1; i < wire_.segments; ++i) {
    const double ax = p[2 * i] - p[2 * i - 2], ay = p[2 * i + 1] - p[2 * i - 1];
    const double bx = p[2 * i + 2] - p[2 * i], by = p[2 * i + 3] - p[2 * i + 1];
    const double k = std::atan2(ax * by - ay * bx, ax * bx + ay * by) / l - wire_.natural_curvature_per_mm;
    const double moment = bending * k;
    total += 0.5 * bending * l * k * k;
    const double a2 = moment / (ax * ax + ay * ay), b2 = moment / (bx * bx + by * by);
    const double da[2] = {ay * a2, -ax * a2}, db[2] = {-by * b2, bx * b2};  // moment * d turn / d edge
    for (int d = 0; d < 2; ++d) {
      f[2 * i - 2 + d] -= da[d];
      f[2 * i + d] += da[d] - db[d];
      f[2 * i + 2 + d] += db[d];
    }
  }
  if (!support_.equator_nodes.empty()) {
    const int m = static_cast<int>(support_.equator_nodes.size());
    for (int j = 0; j <= wire_.segments; ++j) {
      const Touch k = touch(x, j);
      const Barrier barrier(k.gap, support_.contact_stiffness_mN_per_mm2, support_.contact_softness_mm);
      const double push = node_length(j) * barrier.slope;
      total += node_length(j) * barrier.energy;
      if (push == 0) continue;
      for (int d = 0; d < 2; ++d) f[2 * j + d] -= push * k.normal[d];
      for (int a = 0; a < 6; ++a) {
        const std::size_t node =
            2 *
            static_cast<std::size_t>(support_.equator_nodes[static_cast<std::size_t>(((k.span - 2 + a) % m + m) % m)]);
        for (int d = 0; d < 2; ++d) g[node + d] += push * k.normal[d] * k.basis.n[a];
      }
    }
  }
  if (support_.held_node >= 0) {
    const Slip k = slip(x);
    const double force = support_.held_stiffness_mN_per_mm * k.s;
    total += 0.5 * force * k.s;
    const int m = static_cast<int>(support_.equator_nodes.size());
    for (int i = 0; i < 2; ++i) f[2 * support_.held_node + i] += force * k.u[i];
    for (int a = 0; a < 6; ++a) {
      const std::size_t node =
          2 * static_cast<std::size_t>(
                  support_.equator_nodes[static_cast<std::size_t>(((support_.held_span - 2 + a) % m + m) % m)]);
      for (int i = 0; i < 2; ++i)
        g[node + static_cast<std::size_t>(i)] +=
            force * (-k.basis.n[a] * k.u[i] + k.across * k.basis.d[a] * k.n[i] / k.speed);
    }
  }
  if (support_.eyelet_node >= 0) {
    const int e = 2 * support_.eyelet_node;
    const double dx = p[e] - support_.eyelet_at[0], dy = p[e + 1] - support_.eyelet_at[1];
    f[e] += support_.eyelet_stiffness_mN_per_mm * dx;
    f[e + 1] += support_.eyelet_stiffness_mN_per_mm * dy;
    total += 0.5 * support_.eyelet_stiffness_mN_per_mm * (dx * dx + dy * dy);
  }
  return total;
}

namespace {

// Second derivatives by the three nodes of stencil i, 6 x 6: bending there, and stretching of the edges that the
// stencil is the first to meet, so that each edge brings it once: the first edge always, the second at the last
// stencil.
void bend_hessian(const TensionRing::Wire& wire, double bending, const double* p, int i, bool positive, double* h) {
  const double l = wire.segment_length_mm;
  double turn_gradient[6] = {};
  const double ax = p[2 * i] - p[2 * i - 2], ay = p[2 * i + 1] - p[2 * i - 1];
  const double bx = p[2 * i + 2] - p[2 * i], by = p[2 * i + 3] - p[2 * i + 1];
  const double moment =
      bending * (std::atan2(ax * by - ay * bx, ax * bx + ay * by) / l - wire.natural_curvature_per_mm);
  for (int e = 0; e < 2; ++e) {
    const double ex = e == 0 ? ax : bx, ey = e == 0 ? ay : by, l2 = ex * ex + ey * ey, sign = e == 0 ? -1 : 1;
    turn_gradient[2 * e] -= sign * -ey / l2;
    turn_gradient[2 * e + 1] -= sign * ex / l2;
    turn_gradient[2 * e + 2] += sign * -ey / l2;
    turn_gradient[2 * e + 3] += sign * ex / l2;
    double q[2][2] = {};  // by the edge vector
    if (e == 0 || i == wire.segments - 1) {
      const double length = std::sqrt(l2), across = wire.axial_stiffness_mN * (1 / l - 1 / length);
      const double along = wire.axial_stiffness_mN / l, t = positive ? std::max(across, 0.0) : across;
      q[0][0] = (along - t) * ex * ex / l2 + t;
      q[0][1] = q[1][0] = (along - t) * ex * ey / l2;
      q[1][1] = (along - t) * ey * ey / l2 + t;
    }
    if (!positive) {
      const double w = sign * moment / (l2 * l2);
      q[0][0] += w * 2 * ex * ey;
      q[0][1] += w * (ey * ey - ex * ex);
      q[1][0] += w * (ey * ey - ex * ex);
      q[1][1] -= w * 2 * ex * ey;
    }
    const int from = 2 * e, to = from + 2;
    for (int a = 0; a < 2; ++a)
      for (int b = 0; b < 2; ++b) {
        h[(from + a) * 6 + from + b] += q[a][b];
        h[(to + a) * 6 + to + b] += q[a][b];
        h[(from + a) * 6 + to + b] -= q[a][b];
        h[(to + a) * 6 + from + b] -= q[a][b];
      }
  }
  for (int a = 0; a < 6; ++a)
    for (int b = 0; b < 6; ++b) h[a * 6 + b] += bending / l * turn_gradient[a] * turn_gradient[b];
}

constexpr int touch_size = 2 * window + 2;

// By the wire node and the equator nodes of the window, `shift` being the first of the six in it: the gap's
// gradient by the barrier's curvature, and its curvature by the barrier's slope.
void touch_hessian(const auto& k, const Barrier& barrier, double length, int shift, bool positive, double* h) {
  constexpr int n = touch_size;
  double gap[n] = {}, slide[n] = {}, tilt[n] = {};
  for (int d = 0; d < 2; ++d) {
    gap[d] = -k.normal[d];
    slide[d] = -k.tangent[d];
    for (int a = 0; a < 6; ++a) {
      const int at = 2 + 2 * (shift + a) + d;
      gap[at] = k.normal[d] * k.basis.n[a];
      slide[at] = k.tangent[d] * k.basis.n[a];
      tilt[at] = k.normal[d] * k.basis.d[a];
    }
  }
  const double c = length * barrier.curvature;
  const double denominator = k.speed * k.speed + k.gap * k.normal_curvature;
  const double s = length * barrier.slope / denominator;
  const double ss = s * k.normal_curvature, st = -s * k.speed, tt = -s * k.gap;
  std::array<int, 14> touched{0, 1};  // the rest of the clique stays zero
  for (int a = 0; a < 12; ++a) touched[static_cast<std::size_t>(2 + a)] = 2 + 2 * shift + a;
  for (const int a : touched)
    for (const int b : touched) {
      h[a * n + b] = c * gap[a] * gap[b] + (positive ? std::max(ss, 0.0) : ss) * slide[a] * slide[b];
      if (!positive) h[a * n + b] += st * (slide[a] * tilt[b] + tilt[a] * slide[b]) + tt * tilt[a] * tilt[b];
    }
}

constexpr int slip_size = 14;

// By the wire node and the six equator nodes of the held place. along, across: derivatives of r by u, n; turn,
// grow: those of the curve's derivative by n, u over its length.
void slip_hessian(const auto& k, double stiffness, bool positive, double* h) {
  constexpr int n = slip_size;
  double along[n], across[n], turn[n] = {}, grow[n] = {};
  for (int i = 0; i < 2; ++i) {
    along[i] = k.u[i];
    across[i] = k.n[i];
    for (int a = 0; a < 6; ++a) {
      along[2 + 2 * a + i] = -k.basis.n[a] * k.u[i];
      across[2 + 2 * a + i] = -k.basis.n[a] * k.n[i];
      turn[2 + 2 * a + i] = k.basis.d[a] * k.n[i] / k.speed;
      grow[2 + 2 * a + i] = k.basis.d[a] * k.u[i] / k.speed;
    }
  }
  const double force = positive ? 0 : stiffness * k.s;
  for (int a = 0; a < n; ++a)
    for (int b = 0; b < n; ++b)
      h[a * n + b] = stiffness * (along[a] + k.across * turn[a]) * (along[b] + k.across * turn[b]) +
                     force * (across[a] * turn[b] + turn[a] * across[b] - k.s * turn[a] * turn[b] -
                              k.across * (grow[a] * turn[b] + turn[a] * grow[b]));
}

}  // namespace

void TensionRing::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  const double* p = &x[static_cast<std::size_t>(wire_.first_coordinate)];
  const bool positive = curvature == Curvature::positive;
  std::size_t clique = 0;
  for (int i = 1; i < wire_.segments; ++i) {
    double h[36] = {};
    bend_hessian(wire_, creep_ * wire_.bending_stiffness_mN_mm2, p, i, positive, h);
    tangent.add(clique++, h);
  }
  if (!support_.equator_nodes.empty())
    for (int j = 0; j <= wire_.segments; ++j, ++clique) {
      const Touch k = touch(x, j);
      const Barrier barrier(k.gap, support_.contact_stiffness_mN_per_mm2, support_.contact_softness_mm);
      if (barrier.slope == 0) continue;
      const int shift = spans_between(span_[static_cast<std::size_t>(j)], k.span) + margin;
      if (shift < 0 || shift > 2 * margin) throw InternalError("tension ring: contact moved out of its cliques");
      double h[touch_size * touch_size] = {};
      touch_hessian(k, barrier, node_length(j), shift, positive, h);
      tangent.add(clique, h);
    }
  if (support_.held_node >= 0) {
    double h[slip_size * slip_size];
    slip_hessian(slip(x), support_.held_stiffness_mN_per_mm, positive, h);
    tangent.add(clique++, h);
  }
  if (support_.eyelet_node >= 0) {
    const double k = support_.eyelet_stiffness_mN_per_mm, h[4] = {k, 0, 0, k};
    tangent.add(clique++, h);
  }
}

double TensionRing::push_mN(std::span<const double> x) const {
  double total = 0;
  if (support_.equator_nodes.empty()) return total;
  for (int j = 0; j <= wire_.segments; ++j)
    total -= node_length(j) *
             Barrier(touch(x, j).gap, support_.contact_stiffness_mN_per_mm2, support_.contact_softness_mm).slope;
  return total;
}

double TensionRing::depth_mm(std::span<const double> x) const {
  double depth = 0;
  if (support_.equator_nodes.empty()) return depth;
  for (int j = 0; j <= wire_.segments; ++j) depth = std::max(depth, -touch(x, j).gap);
  return depth;
}

double TensionRing::end_gap_mm(std::span<const double> x) const {
  const double* p = &x[static_cast<std::size_t>(wire_.first_coordinate)];
  const int last = wire_.segments;
  // Angle swept about the mean point of the wire; more than a full turn: the ends overlap.
  double cx = 0, cy = 0;
  for (int i = 0; i <= last; ++i) {
    cx += p[2 * i] / (last + 1);
    cy += p[2 * i + 1] / (last + 1);
  }
  double swept = 0, radius = 0;
  for (int i = 0; i <= last; ++i) {
    radius += std::hypot(p[2 * i] - cx, p[2 * i + 1] - cy) / (last + 1);
    if (i == last) break;
    const double ax = p[2 * i] - cx, ay = p[2 * i + 1] - cy, bx = p[2 * i + 2] - cx, by = p[2 * i + 3] - cy;
    swept += std::atan2(ax * by - ay * bx, ax * bx + ay * by);
  }
  return (2 * pi - swept) * radius;
}

TensionRing::Wire ring_wire(const TensionRingSpec& spec, int segments, int first_coordinate) {
  TensionRing::Wire wire;
  const double d = spec.wire_diameter_mm, radius = 0.5 * spec.free_diameter_mm;
  wire.first_coordinate = first_coordinate;
  wire.segments = segments;
  wire.segment_length_mm = radius * spec.arc_degrees * pi / 180 / segments;
  wire.natural_curvature_per_mm = 1 / radius;
  wire.bending_stiffness_mN_mm2 = spec.modulus_kPa * pi * d * d * d * d / 64;
  wire.axial_stiffness_mN = spec.modulus_kPa * pi * d * d / 4;
  wire.creep_fraction = spec.creep_fraction;
  wire.creep_days = spec.creep_time_days;
  return wire;
}

std::vector<double> ring_positions(const TensionRingSpec& spec, int segments, double radius, Point center) {
  const double length = 0.5 * spec.free_diameter_mm * spec.arc_degrees * pi / 180;
  // Chords of the natural segment length, so that the wire starts unstretched.
  const double step = 2 * std::asin(0.5 * length / segments / radius);
  const double middle = angle_of_hour(spec.gap_hour) + pi;
  std::vector<double> positions;
  for (int i = 0; i <= segments; ++i) {
    const double angle = middle + (i - 0.5 * segments) * step;
    positions.push_back(center[0] + radius * std::cos(angle));
    positions.push_back(center[1] + radius * std::sin(angle));
  }
  return positions;
}

}  // namespace capsim
