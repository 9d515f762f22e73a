// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How a bag at rest answers to a change of its unloaded shape.
///
/// Model.   At rest g(x; z) = 0, with z the unloaded shape: equator radius, rim points, insertions on the leaf. A
///          change dz moves the rest shape by dx = -K^-1 (dg/dz) dz, with K the exact tangent at x. The columns of
///          dg/dz are differences of the forces: a rim point moves the nodes of its own column only, so that columns
///          some way apart are tried together, in a handful of evaluations whatever the mesh.
/// Error.   Central differences are good to some 1e-8 of a force (a step of a millionth of the eye): enough that
///          Newton's method loses nothing.

#include <functional>
#include <span>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "capsim/mesh.hpp"

namespace capsim {

/// The unloaded shape as one list of numbers: the equator's radius, x and y of each rim point, the insertions.
struct ShapeUnknowns {
  std::size_t columns = 0, insertions = 0;
  std::vector<int> sector_of_insertion;  ///< The sector of the mesh that each of them lies in, in order.
  [[nodiscard]] std::size_t size() const noexcept { return 1 + 2 * columns + insertions; }
  [[nodiscard]] static std::size_t radius() noexcept { return 0; }
  [[nodiscard]] static std::size_t rim(std::size_t column, std::size_t axis) noexcept { return 1 + 2 * column + axis; }
  [[nodiscard]] std::size_t insertion(std::size_t i) const noexcept { return 1 + 2 * columns + i; }
};

/// Those of a mesh, with or without insertions on the leaf.
[[nodiscard]] ShapeUnknowns shape_unknowns(const Mesh& mesh, std::size_t insertions);

/// Nearest to the rim and to the equator that an insertion may lie, as a fraction of the leaf's width. Where the
/// opening has taken the place that an insertion would have, it lies at the rim.
inline constexpr double least_insertion = 0.02, most_insertion = 0.999;
/// Whether an insertion lies at one of these and would go on; `beyond_mm` is how far it lies outside its place.
[[nodiscard]] constexpr bool held_at_an_edge(double fraction, double beyond_mm) noexcept {
  return (fraction <= least_insertion && beyond_mm > 0) || (fraction >= most_insertion && beyond_mm < 0);
}

/// Groups of unknowns that no force feels two of.
[[nodiscard]] std::vector<std::vector<std::size_t>> independent_groups(const Mesh& mesh, const ShapeUnknowns& unknowns);

/// On both sides of z, or between z, whose forces are asked for first, and the side ahead: with half the evaluations,
/// good to some 1e-6 of a force.
enum class Differences { central, forward };

/// dx / dz for every unknown z in turn, as degrees of freedom. `forces_at(z)` are the forces (by degree of freedom) on
/// the bag held at its rest shape while its unloaded shape is z; `solve_four` applies K^-1 to four columns in place,
/// b[4 * dof + k]. Null: -dg / dz is given as it is.
[[nodiscard]] std::vector<std::vector<double>> rest_shape_rates(
    const Mesh& mesh, const ShapeUnknowns& unknowns, std::span<const int> dof, std::span<const double> z,
    std::span<const double> steps, Differences differences,
    const std::function<std::span<const double>(std::span<const double>)>& forces_at,
    const std::function<void(std::vector<double>&)>& solve_four);

}  // namespace capsim
