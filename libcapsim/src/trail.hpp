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

/// Positions found before, from which the next ones are extrapolated.
class Trail {
 public:
  void clear() { points_.clear(); }
  void push(double day, std::span<const double> x) {
    if (!points_.empty() && std::abs(points_.back().day - day) < same_day) {
      points_.back().x.assign(x.begin(), x.end());
      return;
    }
    if (points_.size() == depth) {
      std::rotate(points_.begin(), points_.begin() + 1, points_.end());
      points_.back().day = day;
      points_.back().x.assign(x.begin(), x.end());
      return;
    }
    points_.push_back({day, {x.begin(), x.end()}});
  }
  // Forgets what lies after `day` (a step that was rejected).
  void cut(double day) {
    while (!points_.empty() && points_.back().day > day + same_day) points_.pop_back();
  }
  void latest(std::span<double> x) const {
    if (!points_.empty()) std::copy(points_.back().x.begin(), points_.back().x.end(), x.begin());
  }
  void extrapolate(double day, std::span<double> x) const {
    if (points_.empty()) return;
    // The latest point, and up to two earlier ones that are well apart.
    std::array<const Found*, 3> use{};
    int count = 0;
    for (auto p = points_.rbegin(); p != points_.rend() && count < 3; ++p) {
      const double reach = std::abs(day - points_.back().day);
      if (count > 0 && std::abs(p->day - use[count - 1]->day) < 0.34 * reach) continue;
      use[count++] = &*p;
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
    double day;
    std::vector<double> x;
  };
  static constexpr std::size_t depth = 8;
  std::vector<Found> points_;

 public:
  [[nodiscard]] std::size_t size() const noexcept { return points_.empty() ? 0 : depth * points_.front().x.size(); }
};

}  // namespace capsim
