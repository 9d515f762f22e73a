// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How much memory a run will hold, told from its scenario before anything is built.
///
/// What counts are the elements (mesh, matrices and their factor, which grow a little faster than the elements do) and
/// the rows that are recorded. Measured on meshes from 24 x 4 to 144 x 24, right within a factor of two.

#include <cstddef>

#include "capsim/scenario.hpp"

namespace capsim::c_interface {

/// At the peak of a run of this scenario [bytes].
[[nodiscard]] std::size_t estimated_memory_bytes(const Scenario& scenario);
/// Refuses a scenario that would hold more; a limit of 0 is none.
void refuse_beyond(std::size_t limit_bytes, const Scenario& scenario);

}  // namespace capsim::c_interface
