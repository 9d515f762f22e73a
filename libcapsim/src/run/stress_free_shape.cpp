// SPDX-License-Identifier: BSD-3-Clause
#include "run/stress_free_shape.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "capsim/capsule.hpp"
#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"
#include "run/shape_search.hpp"

namespace capsim {

double ShapeKey::rim_radius_mm() const noexcept {
  return std::hypot(stated_rim[0][0] - center[0], stated_rim[0][1] - center[1]);
}

double ShapeKey::force_scale_mN() const noexcept {
  return std::max(healthy.pull_mN / (2 * pi),
                  Membrane(capsule).small_strain_modulus_kPa() * anterior_thickness_mm(capsule, 0.6) * rim_radius_mm());
}

std::size_t ShapeKey::memory_bytes() const noexcept {
  std::size_t bytes = sizeof(ShapeKey) + plan.column_angle.capacity() * sizeof(double) +
                      plan.cuts.capacity() * sizeof(MeshPlan::CutLine) + lines.capacity() * sizeof(LayerLine) +
                      stated_rim.capacity() * sizeof(Point);
  for (const auto& interval : spacing) bytes += interval.capacity() * sizeof(double);
  return bytes;
}

std::size_t StressFreeShape::memory_bytes() const noexcept {
  return sizeof(StressFreeShape) + rim.capacity() * sizeof(Point) +
         (fractions.capacity() + insertions.capacity() + rest_healthy.capacity() + rest_stated.capacity()) *
             sizeof(double);
}

StressFreeShape find_stress_free_shape(const ShapeKey& key, const std::shared_ptr<PatternStore>& patterns,
                                       const std::function<bool()>& go_on) {
  return ShapeSearch(key, patterns, go_on).find();
}

void place_unloaded(Mesh& mesh, const StressFreeShape& shape) {
  if (!mesh.place(shape.rim, on_circle(mesh, shape.equator_radius_mm), shape.fractions))
    throw InternalError("an unloaded shape that was found does not fit its mesh");
}

}  // namespace capsim
