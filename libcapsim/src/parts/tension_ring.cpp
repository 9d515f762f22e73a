// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/tension_ring.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "capsim/error.hpp"
#include "parts/ring_contact.hpp"

namespace capsim {
namespace {

constexpr int most_searches = 16;  // for places of contact from the places before

}  // namespace

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

void TensionRing::kinks(std::span<const double> x, KinkValues& values) const {
  if (support_.equator_nodes.empty()) return;
  for (int node = 0; node <= wire_.segments; ++node) values.add(Kink::contact, touch(x, node).gap);
}

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
    // Looked for from where it was found, a place may be another where the wire has moved far.
    for (int again = 0; again < most_searches && !couplings_hold(x); ++again) {
      for (int j = 0; j <= wire_.segments; ++j) spans[static_cast<std::size_t>(j)] = touch(x, j).span;
      span_ = spans;
    }
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

namespace {

// The energy of stretching, its forces added to f.
double stretch_gradient(const TensionRing::Wire& wire, const double* p, double* f) {
  const double l = wire.segment_length_mm;
  double total = 0;
  for (int i = 0; i < wire.segments; ++i) {
    const double ex = p[2 * i + 2] - p[2 * i], ey = p[2 * i + 3] - p[2 * i + 1], length = std::hypot(ex, ey);
    const double strain = length / l - 1, n = wire.axial_stiffness_mN * strain / length;
    total += 0.5 * wire.axial_stiffness_mN * l * strain * strain;
    f[2 * i] -= n * ex;
    f[2 * i + 1] -= n * ey;
    f[2 * i + 2] += n * ex;
    f[2 * i + 3] += n * ey;
  }
  return total;
}

// Adds the energy of bending to `total`, and its forces to f.
void bend_gradient(const TensionRing::Wire& wire, double bending, const double* p, double& total, double* f) {
  const double l = wire.segment_length_mm;
  for (int i = 1; i < wire.segments; ++i) {
    const double ax = p[2 * i] - p[2 * i - 2], ay = p[2 * i + 1] - p[2 * i - 1];
    const double bx = p[2 * i + 2] - p[2 * i], by = p[2 * i + 3] - p[2 * i + 1];
    const double k = std::atan2(ax * by - ay * bx, ax * bx + ay * by) / l - wire.natural_curvature_per_mm;
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
}

// First coordinate of node `at` of the equator, counted round and round.
std::size_t equator_coordinate(const std::vector<int>& nodes, int at) {
  const int m = static_cast<int>(nodes.size());
  return 2 * static_cast<std::size_t>(nodes[static_cast<std::size_t>((at % m + m) % m)]);
}

// Forces of a push at a touch: on wire node j, f its forces, and on the six equator nodes of the place.
void push_apart(const auto& k, double push, const std::vector<int>& nodes, int j, std::span<double> g, double* f) {
  for (int d = 0; d < 2; ++d) f[2 * j + d] -= push * k.normal[d];
  for (int a = 0; a < 6; ++a) {
    const std::size_t node = equator_coordinate(nodes, k.span - 2 + a);
    for (int d = 0; d < 2; ++d) g[node + d] += push * k.normal[d] * k.basis.n[a];
  }
}

// Forces of what holds wire node j along the equator.
void hold_back(const auto& k, double force, const TensionRing::Support& support, std::span<double> g, double* f) {
  for (int i = 0; i < 2; ++i) f[2 * support.held_node + i] += force * k.u[i];
  for (int a = 0; a < 6; ++a) {
    const std::size_t node = equator_coordinate(support.equator_nodes, support.held_span - 2 + a);
    for (int i = 0; i < 2; ++i)
      g[node + static_cast<std::size_t>(i)] +=
          force * (-k.basis.n[a] * k.u[i] + k.across * k.basis.d[a] * k.n[i] / k.speed);
  }
}

}  // namespace

double TensionRing::gradient(std::span<const double> x, std::span<double> g) const {
  const double* p = &x[static_cast<std::size_t>(wire_.first_coordinate)];
  double* f = &g[static_cast<std::size_t>(wire_.first_coordinate)];
  double total = stretch_gradient(wire_, p, f);  // the energy, from what the forces need anyway
  bend_gradient(wire_, creep_ * wire_.bending_stiffness_mN_mm2, p, total, f);
  if (!support_.equator_nodes.empty())
    for (int j = 0; j <= wire_.segments; ++j) {
      const Touch k = touch(x, j);
      const Barrier barrier(k.gap, support_.contact_stiffness_mN_per_mm2, support_.contact_softness_mm);
      const double push = node_length(j) * barrier.slope;
      total += node_length(j) * barrier.energy;
      if (push != 0) push_apart(k, push, support_.equator_nodes, j, g, f);
    }
  if (support_.held_node >= 0) {
    const Slip k = slip(x);
    const double force = support_.held_stiffness_mN_per_mm * k.s;
    total += 0.5 * force * k.s;
    hold_back(k, force, support_, g, f);
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
