// SPDX-License-Identifier: BSD-3-Clause
#include "run/recorder.hpp"

#include <algorithm>
#include <limits>
#include <stdexcept>
#include <string>

#include "capsim/error.hpp"
#include "capsim/simulation.hpp"

namespace capsim {

Recorder::Recorder(const Model& model) : row_(model) {
  for (const RecordedObservable& observable : recorded_observables()) {
    const auto& [name, unit, axis, description] = observable.what;
    const std::size_t columns = columns_of(axis, row_);
    if (columns == 0) continue;  // this model has no cut lines, or no ring
    series_.push_back({std::string(name), std::string(unit), std::string(description), columns, {}, axis});
    recorded_.push_back(&observable);
  }
}

void Recorder::restore(std::vector<Series> series) {
  const auto same_name = [](const Series& a, const Series& b) { return a.name == b.name && a.columns == b.columns; };
  if (!std::equal(series.begin(), series.end(), series_.begin(), series_.end(), same_name))
    throw CheckpointError("checkpoint: it has other series than this build records; run the scenario again");
  series_ = std::move(series);
  rows_ = series_.front().values.size();
}

void Recorder::drop_last() {
  if (rows_ == 0) return;
  --rows_;
  for (Series& s : series_) s.values.resize(rows_ * s.columns);
}

void Recorder::reserve(std::size_t more) {
  for (Series& s : series_) s.values.reserve((rows_ + more) * s.columns);
}

std::size_t Recorder::memory_bytes() const noexcept {
  std::size_t doubles = 0;
  for (const Series& s : series_) doubles += s.values.capacity();
  return sizeof(double) * doubles + row_.memory_bytes();
}

void Recorder::record_area(const Snapshot& snapshot) {
  const double area = row_.opening_area_mm2(snapshot.x, snapshot.open_layers);
  ++rows_;
  for (Series& series : series_)
    series.values.resize(rows_ * series.columns,
                         series.name == "opening_area_mm2" ? area : std::numeric_limits<double>::quiet_NaN());
}

void Recorder::record(const Snapshot& snapshot) {
  row_.take(snapshot);
  ++rows_;
  for (std::size_t k = 0; k < series_.size(); ++k) {
    Series& series = series_[k];
    recorded_[k]->put(row_, RowOf(series.values));
    if (series.values.size() != rows_ * series.columns)
      throw InternalError("the observable " + series.name +
                          " put another number of values into a row than its axis has");
  }
}

}  // namespace capsim
