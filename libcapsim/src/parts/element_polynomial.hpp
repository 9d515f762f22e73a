// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Derivatives of a field by the local coordinates at all Gauss points of an element, and back to its nodes.
///
/// Model.   The field of the 8-node element is a polynomial in (xi, eta) with eight coefficients. On the 3 x 3 Gauss
///          points both coordinates are -g, 0 or g, g^2 = 3/5, so that seven coefficients times powers of g give the 18
///          derivatives in some fifty operations, where shape functions, node by node and point by point, take nearly
///          three hundred. Other elements have few points and take their shape functions.
/// Order.   Nodes and points as in mesh.hpp: corners, then mid-sides, counter-clockwise; points row by row in xi.

#include "geometry/lanes.hpp"
#include "geometry/tensor.hpp"

namespace capsim::surface {

/// The polynomial of one number on the 8-node element, without its constant: the coefficient of xi^m eta^n times
/// g^(m + n - 1).
template <class T>
struct ElementPolynomial {
  T xi, eta, xi_xi, xi_eta, eta_eta, xi_xi_eta, xi_eta_eta;

  static constexpr double g = 0.77459666924148337703585307995648;  // sqrt(3/5)

  /// From the numbers at the nodes; `of(a)` is that at node a.
  template <class Of>
  static CAPSIM_INLINE ElementPolynomial through(const Of& of) noexcept {
    const T even = of(0) + of(2), odd = of(1) + of(3), rising = of(2) - of(0), falling = of(1) - of(3);
    const T corners = (0.25 * g) * (even + odd);
    ElementPolynomial p;
    p.xi = 0.5 * (of(5) - of(7));
    p.eta = 0.5 * (of(6) - of(4));
    p.xi_xi = corners - (0.5 * g) * (of(4) + of(6));
    p.eta_eta = corners - (0.5 * g) * (of(5) + of(7));
    p.xi_eta = (0.25 * g) * (even - odd);
    p.xi_xi_eta = (g * g) * (0.25 * (rising - falling) - p.eta);
    p.xi_eta_eta = (g * g) * (0.25 * (rising + falling) - p.xi);
    return p;
  }

  /// Derivatives at all points: calls put(q, by_xi, by_eta).
  template <class Put>
  CAPSIM_INLINE void derivatives(const Put& put) const noexcept {
    // By xi at xi = 0 and what each step in xi adds, for eta = -g, 0, g; and the same by eta with the two exchanged.
    const T a = xi + xi_eta_eta, b = xi_xi + xi_xi, c = xi_xi_eta + xi_xi_eta;
    const T at_xi[3] = {a - xi_eta, xi, a + xi_eta}, step_xi[3] = {b - c, b, b + c};
    const T d = eta + xi_xi_eta, e = eta_eta + eta_eta, f = xi_eta_eta + xi_eta_eta;
    const T at_eta[3] = {d - xi_eta, eta, d + xi_eta}, step_eta[3] = {e - f, e, e + f};
    put(0, at_xi[0] - step_xi[0], at_eta[0] - step_eta[0]);
    put(1, at_xi[1] - step_xi[1], at_eta[0]);
    put(2, at_xi[2] - step_xi[2], at_eta[0] + step_eta[0]);
    put(3, at_xi[0], at_eta[1] - step_eta[1]);
    put(4, at_xi[1], at_eta[1]);
    put(5, at_xi[2], at_eta[1] + step_eta[1]);
    put(6, at_xi[0] + step_xi[0], at_eta[2] - step_eta[2]);
    put(7, at_xi[1] + step_xi[1], at_eta[2]);
    put(8, at_xi[2] + step_xi[2], at_eta[2] + step_eta[2]);
  }

  /// The way back: with t an energy's derivatives by those at the points, by_xi(q) and by_eta(q), its derivatives by
  /// the coefficients.
  template <class ByXi, class ByEta>
  static CAPSIM_INLINE ElementPolynomial collected(const ByXi& by_xi, const ByEta& by_eta) noexcept {
    // For each eta the sum over xi and the difference of its ends; by eta with the two exchanged.
    T sum_xi[3], slope_xi[3], sum_eta[3], slope_eta[3];
    for (int k = 0; k < 3; ++k) {
      const T first = by_xi(k), last = by_xi(6 + k), low = by_eta(3 * k), high = by_eta(3 * k + 2);
      sum_xi[k] = (first + last) + by_xi(3 + k);
      slope_xi[k] = last - first;
      sum_eta[k] = (low + high) + by_eta(3 * k + 1);
      slope_eta[k] = high - low;
    }
    const T ends_xi = sum_xi[0] + sum_xi[2], ends_eta = sum_eta[0] + sum_eta[2];
    const T twist_xi = slope_xi[2] - slope_xi[0], twist_eta = slope_eta[2] - slope_eta[0];
    const T bend_xi = (slope_xi[0] + slope_xi[2]) + slope_xi[1],
            bend_eta = (slope_eta[0] + slope_eta[2]) + slope_eta[1];
    ElementPolynomial p;
    p.xi = ends_xi + sum_xi[1];
    p.eta = ends_eta + sum_eta[1];
    p.xi_xi = bend_xi + bend_xi;
    p.eta_eta = bend_eta + bend_eta;
    p.xi_eta = (sum_xi[2] - sum_xi[0]) + (sum_eta[2] - sum_eta[0]);
    p.xi_xi_eta = (twist_xi + twist_xi) + ends_eta;
    p.xi_eta_eta = (twist_eta + twist_eta) + ends_xi;
    return p;
  }

  /// From derivatives by the coefficients to those by the numbers at the nodes: calls put(a, derivative).
  template <class Put>
  CAPSIM_INLINE void to_nodes(const Put& put) const noexcept {
    const T across = 0.5 * xi - (0.5 * g * g) * xi_eta_eta, along = 0.5 * eta - (0.5 * g * g) * xi_xi_eta;
    const T middle_xi = (0.5 * g) * xi_xi, middle_eta = (0.5 * g) * eta_eta;
    const T corners = (0.25 * g) * (xi_xi + eta_eta), twist = (0.25 * g) * xi_eta;
    const T even = corners + twist, odd = corners - twist;
    const T a = (0.25 * g * g) * (xi_xi_eta + xi_eta_eta), b = (0.25 * g * g) * (xi_eta_eta - xi_xi_eta);
    put(0, even - a);
    put(1, odd + b);
    put(2, even + a);
    put(3, odd - b);
    put(4, -(along + middle_xi));
    put(5, across - middle_eta);
    put(6, along - middle_xi);
    put(7, -(across + middle_eta));
  }
};

/// Derivatives of the positions x of the nodes by xi and eta at every point; `local` has those of the shape functions.
template <int N, int points>
CAPSIM_INLINE void derivatives_at_points(const VectorOf<Lanes> (&x)[N], const double* local,
                                         TensorOf<Lanes> (&by_local)[points]) noexcept {
  if constexpr (N == 8 && points == 9) {
    using Polynomial = ElementPolynomial<Lanes>;
    Polynomial::through([&](int a) CAPSIM_INLINE_LAMBDA {
      return x[a].x;
    }).derivatives([&](int q, const Lanes& by_xi, const Lanes& by_eta) CAPSIM_INLINE_LAMBDA {
      by_local[q].xx = by_xi;
      by_local[q].xy = by_eta;
    });
    Polynomial::through([&](int a) CAPSIM_INLINE_LAMBDA {
      return x[a].y;
    }).derivatives([&](int q, const Lanes& by_xi, const Lanes& by_eta) CAPSIM_INLINE_LAMBDA {
      by_local[q].yx = by_xi;
      by_local[q].yy = by_eta;
    });
  } else {
    for (int q = 0; q < points; ++q) {
      const double* d = local + 2 * N * q;
      by_local[q] = dyad(x[0], {Lanes(d[0]), Lanes(d[1])});
      for (int a = 1; a < N; ++a) by_local[q] += dyad(x[a], {Lanes(d[2 * a]), Lanes(d[2 * a + 1])});
    }
  }
}

/// The way back: t, an energy's derivatives by those at the points, become its derivatives by the positions.
template <int N, int points>
CAPSIM_INLINE void forces_at_nodes(const TensorOf<Lanes> (&t)[points], const double* local,
                                   VectorOf<Lanes> (&force)[N]) noexcept {
  if constexpr (N == 8 && points == 9) {
    using Polynomial = ElementPolynomial<Lanes>;
    Polynomial::collected([&](int q) CAPSIM_INLINE_LAMBDA { return t[q].xx; },
                          [&](int q) CAPSIM_INLINE_LAMBDA { return t[q].xy; })
        .to_nodes([&](int a, const Lanes& f) CAPSIM_INLINE_LAMBDA { force[a].x = f; });
    Polynomial::collected([&](int q) CAPSIM_INLINE_LAMBDA { return t[q].yx; },
                          [&](int q) CAPSIM_INLINE_LAMBDA { return t[q].yy; })
        .to_nodes([&](int a, const Lanes& f) CAPSIM_INLINE_LAMBDA { force[a].y = f; });
  } else {
    for (int a = 0; a < N; ++a) {
      VectorOf<Lanes> f;
      for (int q = 0; q < points; ++q) {
        const double* d = local + 2 * (N * q + a);
        f += t[q] * VectorOf<Lanes>{Lanes(d[0]), Lanes(d[1])};
      }
      force[a] = f;
    }
  }
}

}  // namespace capsim::surface
