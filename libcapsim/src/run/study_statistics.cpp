// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/study.hpp"

namespace capsim {
namespace {

constexpr double z95 = 1.959963984540054;  // 97.5th percentile of the standard normal distribution
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

/// Linear between order statistics, type 7 of [hyndman1996].
double quantile(const std::vector<double>& sorted, double share) {
  const double place = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const double above = sorted[std::min(below + 1, sorted.size() - 1)];
  return sorted[below] + (place - static_cast<double>(below)) * (above - sorted[below]);
}

}  // namespace

Proportion proportion(std::size_t count, std::size_t of) noexcept {
  if (of == 0) return {0, 0, nothing, 0, 1};
  const double n = static_cast<double>(of), p = static_cast<double>(count) / n, z2 = z95 * z95 / n;
  const double middle = p + z2 / 2, half = z95 * std::sqrt(p * (1 - p) / n + z2 / (4 * n));
  const double low = count == 0 ? 0 : (middle - half) / (1 + z2), high = count == of ? 1 : (middle + half) / (1 + z2);
  return {count, of, p, std::max(low, 0.0), std::min(high, 1.0)};
}

Quantiles quantiles(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !std::isfinite(v); });
  if (values.empty()) return {nothing, nothing, nothing};
  std::sort(values.begin(), values.end());
  return {quantile(values, 0.1), quantile(values, 0.5), quantile(values, 0.9)};
}

std::string_view to_string(Agreement agreement) noexcept {
  switch (agreement) {
    case Agreement::first:
      return "first";
    case Agreement::second:
      return "second";
    case Agreement::disagree:
      return "disagree";
    case Agreement::open:
      return "open";
  }
  return "open";
}

}  // namespace capsim
