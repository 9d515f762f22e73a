// SPDX-License-Identifier: BSD-3-Clause
#include "memory_limit.hpp"

#include <algorithm>
#include <string>

#include "last_error.hpp"

namespace capsim::c_interface {
namespace {

constexpr double most_bytes = 1e15;  // beyond any memory, and well inside size_t
constexpr int posterior_layers = 3;  // ring and fan, in layers of elements

/// Rows that a run of this scenario records.
double rows_of(const Scenario& scenario) {
  return scenario.duration_days / scenario.output_every_days + 2 * static_cast<double>(scenario.events.size()) + 3;
}

/// A wrong scenario may give no number at all.
std::size_t as_bytes(double bytes) { return static_cast<std::size_t>(bytes < most_bytes ? bytes : most_bytes); }

}  // namespace

std::size_t estimated_memory_bytes(const Scenario& scenario) {
  constexpr double base = 0.7e6, per_element = 22500, per_row_and_column = 74;  // measured
  constexpr double linear = 0.32;  // of an element with four nodes against one with eight
  const MeshSpec& mesh = scenario.mesh;
  const double share = mesh.order == 2 ? 1.0 : linear;
  const double columns = std::max(mesh.around, 1), elements = columns * (std::max(mesh.radial, 1) + posterior_layers);
  return as_bytes(base + share * (per_element * elements + per_row_and_column * rows_of(scenario) * columns));
}

std::size_t estimated_memory_bytes(const Scenario& scenario, std::size_t parameters) {
  constexpr double per_parameter = 0.6;  // of the run; measured 0.45 to 0.75
  return as_bytes(static_cast<double>(estimated_memory_bytes(scenario)) *
                  (1 + per_parameter * static_cast<double>(parameters)));
}

std::size_t estimated_memory_bytes(std::span<const Scenario> plans, std::size_t runs, std::size_t threads) {
  constexpr double per_run = 500, per_row = 72;  // its outcomes and their text; its course, in visits
  double largest = 0, rows = 0;
  for (const Scenario& plan : plans) {
    largest = std::max(largest, static_cast<double>(estimated_memory_bytes(plan)));
    rows = std::max(rows, rows_of(plan));
  }
  return as_bytes(largest * static_cast<double>(std::min(runs, threads)) +
                  static_cast<double>(runs) * (per_run + per_row * rows));
}

void refuse_beyond(std::size_t limit_bytes, std::size_t bytes, const char* what, const char* instead) {
  if (limit_bytes != 0 && bytes > limit_bytes)
    throw Refusal(CAPSIM_OUT_OF_MEMORY, std::string(what) + " would hold about " + std::to_string(bytes) +
                                            " bytes, and the limit set is " + std::to_string(limit_bytes) + ": take " +
                                            instead);
}

void refuse_beyond(std::size_t limit_bytes, const Scenario& scenario) {
  refuse_beyond(limit_bytes, estimated_memory_bytes(scenario), "this run",
                "a coarser mesh or fewer rows (output_every_days)");
}

}  // namespace capsim::c_interface
