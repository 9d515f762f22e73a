// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The unloaded shape of the bag that comes to rest as stated.
///
/// Model.   Unknown are the rim points of the unloaded leaf, one per column, the radius of its equator, and (for a
///          zonule that also inserts on the leaf) where along the leaf each insertion lies. Sought is the shape whose
///          equilibrium in the stated eye, with its zonule and what lies in the bag, has the rim where it is stated,
///          and whose bare bag under a healthy zonule has the mean radius of the equator of normal anatomy and the
///          insertions at their stated distance from it. Mesh lines follow by in-situ distance.
/// Key.     The search is a function of ShapeKey and of nothing else, so that a shape that was found once may be used
///          again wherever the key is equal, number by number.

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

class PatternStore;

/// What is in the bag when its opening is measured, on day 0, and the vitreous behind it.
struct BagContents {
  std::optional<LensSpec> lens;
  std::optional<TensionRingSpec> ring;
  int ring_segments = 0;  ///< 0: no ring.
  bool operator==(const BagContents&) const = default;
};

/// All that determines the unloaded shape.
struct ShapeKey {
  MeshPlan plan;
  std::vector<LayerLine> lines;
  std::vector<std::vector<double>> spacing;  ///< Relative positions of the lines inside each interval.
  std::vector<Point> stated_rim;             ///< Per column [mm].
  Point center{};                            ///< Of the stated opening [mm].
  double contact_diameter_mm = 0;            ///< Mesh lines lie on the edge of the contact zone.
  double equator_radius_mm = 0;              ///< In situ, under the healthy zonule.
  bool unloaded = false;                     ///< Rim and equator are stated unloaded: nothing is searched for.
  CapsuleSpec capsule;
  ZonuleSpec healthy;                   ///< The zonule under which the equator has its radius.
  ZonuleSpec stated;                    ///< The zonule under which the rim is stated.
  std::optional<BagContents> contents;  ///< In the bag whose rim is stated; none: it is bare.
  double force_tolerance = 0;
  double max_work = 0;  ///< Of the search, as of a run.
  bool operator==(const ShapeKey&) const = default;

  /// Mean distance of the stated rim's first point from the centre [mm].
  [[nodiscard]] double rim_radius_mm() const noexcept;
  /// Largest force of the bare bag [mN]: the unit of its force tolerance.
  [[nodiscard]] double force_scale_mN() const noexcept;
  [[nodiscard]] std::size_t memory_bytes() const noexcept;
  /// Whether rim and equator are stated in two states of the eye.
  [[nodiscard]] bool two_states() const noexcept { return contents || !(stated == healthy); }
};

struct StressFreeShape {
  std::vector<Point> rim;                         ///< Unloaded, per column [mm].
  double equator_radius_mm = 0;                   ///< Unloaded.
  std::vector<double> fractions;                  ///< Of the layer lines, see Mesh::place.
  std::vector<double> insertions;                 ///< Of a split zonule on the leaf, see zonule_bundles_at.
  std::vector<double> rest_healthy, rest_stated;  ///< Positions at rest [mm]: bare bag, and stated eye with contents.
  int iterations = 0;
  double work = 0;      ///< What the search took, in factorizations.
  double error_mm = 0;  ///< How far the rest shape is from what is stated.
  /// How far the outline is from the stated one where it can't lie there, and only area and centre are as stated.
  double outline_off_mm = 0;
  [[nodiscard]] std::size_t memory_bytes() const noexcept;
};

/// Throws ModelError, with the likely reason, when there is none, when the budget is spent or `go_on` says no.
[[nodiscard]] StressFreeShape find_stress_free_shape(const ShapeKey& key, const std::shared_ptr<PatternStore>& patterns,
                                                     const std::function<bool()>& go_on = {});

/// Puts the mesh into the unloaded shape.
void place_unloaded(Mesh& mesh, const StressFreeShape& shape);

}  // namespace capsim
