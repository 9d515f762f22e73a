// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_measures.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace capsim {
namespace {

// Sizes of an eye neither overflow nor vanish when they are squared.
double length_of(double x, double y) { return std::sqrt(x * x + y * y); }

double radius(const std::vector<double>& x, int node) {
  return length_of(x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]);
}

constexpr double least_between_lines_mm = 0.02;  // in situ, where a leaf is drawn in so far that lines would meet

/// Where a line lies: some way beyond the line before, and short of the equator by room for the lines that follow.
double between_neighbours(double wanted, double before, double equator, int lines_to_follow) {
  const double half = 0.5 * (before + equator), room = least_between_lines_mm * lines_to_follow;
  const double most = lines_to_follow > 0 ? std::max(equator - room, half) : equator;
  return std::clamp(std::min(wanted, most), before + std::min(least_between_lines_mm, half - before), equator);
}

constexpr int pieces = 4;  // of a layer

// Shape functions at the ends of a layer's pieces, on a ray or through the middle of a sector.
struct PiecesOfLayer {
  double shape[pieces + 1][8];
  PiecesOfLayer(int order, bool middle) noexcept {
    for (int k = 0; k <= pieces; ++k) quad_shape(order, -1 + 2.0 * k / pieces, middle ? 0.0 : -1.0, shape[k]);
  }
};

// A column of the leaf in situ: on a ray, or through the middle of a sector, in straight pieces. At the ends of the
// pieces the distance from the rim, that from the pole, and the fraction of the way to the equator in the reference.
struct ColumnInSitu {
  std::vector<double> distance, from_pole, at;
};

void walk_column(const Mesh& mesh, std::span<const double> rest, std::span<const double> fractions, int c,
                 const PiecesOfLayer& along, ColumnInSitu& column) {
  const int cols = mesh.columns(), order = mesh.plan().order, sector = c / order;
  const Patch& leaf = mesh.anterior();
  const int n = leaf.nodes_per_element;
  column.distance.assign(1, 0.0);
  column.from_pole.clear();
  column.at.assign(1, 0.0);
  Point last{};
  for (int l = 0; l < mesh.plan().layers; ++l) {
    const int* nodes = &leaf.nodes[static_cast<std::size_t>(mesh.element(l, sector)) * static_cast<std::size_t>(n)];
    const double inner = fractions[static_cast<std::size_t>(l) * cols + c],
                 outer = fractions[static_cast<std::size_t>(l + 1) * cols + c];
    for (int k = l == 0 ? 0 : 1; k <= pieces; ++k) {
      Point p{0, 0};
      for (int a = 0; a < n; ++a)
        for (std::size_t i = 0; i < 2; ++i)
          p[i] += along.shape[k][a] * rest[2 * static_cast<std::size_t>(nodes[a]) + i];
      if (l > 0 || k > 0) {
        column.distance.push_back(column.distance.back() + length_of(p[0] - last[0], p[1] - last[1]));
        column.at.push_back(inner + (outer - inner) * k / pieces);
      }
      column.from_pole.push_back(length_of(p[0], p[1]));
      last = p;
    }
  }
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
  const int order = mesh.plan().order;
  const PiecesOfLayer on_ray(order, false), through_middle(order, true);
  std::vector<double> next(fractions.size());
  ColumnInSitu column;
  for (int c = 0; c < cols; ++c) {
    walk_column(mesh, rest, fractions, c, c % order == 0 ? on_ray : through_middle, column);
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
  // Along each column: how far out a node lies and lay, as a share of the way, and its displacement.
  std::vector<std::size_t> nodes;
  std::vector<double> lay, lies, displacement[2];
  const auto shares = [&nodes](std::span<const double> at, std::vector<double>& share) {
    share.clear();
    const std::size_t rim = nodes.front();
    for (const std::size_t node : nodes) share.push_back(length_of(at[node] - at[rim], at[node + 1] - at[rim + 1]));
    const double whole = share.back();
    for (double& s : share) s /= whole;
  };
  for (int c = 0; c < mesh.columns(); ++c)
    for (const int lip : {0, 1}) {
      if (lip == 1 && mesh.node(0, c, 1) == mesh.node(0, c, 0)) continue;  // no cut here
      nodes.clear();
      for (int r = 0; r < mesh.rows(); ++r)
        if (mesh.node(r, c, lip) >= 0) nodes.push_back(2 * static_cast<std::size_t>(mesh.node(r, c, lip)));
      shares(before, lay);
      shares(now, lies);
      for (std::size_t i = 0; i < 2; ++i) {
        displacement[i].clear();
        for (const std::size_t node : nodes) displacement[i].push_back(x[node + i] - before[node + i]);
        for (std::size_t k = 0; k < nodes.size(); ++k)
          moved[nodes[k] + i] = now[nodes[k] + i] + interpolate(lay, displacement[i], lies[k]);
      }
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
      least = std::min(least, length_of(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy));
    }
    most = std::max(most, least);
  }
  return most;
}

}  // namespace capsim
