// SPDX-License-Identifier: BSD-3-Clause
#include "run/model_neighbours.hpp"

#include <algorithm>

#include "capsim/error.hpp"
#include "run/shape_response.hpp"

namespace capsim {

ModelNeighbours::ModelNeighbours(const Model& here) : here_(&here) {}
ModelNeighbours::~ModelNeighbours() = default;

bool ModelNeighbours::same_lines(const Model& other) const {
  const MeshPlan &a = here_->mesh().plan(), &b = other.mesh().plan();
  const auto same_line = [](const LayerLine& m, const LayerLine& n) {
    return m.kind == n.kind && m.layers_before == n.layers_before;
  };
  return a.around == b.around && a.layers == b.layers && a.posterior_layers == b.posterior_layers && a.cuts == b.cuts &&
         std::equal(here_->lines_.begin(), here_->lines_.end(), other.lines_.begin(), other.lines_.end(), same_line) &&
         here_->fitted_edge_ == other.fitted_edge_ && (here_->soft_edge_ > 0) == (other.soft_edge_ > 0) &&
         here_->ring_segments_ == other.ring_segments_;
}

bool ModelNeighbours::same_tissue(const Model& other) const {
  const auto same_site = [](const TissueSite& a, const TissueSite& b) {
    return a.first == b.first && a.last == b.last;
  };
  return here_->tissue_layers_ == other.tissue_layers_ && here_->paired_rows_ == other.paired_rows_ &&
         std::equal(here_->bag_sites_.begin(), here_->bag_sites_.end(), other.bag_sites_.begin(),
                    other.bag_sites_.end(), same_site);
}

std::shared_ptr<const Model> ModelNeighbours::of(const Scenario& scenario, const ParameterStep& step) {
  const auto model = std::shared_ptr<Model>(new Model(*here_, scenario));
  if (!same_lines(*model)) return {};
  const ShapeKey key = here_->shape_key(), beside = model->shape_key();
  std::shared_ptr<const StressFreeShape> shape = here_->shape_;
  if (!(beside == key)) {
    if (here_->shape_->outline_off_mm > 0)
      throw ArgumentError(
          "no derivatives by what decides the unloaded shape: the opening of this eye can't lie as stated "
          "(diagnostics.outline_off_mm), and only its area is met; take contraction or events as parameters, or "
          "opening.measured_under \"full_strength_zonule\"");
    if (!response_) response_ = std::make_unique<ShapeResponse>(key, *here_->shape_, here_->patterns_);
    shape = std::make_shared<const StressFreeShape>(response_->beside(beside, step));
  }
  model->take_shape(std::move(shape));
  model->place_tissue();
  return same_tissue(*model) ? model : nullptr;
}

}  // namespace capsim
