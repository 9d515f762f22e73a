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

/// Positions at the ends of time steps, from which the next ones are extrapolated; and the last row inside the step
/// under way, which with both ends of the step says where the next row lies. Rows are no part of the extrapolation:
/// they may lie a day apart, and what is left of the force tolerance in them would be magnified over a long step.
/// All memory is taken at the start.
class Trail {
 public:
  /// Empties the trail and starts it at `x`.
  void restart(double day, std::span<const double> x) {
    for (Found& found : ends_) found.x.reserve(x.size());
    row_.x.reserve(x.size());
    count_ = 0;
    has_row_ = false;
    push(day, x);
  }
  /// Adds the end of a step; on the latest day it takes that point's place.
  void push(double day, std::span<const double> x) {
    if (count_ == 0 || std::abs(ends_[count_ - 1].day - day) >= same_day) {
      if (count_ == depth)
        std::rotate(ends_.begin(), ends_.begin() + 1, ends_.end());
      else
        ++count_;
      ends_[count_ - 1].day = day;
    }
    ends_[count_ - 1].x.assign(x.begin(), x.end());
  }
  /// Keeps a row inside the step that ends with the latest point.
  void push_row(double day, std::span<const double> x) {
    row_.day = day;
    row_.x.assign(x.begin(), x.end());
    has_row_ = true;
  }
  /// Rows are now those of another step.
  void forget_row() noexcept { has_row_ = false; }
  // Forgets what lies after `day` (a step that was rejected).
  void cut(double day) {
    while (count_ > 0 && ends_[count_ - 1].day > day + same_day) --count_;
  }
  void latest(std::span<double> x) const {
    if (count_ > 0) std::copy(ends_[count_ - 1].x.begin(), ends_[count_ - 1].x.end(), x.begin());
  }
  /// Positions after the latest point.
  void extrapolate(double day, std::span<double> x) const {
    if (count_ == 0) return;
    // The latest point, and earlier ones that are well apart.
    Nodes use;
    const double reach = std::abs(day - ends_[count_ - 1].day);
    for (std::size_t i = count_; i > 0 && use.count < most_outside; --i)
      if (use.count == 0 || std::abs(ends_[i - 1].day - use.at[use.count - 1]->day) >= 0.34 * reach)
        use.add(ends_[i - 1]);
    use.polynomial(day, x);
  }
  /// Positions inside the last step: through its end, the row before, and the points before these.
  void between(double day, std::span<double> x) const {
    if (count_ == 0) return;
    Nodes use;
    use.add(ends_[count_ - 1]);
    if (has_row_) use.add(row_);
    for (std::size_t i = count_ - 1; i > 0 && use.count < most_inside; --i) use.add(ends_[i - 1]);
    use.polynomial(day, x);
  }
  /// Numbers it holds.
  [[nodiscard]] std::size_t size() const noexcept { return (depth + 1) * row_.x.capacity(); }

 private:
  struct Found {
    double day = 0;
    std::vector<double> x;
  };
  static constexpr std::size_t depth = 5;
  static constexpr int most_outside = 3, most_inside = 4;

  /// Points that a polynomial goes through.
  struct Nodes {
    std::array<const Found*, most_inside> at{};
    int count = 0;
    void add(const Found& found) noexcept { at[count++] = &found; }
    void polynomial(double day, std::span<double> x) const noexcept {
      std::array<double, most_inside> weight{};
      for (int i = 0; i < count; ++i) {
        weight[i] = 1;
        for (int j = 0; j < count; ++j)
          if (j != i) weight[i] *= (day - at[j]->day) / (at[i]->day - at[j]->day);
      }
      for (std::size_t c = 0; c < x.size(); ++c) {
        double v = 0;
        for (int i = 0; i < count; ++i) v += weight[i] * at[i]->x[c];
        x[c] = v;
      }
    }
  };
  std::array<Found, depth> ends_;  // the first count_ of them, by day
  Found row_;
  std::size_t count_ = 0;
  bool has_row_ = false;
};

}  // namespace capsim
