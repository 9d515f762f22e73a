// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Symmetric tensors of the plane and functions of them, in closed form; for any number type (lanes.hpp).

#include "geometry/lanes.hpp"

namespace capsim {

/// A symmetric 2 x 2 tensor.
template <class T>
struct SymmetricTensorOf {
  T xx = T(0.0), xy = T(0.0), yy = T(0.0);
  [[nodiscard]] CAPSIM_INLINE T determinant() const noexcept { return xx * yy - xy * xy; }
};
using SymmetricTensor = SymmetricTensorOf<double>;

/// What isotropic functions of one tensor share. The entries are near 1: squares of squares neither overflow nor
/// vanish.
template <class T>
struct Eigenvalues {
  T half, xy, radius, high, low;
  explicit CAPSIM_INLINE Eigenvalues(const SymmetricTensorOf<T>& a) noexcept
      : half(0.5 * (a.xx - a.yy)), xy(a.xy), radius(sqrt(half * half + xy * xy)) {
    const T mean = 0.5 * (a.xx + a.yy);
    high = mean + radius;
    low = mean - radius;
  }
  /// The isotropic tensor function whose values at the eigenvalues `high` and `low` are given.
  [[nodiscard]] CAPSIM_INLINE SymmetricTensorOf<T> with(const T& at_high, const T& at_low) const noexcept {
    // The deviator vanishes with the radius, so that any slope will do there.
    const T middle = 0.5 * (at_high + at_low), zero(0.0);
    const T slope = pick(radius > zero, 0.5 * (at_high - at_low) / radius, zero);
    return {middle + slope * half, slope * xy, middle - slope * half};
  }
};

/// The isotropic tensor function that applies `f` to the eigenvalues.
template <class T, class Function>
[[nodiscard]] CAPSIM_INLINE SymmetricTensorOf<T> of_eigenvalues(const SymmetricTensorOf<T>& a, Function&& f) noexcept {
  const Eigenvalues<T> values(a);
  return values.with(f(values.high), f(values.low));
}

template <class T>
[[nodiscard]] CAPSIM_INLINE SymmetricTensorOf<T> inverse(const SymmetricTensorOf<T>& a) noexcept {
  const T d = a.determinant();
  return {a.yy / d, -a.xy / d, a.xx / d};
}

/// b a b, symmetric like a.
template <class T>
[[nodiscard]] CAPSIM_INLINE SymmetricTensorOf<T> congruent(const SymmetricTensorOf<T>& b,
                                                           const SymmetricTensorOf<T>& a) noexcept {
  const T c[4] = {a.xx * b.xx + a.xy * b.xy, a.xx * b.xy + a.xy * b.yy, a.xy * b.xx + a.yy * b.xy,
                  a.xy * b.xy + a.yy * b.yy};
  return {b.xx * c[0] + b.xy * c[2], b.xx * c[1] + b.xy * c[3], b.xy * c[1] + b.yy * c[3]};
}

}  // namespace capsim
