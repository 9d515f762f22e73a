// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What the tissue outside the optic is made of.

#include "capsim/scenario.hpp"

namespace capsim {

/// The kinetics and the law of `contraction`, with what the tissue outside the optic is made of.
[[nodiscard]] ContractionSpec made_of(const ContractionSpec& contraction, const BagTissueSpec& tissue);

}  // namespace capsim
