// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/leaf_state.hpp"

#include <algorithm>
#include <cmath>

#include "capsim/frame.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "geometry/tensor.hpp"

namespace capsim {
namespace {

/// Direction of the largest stretch in space [degree]: the eigenvector of F F^T.
double first_direction(const std::array<double, 4>& f) {
  const Tensor b = tensor(f) * transposed(tensor(f));
  return 0.5 * std::atan2(2 * b.xy, b.xx - b.yy) * 180 / pi;
}

/// F Fg^-1 at a point whose leaf has grown by Fg (xx xy yx yy); F where it has not.
std::array<double, 4> elastic(const std::array<double, 4>& f, const std::vector<double>& growth, std::size_t p) {
  if (growth.empty()) return f;
  const Tensor g = tensor(&growth[4 * p]);
  const Tensor e = tensor(f) * Tensor{g.yy, -g.xy, -g.yx, g.xx};  // times the determinant
  const double determinant = g.determinant();
  return {e.xx / determinant, e.xy / determinant, e.yx / determinant, e.yy / determinant};
}

void add_point(LeafState& state, const Membrane& membrane, const std::array<double, 4>& f) {
  const auto [l1, l2] = principal_stretches(f);
  const StretchResponse w = membrane.blended(l1, l2);
  state.principal_stretch.insert(state.principal_stretch.end(), {l1, l2});
  state.principal_stress_kPa.insert(state.principal_stress_kPa.end(), {l1 * w.w1, l2 * w.w2});
  state.first_direction_degree.push_back(first_direction(f));
  state.taut_state.push_back(capsim::taut_state(membrane, l1, l2));
}

void look_at_tissue(LeafState& state, const Simulation& simulation, const ContractionLaw& law, Leaf& leaf) {
  const std::unique_ptr<FibrousTissue> tissue = simulation.model().make_fibrous_tissue(&law);
  if (tissue == nullptr || simulation.tissue_state().empty()) return;
  law.apply(simulation.tissue_state(), tissue->fields());
  const std::size_t points = tissue->points();
  std::vector<double> by_family(static_cast<std::size_t>(fibre_families) * points);
  tissue->stretches(simulation.positions(), by_family);
  state.fibre_stretch.resize(by_family.size());
  for (std::size_t p = 0; p < points; ++p)
    for (std::size_t i = 0; i < fibre_families; ++i)
      state.fibre_stretch[fibre_families * p + i] = by_family[i * points + p];
  if (law.grows_leaf()) {
    auto& growth = leaf.regions().front().growth;
    const std::size_t all = leaf.regions().front().thickness_mm.size();
    growth.resize(4 * all);
    for (std::size_t p = 0; p < all; ++p) std::copy_n(std::array<double, 4>{1, 0, 0, 1}.begin(), 4, &growth[4 * p]);
    law.grow_leaf(simulation.tissue_state(), std::span(growth).first(4 * points));
  }
  state.tissue = tissue->fields();
}

}  // namespace

LeafState leaf_state(const Simulation& simulation, const ContractionLaw* law) {
  const Model& model = simulation.model();
  const Patch& patch = model.mesh().anterior();
  const std::span<const double> x = simulation.positions();
  const std::unique_ptr<Leaf> leaf = model.make_anterior_leaf();
  LeafState state;
  look_at_tissue(state, simulation, law == nullptr ? simulation.law() : *law, *leaf);
  const Leaf::Region& region = leaf->regions().front();
  state.area_mm2 = patch.weights;
  for (int element = 0; element < patch.elements(); ++element)
    for (int point = 0; point < patch.points_per_element; ++point) {
      const auto p = static_cast<std::size_t>(element * patch.points_per_element + point);
      const Point here = patch.at(x, element, point);
      const Point reference = patch.at(model.mesh().reference(), element, point);
      state.position_mm.insert(state.position_mm.end(), here.begin(), here.end());
      state.reference_mm.insert(state.reference_mm.end(), reference.begin(), reference.end());
      state.thickness_um.push_back(1000 * region.thickness_mm[p]);
      add_point(state, leaf->membrane(), elastic(deformation_gradient(patch, x, element, point), region.growth, p));
    }
  return state;
}

}  // namespace capsim
