// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What cells shorten: the stretch of their family, until they are packed and stall.

#include "geometry/lanes.hpp"

namespace capsim {

/// Length a(l) that does the work T a of an active tension T, with its derivatives: the stretch l kept above
/// `floor` by a smooth, convex corner. Without a floor it is l itself.
template <class T>
struct PulledLength {
  static constexpr double corner = 0.03;  ///< Width of the corner, in stretch.
  T length, slope{1.0}, bend{0.0};
  CAPSIM_INLINE PulledLength(const T& stretch, double floor) noexcept : length(stretch) {
    if (floor <= 0) return;
    const T above = stretch - floor, root = sqrt(above * above + corner * corner);
    length = floor + 0.5 * (above + root);
    slope = 0.5 * (1.0 + above / root);
    bend = 0.5 * corner * corner / (root * root * root);
  }
};

}  // namespace capsim
