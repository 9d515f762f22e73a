// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What the search for the unloaded shape measures at rest, and how it lays the mesh.

#include <span>
#include <vector>

#include "capsim/mesh.hpp"
#include "run/stress_free_shape.hpp"

namespace capsim {

/// Half the angle between the neighbours of column c: the columns need not be evenly spaced.
[[nodiscard]] double column_width(const Mesh& mesh, int c);
[[nodiscard]] double mean_equator_radius(const Mesh& mesh, const std::vector<double>& x);
/// Layer lines by in-situ distance from the rim along each column, as fractions of the reference.
[[nodiscard]] std::vector<double> lines_in_situ(const ShapeKey& key, const Mesh& mesh, std::span<const double> rest,
                                                std::span<const double> fractions);
/// Positions at rest, `x` of a bag whose unloaded mesh lay at `before`, once that mesh has been placed anew: layer
/// lines that slide along the leaf take the displacement of the material they come to.
[[nodiscard]] std::vector<double> carried_along(const Mesh& mesh, std::span<const double> before,
                                                std::span<const double> x);
/// The points of all columns on a circle about the pole.
[[nodiscard]] std::vector<Point> on_circle(const Mesh& mesh, double radius_mm);
/// Largest distance of points from a closed polygon [mm].
[[nodiscard]] double farthest_from(const std::vector<Point>& points, const std::vector<Point>& polygon);

}  // namespace capsim
