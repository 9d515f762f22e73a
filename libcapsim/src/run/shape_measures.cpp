// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_measures.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace capsim {
namespace {

double radius(const std::vector<double>& x, int node) {
  return std::hypot(x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]);
}

constexpr double least_between_lines_mm = 0.02;  // in situ, where a leaf is drawn in so far that lines would meet

/// Where a line lies: some way beyond the line before, and short of the equator by room for the lines that follow.
double between_neighbours(double wanted, double before, double equator, int lines_to_follow) {
  const double half = 0.5 * (before + equator), room = least_between_lines_mm * lines_to_follow;
  const double most = lines_to_follow > 0 ? std::max(equator - room, half) : equator;
  return std::clamp(std::min(wanted, most), before + std::min(least_between_lines_mm, half - before), equator);
}

// A column of the leaf in situ: on a ray, or through the middle of a sector, in straight pieces. At the ends of the
// pieces the distance from the rim, that from the pole, and the fraction of the way to the equator in the reference.
struct ColumnInSitu {
  std::vector<double> distance, from_pole, at;
};

ColumnInSitu walk_column(const Mesh& mesh, std::span<const double> rest, std::span<const double> fractions, int c) {
  constexpr int pieces = 4;  // per layer
  const int cols = mesh.columns(), order = mesh.plan().order;
  const bool middle = order == 2 && c % 2 == 1;
  const int sector = middle ? (c - 1) / 2 : c / order;
  const Patch& leaf = mesh.anterior();
  const int n = leaf.nodes_per_element;
  ColumnInSitu column{{0.0}, {}, {0.0}};
  Point last{};
  for (int l = 0; l < mesh.plan().layers; ++l)
    for (int k = l == 0 ? 0 : 1; k <= pieces; ++k) {
      double shape[8];
      quad_shape(order, -1 + 2.0 * k / pieces, middle ? 0.0 : -1.0, shape);
      Point p{0, 0};
      for (int a = 0; a < n; ++a) {
        const std::size_t node =
            static_cast<std::size_t>(leaf.nodes[static_cast<std::size_t>(mesh.element(l, sector)) * n + a]);
        p[0] += shape[a] * rest[2 * node];
        p[1] += shape[a] * rest[2 * node + 1];
      }
      if (l > 0 || k > 0) {
        const double inner = fractions[static_cast<std::size_t>(l) * cols + c],
                     outer = fractions[static_cast<std::size_t>(l + 1) * cols + c];
        column.distance.push_back(column.distance.back() + std::hypot(p[0] - last[0], p[1] - last[1]));
        column.at.push_back(inner + (outer - inner) * k / pieces);
      }
      column.from_pole.push_back(std::hypot(p[0], p[1]));
      last = p;
    }
  return column;
}

double interpolate(const std::vector<double>& from, const std::vector<double>& to, double value) {
  std::size_t i = 1;
  while (i + 1 < from.size() && from[i] < value) ++i;
  const double t = (value - from[i - 1]) / (from[i] - from[i - 1]);
  return to[i - 1] + t * (to[i] - to[i - 1]);
}

}  // namespace

double column_width(const Mesh& mesh, int c) {
  const int cols = mesh.columns();
  const std::vector<double>& angle = mesh.plan().column_angle;
  return std::remainder(
             angle[static_cast<std::size_t>((c + 1) % cols)] - angle[static_cast<std::size_t>((c + cols - 1) % cols)],
             2 * pi) /
         2;
}

double mean_equator_radius(const Mesh& mesh, const std::vector<double>& x) {
  double sum = 0;
  for (int c = 0; c < mesh.columns(); ++c)
    sum += column_width(mesh, c) * radius(x, mesh.equator_nodes()[static_cast<std::size_t>(c)]);
  return sum / (2 * pi);
}

std::vector<double> lines_in_situ(const ShapeKey& key, const Mesh& mesh, std::span<const double> rest,
                                  std::span<const double> fractions) {
  const int cols = mesh.columns();
  const double contact = 0.5 * key.contact_diameter_mm;
  std::vector<double> next(fractions.size());
  for (int c = 0; c < cols; ++c) {
    const ColumnInSitu column = walk_column(mesh, rest, fractions, c);
    // In-situ distance of every mandatory line in this column, then the lines between.
    int line = 0;
    double before = 0;
    next[static_cast<std::size_t>(c)] = 0;
    for (std::size_t i = 1; i < key.lines.size(); ++i) {
      const double equator = column.distance.back();
      double here = key.lines[i].distance_mm;
      if (key.lines[i].kind == LayerLine::equator) here = equator;
      if (key.lines[i].kind == LayerLine::edge) here = interpolate(column.from_pole, column.distance, contact);
      here = between_neighbours(here, before, equator, static_cast<int>(key.lines.size() - 1 - i));
      for (int k = 1; k <= key.lines[i].layers_before; ++k) {
        const double d = before + key.spacing[i - 1][static_cast<std::size_t>(k)] * (here - before);
        const bool last = key.lines[i].kind == LayerLine::equator && k == key.lines[i].layers_before;
        ++line;
        next[static_cast<std::size_t>(line) * cols + c] = last ? 1.0 : interpolate(column.distance, column.at, d);
      }
      before = here;
    }
  }
  return next;
}

std::vector<double> carried_along(const Mesh& mesh, std::span<const double> before, std::span<const double> x) {
  const std::vector<double>& now = mesh.reference();
  std::vector<double> moved(x.begin(), x.end());
  for (std::size_t i = 0; i < now.size(); ++i) moved[i] += now[i] - before[i];
  // Along each column: how far out a node lies, and the displacement there.
  std::vector<std::size_t> nodes;
  std::vector<double> out, displacement[2];
  const auto distance = [&](std::span<const double> at, std::size_t node) {
    const std::size_t rim = nodes.front();
    return std::hypot(at[node] - at[rim], at[node + 1] - at[rim + 1]);
  };
  for (int c = 0; c < mesh.columns(); ++c)
    for (const int lip : {0, 1}) {
      if (lip == 1 && mesh.node(0, c, 1) == mesh.node(0, c, 0)) continue;  // no cut here
      nodes.clear();
      for (int r = 0; r < mesh.rows(); ++r)
        if (mesh.node(r, c, lip) >= 0) nodes.push_back(2 * static_cast<std::size_t>(mesh.node(r, c, lip)));
      out.clear();
      for (auto& d : displacement) d.clear();
      for (const std::size_t node : nodes) {
        out.push_back(distance(before, node) / distance(before, nodes.back()));
        for (std::size_t i = 0; i < 2; ++i) displacement[i].push_back(x[node + i] - before[node + i]);
      }
      for (const std::size_t node : nodes)
        for (std::size_t i = 0; i < 2; ++i)
          moved[node + i] =
              now[node + i] + interpolate(out, displacement[i], distance(now, node) / distance(now, nodes.back()));
    }
  return moved;
}

std::vector<Point> on_circle(const Mesh& mesh, double radius_mm) {
  std::vector<Point> points;
  for (const double angle : mesh.plan().column_angle)
    points.push_back({radius_mm * std::cos(angle), radius_mm * std::sin(angle)});
  return points;
}

double farthest_from(const std::vector<Point>& points, const std::vector<Point>& polygon) {
  double most = 0;
  for (const Point& p : points) {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      const Point &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
      const double dx = b[0] - a[0], dy = b[1] - a[1], length = dx * dx + dy * dy;
      const double t = length > 0 ? std::clamp(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length, 0.0, 1.0) : 0;
      least = std::min(least, std::hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy));
    }
    most = std::max(most, least);
  }
  return most;
}

}  // namespace capsim
