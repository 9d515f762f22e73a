// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/population.hpp"

#include <pybind11/stl.h>

#include "bindings.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

const char* word(Spread::Scale scale) {
  switch (scale) {
    case Spread::Scale::log:
      return "log";
    case Spread::Scale::share:
      return "share";
    case Spread::Scale::linear:
      return "linear";
  }
  throw InternalError("a spread has a scale that is none of the three");
}

}  // namespace

void bind_population(py::module_& module) {
  py::class_<Population>(module, "Population")
      .def_static("from_json", [](const std::string& text) { return Population::from_json(text); })
      .def_property_readonly("name", &Population::name)
      .def_property_readonly("edition", &Population::edition)
      .def_property_readonly("description", &Population::description)
      .def_property_readonly("area_error", &Population::area_error)
      .def("laws", &Population::laws)
      .def("json", &Population::json)
      .def("settings",
           [](const Population& population, const std::string& law) {
             py::list items;
             for (const Setting& s : population.settings(law)) items.append(py::make_tuple(s.path, s.value, s.source));
             return items;
           })
      .def("spreads",
           [](const Population& population, const std::string& law) {
             py::list items;
             for (const Spread& s : population.spreads(law))
               items.append(py::make_tuple(s.path, word(s.scale), s.sd, s.low, s.high, s.source, s.follows, s.share));
             return items;
           })
      .def("typical", &Population::typical)
      .def("around", &Population::around)
      .def("under", &Population::under)
      .def("draw", &Population::draw);
  module.def("population", [](const std::string& name) { return capsim::population(name); });
  module.def("population_names", &population_names);
}

}  // namespace capsim::python
