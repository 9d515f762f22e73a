// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Loops over the Gauss points of a patch, shared by every part that is an energy per area.
///
/// A density is written once, for any number type T (lanes.hpp); `at` says where the values of its point, or of its
/// four points, stand in the fields, which start with the point `first_point` of the patch. With F (11 12 21 22):
///   energy(at, F)                -> energy per reference area [mN/mm], +inf when inadmissible
///   stress(at, F, P)             -> the same, and adds dW/dF to P
///   tangent(at, F, curvature, A) -> adds d2W/dF2 to A
/// energy(), gradient() and hessian() take four elements at a time, one in each lane.

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/capsule.hpp"
#include "geometry/lanes.hpp"

namespace capsim::surface {

/// F in the complex form F z = alpha z + beta conj(z), alpha = e + i h, beta = f + i g:
/// |alpha| = (l1 + l2)/2 and |beta| = (l1 - l2)/2, so no eigenvectors are needed.
template <class T>
struct Split {
  T e, h, f, g, q, r;
  explicit CAPSIM_INLINE Split(const T* m) noexcept
      : e(0.5 * (m[0] + m[3])),
        h(0.5 * (m[2] - m[1])),
        f(0.5 * (m[0] - m[3])),
        g(0.5 * (m[1] + m[2])),
        q(sqrt(e * e + h * h)),
        r(sqrt(f * f + g * g)) {}
  [[nodiscard]] CAPSIM_INLINE T l1() const noexcept { return q + r; }
  [[nodiscard]] CAPSIM_INLINE T l2() const noexcept { return q - r; }
  [[nodiscard]] CAPSIM_INLINE auto folded() const noexcept { return !(q > r); }
};

/// Folded lanes become an undeformed one that counts nothing.
template <class T>
CAPSIM_INLINE void leave_out_folded(T* f, T& scale) noexcept {
  const auto folded = Split<T>(f).folded();
  if (!any(folded)) return;
  for (int i = 0; i < 4; ++i) f[i] = pick(folded, T(i % 3 == 0 ? 1.0 : 0.0), f[i]);
  scale = pick(folded, T(0.0), scale);
}

/// The ten numbers of a symmetric d2W/dF2; rows and columns are 11 12 21 22.
template <class T>
struct Moduli {
  T entry[10] = {};
  static constexpr int slot[4][4] = {{0, 1, 2, 3}, {1, 4, 5, 6}, {2, 5, 7, 8}, {3, 6, 8, 9}};
  CAPSIM_INLINE T& operator()(int i, int j) noexcept { return entry[slot[i][j]]; }
  CAPSIM_INLINE const T& operator()(int i, int j) const noexcept { return entry[slot[i][j]]; }
};

/// P = dW/dF of an isotropic W(l1, l2), times `scale`, added to p.
template <class T>
CAPSIM_INLINE void add_isotropic_stress(const Split<T>& s, const StretchResponseOf<T>& w, const T& scale,
                                        T* p) noexcept {
  const T a = scale * (w.w1 + w.w2) / s.q, b = scale * w.flip;
  const T de = a * s.e, dh = a * s.h, df = b * s.f, dg = b * s.g;
  p[0] += 0.5 * (de + df);
  p[3] += 0.5 * (de - df);
  p[2] += 0.5 * (dg + dh);
  p[1] += 0.5 * (dg - dh);
}

/// A = d2W/dF2 of an isotropic W(l1, l2), times `scale`, added to a. The four modes are
/// the two stretches (coupled), the twist and the flip; `positive` clamps each at zero.
template <class T>
CAPSIM_INLINE void add_isotropic_tangent(const Split<T>& s, const StretchResponseOf<T>& w, const T& scale,
                                         Curvature curvature, Moduli<T>& a) noexcept {
  const T zero(0.0), one(1.0);
  T w11 = w.w11, w12 = w.w12, w22 = w.w22;
  T twist = (w.w1 + w.w2) / s.q, flip = w.flip;
  if (curvature == Curvature::positive) {
    twist = larger(twist, zero);
    flip = larger(flip, zero);
    // Clamp the eigenvalues of the 2 x 2 stretch block.
    const T mean = 0.5 * (w11 + w22), half = 0.5 * (w11 - w22), spread = sqrt(half * half + w12 * w12);
    const auto negative = mean - spread<zero, apart = spread> zero;
    const T high = larger(mean + spread, zero), safe = pick(apart, spread, one);
    const T c = pick(apart, half / safe, one), d = pick(apart, w12 / safe, zero);
    w11 = pick(negative, 0.5 * high * (one + c), w11);
    w22 = pick(negative, 0.5 * high * (one - c), w22);
    w12 = pick(negative, 0.5 * high * d, w12);
  }
  // Derivatives by q = |alpha| and r = |beta|.
  const T qq = w11 + 2.0 * w12 + w22, rr = w11 - 2.0 * w12 + w22, qr = w11 - w22;
  const auto apart = s.r > zero;
  const T safe = pick(apart, s.r, one);
  const T ae = s.e / s.q, ah = s.h / s.q;
  const T bf = pick(apart, s.f / safe, one), bg = pick(apart, s.g / safe, zero);
  const T k = 0.25 * scale;  // from (e, h, f, g) to the entries of F
  const T ee = k * (qq * ae * ae + twist * ah * ah), hh = k * (qq * ah * ah + twist * ae * ae),
          eh = k * (qq - twist) * ae * ah;
  const T ff = k * (rr * bf * bf + flip * bg * bg), gg = k * (rr * bg * bg + flip * bf * bf),
          fg = k * (rr - flip) * bf * bg;
  const T ef = k * qr * ae * bf, eg = k * qr * ae * bg, hf = k * qr * ah * bf, hg = k * qr * ah * bg;
  // F11 = e + f, F12 = g - h, F21 = g + h, F22 = e - f.
  a(0, 0) += ee + 2.0 * ef + ff;
  a(3, 3) += ee - 2.0 * ef + ff;
  a(0, 3) += ee - ff;
  a(1, 1) += gg - 2.0 * hg + hh;
  a(2, 2) += gg + 2.0 * hg + hh;
  a(1, 2) += gg - hh;
  a(0, 1) += eg - eh + fg - hf;
  a(0, 2) += eg + eh + fg + hf;
  a(1, 3) += eg - eh - fg + hf;
  a(2, 3) += eg + eh - fg - hf;
}

/// The stress and the moduli of a fibre along d with F d = n, |n| = stretch, and dW/dl = w1, d2W/dl2 = w2.
template <class T>
CAPSIM_INLINE void add_fibre_stress(const T* d, const T* n, const T& stretch, const T& w1, T* p) noexcept {
  const T t = w1 / stretch, t0 = t * n[0], t1 = t * n[1];
  p[0] += t0 * d[0];
  p[1] += t0 * d[1];
  p[2] += t1 * d[0];
  p[3] += t1 * d[1];
}
template <class T>
CAPSIM_INLINE void add_fibre_tangent(const T* d, const T* n, const T& stretch, const T& w1, const T& w2,
                                     Moduli<T>& a) noexcept {
  const T t = w1 / stretch, b = (w2 - t) / (stretch * stretch);
  const T g[4] = {n[0] * d[0], n[0] * d[1], n[1] * d[0], n[1] * d[1]};
  for (int i = 0; i < 4; ++i)
    for (int j = i; j < 4; ++j) a(i, j) += b * g[i] * g[j];
  const T d00 = t * d[0] * d[0], d01 = t * d[0] * d[1], d11 = t * d[1] * d[1];
  a(0, 0) += d00;
  a(0, 1) += d01;
  a(1, 1) += d11;
  a(2, 2) += d00;
  a(2, 3) += d01;
  a(3, 3) += d11;
}

/// The elastic part F M of a deformation, M the inverse of a growth tensor (11 12 21 22), and derivatives by
/// F from those by F M.
template <class T>
struct ElasticPart {
  T m[4];
  /// M becomes the inverse of the growth tensor g; returns its determinant.
  CAPSIM_INLINE T invert(const T* g) noexcept {
    const T determinant = g[0] * g[3] - g[1] * g[2];
    m[0] = g[3] / determinant;
    m[1] = -g[1] / determinant;
    m[2] = -g[2] / determinant;
    m[3] = g[0] / determinant;
    return determinant;
  }
  CAPSIM_INLINE void of(const T* f, T* fe) const noexcept {
    fe[0] = f[0] * m[0] + f[1] * m[2];
    fe[1] = f[0] * m[1] + f[1] * m[3];
    fe[2] = f[2] * m[0] + f[3] * m[2];
    fe[3] = f[2] * m[1] + f[3] * m[3];
  }
  /// P = Pe M^T, in place.
  CAPSIM_INLINE void pull_back_stress(T* p) const noexcept {
    const T a = p[0], b = p[1], c = p[2], d = p[3];
    p[0] = a * m[0] + b * m[1];
    p[1] = a * m[2] + b * m[3];
    p[2] = c * m[0] + d * m[1];
    p[3] = c * m[2] + d * m[3];
  }
  /// A_iJkL = Ae_iMkN M_JM M_LN, in place.
  CAPSIM_INLINE void pull_back_tangent(Moduli<T>& a) const noexcept {
    T half[4][4];
    for (int row = 0; row < 4; ++row)
      for (int k = 0; k < 2; ++k)
        for (int l = 0; l < 2; ++l) half[row][2 * k + l] = a(row, 2 * k) * m[2 * l] + a(row, 2 * k + 1) * m[2 * l + 1];
    for (int i = 0; i < 2; ++i)
      for (int j = 0; j < 2; ++j)
        for (int col = 2 * i + j; col < 4; ++col)
          a(2 * i + j, col) = half[2 * i][col] * m[2 * j] + half[2 * i + 1][col] * m[2 * j + 1];
  }
};

/// Where a field has the value of one point.
struct OnePoint {
  using Number = double;
  std::size_t point;
  /// Number `i` of the `width` that the field has for each point.
  [[nodiscard]] CAPSIM_INLINE double of(const double* field, std::size_t width = 1, std::size_t i = 0) const noexcept {
    return field[point * width + i];
  }
};

/// Where a field has the values of four points, one in each lane.
struct FourPoints {
  using Number = Lanes;
  std::size_t point[4];
  [[nodiscard]] CAPSIM_INLINE Lanes of(const double* field, std::size_t width = 1, std::size_t i = 0) const noexcept {
    return {field[point[0] * width + i], field[point[1] * width + i], field[point[2] * width + i],
            field[point[3] * width + i]};
  }
};

/// Four elements of a patch in the lanes: those of a group of four that lie in first..last-1, and as company, where
/// these are fewer, others whose numbers must not count.
template <int N>
struct FourElements {
  static constexpr int points = N == 8 ? 9 : N == 4 ? 4 : N == 6 ? 3 : 1;
  Lanes x[N], y[N];
  const int* nodes[4];
  FourPoints at;
  int from, to;      // lanes that count
  LaneMask counted;  // the same as a mask
  const double* geometry;

  CAPSIM_INLINE FourElements(const Patch& patch, const double* position, int group, int first, int last,
                             std::size_t first_point) noexcept
      : from(std::max(first - 4 * group, 0)),
        to(std::min(last - 4 * group, 4)),
        geometry(&patch.in_fours[static_cast<std::size_t>(group * points) * 20]) {
    const int end = patch.elements() - 1;
    for (int lane = 0; lane < 4; ++lane) {
      const int element = 4 * group + lane;
      nodes[lane] = &patch.nodes[static_cast<std::size_t>(std::min(element, end) * N)];
      at.point[lane] = static_cast<std::size_t>(std::clamp(element, first, last - 1) * points) - first_point;
    }
    const Lanes number(0.0, 1.0, 2.0, 3.0);
    counted = (number >= Lanes(static_cast<double>(from))) & (number < Lanes(static_cast<double>(to)));
    for (int a = 0; a < N; ++a) {
      const double* p[4];
      for (int lane = 0; lane < 4; ++lane) p[lane] = position + 2 * nodes[lane][a];
      x[a] = Lanes(p[0][0], p[1][0], p[2][0], p[3][0]);
      y[a] = Lanes(p[0][1], p[1][1], p[2][1], p[3][1]);
    }
  }
  [[nodiscard]] CAPSIM_INLINE bool whole() const noexcept { return from == 0 && to == 4; }
  /// F at point q, where `local` has the derivatives of the shape functions; `j` receives the derivatives of the local
  /// coordinates.
  CAPSIM_INLINE void deformation(const double* local, int q, Lanes* j, Lanes* f) const noexcept {
    for (int i = 0; i < 4; ++i) j[i] = Lanes::from(geometry + 20 * q + 4 * i);
    const double* d = local + 2 * N * q;
    Lanes x0 = x[0] * d[0], x1 = x[0] * d[1], y0 = y[0] * d[0], y1 = y[0] * d[1];
    for (int a = 1; a < N; ++a) {
      const Lanes d0(d[2 * a]), d1(d[2 * a + 1]);
      x0 += x[a] * d0;
      x1 += x[a] * d1;
      y0 += y[a] * d0;
      y1 += y[a] * d1;
    }
    f[0] = x0 * j[0] + x1 * j[2];
    f[1] = x0 * j[1] + x1 * j[3];
    f[2] = y0 * j[0] + y1 * j[2];
    f[3] = y0 * j[1] + y1 * j[3];
  }
  [[nodiscard]] CAPSIM_INLINE Lanes area(int q) const noexcept { return Lanes::from(geometry + 20 * q + 16); }
  CAPSIM_INLINE void next_point() noexcept {
    for (std::size_t& p : at.point) ++p;
  }
};

/// The loops in the width of the function that they are inlined into.
template <int N, class Density>
struct FourAtATime {
  using Elements = FourElements<N>;
  static constexpr int points = Elements::points, n = 2 * N;

  static CAPSIM_INLINE double energy(const Patch& patch, const double* x, int first, int last,
                                     const Density& density) noexcept {
    Lanes total(0.0);
    for (int group = first / 4; 4 * group < last; ++group) {
      Elements elements(patch, x, group, first, last, density.first_point);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        Lanes j[4], f[4];
        elements.deformation(patch.local_gradient.data(), q, j, f);
        total += pick(elements.counted, elements.area(q) * density.energy(elements.at, f), Lanes(0.0));
      }
    }
    return total.sum();
  }

  static CAPSIM_INLINE double gradient(const Patch& patch, const double* x, double* g, int first, int last,
                                       const Density& density) noexcept {
    const double* local = patch.local_gradient.data();
    const Lanes zero(0.0);
    Lanes total(0.0);
    for (int group = first / 4; 4 * group < last; ++group) {
      Elements elements(patch, x, group, first, last, density.first_point);
      alignas(32) Lanes t[points][4];  // derivatives of the energy by those of x and y by xi and eta
      Lanes sum(0.0);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        Lanes j[4], f[4], s[4] = {};
        elements.deformation(local, q, j, f);
        const Lanes area = elements.area(q);
        sum += area * density.stress(elements.at, f, s);
        for (Lanes& v : s) v *= area;
        t[q][0] = s[0] * j[0] + s[1] * j[1];
        t[q][1] = s[0] * j[2] + s[1] * j[3];
        t[q][2] = s[2] * j[0] + s[3] * j[1];
        t[q][3] = s[2] * j[2] + s[3] * j[3];
      }
      total += elements.whole() ? sum : pick(elements.counted, sum, zero);
      for (int a = 0; a < N; ++a) {
        Lanes fx(0.0), fy(0.0);
        for (int q = 0; q < points; ++q) {
          const Lanes d0(local[2 * (N * q + a)]), d1(local[2 * (N * q + a) + 1]);
          fx += d0 * t[q][0] + d1 * t[q][1];
          fy += d0 * t[q][2] + d1 * t[q][3];
        }
        for (int lane = elements.from; lane < elements.to; ++lane) {
          double* force = g + 2 * elements.nodes[lane][a];
          force[0] += fx[lane];
          force[1] += fy[lane];
        }
      }
    }
    const double energy = total.sum();
    return energy < std::numeric_limits<double>::infinity() ? energy : std::numeric_limits<double>::infinity();
  }

  // A = d2W/dF2 of a point becomes the second derivatives by those of x and y by xi and eta, and these times the shape
  // functions' derivatives of every node b: r[b] = xx 0 1, xy 0 1, yx 0 1, yy 0 1.
  static CAPSIM_INLINE void columns(const Moduli<Lanes>& a, const Lanes* j, const double* d, Lanes (*r)[8]) noexcept {
    const auto form = [&](const Lanes& b00, const Lanes& b01, const Lanes& b10, const Lanes& b11, Lanes* c)
#if defined(__GNUC__)
                          __attribute__((always_inline))
#endif
    {
      const Lanes c00 = j[0] * b00 + j[1] * b10, c01 = j[0] * b01 + j[1] * b11, c10 = j[2] * b00 + j[3] * b10,
                  c11 = j[2] * b01 + j[3] * b11;
      c[0] = c00 * j[0] + c01 * j[1];
      c[1] = c00 * j[2] + c01 * j[3];
      c[2] = c10 * j[0] + c11 * j[1];
      c[3] = c10 * j[2] + c11 * j[3];
    };
    Lanes xx[4], xy[4], yy[4];
    form(a(0, 0), a(0, 1), a(1, 0), a(1, 1), xx);
    form(a(0, 2), a(0, 3), a(1, 2), a(1, 3), xy);
    form(a(2, 2), a(2, 3), a(3, 2), a(3, 3), yy);
    for (int b = 0; b < N; ++b) {
      const Lanes u(d[2 * b]), v(d[2 * b + 1]);
      r[b][0] = xx[0] * u + xx[1] * v;
      r[b][1] = xx[2] * u + xx[3] * v;
      r[b][2] = xy[0] * u + xy[1] * v;
      r[b][3] = xy[2] * u + xy[3] * v;
      r[b][4] = xy[0] * u + xy[2] * v;
      r[b][5] = xy[1] * u + xy[3] * v;
      r[b][6] = yy[0] * u + yy[1] * v;
      r[b][7] = yy[2] * u + yy[3] * v;
    }
  }

  static CAPSIM_INLINE void hessian(const Patch& patch, const double* x, Curvature curvature, std::size_t first_clique,
                                    Tangent& tangent, int first, int last, const Density& density) {
    const double* local = patch.local_gradient.data();
    alignas(32) Lanes r[points][N][8];
    double k[4][n * n];
    for (int group = first / 4; 4 * group < last; ++group) {
      Elements elements(patch, x, group, first, last, density.first_point);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        Lanes j[4], f[4];
        Moduli<Lanes> a;
        elements.deformation(local, q, j, f);
        density.tangent(elements.at, f, curvature, a);
        const Lanes area = elements.area(q);
        for (Lanes& v : a.entry) v *= area;
        columns(a, j, local + 2 * N * q, r[q]);
      }
      for (int b = 0; b < N; ++b)
        for (int c = 0; c <= b; ++c) {
          Lanes xx(0.0), xy(0.0), yx(0.0), yy(0.0);
          for (int q = 0; q < points; ++q) {
            const Lanes u(local[2 * (N * q + c)]), v(local[2 * (N * q + c) + 1]);
            const Lanes* m = r[q][b];
            xx += u * m[0] + v * m[1];
            xy += u * m[2] + v * m[3];
            yx += u * m[4] + v * m[5];
            yy += u * m[6] + v * m[7];
          }
          for (int lane = 0; lane < 4; ++lane) {
            double* e = k[lane];
            e[2 * c * n + 2 * b] = e[2 * b * n + 2 * c] = xx[lane];
            e[2 * c * n + 2 * b + 1] = e[(2 * b + 1) * n + 2 * c] = xy[lane];
            e[(2 * c + 1) * n + 2 * b] = e[2 * b * n + 2 * c + 1] = yx[lane];
            e[(2 * c + 1) * n + 2 * b + 1] = e[(2 * b + 1) * n + 2 * c + 1] = yy[lane];
          }
        }
      for (int lane = elements.from; lane < elements.to; ++lane)
        tangent.add(first_clique + static_cast<std::size_t>(4 * group + lane - first), k[lane]);
    }
  }

#if CAPSIM_HAS_WIDE_LANES
  CAPSIM_WIDE_LANES static double gradient_wide(const Patch& patch, const double* x, double* g, int first, int last,
                                                const Density& density) noexcept {
    return gradient(patch, x, g, first, last, density);
  }
  CAPSIM_WIDE_LANES static void hessian_wide(const Patch& patch, const double* x, Curvature curvature,
                                             std::size_t first_clique, Tangent& tangent, int first, int last,
                                             const Density& density) {
    hessian(patch, x, curvature, first_clique, tangent, first, last, density);
  }
#endif
};

/// Energy of the elements first..last-1, which the fields of the density start with.
template <int N, class Density>
double energy(const Patch& patch, const double* x, int first, int last, const Density& density) {
  return FourAtATime<N, Density>::energy(patch, x, first, last, density);
}

/// Compiled for two widths: what steps call, on the elements that eyes are made of.
template <int N>
inline constexpr bool worth_widening = CAPSIM_HAS_WIDE_LANES && N == 8;

/// The same, and adds its derivatives by the positions to g; +inf, with g spoilt, when an element is inadmissible.
template <int N, class Density>
double gradient(const Patch& patch, const double* x, double* g, int first, int last, const Density& density) {
#if CAPSIM_HAS_WIDE_LANES
  if constexpr (worth_widening<N>)
    if (wide_lanes()) return FourAtATime<N, Density>::gradient_wide(patch, x, g, first, last, density);
#endif
  return FourAtATime<N, Density>::gradient(patch, x, g, first, last, density);
}

/// Adds the Hessians of the elements, clique by clique.
template <int N, class Density>
void hessian(const Patch& patch, const double* x, Curvature curvature, std::size_t first_clique, Tangent& tangent,
             int first, int last, const Density& density) {
#if CAPSIM_HAS_WIDE_LANES
  if constexpr (worth_widening<N>)
    if (wide_lanes())
      return FourAtATime<N, Density>::hessian_wide(patch, x, curvature, first_clique, tangent, first, last, density);
#endif
  FourAtATime<N, Density>::hessian(patch, x, curvature, first_clique, tangent, first, last, density);
}

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

/// Energy of one element.
template <int N, class Density>
double energy_of_element(const Patch& patch, const double* x, int element, const Density& density) {
  double total = 0, position[2 * N];
  gather<N>(patch, x, element, position);
  for (int q = 0; q < patch.points_per_element; ++q) {
    const std::size_t p = static_cast<std::size_t>(element) * patch.points_per_element + q;
    double f[4];
    deformation<N>(position, &patch.gradients[p * 2 * N], f);
    total += patch.weights[p] * density.energy(OnePoint{p - density.first_point}, f);
  }
  return total;
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
      const double w = density.stress(OnePoint{p - density.first_point}, f, s);
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
    if (!at_rest<N>(patch, shift, e))
      total += energy_of_element<N>(patch, x, e, a) - energy_of_element<N>(patch, x, e, b);
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
