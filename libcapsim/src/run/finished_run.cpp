// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <cmath>

#include "run/outcome_list.hpp"

namespace capsim {

FinishedRun::FinishedRun(const History& history, const RunawayMargin* margin)
    : h_(history), margin_(margin), last_(history.rows() - 1) {
  if (h_.cuts().empty()) return;
  for (std::size_t row = 1; row <= last_; ++row) {
    if (at("event_side", row) != 1 || at("event_side", row - 1) != -1) continue;
    const double day = at("day", row);
    if (std::none_of(h_.cuts().begin(), h_.cuts().end(),
                     [&](const CutRecord& cut) { return std::abs(cut.day - day) < 1e-6; }))
      continue;
    bool overlap = at("lips_cross", row) > 0;
    for (std::size_t c = 0; c < h_.series("cut_gape_mm").columns; ++c) overlap |= at("cut_gape_mm", row, c) < 0;
    days_of_cuts_.push_back({day, row, overlap});
  }
}

double FinishedRun::most(const char* name) const {
  double most = 0;
  for (const double v : h_.series(name).values) most = std::max(most, v);
  return most;
}

double FinishedRun::area_on(double day) const {
  const auto days = h_.day();
  const auto areas = h_.opening_area_mm2();
  for (std::size_t i = 1; i < days.size(); ++i)
    if (days[i] >= day - 1e-9) {
      if (days[i] < day + 1e-9) return areas[h_.row_at(day)];  // after the events of that day
      const double width = days[i] - days[i - 1];
      if (width <= 0) return areas[i];
      return areas[i - 1] + (day - days[i - 1]) / width * (areas[i] - areas[i - 1]);
    }
  return areas.back();
}

}  // namespace capsim
