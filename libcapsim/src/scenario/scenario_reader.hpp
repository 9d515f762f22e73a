// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Tree of JSON values to a scenario: types, keys, format and version; not limits.

#include "capsim/scenario.hpp"
#include "text/json_text.hpp"
#include "text/violation_list.hpp"

namespace capsim {

inline constexpr std::string_view scenario_format = "capsim-scenario";
inline constexpr int scenario_version = 1;

/// Reads what can be read; every field that can't keeps its default and is unusable in `found`.
[[nodiscard]] Scenario read_scenario(const JsonNode& root, ViolationList& found);

}  // namespace capsim
