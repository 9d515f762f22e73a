// SPDX-License-Identifier: BSD-3-Clause
#include "memory_limit.hpp"

#include <algorithm>
#include <string>

#include "last_error.hpp"

namespace capsim::c_interface {
namespace {

constexpr double most_bytes = 1e15;  // beyond any memory, and well inside size_t
constexpr int posterior_layers = 3;  // ring and fan, in layers of elements

}  // namespace

std::size_t estimated_memory_bytes(const Scenario& scenario) {
  constexpr double base = 0.7e6, per_element = 22500, per_row_and_column = 74;  // measured
  constexpr double linear = 0.32;  // of an element with four nodes against one with eight
  const MeshSpec& mesh = scenario.mesh;
  const double share = mesh.order == 2 ? 1.0 : linear;
  const double columns = std::max(mesh.around, 1), elements = columns * (std::max(mesh.radial, 1) + posterior_layers);
  const double events = static_cast<double>(scenario.events.size());
  const double rows = scenario.duration_days / scenario.output_every_days + 2 * events + 3;
  const double bytes = base + share * (per_element * elements + per_row_and_column * rows * columns);
  return static_cast<std::size_t>(bytes < most_bytes ? bytes : most_bytes);  // a wrong scenario may give no number
}

void refuse_beyond(std::size_t limit_bytes, const Scenario& scenario) {
  if (limit_bytes == 0) return;
  const std::size_t bytes = estimated_memory_bytes(scenario);
  if (bytes > limit_bytes)
    throw Refusal(CAPSIM_OUT_OF_MEMORY, "this run would hold about " + std::to_string(bytes) +
                                            " bytes, and the limit set is " + std::to_string(limit_bytes) +
                                            ": take a coarser mesh or fewer rows (output_every_days)");
}

}  // namespace capsim::c_interface
