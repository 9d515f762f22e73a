// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Models of scenarios beside that of a model: the same mesh lines, the unloaded shape on its tangent.

#include <memory>

#include "capsim/model.hpp"
#include "run/parameter_step.hpp"

namespace capsim {

class ShapeResponse;

class ModelNeighbours {
 public:
  explicit ModelNeighbours(const Model& here);
  ~ModelNeighbours();
  /// The model of a scenario a step away from the model's own. Null where the mesh would be another one: a layer more,
  /// a line merged, an edge that does not fit any more.
  [[nodiscard]] std::shared_ptr<const Model> of(const Scenario& scenario, const ParameterStep& step);

 private:
  [[nodiscard]] bool same_lines(const Model& other) const;
  [[nodiscard]] bool same_tissue(const Model& other) const;
  const Model* here_;
  std::unique_ptr<ShapeResponse> response_;  // made when it is first asked
};

}  // namespace capsim
