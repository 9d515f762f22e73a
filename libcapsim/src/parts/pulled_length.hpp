// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What cells shorten: the stretch of their family, until they are packed and stall.

#include <cmath>

namespace capsim {

/// Length a(l) that does the work T a of an active tension T, with its derivatives: the stretch l kept above
/// `floor` by a smooth, convex corner. Without a floor it is l itself.
struct PulledLength {
  static constexpr double corner = 0.03;  ///< Width of the corner, in stretch.
  double length, slope = 1, bend = 0;
  PulledLength(double stretch, double floor) noexcept : length(stretch) {
    if (floor <= 0) return;
    const double above = stretch - floor, root = std::sqrt(above * above + corner * corner);
    length = floor + 0.5 * (above + root);
    slope = 0.5 * (1 + above / root);
    bend = 0.5 * corner * corner / (root * root * root);
  }
};

}  // namespace capsim
