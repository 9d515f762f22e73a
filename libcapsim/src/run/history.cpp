// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/history.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "capsim/error.hpp"
#include "text/spelling.hpp"

namespace capsim {
namespace {

/// Days closer than this are the same day: 0.1 ms, far below any step and above rounding of sums of days.
constexpr double same_day = 1e-9;

[[noreturn]] void broken(const std::string& what) { throw InternalError("history: " + what); }
[[noreturn]] void not_there(const std::string& what) { throw ArgumentError("history: " + what); }

const Series* find(const std::vector<Series>& all, std::string_view name) noexcept {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Series& s) { return s.name == name; });
  return found == all.end() ? nullptr : &*found;
}

/// `day` and `event_side` lead, so that their lengths define the rows.
void check_leading_series(const std::vector<Series>& all) {
  if (all.size() < 2 || all[0].name != "day" || all[1].name != "event_side")
    broken("the first two series must be day and event_side");
  if (all[0].columns != 1 || all[1].columns != 1) broken("day and event_side must have one column");
}

void check_shapes(const std::vector<Series>& all, std::size_t rows) {
  std::set<std::string_view> names;
  for (const Series& s : all) {
    if (s.name.empty()) broken("a series has no name");
    if (!names.insert(s.name).second) broken("series " + s.name + " appears twice");
    const bool whole = s.columns == 0 ? s.values.empty()  // one column per cut, and no cuts
                                      : s.values.size() % s.columns == 0 && s.values.size() / s.columns == rows;
    if (!whole)
      broken("series " + s.name + " has " + std::to_string(s.values.size()) + " values, not " + std::to_string(rows) +
             " rows of " + std::to_string(s.columns));
  }
}

void check_days(const std::vector<double>& days, const std::vector<double>& sides) {
  for (std::size_t row = 0; row < days.size(); ++row) {
    if (!std::isfinite(days[row])) broken("the day of row " + std::to_string(row) + " is not finite");
    if (row > 0 && days[row] < days[row - 1]) broken("days run backwards at row " + std::to_string(row));
    if (sides[row] != 0 && sides[row] != -1 && sides[row] != 1)
      broken("event_side of row " + std::to_string(row) + " is not -1, 0 or 1");
  }
}

void check_outline(const std::vector<Series>& all) {
  const Series* outline = find(all, "rim_outline_mm");
  if (outline && outline->columns % 2 != 0) broken("rim_outline_mm needs an even number of columns");
}

}  // namespace

const Series& History::series(std::string_view name) const {
  if (const Series* found = find(series_, name)) return *found;
  std::vector<std::string_view> names;
  for (const Series& s : series_) names.push_back(s.name);
  const std::string_view near = nearest_word(name, names);
  not_there("there is no series named " + std::string(name) +
            (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
}

bool History::has(std::string_view name) const noexcept { return find(series_, name) != nullptr; }

double History::value(std::string_view name, std::size_t row, std::size_t column) const {
  const Series& s = series(name);
  if (row >= rows_ || column >= s.columns)
    not_there("series " + s.name + " has no row " + std::to_string(row) + ", column " + std::to_string(column) +
              ": it has " + std::to_string(rows_) + " rows of " + std::to_string(s.columns));
  return s.values[row * s.columns + column];
}

std::vector<Point> History::outline_mm(std::size_t row) const {
  const Series& outline = series("rim_outline_mm");
  if (row >= rows_)
    not_there("the rim outline has no row " + std::to_string(row) + ": it has " + std::to_string(rows_));
  std::vector<Point> points(outline.columns / 2);
  const double* values = outline.values.data() + row * outline.columns;
  for (std::size_t i = 0; i < points.size(); ++i) points[i] = {values[2 * i], values[2 * i + 1]};
  return points;
}

std::size_t History::row_at(double wanted) const {
  if (rows_ == 0) not_there("it has no rows");
  if (std::isnan(wanted)) not_there("row_at needs a day, not a NaN");
  const std::span<const double> days = day();
  const auto first = std::lower_bound(days.begin(), days.end(), wanted - same_day);
  if (first == days.end()) return rows_ - 1;
  auto row = static_cast<std::size_t>(first - days.begin());
  while (row + 1 < rows_ && days[row + 1] - days[row] <= same_day) ++row;
  return row;
}

History History::assemble(Scenario scenario, Status status, std::string message, std::string version,
                          Diagnostics diagnostics, std::vector<CutRecord> cuts, std::vector<Series> series) {
  check_leading_series(series);
  const std::size_t rows = series[0].values.size();
  check_shapes(series, rows);
  check_days(series[0].values, series[1].values);
  check_outline(series);
  History history;
  history.scenario_ = std::move(scenario);
  history.status_ = status;
  history.message_ = std::move(message);
  history.version_ = std::move(version);
  history.diagnostics_ = diagnostics;
  history.cuts_ = std::move(cuts);
  history.series_ = std::move(series);
  history.rows_ = rows;
  return history;
}

}  // namespace capsim
