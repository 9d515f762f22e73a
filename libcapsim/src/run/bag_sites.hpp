// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What the tissue outside the optic is made of, and where it can lie.

#include <cstddef>

#include "capsim/mesh.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// The kinetics and the law of `contraction`, with what the tissue outside the optic is made of.
[[nodiscard]] ContractionSpec made_of(const ContractionSpec& contraction, const BagTissueSpec& tissue);

/// Whether a point stands for any area. A leaf that is drawn out far is sound at its own points and may be folded at
/// four others; what lies on a negative area would push where it is to pull.
[[nodiscard]] inline bool has_area(const Patch& patch, int element, int point) noexcept {
  return patch.weights[static_cast<std::size_t>(element * patch.points_per_element + point)] > 0;
}

}  // namespace capsim
