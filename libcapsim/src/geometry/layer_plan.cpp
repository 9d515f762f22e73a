// SPDX-License-Identifier: BSD-3-Clause
#include "geometry/layer_plan.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "capsim/frame.hpp"

namespace capsim {

std::vector<double> graded(double length, int count, bool start, bool end, double ratio, double reach) {
  // Points of equal integral of 1 / size, the size rising linearly from a marked end.
  constexpr int samples = 400;
  std::vector<double> integral(samples + 1, 0.0);
  const auto size = [&](double at) {
    double distance = reach;
    if (start) distance = std::min(distance, at);
    if (end) distance = std::min(distance, length - at);
    return ratio + (1 - ratio) * std::clamp(distance / reach, 0.0, 1.0);
  };
  for (int i = 0; i < samples; ++i) integral[i + 1] = integral[i] + 1 / size(length * (i + 0.5) / samples);
  std::vector<double> points{0.0};
  int at = 0;
  for (int k = 1; k < count; ++k) {
    const double target = integral[samples] * k / count;
    while (integral[at + 1] < target) ++at;
    points.push_back((at + (target - integral[at]) / (integral[at + 1] - integral[at])) / samples);
  }
  points.push_back(1.0);
  return points;
}

std::vector<double> column_angles(int around, int order, const std::vector<double>& marks,
                                  std::vector<int>& mark_rays) {
  std::vector<double> rays;
  mark_rays.assign(marks.size(), 0);
  if (marks.empty()) {
    for (int i = 0; i < around; ++i) rays.push_back(pi / 2 + 2 * pi * i / around);
  } else {
    std::vector<std::size_t> sorted(marks.size());
    std::iota(sorted.begin(), sorted.end(), std::size_t{0});
    const double first = *std::min_element(marks.begin(), marks.end());
    const auto from_first = [&](std::size_t k) { return marks[k] - first; };
    std::sort(sorted.begin(), sorted.end(), [&](auto a, auto b) { return from_first(a) < from_first(b); });
    for (std::size_t i = 0; i < sorted.size(); ++i) {
      const double from = from_first(sorted[i]);
      const double to = i + 1 < sorted.size() ? from_first(sorted[i + 1]) : 2 * pi;
      // A tie goes up whatever the last digits of the angles, so that turned and mirrored eyes have the same mesh.
      const int count = std::max(4, static_cast<int>(std::lround(around * (to - from) / (2 * pi) + 1e-9)));
      mark_rays[sorted[i]] = static_cast<int>(rays.size());
      const std::vector<double> share = graded(to - from, count, true, true, 0.1, 0.3);
      for (int k = 0; k < count; ++k) rays.push_back(first + from + share[k] * (to - from));
    }
  }
  std::vector<double> columns;
  for (std::size_t i = 0; i < rays.size(); ++i) {
    columns.push_back(rays[i]);
    const double next = i + 1 < rays.size() ? rays[i + 1] : rays[0] + 2 * pi;
    if (order == 2) columns.push_back(0.5 * (rays[i] + next));
  }
  return columns;
}

}  // namespace capsim
