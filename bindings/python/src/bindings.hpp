// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The pieces of the module _core. They convert and nothing else: types, docstrings and
///        convenience live in the Python files beside it.

#include <pybind11/pybind11.h>

#include <vector>

#include "capsim/error.hpp"

namespace capsim::python {

void bind_errors(pybind11::module_& module);
void bind_scenario(pybind11::module_& module);
void bind_history(pybind11::module_& module);
void bind_outcomes(pybind11::module_& module);
void bind_population(pybind11::module_& module);
void bind_sensitivities(pybind11::module_& module);
void bind_simulation(pybind11::module_& module);
void bind_study(pybind11::module_& module);
void bind_stepping(pybind11::module_& module);
void bind_sweep_rows(pybind11::module_& module);

/// Violations as a list of capsim.errors.Violation.
[[nodiscard]] pybind11::list to_python(const std::vector<Violation>& violations);

}  // namespace capsim::python
