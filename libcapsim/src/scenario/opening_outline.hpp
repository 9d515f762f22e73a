// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The rim of an opening as a curve: centre, distance to the rim in a direction, soundness of a trace.
///
/// A traced outline is a closed polygon of the given points, wound either way. Its centre is its
/// centroid of area, and it must be star-shaped about it: every ray from the centre meets the rim once.

#include <optional>
#include <utility>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim {

/// Centroid of the outline, or the stated centre of a circle or ellipse [mm].
[[nodiscard]] Point opening_center(const OpeningSpec& opening);

/// Distance from the centre to the rim in the direction `angle` [mm]; 0 when a ray misses the outline.
[[nodiscard]] double rim_distance(const OpeningSpec& opening, double angle);

/// Signed area of a closed polygon [mm^2]; positive when counter-clockwise.
[[nodiscard]] double polygon_area(const std::vector<Point>& points);

/// Centroid of area of a closed polygon [mm]; the mean of its points when it has no area.
[[nodiscard]] Point polygon_centroid(const std::vector<Point>& points);

/// True when the points run once round `center` without ever turning back.
[[nodiscard]] bool is_star_shaped(const std::vector<Point>& points, const Point& center);

/// The first two edges (numbered by their first point) that cross or touch, if any.
[[nodiscard]] std::optional<std::pair<std::size_t, std::size_t>> crossing_edges(const std::vector<Point>& points);

}  // namespace capsim
