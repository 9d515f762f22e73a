// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Symmetric tensors of the plane and functions of them, in closed form.

#include <cmath>

namespace capsim {

/// A symmetric 2 x 2 tensor.
struct SymmetricTensor {
  double xx = 0, xy = 0, yy = 0;
  [[nodiscard]] double determinant() const noexcept { return xx * yy - xy * xy; }
};

/// The isotropic tensor function that applies `f` to the eigenvalues.
template <class Function>
[[nodiscard]] SymmetricTensor of_eigenvalues(const SymmetricTensor& a, Function&& f) noexcept {
  const double mean = 0.5 * (a.xx + a.yy), half = 0.5 * (a.xx - a.yy), radius = std::hypot(half, a.xy);
  const double high = f(mean + radius), low = f(mean - radius);
  // The deviator vanishes with the radius, so that any slope will do there.
  const double middle = 0.5 * (high + low), slope = radius > 0 ? 0.5 * (high - low) / radius : 0;
  return {middle + slope * half, slope * a.xy, middle - slope * half};
}

[[nodiscard]] inline SymmetricTensor inverse(const SymmetricTensor& a) noexcept {
  const double d = a.determinant();
  return {a.yy / d, -a.xy / d, a.xx / d};
}

/// b a b, symmetric like a.
[[nodiscard]] inline SymmetricTensor congruent(const SymmetricTensor& b, const SymmetricTensor& a) noexcept {
  const double c[4] = {a.xx * b.xx + a.xy * b.xy, a.xx * b.xy + a.xy * b.yy, a.xy * b.xx + a.yy * b.xy,
                       a.xy * b.xy + a.yy * b.yy};
  return {b.xx * c[0] + b.xy * c[2], b.xx * c[1] + b.xy * c[3], b.xy * c[1] + b.yy * c[3]};
}

}  // namespace capsim
