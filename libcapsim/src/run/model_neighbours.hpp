// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Models of scenarios next to that of a model: the same mesh lines, the unloaded shape on its tangent.

#include <array>
#include <memory>

#include "capsim/model.hpp"
#include "run/difference_stencil.hpp"

namespace capsim {

class ShapeResponse;

class ModelNeighbours {
 public:
  explicit ModelNeighbours(const Model& here);
  ~ModelNeighbours();
  /// The models of two scenarios on either side (or in front) of the model's own. Null where the mesh would be another
  /// one: a layer more, a line merged, an edge that does not fit any more.
  [[nodiscard]] std::array<std::shared_ptr<const Model>, 2> of(const std::array<Scenario, 2>& scenarios,
                                                               const DifferenceStencil& stencil);

 private:
  [[nodiscard]] bool same_lines(const Model& other) const;
  [[nodiscard]] bool same_tissue(const Model& other) const;
  const Model* here_;
  std::unique_ptr<ShapeResponse> response_;  // made when it is first asked
};

}  // namespace capsim
