// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The two numbers whose signs say whether a membrane is slack, wrinkled or taut at a point.

#include <span>

#include "parts/membrane_law.hpp"
#include "parts/surface.hpp"

namespace capsim {

/// Puts l1 - 1 and what is_taut asks the sign of into `values` (two for each point), for those of four elements that
/// count; `f` is the elastic part. A slack point has no second number.
template <class Elements>
CAPSIM_INLINE void put_membrane_kinks(const Membrane& membrane, const Elements& elements, const TensorOf<Lanes>& f,
                                      std::span<double> values) noexcept {
  const surface::Split<Lanes> s(f);
  const Lanes l1 = s.l1(), l2 = larger(s.l2(), Lanes(0.1)), across = membrane_law::taut_across(membrane, l1, l2);
  for (int lane = elements.from; lane < elements.to; ++lane) {
    const std::size_t p = elements.at.point[lane];
    values[2 * p] = l1[lane] - 1;
    if (l1[lane] > 1) values[2 * p + 1] = across[lane];
  }
}

}  // namespace capsim
