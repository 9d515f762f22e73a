// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Loops over the Gauss points of a patch, shared by every part that is an energy per area.
///
/// A density is written once, for any number type T (lanes.hpp); `at` says where the values of its point, or of its
/// four points, stand in the fields, which start with the point `first_point` of the patch. With F = dx/dX
/// (tensor.hpp):
///   energy(at, F)                -> energy per reference area [mN/mm], +inf when inadmissible
///   stress(at, F, P)             -> the same, and adds dW/dF to P
///   tangent(at, F, curvature, A) -> adds d2W/dF2 to A
/// energy(), gradient() and hessian() take four elements at a time, one in each lane.

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/capsule.hpp"
#include "geometry/lanes.hpp"
#include "geometry/tensor.hpp"
#include "parts/element_polynomial.hpp"

namespace capsim::surface {

/// F in the complex form F z = alpha z + beta conj(z), alpha = e + i h, beta = f + i g:
/// |alpha| = (l1 + l2)/2 and |beta| = (l1 - l2)/2, so no eigenvectors are needed.
template <class T>
struct Split {
  T e, h, f, g, q, r;
  explicit CAPSIM_INLINE Split(const TensorOf<T>& m) noexcept
      : e(0.5 * (m.xx + m.yy)),
        h(0.5 * (m.yx - m.xy)),
        f(0.5 * (m.xx - m.yy)),
        g(0.5 * (m.xy + m.yx)),
        q(sqrt(e * e + h * h)),
        r(sqrt(f * f + g * g)) {}
  [[nodiscard]] CAPSIM_INLINE T l1() const noexcept { return q + r; }
  [[nodiscard]] CAPSIM_INLINE T l2() const noexcept { return q - r; }
  [[nodiscard]] CAPSIM_INLINE auto folded() const noexcept { return !(q > r); }
};

/// Folded lanes become an undeformed one that counts nothing.
template <class T>
CAPSIM_INLINE void leave_out_folded(TensorOf<T>& f, T& scale) noexcept {
  const auto folded = Split<T>(f).folded();
  if (!any(folded)) return;
  const T one(1.0), zero(0.0);
  f = {pick(folded, one, f.xx), pick(folded, zero, f.xy), pick(folded, zero, f.yx), pick(folded, one, f.yy)};
  scale = pick(folded, zero, scale);
}

/// P = dW/dF of an isotropic W(l1, l2), times `scale`, added to p.
template <class T>
CAPSIM_INLINE void add_isotropic_stress(const Split<T>& s, const StretchResponseOf<T>& w, const T& scale,
                                        TensorOf<T>& p) noexcept {
  const T a = scale * (w.w1 + w.w2) / s.q, b = scale * w.flip;
  const T de = a * s.e, dh = a * s.h, df = b * s.f, dg = b * s.g;
  p += {0.5 * (de + df), 0.5 * (dg - dh), 0.5 * (dg + dh), 0.5 * (de - df)};
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
  // F = (e + f, g - h; g + h, e - f).
  using namespace entry;
  a(xx, xx) += ee + 2.0 * ef + ff;
  a(yy, yy) += ee - 2.0 * ef + ff;
  a(xx, yy) += ee - ff;
  a(xy, xy) += gg - 2.0 * hg + hh;
  a(yx, yx) += gg + 2.0 * hg + hh;
  a(xy, yx) += gg - hh;
  a(xx, xy) += eg - eh + fg - hf;
  a(xx, yx) += eg + eh + fg + hf;
  a(xy, yy) += eg - eh - fg + hf;
  a(yx, yy) += eg + eh - fg - hf;
}

/// The stress and the moduli of a fibre along d with F d = n, |n| = stretch, and dW/dl = w1, d2W/dl2 = w2.
template <class T>
CAPSIM_INLINE void add_fibre_stress(const VectorOf<T>& d, const VectorOf<T>& n, const T& stretch, const T& w1,
                                    TensorOf<T>& p) noexcept {
  p += dyad(w1 / stretch * n, d);
}
template <class T>
CAPSIM_INLINE void add_fibre_tangent(const VectorOf<T>& d, const VectorOf<T>& n, const T& stretch, const T& w1,
                                     const T& w2, Moduli<T>& a) noexcept {
  const T t = w1 / stretch;
  a.add_dyad((w2 - t) / (stretch * stretch), dyad(n, d));
  a.add_to_rows(dyad(t * d, d));
}

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

/// The vectors or tensors of the points, where a field has two or four numbers for each.
template <class At>
[[nodiscard]] CAPSIM_INLINE auto vector_at(const At& at, const double* field) noexcept {
  return VectorOf<typename At::Number>{at.of(field, 2, 0), at.of(field, 2, 1)};
}
template <class At>
[[nodiscard]] CAPSIM_INLINE auto tensor_at(const At& at, const double* field) noexcept {
  return TensorOf<typename At::Number>{at.of(field, 4, 0), at.of(field, 4, 1), at.of(field, 4, 2), at.of(field, 4, 3)};
}

/// Nodes and Gauss points of the elements of a patch.
struct ElementKind {
  int nodes, points;
};

/// Four elements of a patch in the lanes: those of a group of four that lie in first..last-1, and as company, where
/// these are fewer, others whose numbers must not count.
template <ElementKind kind>
struct FourElements {
  static constexpr int N = kind.nodes, points = kind.points;
  VectorOf<Lanes> x[N];
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
      x[a] = {Lanes(p[0][0], p[1][0], p[2][0], p[3][0]), Lanes(p[0][1], p[1][1], p[2][1], p[3][1])};
    }
  }
  [[nodiscard]] CAPSIM_INLINE bool whole() const noexcept { return from == 0 && to == 4; }
  /// Derivatives of the local coordinates by X at point q.
  [[nodiscard]] CAPSIM_INLINE TensorOf<Lanes> local_by_reference(int q) const noexcept {
    const double* at = geometry + 20 * q;
    return {Lanes::from(at), Lanes::from(at + 4), Lanes::from(at + 8), Lanes::from(at + 12)};
  }
  [[nodiscard]] CAPSIM_INLINE Lanes area(int q) const noexcept { return Lanes::from(geometry + 20 * q + 16); }
  CAPSIM_INLINE void next_point() noexcept {
    for (std::size_t& p : at.point) ++p;
  }
};

/// Shows F at the Gauss points of the elements first..last-1, four at a time: visit(elements, F), where the lanes
/// elements.from..elements.to-1 count.
template <ElementKind kind, class Visit>
CAPSIM_INLINE void each_four_points(const Patch& patch, const double* x, int first, int last, std::size_t first_point,
                                    const Visit& visit) {
  for (int group = first / 4; 4 * group < last; ++group) {
    FourElements<kind> elements(patch, x, group, first, last, first_point);
    alignas(32) TensorOf<Lanes> by_local[kind.points];
    derivatives_at_points<kind.nodes, kind.points>(elements.x, patch.local_gradient.data(), by_local);
    for (int q = 0; q < kind.points; ++q, elements.next_point())
      visit(elements, by_local[q] * elements.local_by_reference(q));
  }
}

/// The loops in the width of the function that they are inlined into.
template <ElementKind kind, class Density>
struct FourAtATime {
  using Elements = FourElements<kind>;
  static constexpr int N = kind.nodes, points = kind.points, n = 2 * N;

  // The same for all elements: derivatives of the shape function of node a by xi and eta at point q.
  static CAPSIM_INLINE VectorOf<Lanes> shape_gradient(const double* local, int q, int a) noexcept {
    const double* d = local + 2 * (N * q + a);
    return {Lanes(d[0]), Lanes(d[1])};
  }

  static CAPSIM_INLINE double energy(const Patch& patch, const double* x, int first, int last,
                                     const Density& density) noexcept {
    Lanes total(0.0);
    for (int group = first / 4; 4 * group < last; ++group) {
      Elements elements(patch, x, group, first, last, density.first_point);
      alignas(32) TensorOf<Lanes> by_local[points];
      derivatives_at_points<N, points>(elements.x, patch.local_gradient.data(), by_local);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        const TensorOf<Lanes> f = by_local[q] * elements.local_by_reference(q);
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
      alignas(32) TensorOf<Lanes> t[points];  // derivatives of x by xi and eta; then those of the energy by these
      derivatives_at_points<N, points>(elements.x, local, t);
      Lanes sum(0.0);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        const TensorOf<Lanes> j = elements.local_by_reference(q);
        TensorOf<Lanes> p;
        const Lanes area = elements.area(q);
        sum += area * density.stress(elements.at, t[q] * j, p);
        p *= area;
        t[q] = p * transposed(j);
      }
      total += elements.whole() ? sum : pick(elements.counted, sum, zero);
      alignas(32) VectorOf<Lanes> force[N];
      forces_at_nodes<N, points>(t, local, force);
      for (int a = 0; a < N; ++a)
        for (int lane = elements.from; lane < elements.to; ++lane) {
          double* target = g + 2 * elements.nodes[lane][a];
          target[0] += force[a].x[lane];
          target[1] += force[a].y[lane];
        }
    }
    const double energy = total.sum();
    return energy < std::numeric_limits<double>::infinity() ? energy : std::numeric_limits<double>::infinity();
  }

  // A = d2W/dF2 of a point as the second derivatives by dx/d(xi, eta), for each pair of coordinates.
  struct ByLocal {
    TensorOf<Lanes> xx, xy, yx, yy;
    CAPSIM_INLINE void set(const Moduli<Lanes>& a, const TensorOf<Lanes>& j) noexcept {
      const TensorOf<Lanes> to = transposed(j);
      xx = j * a.block(0, 0) * to;
      xy = j * a.block(0, 1) * to;
      yx = transposed(xy);
      yy = j * a.block(1, 1) * to;
    }
    // What the place of a node changes in the derivatives of the energy by dx/d(xi, eta), d being its shape function's.
    CAPSIM_INLINE void of_node(const VectorOf<Lanes>& d, TensorOf<Lanes>& by_x, TensorOf<Lanes>& by_y) const noexcept {
      const VectorOf<Lanes> a = xx * d, b = yx * d, c = xy * d, e = yy * d;
      by_x = {a.x, a.y, b.x, b.y};
      by_y = {c.x, c.y, e.x, e.y};
    }
  };

  // Columns 2 b and 2 b + 1 of the elements' matrices, down to their diagonal, and the rows that mirror them.
  static CAPSIM_INLINE void put_columns(int b, const VectorOf<Lanes> (&by_x)[N], const VectorOf<Lanes> (&by_y)[N],
                                        double (&k)[4][n * n]) noexcept {
    for (int c = 0; c <= b; ++c)
      for (int lane = 0; lane < 4; ++lane) {
        double* e = k[lane];
        e[2 * c * n + 2 * b] = e[2 * b * n + 2 * c] = by_x[c].x[lane];
        e[(2 * c + 1) * n + 2 * b + 1] = e[(2 * b + 1) * n + 2 * c + 1] = by_y[c].y[lane];
        e[2 * c * n + 2 * b + 1] = e[(2 * b + 1) * n + 2 * c] = by_y[c].x[lane];
        if (c < b) e[(2 * c + 1) * n + 2 * b] = e[2 * b * n + 2 * c + 1] = by_x[c].y[lane];
      }
  }

  static CAPSIM_INLINE void hessian(const Patch& patch, const double* x, Curvature curvature, std::size_t first_clique,
                                    Tangent& tangent, int first, int last, const Density& density) {
    const double* local = patch.local_gradient.data();
    alignas(32) ByLocal moduli[points];
    alignas(32) TensorOf<Lanes> by_x[points], by_y[points];  // first of all the derivatives of x by xi and eta
    alignas(32) VectorOf<Lanes> force_by_x[N], force_by_y[N];
    double k[4][n * n];
    for (int group = first / 4; 4 * group < last; ++group) {
      Elements elements(patch, x, group, first, last, density.first_point);
      derivatives_at_points<N, points>(elements.x, local, by_x);
      for (int q = 0; q < points; ++q, elements.next_point()) {
        const TensorOf<Lanes> j = elements.local_by_reference(q);
        Moduli<Lanes> a;
        density.tangent(elements.at, by_x[q] * j, curvature, a);
        a *= elements.area(q);
        moduli[q].set(a, j);
      }
      for (int b = 0; b < N; ++b) {
        for (int q = 0; q < points; ++q) moduli[q].of_node(shape_gradient(local, q, b), by_x[q], by_y[q]);
        forces_at_nodes<N, points>(by_x, local, force_by_x);
        forces_at_nodes<N, points>(by_y, local, force_by_y);
        put_columns(b, force_by_x, force_by_y, k);
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
template <ElementKind kind, class Density>
double energy(const Patch& patch, const double* x, int first, int last, const Density& density) {
  return FourAtATime<kind, Density>::energy(patch, x, first, last, density);
}

/// Compiled for two widths: what steps call, on the elements that eyes are made of.
template <ElementKind kind>
inline constexpr bool worth_widening = CAPSIM_HAS_WIDE_LANES && (kind.nodes == 8 || kind.nodes == 6);

/// The same, and adds its derivatives by the positions to g; +inf, with g spoilt, when an element is inadmissible.
template <ElementKind kind, class Density>
double gradient(const Patch& patch, const double* x, double* g, int first, int last, const Density& density) {
#if CAPSIM_HAS_WIDE_LANES
  if constexpr (worth_widening<kind>)
    if (wide_lanes()) return FourAtATime<kind, Density>::gradient_wide(patch, x, g, first, last, density);
#endif
  return FourAtATime<kind, Density>::gradient(patch, x, g, first, last, density);
}

/// Adds the Hessians of the elements, clique by clique.
template <ElementKind kind, class Density>
void hessian(const Patch& patch, const double* x, Curvature curvature, std::size_t first_clique, Tangent& tangent,
             int first, int last, const Density& density) {
#if CAPSIM_HAS_WIDE_LANES
  if constexpr (worth_widening<kind>)
    if (wide_lanes())
      return FourAtATime<kind, Density>::hessian_wide(patch, x, curvature, first_clique, tangent, first, last, density);
#endif
  FourAtATime<kind, Density>::hessian(patch, x, curvature, first_clique, tangent, first, last, density);
}

/// F of an element at point q, from the places of its nodes.
template <int N>
[[nodiscard]] inline Tensor deformation(const Patch& patch, const double* position, int element, int q) noexcept {
  const double* d = &patch.local_gradient[static_cast<std::size_t>(q) * 2 * N];
  Tensor by_local;
  for (int a = 0; a < N; ++a)
    by_local += dyad(PlaneVector{position[2 * a], position[2 * a + 1]}, PlaneVector{d[2 * a], d[2 * a + 1]});
  return by_local * tensor(patch.local_by_reference(element, q));
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
template <ElementKind kind, class Density>
double energy_of_element(const Patch& patch, const double* x, int element, const Density& density) {
  double total = 0, position[2 * kind.nodes];
  gather<kind.nodes>(patch, x, element, position);
  for (int q = 0; q < patch.points_per_element; ++q) {
    const std::size_t p = static_cast<std::size_t>(element) * patch.points_per_element + q;
    const Tensor f = deformation<kind.nodes>(patch, position, element, q);
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
template <ElementKind kind, class Density>
double energy_by_reference(const Patch& patch, const double* x, const double* shift, int first, int last,
                           const Density& density) {
  double total = 0;
  for (int e = first; e < last; ++e) {
    if (at_rest<kind.nodes>(patch, shift, e)) continue;
    double position[2 * kind.nodes], moved[2 * kind.nodes];
    gather<kind.nodes>(patch, shift, e, moved);
    gather<kind.nodes>(patch, x, e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e) * patch.points_per_element + q;
      const Tensor f = deformation<kind.nodes>(patch, position, e, q),
                   grad = deformation<kind.nodes>(patch, moved, e, q), by_place = f * grad;
      Tensor stress;
      const double w = density.stress(OnePoint{p - density.first_point}, f, stress);
      const double work =
          stress.xx * by_place.xx + stress.xy * by_place.xy + stress.yx * by_place.yx + stress.yy * by_place.yy;
      total += patch.weights[p] * (w * (grad.xx + grad.yy) - work);
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
template <ElementKind kind, class Density>
double energy_between(const Patch& patch, const double* x, const double* shift, int first, int last, const Density& a,
                      const Density& b) {
  double total = 0;
  for (int e = first; e < last; ++e)
    if (!at_rest<kind.nodes>(patch, shift, e))
      total += energy_of_element<kind>(patch, x, e, a) - energy_of_element<kind>(patch, x, e, b);
  return total;
}

/// Calls `action` with the kind of the patch's elements as a constant: `.value`.
template <class Action>
auto with_kind(const Patch& patch, Action&& action) {
  switch (patch.nodes_per_element) {
    case 3:
      return action(std::integral_constant<ElementKind, ElementKind{3, 1}>{});
    case 4:
      return action(std::integral_constant<ElementKind, ElementKind{4, 4}>{});
    case 6:
      return action(std::integral_constant<ElementKind, ElementKind{6, 3}>{});
    default:
      return patch.points_per_element == 4 ? action(std::integral_constant<ElementKind, ElementKind{8, 4}>{})
                                           : action(std::integral_constant<ElementKind, ElementKind{8, 9}>{});
  }
}

/// Reports one clique per element first..last-1.
void add_element_cliques(const Patch& patch, int first, int last, Cliques& cliques);

}  // namespace capsim::surface
