// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  An annulus of the library's own mesh, leaf and tissue: the body of most worked cases.

#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/contraction_law.hpp"
#include "capsim/mesh.hpp"

namespace capsim::checks {

struct AnnulusShape {
  double inner_mm = 2.5, outer_mm = 5.0;
  int around = 48, layers = 6, order = 2, posterior_layers = 0;
  std::vector<double> lines{};  ///< Radii [mm] of the layer lines, inner and outer included; empty: even.
  std::vector<MeshPlan::CutLine> cuts{};
  Point inner_center_mm{0, 0};
};

/// The first column lies at angle 0, so that columns lie on both axes when `around` divides by 4.
[[nodiscard]] Mesh annulus(const AnnulusShape& shape);

/// Radii from `inner` to `outer` that grow by a constant factor from line to line.
[[nodiscard]] std::vector<double> growing_radii(double inner, double outer, int layers);

/// A leaf of constant thickness on the anterior patch, and on the posterior ones if there are any.
[[nodiscard]] Leaf anterior_leaf(const Mesh& mesh, const Membrane& membrane, double thickness_mm);
[[nodiscard]] Leaf posterior_leaf(const Mesh& mesh, const Membrane& membrane, double thickness_mm);

/// Unit hoop direction about the origin, x y per Gauss point of elements first..last-1.
[[nodiscard]] std::vector<double> hoop_directions(const Mesh& mesh, int first, int last);

/// Distance from the origin of every Gauss point of the anterior patch in the reference [mm].
[[nodiscard]] std::vector<double> point_radii(const Mesh& mesh);

/// The exponential law that is Hooke's law of plane stress at small strain, compression included.
[[nodiscard]] Membrane hookean(double modulus_kPa, double poisson);

/// The neo-Hookean law in full, compression included.
[[nodiscard]] Membrane neo_hookean(double mu_kPa);

/// Index map with every node free.
[[nodiscard]] std::vector<int> all_free(const Mesh& mesh);

/// Numbers the coordinates that are not -1 again, without holes.
void renumber(std::vector<int>& dof);

}  // namespace capsim::checks
