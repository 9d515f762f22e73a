// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Anderson's acceleration of a fixed-point iteration z <- z + r(z).

#include <deque>
#include <vector>

namespace capsim {

/// Proposes the next z from the last few pairs (z, r): the combination whose residual is smallest.
class FixedPoint {
 public:
  explicit FixedPoint(int depth) : depth_(depth) {}
  /// The next iterate after `z` gave the correction `r`.
  [[nodiscard]] std::vector<double> next(const std::vector<double>& z, const std::vector<double>& r);

 private:
  int depth_;
  std::deque<std::vector<double>> z_, r_;
};

}  // namespace capsim
