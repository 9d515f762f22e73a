// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The model of one scenario: mesh, stress-free geometry, contact zone. Immutable once built.
///
/// Model.   The stated opening and bag are in situ, under the zonule's pull; the model finds the
///          stress-free shape that takes this shape at rest: rim points and equator radius are
///          corrected until the computed rest shape agrees (fixed-point iteration on the mesh's own
///          equilibrium). The bag is of normal anatomy: its diameter is that under a full-strength
///          zonule, bare. The opening is meant in the state named by `opening.measured_under`: of the
///          empty bag, or of the eye with its zonule, lens and ring, as on day 0 before any event.
///          Layer lines of the mesh are placed by in-situ distance from the rim, so that the edge
///          of the contact zone and the tips of all planned cuts lie on mesh lines.
/// Shared.  A const Model may be used by any number of threads at once.

#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/contraction_law.hpp"
#include "capsim/diagnostics.hpp"
#include "capsim/error.hpp"
#include "capsim/leaf_bond.hpp"
#include "capsim/lens.hpp"
#include "capsim/mesh.hpp"
#include "capsim/scenario.hpp"
#include "capsim/tension_ring.hpp"
#include "capsim/zonule.hpp"

namespace capsim {

class ModelLibrary;
class PatternStore;
struct BagContents;
struct ShapeKey;
struct StressFreeShape;

/// One planned relaxing cut on the mesh.
struct PlannedCut {
  double hour = 0;
  double length_mm = 0;  ///< In situ at the end of surgery; on a mesh line.
  double day = -1;       ///< Of the scenario's event; -1 for a cut that is only possible.
  int line = 0;          ///< Index into the mesh plan's cut lines.
  int layers = 0;        ///< The tip lies on this layer line.
};

/// Where tissue lies: elements first..last-1 of a patch, kinetics and material, and the cells c(0) at each point.
/// Outside the optic the patch has fewer points than the leaf, whose own keep its elements from folding up, and only
/// the area that tissue covers.
struct TissueSite {
  const Patch* patch = nullptr;
  int first = 0, last = 0;
  ContractionSpec spec;
  std::vector<double> cells;
};

class Model {
 public:
  /// Builds the model; throws ScenarioError for wrong input and ModelError when no rest state is found.
  /// `possible_cuts` are cuts that may be made later by Simulation::apply: they get mesh lines, too,
  /// and are checked as those of the scenario are (`possible_cuts[0].length_mm`).
  /// `ring_possible` foresees a tension ring that the scenario itself does not have.
  /// `go_on`, when given, is asked now and then; where it says no, ModelError has the status `cancelled`.
  /// `library`, when given, lends what models made before have found, and keeps what this one finds; the digits are
  /// the same with and without it.
  explicit Model(Scenario scenario, std::vector<RelaxingCuts> possible_cuts = {}, bool ring_possible = false,
                 const std::shared_ptr<ModelLibrary>& library = nullptr, const std::function<bool()>& go_on = {});
  ~Model();
  Model(Model&&) noexcept;
  Model& operator=(Model&&) noexcept;

  [[nodiscard]] const Scenario& scenario() const noexcept { return scenario_; }
  [[nodiscard]] const Mesh& mesh() const noexcept { return *mesh_; }
  [[nodiscard]] const std::vector<PlannedCut>& cuts() const noexcept { return cuts_; }
  /// The planned or possible cut at `hour` of `length_mm` (within the mesh's 0.04 mm), or null.
  [[nodiscard]] const PlannedCut* find_cut(double hour, double length_mm) const noexcept;
  /// Nodal positions at rest: of the bare bag under the full-strength zonule, and of the eye in the state in which the
  /// opening is stated.
  [[nodiscard]] const std::vector<double>& rest_full_strength() const noexcept { return rest_full_; }
  [[nodiscard]] const std::vector<double>& rest_as_stated() const noexcept { return rest_stated_; }
  /// All coordinates of the eye as stated; zero for what is not in it.
  [[nodiscard]] std::vector<double> eye_as_stated() const;
  /// Whether a ring lies in the eye whose opening is stated.
  [[nodiscard]] bool stated_with_ring() const noexcept;
  [[nodiscard]] double stress_free_equator_radius_mm() const noexcept { return equator_radius_; }
  /// Equator radius in situ that springs and anchors refer to [mm].
  [[nodiscard]] double anatomical_equator_radius_mm() const noexcept;
  /// Element layers that hold tissue (from the rim), and the cells c(0) at each of their points.
  [[nodiscard]] int tissue_layers() const noexcept { return tissue_layers_; }
  [[nodiscard]] const std::vector<double>& initial_cells() const noexcept { return cells_; }
  /// Diameter of the circle on which leaf and optic are in contact [mm].
  [[nodiscard]] double contact_diameter_mm() const noexcept;
  /// Largest force the eye is built for [mN]: the unit of force tolerances.
  [[nodiscard]] double force_scale_mN() const noexcept { return force_scale_; }
  /// Iterations of the in-situ solution and its largest remaining error [mm].
  [[nodiscard]] int in_situ_iterations() const noexcept { return in_situ_iterations_; }
  /// What the search for the unloaded shape took, in factorizations: a part of the budget of every run, also where a
  /// library lent the shape.
  [[nodiscard]] double in_situ_work() const noexcept { return in_situ_work_; }
  [[nodiscard]] double in_situ_error_mm() const noexcept { return in_situ_error_; }
  /// How far the rim is from the stated outline where it can't lie there, beside hours of the zonule that hold nothing,
  /// and only its area is as stated, and its centre if it can be; else 0 [mm].
  [[nodiscard]] double outline_off_mm() const noexcept { return outline_off_; }

  /// Patterns of the equations that simulations of this model (and of others of its library) share.
  [[nodiscard]] const std::shared_ptr<PatternStore>& patterns() const noexcept { return patterns_; }

  /// Time it took to build this model [s].
  [[nodiscard]] double build_seconds() const noexcept { return build_seconds_; }

  /// Index of the optic's first coordinate and of the ring's; the total number of coordinates.
  [[nodiscard]] int lens_coordinate() const noexcept { return 2 * mesh_->nodes(); }
  [[nodiscard]] int ring_coordinate() const noexcept { return 2 * mesh_->nodes() + 3; }
  [[nodiscard]] int ring_segments() const noexcept { return ring_segments_; }
  [[nodiscard]] int coordinates() const noexcept;
  /// Degrees of freedom: lips tied beyond the layers that are open; lens and ring only when present.
  [[nodiscard]] std::vector<int> dof_map(std::span<const int> open_layers, bool lens, bool ring) const;

  [[nodiscard]] std::unique_ptr<Leaf> make_anterior_leaf() const;
  [[nodiscard]] std::unique_ptr<Leaf> make_posterior_leaf() const;  ///< Null without a posterior leaf.
  [[nodiscard]] std::unique_ptr<Zonule> make_zonule(const ZonuleSpec& spec) const;
  /// Null without contact. Made of what `law` says, or of what the law that the scenario names says. Where its cells go
  /// on beyond the zone of contact it ends with that zone, and rim_beyond() is the rest; under a law that grows the
  /// leaf it is all of it, at the leaf's own points.
  [[nodiscard]] std::unique_ptr<FibrousTissue> make_fibrous_tissue(const ContractionLaw* law = nullptr) const;
  /// Tissue of the rim beyond the zone of contact, if it does not go with that inside.
  [[nodiscard]] std::optional<TissueSite> rim_beyond(const ContractionLaw* law = nullptr) const;
  /// Where the leaves fuse outside the optic: the anterior leaf first, then the posterior one; empty: nowhere.
  [[nodiscard]] const std::vector<TissueSite>& bag_sites() const noexcept { return bag_sites_; }
  [[nodiscard]] std::unique_ptr<FibrousTissue> make_tissue(const TissueSite& site,
                                                           const TissueMaterial& material) const;
  [[nodiscard]] std::unique_ptr<LeafBond> make_leaf_bond() const;  ///< Null where the leaves do not fuse.
  [[nodiscard]] std::unique_ptr<Lens> make_lens() const;           ///< Null without a lens.
  [[nodiscard]] std::unique_ptr<TensionRing> make_tension_ring(const TensionRingSpec& spec) const;

 private:
  friend class ModelNeighbours;  // models of nearby scenarios, for derivatives
  /// The plan of a nearby scenario that is not checked against its limits; take_shape and fill_cells are to follow.
  Model(const Model& here, Scenario nearby);
  void plan_mesh(const std::vector<RelaxingCuts>& possible_cuts, bool ring_possible);
  void find_force_scale();
  [[nodiscard]] ShapeKey shape_key() const;
  [[nodiscard]] BagContents contents() const;
  void take_shape(std::shared_ptr<const StressFreeShape> shape);
  void place_tissue();
  void fill_cells();
  [[nodiscard]] std::vector<double> rim_cells(const Patch& leaf, int first_layer, int last_layer) const;
  [[nodiscard]] int rim_layers(const ContractionLaw* law) const noexcept;
  void plan_posterior(MeshPlan& plan);
  void find_bag_sites();
  /// Radius inside which the leaves are apart [mm]; infinite where they do not fuse.
  [[nodiscard]] double fused_from_mm() const noexcept;

  Scenario scenario_;
  std::shared_ptr<PatternStore> patterns_;
  std::unique_ptr<Mesh> mesh_;
  std::vector<PlannedCut> cuts_;
  std::vector<LayerLine> lines_;
  std::vector<std::vector<double>> spacing_;  // relative positions inside each interval
  bool fitted_edge_ = false;
  double soft_edge_ = 0;           // 0: sharp, on a mesh line
  std::vector<Point> stated_rim_;  // per column
  std::shared_ptr<const StressFreeShape> shape_;
  std::vector<double> rest_full_, rest_stated_, contents_stated_;  // the last: of lens and ring, may be empty
  double equator_radius_ = 0;
  std::vector<double> insertions_;  // of a split zonule on the leaf, see zonule_bundles_at
  int tissue_layers_ = 0, contact_layers_ = 0;
  std::vector<double> cells_;
  std::unique_ptr<const Patch> beyond_;              // the leaf as tissue of the rim beyond the zone of contact has it
  std::vector<std::unique_ptr<const Patch>> fused_;  // both leaves as the tissue that fuses them has them
  std::vector<TissueSite> bag_sites_;
  int paired_rows_ = 0;  // layer lines, from the equator inward, that both leaves have at the same place
  double force_scale_ = 1;
  int ring_segments_ = 0;
  int in_situ_iterations_ = 0;
  double in_situ_work_ = 0;
  double in_situ_error_ = 0, outline_off_ = 0;
  double build_seconds_ = 0;
};

/// The scenario is well-formed but its rest state can't be found; the text says why.
class ModelError : public Error {
 public:
  explicit ModelError(const std::string& text, Status status = Status::no_equilibrium, double work = 0)
      : Error(text), status_(status), work_(work) {}
  /// `no_equilibrium`; `too_much_work` when the budget ran out; `cancelled`.
  [[nodiscard]] Status status() const noexcept { return status_; }
  /// What the search took, in factorizations.
  [[nodiscard]] double work() const noexcept { return work_; }

 private:
  Status status_;
  double work_;
};

}  // namespace capsim
