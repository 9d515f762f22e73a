// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Distances of a polygon's edges from the pole, the least of which is the radius of the clear circle.

#include <span>
#include <vector>

#include "capsim/frame.hpp"

namespace capsim {

/// Distance [mm] of every edge from (0, 0); empty where that lies outside the polygon.
void edge_distances(std::span<const Point> polygon, std::vector<double>& distances);

}  // namespace capsim
