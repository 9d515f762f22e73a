// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The fibrous tissue as an isotropic sheet with a natural state of its own (law of active lock-in).
/// Tensors are in the frame (radial, hoop), radial being hoop turned clockwise.

#include "capsim/fibrous_tissue.hpp"
#include "geometry/symmetric_tensor.hpp"
#include "parts/surface.hpp"

namespace capsim {

/// W_r(El) + W(Em) - W_r(Em): fibres of all directions pull, the matrix resists compression.
struct TissueSheet {
  Membrane fibres, matrix;

  explicit TissueSheet(const TissueMaterial& material) {
    fibres.mu_kPa = material.sheet_modulus_kPa / 3;
    matrix.mu_kPa = material.matrix_modulus_kPa / 3;
  }
  /// Needs l1 >= l2 > 0.
  [[nodiscard]] StretchResponse response(double l1, double l2) const noexcept {
    StretchResponse r = fibres.relaxed(l1, l2);
    if (taut_state(matrix, l1, l2) == TautState::taut) return r;
    const StretchResponse u = matrix.full(l1, l2), v = matrix.relaxed(l1, l2);
    r.w += u.w - v.w;
    r.w1 += u.w1 - v.w1;
    r.w2 += u.w2 - v.w2;
    r.w11 += u.w11 - v.w11;
    r.w12 += u.w12 - v.w12;
    r.w22 += u.w22 - v.w22;
    return r;
  }
  /// Nominal hoop stress [kPa] when the right stretch is `stretch` and the natural one `natural`.
  [[nodiscard]] double hoop_stress_kPa(const SymmetricTensor& stretch, const SymmetricTensor& natural) const noexcept {
    const SymmetricTensor u = inverse(natural);
    surface::ElasticPart part{{u.xx, u.xy, u.xy, u.yy}};
    const double f[4] = {stretch.xx, stretch.xy, stretch.xy, stretch.yy};
    double fe[4], p[4] = {};
    part.of(f, fe);
    const surface::Split s(fe);
    surface::add_isotropic_stress(s, response(s.l1(), s.l2()), 1, p);
    part.pull_back_stress(p);
    return (f[1] * p[1] + f[3] * p[3]) / std::hypot(f[1], f[3]);
  }
};

}  // namespace capsim
