// SPDX-License-Identifier: BSD-3-Clause
#include "run/rows_wanted.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>

#include "capsim/outcomes.hpp"
#include "capsim/scenario.hpp"
#include "run/tied_places.hpp"
#include "solve/trail.hpp"

namespace capsim {
namespace {

const Series* series_named(std::span<const Series> all, std::string_view name) {
  const auto at = std::find_if(all.begin(), all.end(), [&](const Series& series) { return series.name == name; });
  return at == all.end() ? nullptr : &*at;
}

/// Adds the rows that hold the largest value of a series, or one that ties with it.
void want_largest(const Series& series, RowsWanted& wanted) {
  if (series.values.empty()) return;
  const double most = *std::max_element(series.values.begin(), series.values.end());
  if (!(most > 0)) return;  // nothing yet
  for (std::size_t i = 0; i < series.values.size(); ++i)
    if (most - series.values[i] < tied * most) wanted[i / series.columns] = RowUse::all;
}

void want_outcomes(std::span<const Series> all, std::span<const double> day, RowsWanted& wanted) {
  wanted.front() = wanted.back() = RowUse::all;
  const std::vector<double>& side = series_named(all, "event_side")->values;
  for (std::size_t r = 0; r < wanted.size(); ++r)
    if (side[r] != 0) wanted[r] = RowUse::all;
  for (const double loss : loss_days)
    for (std::size_t r = 1; r < wanted.size(); ++r)
      if (day[r] >= loss - 1e-9 && day[r - 1] < loss)
        for (RowUse* use : {&wanted[r - 1], &wanted[r]}) *use = std::max(*use, RowUse::area);
  for (const char* name : {"zonule_load_mN", "rim_stretch_max", "cut_tip_release_mN"})
    if (const Series* series = series_named(all, name)) want_largest(*series, wanted);
}

}  // namespace

std::vector<double> planned_days(const Scenario& scenario) {
  std::vector<double> of_events, days;
  for (const Event& event : scenario.events) of_events.push_back(event.day);
  std::sort(of_events.begin(), of_events.end());
  const auto same = [](double a, double b) { return std::abs(a - b) < same_day; };
  of_events.erase(std::unique(of_events.begin(), of_events.end(), same), of_events.end());
  const auto quiet = [&](double day) {
    return std::none_of(of_events.begin(), of_events.end(), [&](double e) { return same(e, day); });
  };
  const double last = scenario.duration_days, interval = scenario.output_every_days;
  for (double row = 0; row * interval < last - same_day; ++row)
    if (quiet(row * interval)) days.push_back(row * interval);
  if (quiet(last)) days.push_back(last);
  for (const double day : of_events) days.insert(days.end(), {day, day});
  std::sort(days.begin(), days.end());
  return days;
}

void want_days(std::span<const double> row_days, std::span<const double> chosen, RowsWanted& wanted) {
  const std::size_t rows = row_days.size();
  for (const double day : chosen)
    for (std::size_t r = 0; r < rows; ++r) {
      const double here = row_days[r];
      const bool last_before = here <= day + same_day && (r + 1 == rows || row_days[r + 1] > day + same_day);
      const bool first_after = here >= day - same_day && (r == 0 || row_days[r - 1] < day - same_day);
      if (last_before || first_after || std::abs(here - day) <= same_day) wanted[r] = RowUse::all;
    }
}

RowsWanted rows_wanted(std::span<const Series> all, bool outcomes, std::span<const double> chosen_days) {
  const std::vector<double>& day = series_named(all, "day")->values;
  RowsWanted wanted(day.size(), RowUse::none);
  if (wanted.empty()) return wanted;
  if (outcomes) want_outcomes(all, day, wanted);
  want_days(day, chosen_days, wanted);
  return wanted;
}

}  // namespace capsim
