// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Parts of the eye and contraction laws that are written in Python.
///
/// For trying out: every evaluation enters the interpreter, with the GIL held. A Python object is copied (deepcopy)
/// wherever the library clones a part, so that forks are independent. The methods are those of capsim.Part and
/// capsim.ContractionLaw; what they raise ends the run and is raised in the caller.

#include <pybind11/pybind11.h>

#include <memory>

#include "capsim/contraction_law.hpp"
#include "capsim/part.hpp"
#include "capsim/simulation.hpp"

namespace capsim::python {

[[nodiscard]] std::shared_ptr<const Part> host_part(pybind11::object part);
[[nodiscard]] std::shared_ptr<const ContractionLaw> host_law(pybind11::object law);
/// Parts of a list, and a law or None.
[[nodiscard]] SimulationExtras host_extras(const pybind11::list& parts, const pybind11::object& law);
/// The Python object that a part of `host_part` holds.
[[nodiscard]] pybind11::object object_of(const Part& part);

}  // namespace capsim::python
