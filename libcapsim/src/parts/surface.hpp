// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Loops over the Gauss points of a patch, shared by every part that is an energy per area.
///
/// A density is called with the deformation gradient F (11 12 21 22) and adds
///   energy(p, F)              -> energy per reference area [mN/mm], +inf when inadmissible
///   stress(p, F, P)           -> the same, and sets P = d/dF
///   tangent(p, F, curvature, A) -> sets A = d2/dF2 (4 x 4, symmetric)

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/capsule.hpp"

namespace capsim::surface {

/// F in the complex form F z = alpha z + beta conj(z), alpha = e + i h, beta = f + i g:
/// |alpha| = (l1 + l2)/2 and |beta| = (l1 - l2)/2, so no eigenvectors are needed.
struct Split {
  double e, h, f, g, q, r;
  explicit Split(const double* m) noexcept
      : e(0.5 * (m[0] + m[3])),
        h(0.5 * (m[2] - m[1])),
        f(0.5 * (m[0] - m[3])),
        g(0.5 * (m[1] + m[2])),
        q(std::sqrt(e * e + h * h)),
        r(std::sqrt(f * f + g * g)) {}
  [[nodiscard]] double l1() const noexcept { return q + r; }
  [[nodiscard]] double l2() const noexcept { return q - r; }
  [[nodiscard]] bool folded() const noexcept { return !(q > r); }
};

/// P = dW/dF of an isotropic W(l1, l2), times `scale`, added to p.
inline void add_isotropic_stress(const Split& s, const StretchResponse& w, double scale, double* p) noexcept {
  const double a = scale * (w.w1 + w.w2) / s.q;
  const double b = s.r > 1e-14 * s.q ? scale * (w.w1 - w.w2) / s.r : scale * (w.w11 - 2 * w.w12 + w.w22);
  const double de = a * s.e, dh = a * s.h, df = b * s.f, dg = b * s.g;
  p[0] += 0.5 * (de + df);
  p[3] += 0.5 * (de - df);
  p[2] += 0.5 * (dg + dh);
  p[1] += 0.5 * (dg - dh);
}

/// A = d2W/dF2 of an isotropic W(l1, l2), times `scale`, added to a (4 x 4). The four modes are
/// the two stretches (coupled), the twist and the flip; `positive` clamps each at zero.
inline void add_isotropic_tangent(const Split& s, const StretchResponse& w, double scale, Curvature curvature,
                                  double* a) noexcept {
  double w11 = w.w11, w12 = w.w12, w22 = w.w22;
  double twist = (w.w1 + w.w2) / s.q;
  double flip = s.r > 1e-9 * s.q ? (w.w1 - w.w2) / s.r : w.w11 - 2 * w.w12 + w.w22;
  if (curvature == Curvature::positive) {
    twist = std::max(twist, 0.0);
    flip = std::max(flip, 0.0);
    const double mean = 0.5 * (w11 + w22), half = 0.5 * (w11 - w22);
    const double spread = std::sqrt(half * half + w12 * w12);
    if (mean - spread < 0) {  // clamp the eigenvalues of the 2 x 2 stretch block
      const double hi = std::max(mean + spread, 0.0);
      const double c = spread > 0 ? half / spread : 1, d = spread > 0 ? w12 / spread : 0;
      w11 = 0.5 * hi * (1 + c);
      w22 = 0.5 * hi * (1 - c);
      w12 = 0.5 * hi * d;
    }
  }
  // Derivatives by q = |alpha| and r = |beta|.
  const double qq = w11 + 2 * w12 + w22, rr = w11 - 2 * w12 + w22, qr = w11 - w22;
  const double ae = s.e / s.q, ah = s.h / s.q;
  const double bf = s.r > 0 ? s.f / s.r : 1, bg = s.r > 0 ? s.g / s.r : 0;
  const double k = 0.25 * scale;  // from (e, h, f, g) to the entries of F
  const double ee = k * (qq * ae * ae + twist * ah * ah), hh = k * (qq * ah * ah + twist * ae * ae),
               eh = k * (qq - twist) * ae * ah;
  const double ff = k * (rr * bf * bf + flip * bg * bg), gg = k * (rr * bg * bg + flip * bf * bf),
               fg = k * (rr - flip) * bf * bg;
  const double ef = k * qr * ae * bf, eg = k * qr * ae * bg, hf = k * qr * ah * bf, hg = k * qr * ah * bg;
  // F11 = e + f, F12 = g - h, F21 = g + h, F22 = e - f.
  const double a00 = ee + 2 * ef + ff, a33 = ee - 2 * ef + ff, a03 = ee - ff;
  const double a11 = gg - 2 * hg + hh, a22 = gg + 2 * hg + hh, a12 = gg - hh;
  const double a01 = eg - eh + fg - hf, a02 = eg + eh + fg + hf, a31 = eg - eh - fg + hf, a32 = eg + eh - fg - hf;
  a[0] += a00;
  a[5] += a11;
  a[10] += a22;
  a[15] += a33;
  a[1] += a01;
  a[4] += a01;
  a[2] += a02;
  a[8] += a02;
  a[3] += a03;
  a[12] += a03;
  a[6] += a12;
  a[9] += a12;
  a[7] += a31;
  a[13] += a31;
  a[11] += a32;
  a[14] += a32;
}

/// The elastic part F M of a deformation, M the inverse of a growth tensor (11 12 21 22), and derivatives by
/// F from those by F M.
struct ElasticPart {
  double m[4];
  /// M becomes the inverse of the growth tensor g; returns its determinant.
  double invert(const double* g) noexcept {
    const double determinant = g[0] * g[3] - g[1] * g[2];
    m[0] = g[3] / determinant;
    m[1] = -g[1] / determinant;
    m[2] = -g[2] / determinant;
    m[3] = g[0] / determinant;
    return determinant;
  }
  void of(const double* f, double* fe) const noexcept {
    fe[0] = f[0] * m[0] + f[1] * m[2];
    fe[1] = f[0] * m[1] + f[1] * m[3];
    fe[2] = f[2] * m[0] + f[3] * m[2];
    fe[3] = f[2] * m[1] + f[3] * m[3];
  }
  /// P = Pe M^T, in place.
  void pull_back_stress(double* p) const noexcept {
    const double a = p[0], b = p[1], c = p[2], d = p[3];
    p[0] = a * m[0] + b * m[1];
    p[1] = a * m[2] + b * m[3];
    p[2] = c * m[0] + d * m[1];
    p[3] = c * m[2] + d * m[3];
  }
  /// A_iJkL = Ae_iMkN M_JM M_LN, in place.
  void pull_back_tangent(double* a) const noexcept {
    double half[16];
    for (int row = 0; row < 4; ++row)
      for (int k = 0; k < 2; ++k)
        for (int l = 0; l < 2; ++l)
          half[4 * row + 2 * k + l] = a[4 * row + 2 * k] * m[2 * l] + a[4 * row + 2 * k + 1] * m[2 * l + 1];
    for (int i = 0; i < 2; ++i)
      for (int j = 0; j < 2; ++j)
        for (int col = 0; col < 4; ++col)
          a[4 * (2 * i + j) + col] = half[4 * (2 * i) + col] * m[2 * j] + half[4 * (2 * i + 1) + col] * m[2 * j + 1];
  }
};

template <int N>
inline void deformation(const double* position, const double* gradient, double* f) noexcept {
  f[0] = f[1] = f[2] = f[3] = 0;
  for (int a = 0; a < N; ++a) {
    f[0] += position[2 * a] * gradient[2 * a];
    f[1] += position[2 * a] * gradient[2 * a + 1];
    f[2] += position[2 * a + 1] * gradient[2 * a];
    f[3] += position[2 * a + 1] * gradient[2 * a + 1];
  }
}

template <int N>
inline void gather(const Patch& patch, const double* x, int element, double* position) noexcept {
  const int* nodes = &patch.nodes[static_cast<std::size_t>(element) * N];
  for (int a = 0; a < N; ++a) {
    position[2 * a] = x[2 * nodes[a]];
    position[2 * a + 1] = x[2 * nodes[a] + 1];
  }
}

template <int N, class Density>
double energy(const Patch& patch, const double* x, int first, int last, const Density& density) {
  double total = 0;
  for (int e = first; e < last; ++e) {
    double position[2 * N];
    gather<N>(patch, x, e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e) * patch.points_per_element + q;
      double f[4];
      deformation<N>(position, &patch.gradients[p * 2 * N], f);
      total += patch.weights[p] * density.energy(p, f);
    }
  }
  return total;
}

template <int N, class Density>
double gradient(const Patch& patch, const double* x, double* g, int first, int last, const Density& density) {
  double total = 0;
  for (int e = first; e < last; ++e) {
    double position[2 * N], force[2 * N] = {};
    gather<N>(patch, x, e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e) * patch.points_per_element + q;
      const double* d = &patch.gradients[p * 2 * N];
      double f[4], s[4] = {};
      deformation<N>(position, d, f);
      const double w = density.stress(p, f, s);
      if (!(w < std::numeric_limits<double>::infinity())) return std::numeric_limits<double>::infinity();
      total += patch.weights[p] * w;
      for (double& v : s) v *= patch.weights[p];
      for (int a = 0; a < N; ++a) {
        force[2 * a] += s[0] * d[2 * a] + s[1] * d[2 * a + 1];
        force[2 * a + 1] += s[2] * d[2 * a] + s[3] * d[2 * a + 1];
      }
    }
    const int* nodes = &patch.nodes[static_cast<std::size_t>(e) * N];
    for (int a = 0; a < N; ++a) {
      g[2 * nodes[a]] += force[2 * a];
      g[2 * nodes[a] + 1] += force[2 * a + 1];
    }
  }
  return total;
}

template <int N, class Density>
void hessian(const Patch& patch, const double* x, Curvature curvature, std::size_t first_clique, Tangent& tangent,
             int first, int last, const Density& density) {
  constexpr int n = 2 * N;
  for (int e = first; e < last; ++e) {
    double position[n], k[n * n] = {};
    gather<N>(patch, x, e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e) * patch.points_per_element + q;
      const double* d = &patch.gradients[p * n];
      double f[4], a[16] = {};
      deformation<N>(position, d, f);
      density.tangent(p, f, curvature, a);
      for (double& v : a) v *= patch.weights[p];
      for (int b = 0; b < N; ++b) {
        double t[4][2];  // A : dN_b
        for (int i = 0; i < 4; ++i) {
          t[i][0] = a[4 * i] * d[2 * b] + a[4 * i + 1] * d[2 * b + 1];
          t[i][1] = a[4 * i + 2] * d[2 * b] + a[4 * i + 3] * d[2 * b + 1];
        }
        for (int c = 0; c <= b; ++c) {
          const double u = d[2 * c], v = d[2 * c + 1];
          k[(2 * c) * n + 2 * b] += u * t[0][0] + v * t[1][0];
          k[(2 * c) * n + 2 * b + 1] += u * t[0][1] + v * t[1][1];
          k[(2 * c + 1) * n + 2 * b] += u * t[2][0] + v * t[3][0];
          k[(2 * c + 1) * n + 2 * b + 1] += u * t[2][1] + v * t[3][1];
        }
      }
    }
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < i; ++j) k[i * n + j] = k[j * n + i];
    tangent.add(first_clique + static_cast<std::size_t>(e - first), k);
  }
}

/// True where the nodal field `shift` (x y per node) is zero all over the element.
template <int N>
inline bool at_rest(const Patch& patch, const double* shift, int element) noexcept {
  double moved[2 * N];
  gather<N>(patch, shift, element, moved);
  return std::all_of(moved, moved + 2 * N, [](double v) { return v == 0; });
}

/// Derivative of the energy when the reference positions move by `shift` and the deformed ones stay,
/// the density's fields moving along: sum of w (W div q - P : F grad q), q the shift.
template <int N, class Density>
double energy_by_reference(const Patch& patch, const double* x, const double* shift, int first, int last,
                           const Density& density) {
  double total = 0;
  for (int e = first; e < last; ++e) {
    if (at_rest<N>(patch, shift, e)) continue;
    double position[2 * N], moved[2 * N];
    gather<N>(patch, shift, e, moved);
    gather<N>(patch, x, e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e) * patch.points_per_element + q;
      const double* d = &patch.gradients[p * 2 * N];
      double f[4], s[4] = {}, m[4];
      deformation<N>(position, d, f);
      deformation<N>(moved, d, m);
      const double w = density.stress(p, f, s);
      const double work = s[0] * (f[0] * m[0] + f[1] * m[2]) + s[1] * (f[0] * m[1] + f[1] * m[3]) +
                          s[2] * (f[2] * m[0] + f[3] * m[2]) + s[3] * (f[2] * m[1] + f[3] * m[3]);
      total += patch.weights[p] * (w * (m[0] + m[3]) - work);
    }
  }
  return total;
}

/// Step [mm] of the difference by which a field is followed along a shift of 1.
inline constexpr double field_step_mm = 1e-4;

/// Adds `step` times the change of a field (width numbers per point) along the shift, at the points
/// of elements first..last-1, which the field starts with.
template <int N>
void follow_field(const Patch& patch, std::span<const double> shift, int first, int last, int width, double step,
                  std::vector<double>& field) {
  if (field.empty()) return;
  const std::size_t per = static_cast<std::size_t>(patch.points_per_element) * static_cast<std::size_t>(width);
  double change[9 * 4];  // most points of an element, most numbers per point
  for (int e = first; e < last; ++e) {
    if (at_rest<N>(patch, shift.data(), e)) continue;
    double* values = &field[static_cast<std::size_t>(e - first) * per];
    patch.change_along(shift, e, {values, per}, width, {change, per});
    for (std::size_t k = 0; k < per; ++k) values[k] += step * change[k];
  }
}

/// Energy with density `a` less that with density `b`, over the elements where the shift is not zero.
template <int N, class Density>
double energy_between(const Patch& patch, const double* x, const double* shift, int first, int last, const Density& a,
                      const Density& b) {
  double total = 0;
  for (int e = first; e < last; ++e)
    if (!at_rest<N>(patch, shift, e)) total += energy<N>(patch, x, e, e + 1, a) - energy<N>(patch, x, e, e + 1, b);
  return total;
}

/// Calls `action` with the number of nodes of the patch's elements as a constant.
template <class Action>
auto with_nodes(const Patch& patch, Action&& action) {
  switch (patch.nodes_per_element) {
    case 3:
      return action(std::integral_constant<int, 3>{});
    case 4:
      return action(std::integral_constant<int, 4>{});
    case 6:
      return action(std::integral_constant<int, 6>{});
    default:
      return action(std::integral_constant<int, 8>{});
  }
}

/// Reports one clique per element first..last-1.
void add_element_cliques(const Patch& patch, int first, int last, Cliques& cliques);

}  // namespace capsim::surface
