// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The two membrane laws of capsule.hpp in principal stretches, for any number type (lanes.hpp).
///
/// `m` is a Membrane, or anything with its members; its moduli may be of the number type themselves. Second derivatives
/// are left zero unless they are asked for. No formula cancels where the stretches are equal.

#include "capsim/capsule.hpp"
#include "geometry/lanes.hpp"

namespace capsim::membrane_law {

enum class Derivatives { first, second };

/// Adds `share` times a response.
template <class T, class S>
CAPSIM_INLINE void add(StretchResponseOf<T>& sum, const S& share, const StretchResponseOf<T>& r) noexcept {
  sum.w += share * r.w;
  sum.w1 += share * r.w1;
  sum.w2 += share * r.w2;
  sum.w11 += share * r.w11;
  sum.w12 += share * r.w12;
  sum.w22 += share * r.w22;
  sum.flip += share * r.flip;
}

template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> neo_hookean(const M& mu, const T& l1, const T& l2) noexcept {
  const T j = 1.0 / (l1 * l2), i = j * j, k1 = j * l2, k2 = j * l1;  // k = 1/l
  StretchResponseOf<T> r;
  r.w = (0.5 * mu) * (l1 * l1 + l2 * l2 + i - 3.0);
  r.w1 = mu * (l1 - i * k1);
  r.w2 = mu * (l2 - i * k2);
  r.flip = (2.0 * mu) * (1.0 + i * j);
  if constexpr (order == Derivatives::second) {
    r.w11 = mu * (1.0 + 3.0 * i * (k1 * k1));
    r.w12 = (2.0 * mu) * (i * j);
    r.w22 = mu * (1.0 + 3.0 * i * (k2 * k2));
  }
  return r;
}

/// The strain of the exponential law, with its derivatives: Green-Lagrange's, and shortened lengths less
/// crushed (1 - l)^4 / l. Green-Lagrange's alone ends at -1/2, so that a law of it gives way under a finite push.
template <class T>
struct StretchStrain {
  T e, by_l, by_ll;
};
inline constexpr double crushed = 0.25;

template <Derivatives order, class T>
CAPSIM_INLINE StretchStrain<T> stretch_strain(const T& l) noexcept {
  StretchStrain<T> s{0.5 * (l * l - 1.0), l, T(1.0)};
  const auto shortened = l < T(1.0);
  if (!any(shortened)) return s;
  const T u = pick(shortened, 1.0 - l, T(0.0)), k = crushed / l, r = u * (1.0 / l), u2 = u * u;
  s.e -= k * u2 * u2;
  s.by_l += k * u2 * u * (4.0 + r);
  if constexpr (order == Derivatives::second) s.by_ll -= 2.0 * k * u2 * (6.0 + r * (4.0 + r));
  return s;
}

/// Differences of strain and of its derivative over a difference of stretches l1 >= l2: nothing cancels.
template <class T>
struct StrainQuotients {
  T e, by_l;
};

template <class T>
CAPSIM_INLINE StrainQuotients<T> strain_quotients(const T& l1, const T& l2) noexcept {
  const T sum = l1 + l2;
  StrainQuotients<T> d{0.5 * sum, T(1.0)};
  const auto shortened = l2 < T(1.0);
  if (!any(shortened)) return d;
  // Of (1 - l)^4 / l = 1/l - 4 + 6 l - 4 l^2 + l^3 between two shortened lengths; else from its end at l = 1.
  const T i = 1.0 / (l1 * l2), u = pick(shortened, 1.0 - l2, T(0.0)), r = u * (1.0 / l2);
  const auto both = l1 < T(1.0);
  const T apart = pick(both, T(1.0), l1 - l2);
  const T part = pick(shortened, u / apart, T(0.0));
  d.e -= crushed * pick(both, 6.0 - i - 4.0 * sum + (sum * sum - l1 * l2), -(part * u * u * r));
  d.by_l -= crushed * pick(both, sum * i * i - 8.0 + 3.0 * sum, part * u * r * (4.0 + r));
  return d;
}

// From derivatives by the strains to derivatives by the stretches.
template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> exponential(const M& m, const T& l1, const T& l2) noexcept {
  const auto &c = m.c_kPa, &a1 = m.a1, &a2 = m.a2;
  const auto e1 = stretch_strain<order>(l1), e2 = stretch_strain<order>(l2);
  const auto apart = strain_quotients(l1, l2);
  const T q1 = a1 * e1.e + a2 * e2.e, q2 = a1 * e2.e + a2 * e1.e;
  const T q = q1 * e1.e + q2 * e2.e, s = c * exp(q);
  StretchResponseOf<T> r;
  r.w = 0.5 * c * expm1(q);
  r.w1 = s * q1 * e1.by_l;
  r.w2 = s * q2 * e2.by_l;
  r.flip = (2.0 * s) * (q1 * apart.by_l + (a1 - a2) * apart.e * e2.by_l);
  if constexpr (order == Derivatives::second) {
    r.w11 = s * ((a1 + 2.0 * q1 * q1) * e1.by_l * e1.by_l + q1 * e1.by_ll);
    r.w12 = s * (a2 + 2.0 * q1 * q2) * e1.by_l * e2.by_l;
    r.w22 = s * ((a1 + 2.0 * q2 * q2) * e2.by_l * e2.by_l + q2 * e2.by_ll);
  }
  return r;
}

template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> full(const M& m, const T& l1, const T& l2) noexcept {
  return m.law == CapsuleLaw::neo_hookean ? neo_hookean<order>(m.mu_kPa, l1, l2) : exponential<order>(m, l1, l2);
}

/// Uniaxial tension, free across; `half_gap` is (l1 - l2)/2 > 0.
template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> uniaxial(const M& m, const T& l1, const T& half_gap) noexcept {
  StretchResponseOf<T> r;
  if (m.law == CapsuleLaw::neo_hookean) {
    const T i = 1.0 / l1;
    r.w = (0.5 * m.mu_kPa) * (l1 * l1 + 2.0 * i - 3.0);
    r.w1 = m.mu_kPa * (l1 - i * i);
    if constexpr (order == Derivatives::second) r.w11 = m.mu_kPa * (1.0 + 2.0 * i * i * i);
  } else {
    const auto b = m.a1 - m.a2 * m.a2 / m.a1;
    const T e1 = 0.5 * (l1 * l1 - 1.0), q = b * e1 * e1, s = m.c_kPa * exp(q);
    r.w = 0.5 * m.c_kPa * expm1(q);
    r.w1 = s * b * e1 * l1;
    if constexpr (order == Derivatives::second) r.w11 = s * ((b + 2.0 * b * b * e1 * e1) * l1 * l1 + b * e1);
  }
  r.flip = r.w1 / half_gap;
  return r;
}

/// Of the sign of the lesser principal stress of the full law, l1 being > 1.
template <class M, class T>
CAPSIM_INLINE T taut_across(const M& m, const T& l1, const T& l2) noexcept {
  return m.law == CapsuleLaw::neo_hookean
             ? l2 * l2 * l1 - 1.0
             : m.a1 * stretch_strain<Derivatives::first>(l2).e + m.a2 * (0.5 * (l1 * l1 - 1.0));
}

/// Where both principal stresses of the full law are tensile, l1 being > 1 as well.
template <class M, class T>
CAPSIM_INLINE auto is_taut(const M& m, const T& l1, const T& l2) noexcept {
  return (l1 > T(1.0)) & (taut_across(m, l1, l2) >= T(0.0));
}

/// What is stored of the full law where the sheet is taut and where it is loose, and of uniaxial tension where it is
/// wrinkled. Relaxed: (1, 0, 1). A leaf: (1, eps, 1 - eps). What the relaxed law leaves out: (0, 1, -1).
template <class S>
struct Shares {
  S taut, loose, wrinkled;
};

template <Derivatives order, class M, class T, class S>
CAPSIM_INLINE StretchResponseOf<T> mixture(const M& m, const Shares<S>& shares, const T& l1, const T& l2) noexcept {
  const auto taut = is_taut(m, l1, l2);
  const auto wrinkled = (l1 > T(1.0)) & !taut;
  StretchResponseOf<T> r;
  add(r, pick(taut, T(shares.taut), T(shares.loose)), full<order>(m, l1, l2));
  if (any(wrinkled))
    add(r, pick(wrinkled, T(shares.wrinkled), T(0.0)), uniaxial<order>(m, l1, pick(wrinkled, 0.5 * (l1 - l2), T(1.0))));
  return r;
}

template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> blended(const M& m, const T& l1, const T& l2) noexcept {
  const double eps = m.compression_fraction < 0 ? 0 : m.compression_fraction < 1 ? m.compression_fraction : 1;
  return mixture<order>(m, Shares<double>{1, eps, 1 - eps}, l1, l2);
}

}  // namespace capsim::membrane_law
