// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Turns states of a simulation into the rows of a history.
///
/// What is recorded is the list of `observables.cpp`. Memory is taken by reserve() and by the first rows after a
/// change of the open cuts; other rows, and opening_area_mm2(), take none.

#include <cmath>
#include <span>
#include <vector>

#include "capsim/history.hpp"
#include "run/observables.hpp"
#include "run/row_measures.hpp"

namespace capsim {

class Recorder {
 public:
  explicit Recorder(const Model& model);
  void record(const Snapshot& snapshot);
  /// A row of which nothing but the visible area is measured; its other numbers are none (NaN).
  void record_area(const Snapshot& snapshot);
  /// Takes the last row back.
  void drop_last();
  /// Takes the memory of `more` rows.
  void reserve(std::size_t more);
  /// Area of the visible opening at x, without the rest of a row.
  [[nodiscard]] double opening_area_mm2(std::span<const double> x, std::span<const int> open_layers) {
    return row_.opening_area_mm2(x, open_layers);
  }
  [[nodiscard]] const std::vector<Series>& series() const noexcept { return series_; }
  /// Replaces what was recorded (a restored state).
  void restore(std::vector<Series> series);
  [[nodiscard]] std::size_t rows() const noexcept { return rows_; }
  [[nodiscard]] std::size_t memory_bytes() const noexcept;
  /// True when the last row is of this day.
  [[nodiscard]] bool has_day(double day) const noexcept {
    return rows_ > 0 && std::abs(series_.front().values.back() - day) < 1e-9;
  }

 private:
  RowMeasures row_;
  std::vector<Series> series_;
  std::vector<const RecordedObservable*> recorded_;  // of each series
  std::size_t rows_ = 0;
};

}  // namespace capsim
