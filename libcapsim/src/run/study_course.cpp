// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/study_visits.hpp"

namespace capsim {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
constexpr double same_day = 1e-9;  // as rows of a history: 0.1 ms

/// A stretch of a course without events: rows first .. last.
struct Stretch {
  std::size_t first = 0, last = 0;
};

std::vector<Stretch> stretches_of(const std::vector<double>& days) {
  std::vector<Stretch> all;
  if (days.empty()) return all;
  all.push_back({0, 0});
  for (std::size_t i = 1; i < days.size(); ++i)
    if (days[i] - days[i - 1] <= same_day)
      all.push_back({i, i});
    else
      all.back().last = i;
  return all;
}

/// Slope at row i of a stretch: the weighted harmonic mean of the slopes beside it, 0 where they differ in sign; at the
/// ends the slope of the only interval, which keeps the cubic monotone as well.
double slope_at(const std::vector<double>& days, const std::vector<double>& values, Stretch s, std::size_t i) {
  const auto secant = [&](std::size_t k) { return (values[k + 1] - values[k]) / (days[k + 1] - days[k]); };
  if (s.first == s.last) return 0;
  if (i == s.first) return secant(i);
  if (i == s.last) return secant(i - 1);
  const double left = secant(i - 1), right = secant(i);
  if (left * right <= 0) return 0;
  const double hl = days[i] - days[i - 1], hr = days[i + 1] - days[i];
  const double a = (hl + 2 * hr) / (3 * (hl + hr)), b = 1 - a;
  return left * right / (a * right + b * left);
}

/// The cubic between rows i and i + 1 of a stretch.
double cubic(const std::vector<double>& days, const std::vector<double>& values, Stretch s, std::size_t i, double day) {
  const double h = days[i + 1] - days[i], t = (day - days[i]) / h;
  const double m0 = h * slope_at(days, values, s, i), m1 = h * slope_at(days, values, s, i + 1);
  const double u = 1 - t;
  return (1 + 2 * t) * u * u * values[i] + t * u * u * m0 + t * t * (3 - 2 * t) * values[i + 1] - t * t * u * m1;
}

}  // namespace

double first_crossing(const std::vector<double>& days, const std::vector<double>& values, double limit, bool below) {
  const auto beyond = [&](double value) { return below ? value < limit : value > limit; };
  for (const Stretch s : stretches_of(days)) {
    if (beyond(values[s.first])) return days[s.first];
    for (std::size_t i = s.first; i < s.last; ++i) {
      if (!beyond(values[i + 1])) continue;
      double before = days[i], after = days[i + 1];  // monotone between rows: one crossing
      for (int k = 0; k < 60 && after - before > same_day; ++k) {
        const double middle = 0.5 * (before + after);
        (beyond(cubic(days, values, s, i, middle)) ? after : before) = middle;
      }
      return after;
    }
  }
  return nothing;
}

double value_on(const std::vector<double>& days, const std::vector<double>& values, double day) {
  const std::vector<Stretch> all = stretches_of(days);
  for (std::size_t k = all.size(); k-- > 0;) {
    const Stretch s = all[k];
    if (day < days[s.first] - same_day) continue;
    if (day > days[s.last] + same_day) return nothing;
    for (std::size_t i = s.first; i < s.last; ++i)
      if (day <= days[i + 1] + same_day) return cubic(days, values, s, i, day);
    return values[s.first];
  }
  return nothing;
}

}  // namespace capsim
