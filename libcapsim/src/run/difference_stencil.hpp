// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Two neighbours of one value of a parameter, and the derivative from what is seen at them.

#include <array>

namespace capsim {

/// dq/dp = (here q(p) + weight[0] q(p + offset[0] step) + weight[1] q(p + offset[1] step)) / step, of second order.
struct DifferenceStencil {
  double step = 0;
  std::array<double, 2> offset{1, -1};
  std::array<double, 2> weight{0.5, -0.5};
  double here = 0;

  [[nodiscard]] static DifferenceStencil central(double step) { return {step}; }
  /// For a parameter at the low end of what it may be.
  [[nodiscard]] static DifferenceStencil forward(double step) { return {step, {1, 2}, {2, -0.5}, -1.5}; }
  [[nodiscard]] bool one_sided() const noexcept { return here != 0; }
  [[nodiscard]] double distance(std::size_t k) const noexcept { return offset[k] * step; }
  [[nodiscard]] double of(double at, double first, double second) const noexcept {
    return (here * at + weight[0] * first + weight[1] * second) / step;
  }
};

}  // namespace capsim
