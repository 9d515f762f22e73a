// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How each observable is computed from the measures of a row.

#include <span>
#include <vector>

#include "capsim/observables.hpp"
#include "run/row_measures.hpp"

namespace capsim {

/// Where an observable puts the values of one row.
class RowOf {
 public:
  explicit RowOf(std::vector<double>& values) : values_(&values) {}
  void operator<<(double value) { values_->push_back(value); }
  void operator<<(Point p) {
    values_->push_back(p[0]);
    values_->push_back(p[1]);
  }
  void operator<<(std::span<const double> values) { values_->insert(values_->end(), values.begin(), values.end()); }

 private:
  std::vector<double>* values_;
};

/// One line of the list.
struct RecordedObservable {
  Observable what;
  void (*put)(RowMeasures& row, RowOf out);
};
[[nodiscard]] std::span<const RecordedObservable> recorded_observables() noexcept;

/// Values per row of a series with that axis; 0 when this model has none of it.
[[nodiscard]] std::size_t columns_of(Axis axis, const RowMeasures& row);

}  // namespace capsim
