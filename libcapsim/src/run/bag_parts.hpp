// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The leaves of a bag on its mesh, and the index map of its nodes.

#include <memory>
#include <span>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/mesh.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// Thickness at every point of the anterior leaf; a profile is read at the reference distance from the pole over
/// the unloaded equator's radius.
void fill_thickness(Leaf& leaf, const Mesh& mesh, const CapsuleSpec& capsule, double equator_radius_mm);
[[nodiscard]] std::unique_ptr<Leaf> make_anterior_leaf(const Mesh& mesh, const CapsuleSpec& capsule,
                                                       double equator_radius_mm);
/// Null without a posterior leaf.
[[nodiscard]] std::unique_ptr<Leaf> make_posterior_leaf(const Mesh& mesh, const CapsuleSpec& capsule);
/// Degree of freedom of every nodal coordinate: lips are tied beyond the layers that are open.
[[nodiscard]] std::vector<int> nodal_dofs(const Mesh& mesh, std::span<const int> open_layers);

}  // namespace capsim
