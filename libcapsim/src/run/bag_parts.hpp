// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The leaves of a bag on its mesh, what lies in it, and the index map of all coordinates.
///
/// Coordinates.  Nodes of the mesh (x y x y), the optic's centre and rotation, the nodes of the ring's wire.

#include <memory>
#include <span>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/lens.hpp"
#include "capsim/mesh.hpp"
#include "capsim/scenario.hpp"
#include "capsim/tension_ring.hpp"

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
/// ... and of the optic and the ring: -1 for one that is not there.
[[nodiscard]] std::vector<int> eye_dofs(const Mesh& mesh, std::span<const int> open_layers, bool lens,
                                        int ring_segments, bool ring);

[[nodiscard]] inline int lens_coordinate_of(const Mesh& mesh) noexcept { return 2 * mesh.nodes(); }
[[nodiscard]] inline int ring_coordinate_of(const Mesh& mesh) noexcept { return 2 * mesh.nodes() + 3; }
[[nodiscard]] inline int coordinates_of(const Mesh& mesh, int ring_segments) noexcept {
  return ring_coordinate_of(mesh) + (ring_segments > 0 ? 2 * (ring_segments + 1) : 0);
}

/// The lens without a bond, its haptics free to slide. Springs refer to the anatomical equator.
[[nodiscard]] std::unique_ptr<Lens> make_free_lens(const Mesh& mesh, const LensSpec& spec, double equator_radius_mm);
/// The ring, held nowhere yet.
[[nodiscard]] std::unique_ptr<TensionRing> make_ring(const Mesh& mesh, const TensionRingSpec& spec, int segments,
                                                     double equator_radius_mm);
/// Lays the wire concentrically into the bag at x, just inside the equator.
void lay_ring(const Mesh& mesh, const TensionRingSpec& spec, int segments, std::vector<double>& x);
/// Holds the wire where it would lie in a round bag: at the point of the equator that faced it when it was laid in.
void hold_as_in_a_round_bag(TensionRing& ring, const Mesh& mesh, const TensionRingSpec& spec, int segments,
                            double equator_radius_mm);

}  // namespace capsim
