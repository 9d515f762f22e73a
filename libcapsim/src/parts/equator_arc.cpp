// SPDX-License-Identifier: BSD-3-Clause
#include "parts/equator_arc.hpp"

#include <algorithm>
#include <cmath>

#include "capsim/frame.hpp"

namespace capsim {
namespace {

constexpr double gauss_at[3] = {-0.7745966692414834, 0, 0.7745966692414834},
                 gauss_weight[3] = {5.0 / 18, 8.0 / 18, 5.0 / 18};
constexpr double no_width = 1e-9;  // rad: what rounding leaves where two limits coincide

struct Sector {
  double start, width;
  Sector(const Mesh& mesh, int index) {
    const int order = mesh.plan().order, cols = mesh.columns(), c = index * order;
    start = mesh.plan().column_angle[c];
    width = std::remainder(mesh.plan().column_angle[(c + order) % cols] - start, 2 * pi);
  }
};

// Three Gauss points between two angles that lie in one sector.
void add_piece(int index, const Sector& sector, double from, double to, std::vector<ArcPoint>& points) {
  double start = from;
  for (int g = 0; g < 3; ++g) {
    ArcPoint p;
    p.sector = index;
    p.at = 0.5 * (from + to) + 0.5 * (to - from) * gauss_at[g];
    p.eta = 2 * (p.at - sector.start) / sector.width - 1;
    p.width = gauss_weight[g] * (to - from);
    p.middle = start + 0.5 * p.width;
    start += p.width;
    points.push_back(p);
  }
}

}  // namespace

EquatorPlace place_on_equator(const Mesh& mesh, const ArcPoint& point) {
  const int order = mesh.plan().order, cols = mesh.columns(), row = mesh.rows() - 1, c = point.sector * order;
  const double eta = point.eta;
  EquatorPlace place;
  place.count = order + 1;
  place.nodes = {mesh.node(row, c), mesh.node(row, (c + order) % cols), order == 2 ? mesh.node(row, c + 1) : 0};
  if (order == 1)
    place.share = {0.5 * (1 - eta), 0.5 * (1 + eta), 0};
  else
    place.share = {-0.5 * eta * (1 - eta), 0.5 * eta * (1 + eta), 1 - eta * eta};
  return place;
}

std::vector<ArcPoint> arc_points(const Mesh& mesh, double middle, double width) {
  std::vector<ArcPoint> points;
  for (int s = 0; s < mesh.plan().around; ++s) {
    const Sector sector(mesh, s);
    const double half = 0.5 * sector.width;
    const double offset = angle_difference(sector.start + half, middle);  // middle of the sector, seen from the arc's
    // An arc of more than half a turn can meet a sector from both sides.
    for (const double turn : {-2 * pi, 0.0, 2 * pi}) {
      const double from = std::max(-0.5 * width, offset + turn - half),
                   to = std::min(0.5 * width, offset + turn + half);
      if (to - from <= no_width) continue;
      const double shift = sector.start + half - offset - turn;
      add_piece(s, sector, from + shift, to + shift, points);
    }
  }
  return points;
}

std::vector<ArcPoint> equator_points(const Mesh& mesh) {
  constexpr double hour = pi / 6;
  std::vector<ArcPoint> points;
  for (int s = 0; s < mesh.plan().around; ++s) {
    const Sector sector(mesh, s);
    const double end = sector.start + sector.width;
    double from = sector.start;
    while (end - from > no_width) {
      // Hours change half way between clock hours; twelve o'clock lies at a quarter turn.
      double limit = hour * (std::floor((from + no_width) / hour - 0.5) + 1.5);
      if (end - limit <= no_width) limit = end;
      add_piece(s, sector, from, limit, points);
      from = limit;
    }
  }
  return points;
}

}  // namespace capsim
