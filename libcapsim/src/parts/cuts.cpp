// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/cuts.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {

double tip_energy_release_mN(const Mesh& mesh, const Leaf& leaf, std::span<const FibrousTissue* const> tissues,
                             std::span<const double> x, int line, int tip_layer, std::span<const Part* const> others) {
  TipWorkspace workspace;
  return tip_energy_release_mN(mesh, leaf, tissues, x, line, tip_layer, workspace, others);
}

double tip_energy_release_mN(const Mesh& mesh, const Leaf& leaf, std::span<const FibrousTissue* const> tissues,
                             std::span<const double> x, int line, int tip_layer, TipWorkspace& workspace,
                             std::span<const Part* const> others) {
  const MeshPlan::CutLine& cut = mesh.plan().cuts[static_cast<std::size_t>(line)];
  const int order = mesh.plan().order, cols = mesh.columns(), layers = mesh.plan().layers;
  const int reach = std::min({2, tip_layer, layers - tip_layer});  // layers of elements in the domain
  const std::vector<double>& reference = mesh.reference();

  // Direction of growth: from the previous node of the cut line to the tip.
  const std::size_t tip = static_cast<std::size_t>(mesh.tip_node(line, tip_layer));
  const std::size_t before = static_cast<std::size_t>(mesh.node(tip_layer * order - 1, cut.ray * order));
  double dx = reference[2 * tip] - reference[2 * before], dy = reference[2 * tip + 1] - reference[2 * before + 1];
  const double d = std::hypot(dx, dy);
  dx /= d;
  dy /= d;

  // Shift of every node: 1 at the tip (and in the first ring of a two-ring domain), 0 at the border.
  std::vector<double>& shift = workspace.shift;
  shift.assign(2 * static_cast<std::size_t>(mesh.nodes()), 0.0);
  for (int r = (tip_layer - reach) * order; r <= (tip_layer + reach) * order; ++r)
    for (int c = -reach * order; c <= reach * order; ++c) {
      const int column = ((cut.ray * order + c) % cols + cols) % cols;
      const double ring = std::max(std::abs(r - tip_layer * order), std::abs(c)) / static_cast<double>(order);
      const double weight = std::clamp(reach - ring, 0.0, 1.0);
      for (const int lip : {0, 1})
        if (const int n = mesh.node(r, column, lip); n >= 0) {
          shift[2 * static_cast<std::size_t>(n)] = weight * dx;
          shift[2 * static_cast<std::size_t>(n) + 1] = weight * dy;
        }
    }
  double energy = leaf.energy_by_reference(x, shift, workspace.ahead, workspace.behind);
  for (const FibrousTissue* tissue : tissues)
    energy += tissue->energy_by_reference(x, shift) +
              tissue->energy_by_place(x, shift, reference, mesh.plan().around, workspace.fields);
  for (const Part* part : others) energy += part->energy_by_tip_growth(x, shift);
  return -energy;
}

double rim_gape_mm(const Mesh& mesh, std::span<const double> x, int line, int layers) {
  const int column = mesh.plan().cuts[static_cast<std::size_t>(line)].ray * mesh.plan().order;
  const std::size_t a = static_cast<std::size_t>(mesh.node(0, column, 0)),
                    b = static_cast<std::size_t>(mesh.node(0, column, 1));
  const std::size_t tip = static_cast<std::size_t>(mesh.tip_node(line, layers));
  const double gx = x[2 * b] - x[2 * a], gy = x[2 * b + 1] - x[2 * a + 1];
  // The counter-clockwise lip should lie counter-clockwise, seen from the tip inward.
  const double mx = 0.5 * (x[2 * a] + x[2 * b]) - x[2 * tip], my = 0.5 * (x[2 * a + 1] + x[2 * b + 1]) - x[2 * tip + 1];
  const double side = gx * my - gy * mx;
  return side >= 0 ? std::hypot(gx, gy) : -std::hypot(gx, gy);
}

double length_along_leaf_mm(const Mesh& mesh, std::span<const double> x, int line, int layers) {
  double length = 0;
  std::size_t last = static_cast<std::size_t>(mesh.tip_node(line, layers));
  const auto lips = mesh.lip_nodes(line, layers);
  for (auto pair = lips.rbegin(); pair != lips.rend(); ++pair) {
    const std::size_t node = static_cast<std::size_t>((*pair)[0]);
    length += std::hypot(x[2 * node] - x[2 * last], x[2 * node + 1] - x[2 * last + 1]);
    last = node;
  }
  return length;
}

}  // namespace capsim
