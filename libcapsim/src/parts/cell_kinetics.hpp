// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Signal, cells, myofibroblasts and tissue: the part of the kinetics that every contraction law shares.
/// See contraction_law.hpp for the equations.

#include <cmath>
#include <cstddef>
#include <span>

#include "capsim/scenario.hpp"
#include "geometry/lanes.hpp"

// Nothing else in its scope points to what this pointer writes to: a loop over plain doubles becomes a vector's.
#define CAPSIM_ALONE __restrict

namespace capsim {

/// Without tissue, its natural state is irrelevant.
inline constexpr double no_tissue = 1e-12;

/// Rates of c, m and f at n points; y and dydt hold c, m, f one after the other, then whatever else the law has.
CAPSIM_INLINE void cell_rates(const ContractionSpec& spec, double day, std::size_t n, std::span<const double> y,
                              std::span<double> dydt) {
  const double signal = std::exp(-day / spec.signal_days) + spec.chronic_signal;
  const double regrowth = spec.regrowth_per_day * signal, activation = spec.activation_per_day * signal;
  const double *c = &y[0], *m = &y[n], *f = &y[2 * n];
  double *CAPSIM_ALONE dc = &dydt[0], *CAPSIM_ALONE dm = &dydt[n], *CAPSIM_ALONE df = &dydt[2 * n];
  for (std::size_t p = 0; p < n; ++p) {
    dc[p] = regrowth * c[p] * (1 - c[p]);
    dm[p] = activation * c[p] * (1 - m[p]) - spec.deactivation_per_day * m[p];
    df[p] = spec.tissue_per_day * m[p] * (1 - f[p]);
  }
}

/// A value kept above `floor` by a smooth corner of width `softness`; nearly itself well above.
template <class T>
[[nodiscard]] CAPSIM_INLINE T floored(const T& value, double floor, double softness) noexcept {
  const T above = value - floor;
  return floor + 0.5 * (above + sqrt(above * above + softness * softness));
}

}  // namespace capsim
