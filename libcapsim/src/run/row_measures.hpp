// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What one row of a history is computed from: the state, and the measures that several observables share.
///
/// Memory is taken by the first rows after a change of the open cuts; other rows take none.

#include <array>
#include <span>
#include <vector>

#include "capsim/cuts.hpp"
#include "capsim/history.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"

namespace capsim {

class RowMeasures;

/// What the recorder looks at.
struct Snapshot {
  double day = 0;
  EventSide side = EventSide::none;
  std::span<const double> x;
  const Leaf* leaf = nullptr;
  const Zonule* zonule = nullptr;
  const FibrousTissue* tissue = nullptr;                   ///< Under the rim, in the zone of contact.
  std::span<const FibrousTissue* const> tissues_of_rim;    ///< The same, and as far as it goes on beyond.
  std::span<const FibrousTissue* const> tissues_on_front;  ///< All on the anterior leaf.
  const Lens* lens = nullptr;
  const TensionRing* ring = nullptr;
  std::span<const Part* const> parts;  ///< All of them.
  std::span<const int> open_layers;
  double energy = 0;
  double residual_mN = 0;
  const RowMeasures* run = nullptr;  ///< Of an eye beside a run: the run's row, with its places. Null: of any other.
};

/// What the largest and smallest numbers of a row are chosen from.
struct RowPlaces {
  std::vector<double> rim_chords, equator_chords, edges, rim_stretches, overlaps;
};

/// Measures the state of one row. `take` first; what it leaves stays valid until the next one.
class RowMeasures {
 public:
  /// On which overlap is measured: every 3.75 degrees; each eighth is a clock hour.
  static constexpr int overlap_rays = 96;

  explicit RowMeasures(const Model& model);
  void take(const Snapshot& snapshot);
  /// Measures the state of a row whose places neighbours are compared with (Snapshot::run).
  void take_with_places(const Snapshot& snapshot);

  /// Area of the visible opening at x, without the rest of a row.
  [[nodiscard]] double opening_area_mm2(std::span<const double> x, std::span<const int> open_layers);

  [[nodiscard]] const Model& model() const noexcept { return *model_; }
  [[nodiscard]] const Snapshot& state() const noexcept { return state_; }
  [[nodiscard]] const OpeningShape& opening() const noexcept { return opening_shape_; }
  [[nodiscard]] const OpeningShape& equator() const noexcept { return equator_shape_; }
  [[nodiscard]] std::span<const Point> equator_points() const noexcept { return equator_; }
  /// The rim as a polygon, its curved edges in pieces.
  [[nodiscard]] std::span<const Point> rim_polygon() const noexcept { return polygon_; }
  /// Nodes of the rim round every planned cut line: the same on all days.
  [[nodiscard]] std::span<const int> all_rim_nodes() const noexcept { return all_rim_nodes_; }
  /// Centre of the optic, or of the pupil when there is no lens.
  [[nodiscard]] Point optic_center() const noexcept { return optic_; }
  [[nodiscard]] double optic_radius_mm() const noexcept { return 0.5 * model_->contact_diameter_mm(); }
  [[nodiscard]] Point node(int node) const {
    return {state_.x[2 * static_cast<std::size_t>(node)], state_.x[2 * static_cast<std::size_t>(node) + 1]};
  }

  /// Mean and largest over the rim of hoop stretch and hoop tension (leaf and fibres), nominal [mN/mm].
  struct Rim {
    double mean_stretch = 0, most_stretch = 0, tension = 0;
  };
  [[nodiscard]] const Rim& rim() const noexcept { return rim_state_; }

  struct ZonuleLoad {
    std::array<double, 12> by_hour{};  ///< 12 o'clock first.
    double total = 0, most = 0;
  };
  [[nodiscard]] const ZonuleLoad& zonule_load() const noexcept { return load_; }

  /// Fibrous tissue: fraction of the full thickness, integrated over the zone and over each clock hour of it.
  struct Tissue {
    double amount_mm2 = 0, mean = 0;
    std::array<double, 12> by_hour{};
  };
  [[nodiscard]] const Tissue& tissue() const noexcept { return tissue_; }

  /// Overlap of rim on optic as seen from the optic's centre.
  struct Overlap {
    std::array<double, 12> by_hour{};
    double least = 0, least_hour = 12;
  };
  [[nodiscard]] const Overlap& overlap() const noexcept { return overlap_; }

  [[nodiscard]] std::size_t cuts() const noexcept { return model_->mesh().plan().cuts.size(); }
  /// Layers up to the tip of an open cut, or of the longest one planned there.
  [[nodiscard]] int tip_layer(std::size_t cut) const;
  /// Energy released per mm of growth of an open cut [mN]; 0 before it is made.
  [[nodiscard]] double tip_release_mN(std::size_t cut);

  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  std::span<const Point> rim_points(std::span<const double> x, std::span<const int> open_layers);
  void measure_rim();
  void measure_load();
  void measure_tissue();
  void sort_tissue_by_hour();
  void measure_overlap();
  void measure(const Snapshot& snapshot, bool with_places);
  static void put_chords(const std::vector<double>& profile, std::vector<double>& chords);
  void put_overlaps();
  void follow_ties(const RowMeasures& run);

  const Model* model_;
  Snapshot state_;
  OpeningShape opening_shape_, equator_shape_;
  Point optic_{0, 0};
  Rim rim_state_;
  ZonuleLoad load_;
  Tissue tissue_;
  Overlap overlap_;
  // Rim nodes as the cuts are open, and along every planned cut line.
  std::vector<int> open_layers_, rim_nodes_, all_rim_nodes_;
  std::vector<Point> rim_, equator_, polygon_, rays_;
  std::vector<double> profile_;
  std::vector<unsigned char> tissue_hour_;  // of each point of the tissue; 0 is 12 o'clock
  OpeningWorkspace opening_;
  TipWorkspace tip_;
  RowPlaces places_;
};

/// Area of the visible opening at x, without the rest of a row.
[[nodiscard]] double opening_area_mm2(const Mesh& mesh, std::span<const double> x, std::span<const int> open_layers);

}  // namespace capsim
