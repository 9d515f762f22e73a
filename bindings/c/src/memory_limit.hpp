// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How much memory a run will hold, told from its scenario before anything is built.
///
/// What counts are the elements (mesh, matrices and their factor, which grow a little faster than the elements do) and
/// the rows that are recorded. Measured on meshes from 24 x 4 to 144 x 24, right within a factor of two. Derivatives
/// hold two neighbours of the run for each parameter; a study holds one run in each thread, and a little of each when
/// it is over.

#include <cstddef>
#include <span>

#include "capsim/scenario.hpp"

namespace capsim::c_interface {

/// At the peak of a run of this scenario [bytes].
[[nodiscard]] std::size_t estimated_memory_bytes(const Scenario& scenario);
/// The same of derivatives by so many parameters.
[[nodiscard]] std::size_t estimated_memory_bytes(const Scenario& scenario, std::size_t parameters);
/// The same of a study of these plans: `runs` in all, on so many threads.
[[nodiscard]] std::size_t estimated_memory_bytes(std::span<const Scenario> plans, std::size_t runs,
                                                 std::size_t threads);
/// Refuses what would hold more; a limit of 0 is none. `what` is "this run" or the like, `instead` what to do about it.
void refuse_beyond(std::size_t limit_bytes, std::size_t bytes, const char* what, const char* instead);
/// The same of one run.
void refuse_beyond(std::size_t limit_bytes, const Scenario& scenario);

}  // namespace capsim::c_interface
