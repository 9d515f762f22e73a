// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The step from a value of a parameter to its neighbour, and the derivative from what is seen at both.

namespace capsim {

/// dq/dp = (q(p + size) - q(p)) / size. What is off: size/2 times the second derivative, and rounding over the step.
struct ParameterStep {
  double size = 0;
  [[nodiscard]] double of(double here, double beside) const noexcept { return (beside - here) / size; }
};

}  // namespace capsim
