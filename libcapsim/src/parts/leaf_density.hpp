// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Energy per reference area of a leaf, h ((1 - eps) W_r + eps W), with growth: capsule.hpp, for any number
/// type.

#include <limits>

#include "parts/membrane_law.hpp"
#include "parts/surface.hpp"

namespace capsim {

/// For the loops of surface.hpp: thickness and growth stand at every point of a region.
struct LeafDensity {
  const Membrane& membrane;
  const double* thickness;
  const double* growth;  // null: none
  std::size_t first_point = 0;

  // The elastic part F Fg^-1 in place of F, and the area that it is of, times the thickness.
  template <class T>
  struct Grown {
    T scale;
    TensorOf<T> f, inverse_growth;
  };
  template <class At, class T>
  CAPSIM_INLINE Grown<T> grown(const At& at, const TensorOf<T>& f) const noexcept {
    Grown<T> g;
    g.scale = at.of(thickness);
    if (growth == nullptr) {
      g.f = f;
      return g;
    }
    const TensorOf<T> grown = surface::tensor_at(at, growth);
    g.scale = g.scale * grown.determinant();
    g.inverse_growth = inverse(grown);
    g.f = f * g.inverse_growth;
    return g;
  }

  template <class At, class T>
  CAPSIM_INLINE T energy(const At& at, const TensorOf<T>& f) const noexcept {
    const Grown<T> g = grown(at, f);
    const surface::Split<T> s(g.f);
    const T w = membrane_law::blended<membrane_law::Derivatives::first>(membrane, s.l1(), s.l2()).w;
    return pick(s.folded(), T(std::numeric_limits<double>::infinity()), g.scale * w);
  }

  template <class At, class T>
  CAPSIM_INLINE T stress(const At& at, const TensorOf<T>& f, TensorOf<T>& stress) const noexcept {
    const Grown<T> g = grown(at, f);
    const surface::Split<T> s(g.f);
    const auto w = membrane_law::blended<membrane_law::Derivatives::first>(membrane, s.l1(), s.l2());
    surface::add_isotropic_stress(s, w, g.scale, stress);
    if (growth != nullptr) stress = stress * transposed(g.inverse_growth);
    return pick(s.folded(), T(std::numeric_limits<double>::infinity()), g.scale * w.w);
  }

  template <class At, class T>
  CAPSIM_INLINE void tangent(const At& at, const TensorOf<T>& f, Curvature curvature, Moduli<T>& a) const noexcept {
    Grown<T> g = grown(at, f);
    surface::leave_out_folded(g.f, g.scale);
    const surface::Split<T> s(g.f);
    const auto w = membrane_law::blended<membrane_law::Derivatives::second>(membrane, s.l1(), s.l2());
    surface::add_isotropic_tangent(s, w, g.scale, curvature, a);
    if (growth != nullptr) a = pulled_back(a, g.inverse_growth);
  }
};

}  // namespace capsim
