// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Energy per reference area of the fibrous tissue: fibrous_tissue.hpp, for any number type.

#include <limits>
#include <numbers>

#include "parts/cell_kinetics.hpp"
#include "parts/pulled_length.hpp"
#include "parts/surface.hpp"
#include "parts/tissue_sheet.hpp"

namespace capsim {

/// Unit direction of a family, given the hoop direction; radial is hoop turned clockwise.
template <class T>
[[nodiscard]] CAPSIM_INLINE VectorOf<T> direction(int family, const VectorOf<T>& hoop) noexcept {
  constexpr double half_root = std::numbers::sqrt2 / 2;
  switch (family) {
    case 0:
      return hoop;
    case 1:
      return {half_root * (hoop.x + hoop.y), half_root * (hoop.y - hoop.x)};
    case 2:
      return {half_root * (hoop.x - hoop.y), half_root * (hoop.y + hoop.x)};
    default:
      return {hoop.y, -hoop.x};
  }
}

/// What the matrix stores of the neo-Hookean law: the part that the tension field leaves out.
inline constexpr membrane_law::Shares<double> compression_only = {0, 1, -1};

/// For the loops of surface.hpp; the fields need not be those that the part holds.
struct TissueDensity {
  const FibrousTissue& part;
  const FibrousTissue::Fields& fields;
  std::size_t first_point;

  template <class T>
  struct Fibre {
    VectorOf<T> d, n;
    T stretch, energy, w1, w2;
  };
  // Family i; false when it carries nothing.
  template <class At, class T>
  CAPSIM_INLINE bool pulls(int i, const At& at, const T& fraction, const TensorOf<T>& f,
                           Fibre<T>& fibre) const noexcept {
    const bool active = !fields.active[0].empty();
    if (part.stiffness_[i] == 0 && !active) return false;
    const T zero(0.0);
    const T stiffness = part.stiffness_[i] * fraction, tension = active ? at.of(fields.active[i].data()) : zero;
    fibre.d = direction(i, surface::vector_at(at, part.hoop_.data()));
    fibre.n = f * fibre.d;
    fibre.stretch = sqrt(dot(fibre.n, fibre.n));
    const T over = 1.0 / at.of(fields.natural[i].data()), strain = larger(fibre.stretch * over - 1.0, zero);
    const T force = stiffness * strain;
    fibre.w1 = force * over;
    fibre.w2 = pick(strain > zero, stiffness * (over * over), zero);
    fibre.energy = 0.5 * force * strain;
    if (active) {
      const PulledLength<T> pulled(fibre.stretch, fields.stall);
      fibre.w1 += tension * pulled.slope;
      fibre.w2 += tension * pulled.bend;
      fibre.energy += tension * pulled.length;
    }
    return any(!((fibre.w1 >= zero) & (fibre.w1 <= zero)));  // also where it is not a number
  }
  // The share of the full tissue; 0 where that is nothing.
  template <class At>
  CAPSIM_INLINE auto fraction(const At& at) const noexcept {
    using T = typename At::Number;
    const T all = at.of(fields.fraction.data());
    return pick(all > T(no_tissue), all, T(0.0));
  }

  [[nodiscard]] bool has_sheet() const noexcept { return !fields.natural_sheet[0].empty() && part.thickness_ > 0; }
  [[nodiscard]] bool has_matrix() const noexcept {
    return fields.natural_sheet[0].empty() && part.matrix_thickness_ > 0;
  }
  // The sheet with a natural state of its own stands in for fibres and matrix: its elastic part is F times this, the
  // frame (radial, hoop) times the inverse of the sheet's natural stretch.
  template <class At>
  CAPSIM_INLINE auto inverse_of_natural(const At& at) const noexcept {
    using T = typename At::Number;
    const VectorOf<T> hoop = surface::vector_at(at, part.hoop_.data());
    const T rr = at.of(fields.natural_sheet[0].data()), rh = at.of(fields.natural_sheet[1].data()),
            hh = at.of(fields.natural_sheet[2].data());
    const T over = 1.0 / (rr * hh - rh * rh), xx = hh * over, xy = -rh * over, yy = rr * over;
    return TensorOf<T>{hoop.y * xx + hoop.x * xy, hoop.y * xy + hoop.x * yy, hoop.y * xy - hoop.x * xx,
                       hoop.y * yy - hoop.x * xy};
  }

  template <class At, class T>
  CAPSIM_INLINE T energy(const At& at, const TensorOf<T>& f) const noexcept {
    TensorOf<T> ignored;
    return stress(at, f, ignored);
  }

  template <class At, class T>
  CAPSIM_INLINE T stress(const At& at, const TensorOf<T>& f, TensorOf<T>& stress) const noexcept {
    const T share = fraction(at), zero(0.0);
    T w = zero;
    Fibre<T> fibre;
    for (int i = 0; i < fibre_families; ++i)
      if (pulls(i, at, share, f, fibre)) {
        w += fibre.energy;
        surface::add_fibre_stress(fibre.d, fibre.n, fibre.stretch, fibre.w1, stress);
      }
    if (has_matrix()) {
      const T h = part.matrix_thickness_ * at.of(fields.fraction.data());
      const surface::Split<T> s(f);
      const auto r =
          membrane_law::mixture<membrane_law::Derivatives::first>(part.matrix_, compression_only, s.l1(), s.l2());
      w += pick((h > zero) & s.folded(), T(std::numeric_limits<double>::infinity()), h * r.w);
      surface::add_isotropic_stress(s, r, h, stress);
    }
    if (has_sheet() && any(share > zero)) {
      const TensorOf<T> to_natural = inverse_of_natural(at);
      const surface::Split<T> s(f * to_natural);
      TensorOf<T> elastic;  // stress of the elastic part
      const T h = part.thickness_ * share;
      const auto r = part.sheet_->response<membrane_law::Derivatives::first>(s.l1(), s.l2());
      surface::add_isotropic_stress(s, r, h, elastic);
      stress += elastic * transposed(to_natural);
      w += pick((h > zero) & s.folded(), T(std::numeric_limits<double>::infinity()), h * r.w);
    }
    return w;
  }

  template <class At, class T>
  CAPSIM_INLINE void tangent(const At& at, const TensorOf<T>& f, Curvature curvature, Moduli<T>& a) const noexcept {
    const T share = fraction(at), zero(0.0);
    Fibre<T> fibre;
    for (int i = 0; i < fibre_families; ++i)
      if (pulls(i, at, share, f, fibre))
        surface::add_fibre_tangent(fibre.d, fibre.n, fibre.stretch, fibre.w1, fibre.w2, a);
    if (has_matrix()) {
      T h = part.matrix_thickness_ * at.of(fields.fraction.data());
      TensorOf<T> unfolded = f;
      surface::leave_out_folded(unfolded, h);
      const surface::Split<T> s(unfolded);
      const auto r =
          membrane_law::mixture<membrane_law::Derivatives::second>(part.matrix_, compression_only, s.l1(), s.l2());
      surface::add_isotropic_tangent(s, r, h, curvature, a);
    }
    if (has_sheet() && any(share > zero)) {
      const TensorOf<T> to_natural = inverse_of_natural(at);
      TensorOf<T> elastic = f * to_natural;
      T h = part.thickness_ * share;
      surface::leave_out_folded(elastic, h);
      const surface::Split<T> s(elastic);
      Moduli<T> ae;
      surface::add_isotropic_tangent(s, part.sheet_->response<membrane_law::Derivatives::second>(s.l1(), s.l2()), h,
                                     curvature, ae);
      a += pulled_back(ae, to_natural);
    }
  }
};

}  // namespace capsim
