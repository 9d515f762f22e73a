// SPDX-License-Identifier: BSD-3-Clause
#include "run/bag_parts.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {

void fill_thickness(Leaf& leaf, const Mesh& mesh, const CapsuleSpec& capsule, double equator_radius_mm) {
  Leaf::Region& region = leaf.regions().front();
  const Patch& patch = *region.patch;
  if (capsule.anterior_thickness_profile.empty()) {
    region.thickness_mm.assign(static_cast<std::size_t>(patch.points()), anterior_thickness_mm(capsule, 0));
    return;
  }
  region.thickness_mm.clear();
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      const Point p = patch.at(mesh.reference(), e, q);
      region.thickness_mm.push_back(anterior_thickness_mm(capsule, std::hypot(p[0], p[1]) / equator_radius_mm));
    }
}

std::unique_ptr<Leaf> make_anterior_leaf(const Mesh& mesh, const CapsuleSpec& capsule, double equator_radius_mm) {
  auto leaf =
      std::make_unique<Leaf>("anterior leaf", Membrane(capsule), std::vector<Leaf::Region>{{&mesh.anterior(), {}, {}}});
  fill_thickness(*leaf, mesh, capsule, equator_radius_mm);
  return leaf;
}

std::unique_ptr<Leaf> make_posterior_leaf(const Mesh& mesh, const CapsuleSpec& capsule) {
  if (mesh.hub_node() < 0) return nullptr;
  std::vector<Leaf::Region> regions;
  for (const Patch* patch : {&mesh.posterior_ring(), &mesh.posterior_fan()})
    regions.push_back(
        {patch,
         std::vector<double>(static_cast<std::size_t>(patch->points()), 1e-3 * capsule.posterior_thickness_um),
         {}});
  return std::make_unique<Leaf>("posterior leaf", Membrane(capsule), std::move(regions));
}

std::vector<int> nodal_dofs(const Mesh& mesh, std::span<const int> open_layers) {
  std::vector<int> dof(2 * static_cast<std::size_t>(mesh.nodes()), -1);
  std::vector<int> master(static_cast<std::size_t>(mesh.nodes()), -1);
  for (std::size_t k = 0; k < open_layers.size(); ++k) {
    const auto lips = mesh.lip_nodes(static_cast<int>(k), mesh.plan().cuts[k].tip_layer);
    for (std::size_t r = static_cast<std::size_t>(open_layers[k] * mesh.plan().order); r < lips.size(); ++r)
      master[static_cast<std::size_t>(lips[r][1])] = lips[r][0];
  }
  int next = 0;
  for (int n = 0; n < mesh.nodes(); ++n) {
    const int m = master[static_cast<std::size_t>(n)];
    for (int i = 0; i < 2; ++i)
      dof[2 * static_cast<std::size_t>(n) + i] = m >= 0 ? dof[2 * static_cast<std::size_t>(m) + i] : next++;
  }
  return dof;
}

}  // namespace capsim
