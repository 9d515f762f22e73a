// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What a simulation leaves behind: contiguous arrays [day x quantity], and how it ended.
///
/// A history always holds the first day, the last day reached, every output day, and two rows
/// for each day with events: the state just before and just after. It owns all its data.

#include <cstddef>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/diagnostics.hpp"
#include "capsim/observables.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// Which side of an event day a row shows.
enum class EventSide : int { none = 0, before = -1, after = 1 };

/// One named quantity over all rows.
struct Series {
  std::string name;            ///< Contract name with the unit as suffix, `opening_area_mm2`.
  std::string unit;            ///< "mm2", "mN", "1" ...
  std::string description;     ///< One sentence.
  std::size_t columns = 1;     ///< Values per row; points are stored x0 y0 x1 y1 ...
  std::vector<double> values;  ///< Row-major, rows x columns.
  Axis axis = Axis::other;     ///< What the columns are.
};

/// Where one relaxing cut lies and when it was made.
struct CutRecord {
  double hour = 0;
  double length_mm = 0;  ///< Along the leaf at the end of surgery; on a mesh line, within 0.04 mm of what was asked.
  double length_on_day_mm = 0;  ///< Along the leaf as it lay just before the cut.
  double day = 0;
};

/// The result of one run.
class History {
 public:
  [[nodiscard]] Status status() const noexcept { return status_; }
  /// One sentence: why the run ended, with the criterion that failed and where.
  [[nodiscard]] const std::string& message() const noexcept { return message_; }
  [[nodiscard]] const Scenario& scenario() const noexcept { return scenario_; }
  [[nodiscard]] const std::string& version() const noexcept { return version_; }
  [[nodiscard]] const Diagnostics& diagnostics() const noexcept { return diagnostics_; }
  [[nodiscard]] const std::vector<CutRecord>& cuts() const noexcept { return cuts_; }

  [[nodiscard]] std::size_t rows() const noexcept { return rows_; }
  /// All series, `day` and `event_side` first.
  [[nodiscard]] const std::vector<Series>& all_series() const noexcept { return series_; }
  /// One series by its contract name; throws ArgumentError when there is none.
  [[nodiscard]] const Series& series(std::string_view name) const;
  [[nodiscard]] bool has(std::string_view name) const noexcept;
  /// One value: row `row`, column `column` of the named series; throws ArgumentError when there is none.
  [[nodiscard]] double value(std::string_view name, std::size_t row, std::size_t column = 0) const;

  [[nodiscard]] std::span<const double> day() const { return series("day").values; }
  [[nodiscard]] std::span<const double> opening_area_mm2() const { return series("opening_area_mm2").values; }
  /// Rim polygon of row `row`, counter-clockwise, down one lip of an open cut and up the other [mm].
  [[nodiscard]] std::vector<Point> outline_mm(std::size_t row) const;
  /// The first row at or after `day` and, on an event day, its `after` side; the last row when beyond the end.
  /// Throws ArgumentError for a NaN and for a history without rows.
  [[nodiscard]] std::size_t row_at(double day) const;

  /// Assembles a history from its pieces (used by Simulation and by the result file's reader).
  /// Throws InternalError when series disagree in their number of rows.
  [[nodiscard]] static History assemble(Scenario scenario, Status status, std::string message, std::string version,
                                        Diagnostics diagnostics, std::vector<CutRecord> cuts,
                                        std::vector<Series> series);

 private:
  Scenario scenario_;
  Status status_ = Status::completed;
  std::string message_;
  std::string version_;
  Diagnostics diagnostics_;
  std::vector<CutRecord> cuts_;
  std::vector<Series> series_;
  std::size_t rows_ = 0;
};

}  // namespace capsim
