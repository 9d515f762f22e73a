// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Stretches at the latest equilibria, and the polynomial in time through them.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

#include "geometry/lanes.hpp"

namespace capsim {

/// At most `depth` equilibria, the latest last. After reserve() a push takes no memory.
class StretchTrail {
 public:
  static constexpr std::size_t depth = 4;  // as many as add_up_points is made for
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
    made_way_ = count_ == depth;
    if (made_way_)
      std::rotate(found_.begin(), found_.begin() + 1, found_.end());
    else
      ++count_;
    found_[count_ - 1].day = day;
    put_latest(stretches);
  }
  /// Other stretches on the latest day.
  void put_latest(std::span<const double> stretches) {
    found_[count_ - 1].stretches.assign(stretches.begin(), stretches.end());
  }
  /// Undoes the last push; once.
  void drop_latest() {
    if (made_way_)
      std::rotate(found_.begin(), found_.end() - 1, found_.end());
    else
      --count_;
    made_way_ = false;
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
    stretches.resize(found_[first].stretches.size());
#if CAPSIM_HAS_WIDE_LANES
    if (wide_lanes()) return add_up_wide(first, weight, stretches);
#endif
    add_up(first, weight, stretches);
  }
  /// Numbers it has memory for.
  [[nodiscard]] std::size_t size() const noexcept {
    std::size_t numbers = 0;
    for (const Found& found : found_) numbers += found.stretches.capacity();
    return numbers;
  }

 private:
  CAPSIM_INLINE void add_up(std::size_t first, const std::array<double, depth>& weight,
                            std::vector<double>& stretches) const noexcept {
    switch (count_ - first) {
      case 1:
        return add_up_points<1>(first, weight, stretches);
      case 2:
        return add_up_points<2>(first, weight, stretches);
      case 3:
        return add_up_points<3>(first, weight, stretches);
      default:
        return add_up_points<4>(first, weight, stretches);
    }
  }
#if CAPSIM_HAS_WIDE_LANES
  CAPSIM_WIDE_LANES void add_up_wide(std::size_t first, const std::array<double, depth>& weight,
                                     std::vector<double>& stretches) const noexcept {
    add_up(first, weight, stretches);
  }
#endif
  // In one pass: the stretches of a bag do not fit into the nearest cache. The sum has one order, from the first on.
  template <std::size_t points>
  CAPSIM_INLINE void add_up_points(std::size_t first, const std::array<double, depth>& weight,
                                   std::vector<double>& sum) const noexcept {
    const auto from = [&](std::size_t i)
                          CAPSIM_INLINE_LAMBDA { return found_[first + std::min(i, points - 1)].stretches.data(); };
    const auto share = [&](std::size_t i) CAPSIM_INLINE_LAMBDA { return weight[first + std::min(i, points - 1)]; };
    const double *a = from(0), *b = from(1), *c = from(2), *d = from(3);
    const double wa = share(0), wb = share(1), wc = share(2), wd = share(3);
    double* __restrict out = sum.data();
    const std::size_t n = sum.size();
    for (std::size_t k = 0; k < n; ++k) {
      double s = wa * a[k];
      if constexpr (points > 1) s += wb * b[k];
      if constexpr (points > 2) s += wc * c[k];
      if constexpr (points > 3) s += wd * d[k];
      out[k] = s;
    }
  }

  std::array<Found, depth + 1> found_;  // the last one: what made way
  std::size_t count_ = 0;
  bool made_way_ = false;
};

}  // namespace capsim
