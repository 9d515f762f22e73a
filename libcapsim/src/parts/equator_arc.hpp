// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// Integration over arcs of the equator. An arc is cut at the columns of the mesh, and wherever else the integrand may
// jump, and each piece has Gauss points of its own: the integral is over the arc that was named, whatever the mesh.
#include <array>
#include <vector>

#include "capsim/mesh.hpp"

namespace capsim {

/// One integration point on the equator.
struct ArcPoint {
  int sector = 0;     ///< Of the mesh, counter-clockwise from column 0.
  double eta = 0;     ///< Local coordinate in the sector, -1..1.
  double at = 0;      ///< Angle of the point [rad].
  double width = 0;   ///< Share of the arc that the point stands for [rad]; the widths sum to the arc.
  double middle = 0;  ///< Middle of that share, the shares lying side by side [rad].
};

/// A point of the equator as the mesh has it: nodes of its sector's edge, and what each counts for.
struct EquatorPlace {
  int count = 0;
  std::array<int, 3> nodes{};
  std::array<double, 3> share{};
};
[[nodiscard]] EquatorPlace place_on_equator(const Mesh& mesh, const ArcPoint& point);

/// Points of the arc of width `width` about the angle `middle`.
[[nodiscard]] std::vector<ArcPoint> arc_points(const Mesh& mesh, double middle, double width);

/// Points all round, in the order of the sectors, cut at the limits between clock hours.
[[nodiscard]] std::vector<ArcPoint> equator_points(const Mesh& mesh);

}  // namespace capsim
