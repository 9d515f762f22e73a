// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The fibrous tissue as an isotropic sheet with a natural state of its own (law of active lock-in).
/// Tensors are in the frame (radial, hoop), radial being hoop turned clockwise.

#include "capsim/fibrous_tissue.hpp"
#include "geometry/symmetric_tensor.hpp"
#include "parts/membrane_law.hpp"
#include "parts/surface.hpp"

namespace capsim {

/// W_r(El) + W(Em) - W_r(Em): fibres of all directions pull, the matrix resists compression. Both are neo-Hookean, so
/// that one response of modulus 1 serves both.
struct TissueSheet {
  Membrane unit;
  membrane_law::Shares<double> shares;

  explicit TissueSheet(const TissueMaterial& material) {
    const double fibres = material.sheet_modulus_kPa / 3, matrix = material.matrix_modulus_kPa / 3;
    unit.mu_kPa = 1;
    shares = {fibres, matrix, fibres - matrix};
  }
  /// Needs l1 >= l2 > 0.
  template <membrane_law::Derivatives order, class T>
  [[nodiscard]] CAPSIM_INLINE StretchResponseOf<T> response(const T& l1, const T& l2) const noexcept {
    return membrane_law::mixture<order>(unit, shares, l1, l2);
  }
  /// Nominal hoop stress [kPa] when the right stretch is `stretch` and the natural one `natural`.
  [[nodiscard]] double hoop_stress_kPa(const SymmetricTensor& stretch, const SymmetricTensor& natural) const noexcept {
    const SymmetricTensor u = inverse(natural);
    const Tensor to_natural{u.xx, u.xy, u.xy, u.yy}, f{stretch.xx, stretch.xy, stretch.xy, stretch.yy};
    const surface::Split<double> s(f * to_natural);
    Tensor elastic;  // stress of the elastic part
    surface::add_isotropic_stress(s, response<membrane_law::Derivatives::first>(s.l1(), s.l2()), 1.0, elastic);
    const Tensor p = elastic * transposed(to_natural);
    return (f.xy * p.xy + f.yy * p.yy) / std::hypot(f.xy, f.yy);
  }
};

}  // namespace capsim
