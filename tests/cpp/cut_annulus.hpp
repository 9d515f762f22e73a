// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A bare leaf with radial cuts: a ring-shaped sheet, held, hung or pulled at its outer edge.
///
/// Built from the library's own mesh, leaf, zonule and equilibrium, without a scenario: geometry,
/// law and support are given outright, unloaded, so that the problem is one that closed forms and
/// other solvers can state too. The sheet is of constant thickness and carries compression
/// (compression_fraction = 1), and there is no posterior leaf.
/// Shared by the tests of cut mechanics and by the comparison with a general-purpose solver.

#include <array>
#include <functional>
#include <memory>
#include <vector>

#include "annulus.hpp"
#include "capsim/capsule.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/mesh.hpp"
#include "capsim/opening.hpp"
#include "capsim/zonule.hpp"

namespace capsim::checks {

struct LeafShape {
  double rim_radius_mm = 2.5;
  Point rim_center_mm{0, 0};
  double equator_radius_mm = 5;
  double thickness_mm = 0.015;
  std::vector<double> lines_mm{};  ///< Layer lines wanted at these distances from the rim (of a centred leaf).
  std::vector<double> rays{};      ///< Element boundaries wanted at these angles, 0..2 pi [rad].
};

struct RadialCut {
  double angle = 0;      ///< About the rim's centre [rad].
  double length_mm = 0;  ///< Along the unloaded leaf.
};

/// Element size [mm] at distance d from the nearest cut tip: finest + growth d, at most `coarsest`.
/// Around the ring the same holds at the radius of the tips.
struct Fineness {
  double coarsest_mm = 0.25;
  double finest_mm = 0.25;
  double growth = 0;
  double coarsest_angle = 0.1;  ///< Largest element around the ring [rad].
};

/// Lines from `from` to `to` through all `marks`, spaced by `size(position)`.
[[nodiscard]] std::vector<double> spaced_lines(double from, double to, std::vector<double> marks,
                                               const std::function<double(double)>& size);

class CutAnnulus {
 public:
  CutAnnulus(const LeafShape& shape, const Membrane& law, std::vector<RadialCut> cuts, const Fineness& fineness);
  CutAnnulus(const CutAnnulus&) = delete;
  CutAnnulus& operator=(const CutAnnulus&) = delete;

  [[nodiscard]] const Mesh& mesh() const noexcept { return *mesh_; }
  [[nodiscard]] Leaf& leaf() noexcept { return *leaf_; }
  [[nodiscard]] const Zonule& zonule() const noexcept { return *zonule_; }
  [[nodiscard]] std::vector<double>& x() noexcept { return x_; }
  [[nodiscard]] const std::vector<double>& x() const noexcept { return x_; }
  /// Layers of elements that cut `k` runs through.
  [[nodiscard]] int cut_layers(std::size_t k) const noexcept { return mesh_->plan().cuts[k].tip_layer; }

  /// Growth of the leaf in the radial and the hoop direction about the origin, as functions of the distance.
  void grow(const std::function<std::array<double, 2>(double)>& radial_and_hoop);
  /// The same factor in all three directions, on the layers from the rim to the line at `to_mm`.
  void grow_band(double to_mm, double factor);
  /// Springs of stiffness `kl` [mN/mm2] per unloaded edge length, to anchors at `anchor_radius_mm`,
  /// slack at the length `slack_length_mm` of a spring whose insertion lies on the equator's circle; the
  /// others, a little off it between nodes, are stretched as much.
  void hang(const std::function<double(double)>& kl_at_angle, double anchor_radius_mm, double slack_length_mm);
  /// Holds the equator's radial position x.n (n radial in the unloaded leaf); free to slide along the edge.
  void hold(double radius_mm);
  /// Dead load [mN/mm] per unloaded edge length, given at each angle.
  void load(const std::function<Point(double)>& traction);
  /// Takes away the rigid motions that the support leaves free; for loads symmetric about the x axis.
  void pin();

  /// Newton steps without a line search, for loads so small that energies drown in rounding.
  void solve_small(std::vector<int> open_layers);
  /// Equilibrium with the cuts open over `open_layers` (each 0: closed). Throws when there is none.
  EquilibriumReport solve(std::vector<int> open_layers, double tolerance_mN);
  [[nodiscard]] std::vector<int> all_open() const;
  [[nodiscard]] std::vector<int> all_closed() const;

  /// Energy of all parts [mN mm]; a held edge adds none.
  [[nodiscard]] double energy_mNmm() const;
  [[nodiscard]] OpeningShape opening() const;
  /// Area [mm2] swept about the origin by the rim's arcs alone, without the slits.
  [[nodiscard]] double arc_area_mm2() const;
  [[nodiscard]] Point position(int node) const noexcept;
  /// Rim node whose column lies at `angle` in the unloaded leaf; the counter-clockwise lip of a cut.
  [[nodiscard]] int rim_node(double angle, int lip = 1) const;
  /// Place of the rim at `angle` in the unloaded leaf, between nodes where need be.
  [[nodiscard]] Point rim_point(double angle) const;
  /// Angle and radial force [mN] of each node of a held edge; positive when it is pulled outward.
  [[nodiscard]] std::vector<std::array<double, 2>> holding_forces() const;
  /// Energy released per mm of growth of cut `k` [mN].
  [[nodiscard]] double tip_release_mN(std::size_t k) const;

 private:
  [[nodiscard]] std::vector<Part*> parts() const;
  [[nodiscard]] std::vector<int> dof_map() const;
  [[nodiscard]] double edge_position(int sector, double eta, std::array<int, 3>& nodes, std::array<double, 3>& shares,
                                     double& length_per_eta) const;

  LeafShape shape_;
  std::unique_ptr<Mesh> mesh_;
  std::unique_ptr<Leaf> leaf_;
  std::unique_ptr<Zonule> zonule_;
  std::unique_ptr<Part> hold_, load_;
  bool pinned_ = false;
  std::vector<int> open_;
  std::vector<double> x_;
};

}  // namespace capsim::checks
