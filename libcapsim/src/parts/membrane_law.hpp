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

// From derivatives by the Green-Lagrange strains to derivatives by the stretches.
template <Derivatives order, class M, class T>
CAPSIM_INLINE StretchResponseOf<T> exponential(const M& m, const T& l1, const T& l2) noexcept {
  const auto &c = m.c_kPa, &a1 = m.a1, &a2 = m.a2;
  const T e1 = 0.5 * (l1 * l1 - 1.0), e2 = 0.5 * (l2 * l2 - 1.0);
  const T q1 = a1 * e1 + a2 * e2, q2 = a1 * e2 + a2 * e1;
  const T q = q1 * e1 + q2 * e2, s = c * exp(q);
  StretchResponseOf<T> r;
  r.w = 0.5 * c * expm1(q);
  r.w1 = s * q1 * l1;
  r.w2 = s * q2 * l2;
  r.flip = s * (2.0 * q1 + (a1 - a2) * l2 * (l1 + l2));
  if constexpr (order == Derivatives::second) {
    r.w11 = s * ((a1 + 2.0 * q1 * q1) * l1 * l1 + q1);
    r.w12 = s * (a2 + 2.0 * q1 * q2) * l1 * l2;
    r.w22 = s * ((a1 + 2.0 * q2 * q2) * l2 * l2 + q2);
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

/// Where both principal stresses of the full law are tensile, l1 being > 1 as well.
template <class M, class T>
CAPSIM_INLINE auto is_taut(const M& m, const T& l1, const T& l2) noexcept {
  const auto across = m.law == CapsuleLaw::neo_hookean ? l2 * l2 * l1 >= T(1.0)
                                                       : m.a1 * (l2 * l2 - 1.0) + m.a2 * (l1 * l1 - 1.0) >= T(0.0);
  return (l1 > T(1.0)) & across;
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
