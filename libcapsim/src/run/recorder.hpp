// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Turns states of a simulation into the rows of a history.
///
/// Memory is taken by reserve() and by the first rows after a change of the open cuts; other rows, and
/// opening_area_mm2(), take none.

#include <array>
#include <cmath>
#include <span>
#include <vector>

#include "capsim/cuts.hpp"
#include "capsim/history.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"

namespace capsim {

/// What the recorder looks at.
struct Snapshot {
  double day = 0;
  EventSide side = EventSide::none;
  std::span<const double> x;
  const Leaf* leaf = nullptr;
  const Zonule* zonule = nullptr;
  const FibrousTissue* tissue = nullptr;
  const Lens* lens = nullptr;
  const TensionRing* ring = nullptr;
  std::span<const int> open_layers;
  double energy = 0;
  double residual_mN = 0;
};

class Recorder {
 public:
  explicit Recorder(const Model& model);
  void record(const Snapshot& snapshot);
  /// Takes the memory of `more` rows.
  void reserve(std::size_t more);
  /// Area of the visible opening at x, without the rest of a row.
  [[nodiscard]] double opening_area_mm2(std::span<const double> x, std::span<const int> open_layers);
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
  std::size_t add(const char* name, const char* unit, const char* description, std::size_t columns = 1);
  void put(std::size_t series, double value) { series_[series].values.push_back(value); }
  void put(std::size_t series, Point p) {
    put(series, p[0]);
    put(series, p[1]);
  }
  /// Positions of the rim's nodes, down one lip of an open cut and up the other.
  std::span<const Point> rim(std::span<const double> x, std::span<const int> open_layers);
  /// Mean fraction of the full fibrous thickness within each clock hour of the contact zone, 12 first.
  std::array<double, 12> tissue_by_hour(const Snapshot& snapshot);
  const Model* model_;
  std::vector<Series> series_;
  std::size_t rows_ = 0;
  // Rim nodes as the cuts are open, and along every planned cut line.
  std::vector<int> open_layers_, rim_nodes_, all_rim_nodes_;
  std::vector<Point> rim_, equator_, polygon_, rays_;
  std::vector<double> profile_;
  std::vector<unsigned char> tissue_hour_;  // of each point of the tissue; 0 is 12 o'clock
  OpeningWorkspace opening_;
  TipWorkspace tip_;
};

/// Area of the visible opening at x, without the rest of a row.
[[nodiscard]] double opening_area_mm2(const Mesh& mesh, std::span<const double> x, std::span<const int> open_layers);

}  // namespace capsim
