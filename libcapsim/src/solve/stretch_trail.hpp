// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Stretches at the latest equilibria, and the polynomial in time through them.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

namespace capsim {

/// At most `depth` equilibria, the latest last. After reserve() a push takes no memory.
class StretchTrail {
 public:
  static constexpr std::size_t depth = 4;
  struct Found {
    double day = 0;
    std::vector<double> stretches;
  };

  void reserve(std::size_t stretches) {
    for (Found& found : found_) found.stretches.reserve(stretches);
  }
  void clear() noexcept { count_ = 0; }
  [[nodiscard]] std::size_t count() const noexcept { return count_; }
  [[nodiscard]] const Found& operator[](std::size_t i) const noexcept { return found_[i]; }

  /// Adds an equilibrium after the latest; the oldest of a full trail makes way.
  void push(double day, std::span<const double> stretches) {
    if (count_ == depth)
      std::rotate(found_.begin(), found_.begin() + 1, found_.end());
    else
      ++count_;
    found_[count_ - 1].day = day;
    found_[count_ - 1].stretches.assign(stretches.begin(), stretches.end());
  }

  /// The polynomial through the latest `points` equilibria (at most all) at `day`; needs one.
  void at(double day, std::size_t points, std::vector<double>& stretches) const {
    const std::size_t first = count_ - std::min(points, count_);
    std::array<double, depth> weight{};
    for (std::size_t i = first; i < count_; ++i) {
      weight[i] = 1;
      for (std::size_t j = first; j < count_; ++j)
        if (j != i) weight[i] *= (day - found_[j].day) / (found_[i].day - found_[j].day);
    }
    const std::size_t n = found_[first].stretches.size();
    stretches.resize(n);
    const double w0 = weight[first], *a = found_[first].stretches.data();
    for (std::size_t k = 0; k < n; ++k) stretches[k] = w0 * a[k];
    for (std::size_t i = first + 1; i < count_; ++i) {
      const double w = weight[i], *b = found_[i].stretches.data();
      for (std::size_t k = 0; k < n; ++k) stretches[k] += w * b[k];
    }
  }

 private:
  std::array<Found, depth> found_;
  std::size_t count_ = 0;
};

}  // namespace capsim
