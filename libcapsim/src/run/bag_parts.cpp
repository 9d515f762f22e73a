// SPDX-License-Identifier: BSD-3-Clause
#include "run/bag_parts.hpp"

#include <algorithm>
#include <cmath>

#include "capsim/opening.hpp"
#include "run/shape_measures.hpp"

namespace capsim {
namespace {

constexpr double ring_clearance_mm = 0.02;  // between the wire and the nearest node of the equator, when it is laid in
constexpr double most_axial_stiffness = 1e4;  // mN; see make_ring

}  // namespace

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

std::vector<int> eye_dofs(const Mesh& mesh, std::span<const int> open_layers, bool lens, int ring_segments, bool ring) {
  std::vector<int> dof = nodal_dofs(mesh, open_layers);
  int next = *std::max_element(dof.begin(), dof.end()) + 1;
  dof.resize(static_cast<std::size_t>(coordinates_of(mesh, ring_segments)), -1);
  if (lens)
    for (int i = 0; i < 3; ++i) dof[static_cast<std::size_t>(lens_coordinate_of(mesh) + i)] = next++;
  if (ring)
    for (std::size_t i = static_cast<std::size_t>(ring_coordinate_of(mesh)); i < dof.size(); ++i) dof[i] = next++;
  return dof;
}

std::unique_ptr<Lens> make_free_lens(const Mesh& mesh, const LensSpec& spec, double equator_radius_mm) {
  const double free_radius = 0.5 * spec.overall_diameter_mm, depth = free_radius - equator_radius_mm;
  const double stiffness = depth > 0 ? spec.haptic_force_mN / depth : 0;
  return std::make_unique<Lens>(
      lens_coordinate_of(mesh), stiffness, free_radius, spec.relaxed_fraction, spec.relaxation_days,
      haptic_contacts(mesh, spec.haptics, angle_of_hour(spec.axis_hour), spec.haptic_arc_degrees * pi / 180));
}

std::unique_ptr<TensionRing> make_ring(const Mesh& mesh, const TensionRingSpec& spec, int segments,
                                       double equator_radius_mm) {
  TensionRing::Support support;
  support.equator_nodes = mesh.equator_nodes();
  support.equator_angles = mesh.plan().column_angle;
  support.held_node = segments / 2;
  const double middle = angle_of_hour(spec.gap_hour) + pi, r = equator_radius_mm;
  if (spec.eyelet_hour) {
    const double eyelet = angle_of_hour(*spec.eyelet_hour);
    // Wire node that lies at the eyelet's hour when the ring lies concentrically in the bag.
    const double length = 0.5 * spec.free_diameter_mm * spec.arc_degrees * pi / 180;
    const double along = angle_difference(eyelet, middle) * r / length;  // -1/2 .. 1/2 on the wire
    support.eyelet_node = std::clamp(static_cast<int>(std::lround((along + 0.5) * segments)), 0, segments);
    support.eyelet_at = {r * std::cos(eyelet), r * std::sin(eyelet)};
    support.eyelet_stiffness_mN_per_mm = spec.eyelet_stiffness_mN_per_mm;
  }
  TensionRing::Wire wire = ring_wire(spec, segments, ring_coordinate_of(mesh));
  // The wire hardly stretches: under its thrust of a few mN less than 0.1 % even at this much lower
  // stiffness, which spares the equilibrium a hundredfold stiffer constraint.
  wire.axial_stiffness_mN = std::min(wire.axial_stiffness_mN, most_axial_stiffness);
  return std::make_unique<TensionRing>(wire, support);
}

void lay_ring(const Mesh& mesh, const TensionRingSpec& spec, int segments, std::vector<double>& x) {
  std::vector<Point> equator;
  for (const int node : mesh.equator_nodes())
    equator.push_back({x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]});
  const Point center = measure_opening(equator, mesh.plan().order, false).center_mm;  // of area: nodes may crowd
  double nearest = std::hypot(equator.front()[0] - center[0], equator.front()[1] - center[1]);
  for (const Point& p : equator) nearest = std::min(nearest, std::hypot(p[0] - center[0], p[1] - center[1]));
  const double radius = std::min(nearest - ring_clearance_mm, 0.5 * spec.free_diameter_mm);
  const std::vector<double> wire = ring_positions(spec, segments, radius, center);
  std::copy(wire.begin(), wire.end(), x.begin() + ring_coordinate_of(mesh));
}

void hold_as_in_a_round_bag(TensionRing& ring, const Mesh& mesh, const TensionRingSpec& spec, int segments,
                            double equator_radius_mm) {
  std::vector<double> x(static_cast<std::size_t>(coordinates_of(mesh, segments)), 0.0);
  const std::vector<Point> equator = on_circle(mesh, equator_radius_mm);
  for (std::size_t c = 0; c < equator.size(); ++c)
    for (std::size_t i = 0; i < 2; ++i) x[2 * static_cast<std::size_t>(mesh.equator_nodes()[c]) + i] = equator[c][i];
  lay_ring(mesh, spec, segments, x);
  ring.hold_where_it_lies(x);
}

}  // namespace capsim
