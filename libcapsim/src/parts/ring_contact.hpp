// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Where the wire of a tension ring touches the equator, and what holds it along the equator: tension_ring.hpp.

#include <algorithm>
#include <array>
#include <vector>

#include "capsim/tension_ring.hpp"
#include "parts/equator_curve.hpp"

namespace capsim {

inline constexpr int margin = 3;               // spans a touch may move before the cliques are renewed
inline constexpr int window = 6 + 2 * margin;  // equator nodes in a contact clique

/// Penalty of a gap < 0: cubic until `softness` deep, then square, twice differentiable.
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

struct TensionRing::Touch {
  int span = 0;
  double t = 0, distance = 1, gap = 1, speed = 1, normal_curvature = 0;
  Point tangent{}, normal{};  // normal points out of the bag
  EquatorCurve::Weights basis{};
};

// s = (y - c).u with u the unit tangent at the held place c of the curve; r = y - c.
struct TensionRing::Slip {
  double s = 0, across = 0, speed = 1;  // across = r.n
  Point u{}, n{};
  EquatorCurve::Weights basis{};
};

inline constexpr int touch_size = 2 * window + 2;

// By the wire node and the equator nodes of the window, `shift` being the first of the six in it: the gap's
// gradient by the barrier's curvature, and its curvature by the barrier's slope.
inline void touch_hessian(const auto& k, const Barrier& barrier, double length, int shift, bool positive, double* h) {
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

inline constexpr int slip_size = 14;

// By the wire node and the six equator nodes of the held place. along, across: derivatives of r by u, n; turn,
// grow: those of the curve's derivative by n, u over its length.
inline void slip_hessian(const auto& k, double stiffness, bool positive, double* h) {
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

}  // namespace capsim
