// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/scenario.hpp"

#include <pybind11/operators.h>

#include <string>

#include "bindings.hpp"
#include "capsim/scenario_schema.hpp"

namespace py = pybind11;

namespace capsim::python {

void bind_scenario(py::module_& module) {
  py::class_<Scenario>(module, "Scenario")
      .def_static("from_json", [](const std::string& text) { return Scenario::from_json(text); })
      .def("to_json", &Scenario::to_json, py::arg("indent") = 2)
      .def("violations", [](const Scenario& scenario) { return to_python(scenario.violations()); })
      .def("mirrored", [](const Scenario& scenario) { return mirrored(scenario); })
      .def(py::self == py::self);
  module.def("scenario_schema", [] { return scenario_schema(); });
  module.def("unit_suffixes", [] {  // (suffix, unit as data carry it)
    py::list table;
    for (const UnitSuffix& one : unit_suffixes()) table.append(py::make_tuple(one.suffix, one.symbol));
    return table;
  });
}

}  // namespace capsim::python
