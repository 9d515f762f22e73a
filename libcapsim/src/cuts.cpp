// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/cuts.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {

double tip_energy_release_mN(const Model& model, const Leaf& leaf, const FibrousTissue* tissue,
                             std::span<const double> x, int line, int tip_layer) {
  const Mesh& mesh = model.mesh();
  const MeshPlan::CutLine& cut = mesh.plan().cuts[static_cast<std::size_t>(line)];
  const int order = mesh.plan().order, cols = mesh.columns(), around = mesh.plan().around, layers = mesh.plan().layers;
  const int reach = std::min({2, tip_layer, layers - tip_layer});  // layers of elements in the domain
  const std::vector<double>& reference = mesh.reference();

  // Direction of growth: from the previous node of the cut line to the tip.
  const std::size_t tip = static_cast<std::size_t>(mesh.tip_node(line, tip_layer));
  const std::size_t before = static_cast<std::size_t>(mesh.node(tip_layer * order - 1, cut.ray * order));
  double dx = reference[2 * tip] - reference[2 * before], dy = reference[2 * tip + 1] - reference[2 * before + 1];
  const double d = std::hypot(dx, dy);
  dx /= d;
  dy /= d;

  // Weight of every node: 1 at the tip (and in the first ring of a two-ring domain), 0 at the border.
  std::vector<double> weight(static_cast<std::size_t>(mesh.nodes()), 0.0);
  for (int r = (tip_layer - reach) * order; r <= (tip_layer + reach) * order; ++r)
    for (int c = -reach * order; c <= reach * order; ++c) {
      const int column = ((cut.ray * order + c) % cols + cols) % cols;
      const double ring = std::max(std::abs(r - tip_layer * order), std::abs(c)) / static_cast<double>(order);
      for (const int lip : {0, 1})
        if (const int n = mesh.node(r, column, lip); n >= 0) weight[static_cast<std::size_t>(n)] = std::clamp(reach - ring, 0.0, 1.0);
    }

  // A patch of just these elements, with the parts' own thickness and tissue.
  const Patch& all = mesh.anterior();
  Patch patch = all;
  patch.nodes.clear();
  Leaf::Region region{&patch, {}, {}};
  const Leaf::Region& source = leaf.regions().front();
  std::vector<double> hoop;
  FibrousTissue::Fields fields;
  const std::size_t per = static_cast<std::size_t>(all.points_per_element), n = static_cast<std::size_t>(all.nodes_per_element);
  int tissue_elements = 0;
  for (int l = tip_layer - reach; l < tip_layer + reach; ++l)
    for (int s = -reach; s < reach; ++s) {
      const int e = mesh.element(l, ((cut.ray + s) % around + around) % around);
      patch.nodes.insert(patch.nodes.end(), all.nodes.begin() + e * static_cast<int>(n), all.nodes.begin() + (e + 1) * static_cast<int>(n));
      const bool has_tissue = tissue != nullptr && e < tissue->last_element();
      if (has_tissue) ++tissue_elements;  // layers run outward, so elements with tissue come first
      for (std::size_t q = 0; q < per; ++q) {
        const std::size_t p = static_cast<std::size_t>(e) * per + q;
        region.thickness_mm.push_back(source.thickness_mm[p]);
        if (!source.growth.empty())
          region.growth.insert(region.growth.end(), source.growth.begin() + static_cast<std::ptrdiff_t>(4 * p),
                               source.growth.begin() + static_cast<std::ptrdiff_t>(4 * p + 4));
        if (!has_tissue) continue;
        hoop.push_back(tissue->hoop()[2 * p]);
        hoop.push_back(tissue->hoop()[2 * p + 1]);
        fields.fraction.push_back(tissue->fields().fraction[p]);
        for (int i = 0; i < fibre_families; ++i) {
          fields.natural[i].push_back(tissue->fields().natural[i][p]);
          if (!tissue->fields().active[i].empty()) fields.active[i].push_back(tissue->fields().active[i][p]);
        }
      }
    }
  const auto energy = [&](double growth) {
    std::vector<double> moved = reference;
    for (std::size_t k = 0; k < weight.size(); ++k) {
      moved[2 * k] += growth * weight[k] * dx;
      moved[2 * k + 1] += growth * weight[k] * dy;
    }
    patch.measure(moved);
    double total = Leaf("domain", leaf.membrane(), {region}).energy(x);
    if (tissue_elements > 0) {
      FibrousTissue part(patch, 0, tissue_elements, hoop, model.scenario().contraction);
      part.fields() = fields;
      total += part.energy(x);
    }
    return total;
  };
  const double h = 1e-4 * d;
  return -(energy(h) - energy(-h)) / (2 * h);
}

double rim_gape_mm(const Mesh& mesh, std::span<const double> x, int line, int layers) {
  const auto lips = mesh.lip_nodes(line, layers);
  const std::size_t a = static_cast<std::size_t>(lips.front()[0]), b = static_cast<std::size_t>(lips.front()[1]);
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
