// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A trail of equilibria over time: the start of the next one.

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <vector>

namespace capsim {

inline constexpr double same_day = 1e-9;  ///< Days closer than this are one day.

/// Positions found before, from which the next ones are extrapolated. All memory is taken at the start.
class Trail {
 public:
  /// Empties the trail and starts it at `x`.
  void restart(double day, std::span<const double> x) {
    for (Found& found : points_) found.x.reserve(x.size());
    count_ = 0;
    push(day, x);
  }
  /// Adds a point; on the latest day it takes that point's place.
  void push(double day, std::span<const double> x) {
    if (count_ == 0 || std::abs(points_[count_ - 1].day - day) >= same_day) {
      if (count_ == depth)
        std::rotate(points_.begin(), points_.begin() + 1, points_.end());
      else
        ++count_;
      points_[count_ - 1].day = day;
    }
    points_[count_ - 1].x.assign(x.begin(), x.end());
  }
  // Forgets what lies after `day` (a step that was rejected).
  void cut(double day) {
    while (count_ > 0 && points_[count_ - 1].day > day + same_day) --count_;
  }
  void latest(std::span<double> x) const {
    if (count_ > 0) std::copy(points_[count_ - 1].x.begin(), points_[count_ - 1].x.end(), x.begin());
  }
  void extrapolate(double day, std::span<double> x) const {
    if (count_ == 0) return;
    // The latest point, and up to two earlier ones that are well apart.
    std::array<const Found*, 3> use{};
    const double reach = std::abs(day - points_[count_ - 1].day);
    int count = 0;
    for (std::size_t i = count_; i > 0 && count < 3; --i) {
      const Found* p = &points_[i - 1];
      if (count > 0 && std::abs(p->day - use[count - 1]->day) < 0.34 * reach) continue;
      use[count++] = p;
    }
    std::array<double, 3> weight{1, 0, 0};
    for (int i = 0; i < count; ++i) {
      weight[i] = 1;
      for (int j = 0; j < count; ++j)
        if (j != i) weight[i] *= (day - use[j]->day) / (use[i]->day - use[j]->day);
    }
    for (std::size_t c = 0; c < x.size(); ++c) {
      double v = 0;
      for (int i = 0; i < count; ++i) v += weight[i] * use[i]->x[c];
      x[c] = v;
    }
  }

 private:
  struct Found {
    double day = 0;
    std::vector<double> x;
  };
  static constexpr std::size_t depth = 8;
  std::array<Found, depth> points_;  // the first count_ of them, by day
  std::size_t count_ = 0;

 public:
  /// Numbers it holds.
  [[nodiscard]] std::size_t size() const noexcept { return depth * points_.front().x.capacity(); }
};

}  // namespace capsim
