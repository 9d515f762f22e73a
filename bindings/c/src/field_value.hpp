// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Setting and reading the value of one place in a scenario.
///
/// All throw a Refusal: CAPSIM_UNKNOWN_FIELD, CAPSIM_WRONG_TYPE, CAPSIM_IS_NULL, CAPSIM_NOT_FOUND.
/// Limits are not looked at: they are judged all together, when the scenario is checked.

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim::c_interface {

void set_number(Scenario& scenario, std::string_view path, double value);
void set_integer(Scenario& scenario, std::string_view path, std::int64_t value);
void set_text(Scenario& scenario, std::string_view path, std::string_view value);
void set_numbers(Scenario& scenario, std::string_view path, std::span<const double> values);
void set_null(Scenario& scenario, std::string_view path);
void set_default(Scenario& scenario, std::string_view path);
void set_present(Scenario& scenario, std::string_view path);

[[nodiscard]] double get_number(const Scenario& scenario, std::string_view path);
[[nodiscard]] std::int64_t get_integer(const Scenario& scenario, std::string_view path);
[[nodiscard]] std::string get_text(const Scenario& scenario, std::string_view path);
[[nodiscard]] std::vector<double> get_numbers(const Scenario& scenario, std::string_view path);

}  // namespace capsim::c_interface
