// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  An annulus under load, solved by the library's own parts and equilibrium.
///
/// Leaf + fibrous tissue with active tension + zonule + dead load on the outer edge, as many of them
/// as the case has. Cases of linear elasticity scale all loads by a small factor and the answer back.

#include <array>
#include <functional>
#include <string>
#include <vector>

#include "annulus.hpp"
#include "capsim/capsule.hpp"
#include "capsim/mesh.hpp"

namespace capsim::checks {

struct Loads {
  /// Force per reference length of the outer edge [mN/mm], x y, by angle; empty: none.
  std::function<Point(double angle)> traction{};
  /// Active tension {hoop, radial} [mN/mm] by reference radius; empty: none.
  std::function<std::array<double, 2>(double radius)> active{};
  /// Radial springs on the outer edge [mN/mm per mm of edge], and their pull at zero displacement [mN/mm].
  double foundation = 0, pull = 0;
  /// Factor on the springs by angle; empty: one.
  std::function<double(double angle)> foundation_factor{};
  /// The outer edge moved to this multiple of its radius and held there; 0: not held.
  double hold_outer_at = 0;
  /// Which rigid modes symmetry excludes: none, mirror at the x axis, mirror at both axes.
  int mirror_axes = 2;
  /// Growth tensor's stretches {hoop, radial} of the leaf by reference radius; empty: none.
  std::function<std::array<double, 2>(double radius)> growth{};
  /// Shortest allowed way to the answer for large loads: positions to start from; empty: the reference.
  std::vector<double> start{};
};

/// The solved annulus.
struct Solved {
  std::vector<double> x;
  bool converged = false;
  double outer_force_mN = 0;  ///< Sum of radial reactions at a held outer edge.
  double energy = 0;
};

class LoadedAnnulus {
 public:
  LoadedAnnulus(const AnnulusShape& shape, const Membrane& membrane, double thickness_mm)
      : mesh_(annulus(shape)), membrane_(membrane), thickness_(thickness_mm), outer_(shape.outer_mm) {}

  [[nodiscard]] const Mesh& mesh() const noexcept { return mesh_; }

  /// Equilibrium under `factor` times the loads (stiffness of the springs not scaled).
  [[nodiscard]] Solved solve(const Loads& loads, double factor = 1) const;

  /// Displacements per unit of load in the limit of small loads: two small factors, extrapolated,
  /// which leaves an error of second order in strains of about 1e-4. Empty when not converged.
  [[nodiscard]] std::vector<double> linear_displacement(const Loads& loads) const;

  /// Fourier amplitudes of a displacement on the rim (row 0) or the outer edge (last row):
  /// cos(n angle) of the radial, sin(n angle) of the hoop component.
  [[nodiscard]] double radial(const std::vector<double>& displacement, int n, bool outer) const;
  [[nodiscard]] double hoop(const std::vector<double>& displacement, int n, bool outer) const;
  /// Mean radius of the rim or the outer edge at positions x.
  [[nodiscard]] double mean_radius(const std::vector<double>& x, bool outer) const;

 private:
  Mesh mesh_;
  Membrane membrane_;
  double thickness_, outer_;
};

}  // namespace capsim::checks
