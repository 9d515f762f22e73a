// SPDX-License-Identifier: BSD-3-Clause
#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "bindings.hpp"
#include "capsim/leaf_state.hpp"
#include "capsim/model.hpp"
#include "capsim/part_check.hpp"
#include "capsim/runaway.hpp"
#include "capsim/simulation.hpp"
#include "host_parts.hpp"
#include "step_watcher.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

using Doubles = py::array_t<double, py::array::c_style | py::array::forcecast>;

/// An array of its own with these values, [rows] or [rows, columns].
py::array array_of(std::span<const double> values, std::size_t columns) {
  std::vector<py::ssize_t> shape{static_cast<py::ssize_t>(values.size() / columns)};
  if (columns != 1) shape.push_back(static_cast<py::ssize_t>(columns));
  return py::array_t<double>(shape, values.data());
}

py::array array_of(const std::vector<int>& values, int columns) {
  const std::vector<py::ssize_t> shape{static_cast<py::ssize_t>(values.size()) / columns, columns};
  return py::array_t<int>(shape, values.data());
}

/// A simulation with what it was made of; keeps host parts and law alive.
struct Stepping {
  Simulation simulation;
  SimulationExtras extras;
};

/// Each scenario has one possible cut among its events.
std::vector<RelaxingCuts> cuts_of(const std::vector<Scenario>& scenarios) {
  std::vector<RelaxingCuts> cuts;
  for (const Scenario& scenario : scenarios)
    for (const Event& event : scenario.events)
      if (const auto* found = std::get_if<RelaxingCuts>(&event.action)) cuts.push_back(*found);
  return cuts;
}

/// The model of a scenario; an eye without a rest state raises capsim.SolveError.
std::shared_ptr<const Model> model_of(const Scenario& scenario, const std::vector<Scenario>& possible,
                                      bool ring_possible, StepWatcher& signals) {
  try {
    const py::gil_scoped_release others_may_run;
    return std::make_shared<const Model>(scenario, cuts_of(possible), ring_possible, nullptr,
                                         [&] { return signals({}); });
  } catch (const ModelError& error) {
    const py::object type = py::module_::import("capsim.history").attr("SolveError");
    PyErr_SetObject(type.ptr(), type(std::string(to_string(error.status())), error.what()).ptr());
    throw py::error_already_set();
  }
}

/// The relaxing cuts of `possible` may be made later.
Stepping begin(const Scenario& scenario, const std::vector<Scenario>& possible, bool ring_possible,
               const py::list& parts, const py::object& law) {
  const SimulationExtras extras = host_extras(parts, law);
  StepWatcher signals{py::none()};
  auto model = model_of(scenario, possible, ring_possible, signals);
  const py::gil_scoped_release others_may_run;
  return {Simulation(std::move(model), extras, std::ref(signals)), extras};
}

Stepping restore(const Scenario& scenario, const std::vector<Scenario>& possible, bool ring_possible,
                 const py::list& parts, const py::object& law, const py::bytes& bytes) {
  const SimulationExtras extras = host_extras(parts, law);
  const std::string text = bytes;
  Simulation::check_checkpoint(text);  // before a model is built for them
  StepWatcher signals{py::none()};
  auto model = model_of(scenario, possible, ring_possible, signals);
  const py::gil_scoped_release others_may_run;
  return {Simulation::restore(std::move(model), text, extras), extras};
}

std::string advance_to(Stepping& self, double day, const py::object& callback) {
  StepWatcher watcher(callback);
  const py::gil_scoped_release others_may_run;
  return std::string(to_word(self.simulation.advance_to(day, std::ref(watcher))));
}

/// Applies the action of the only event of a scenario.
bool apply(Stepping& self, const Scenario& with_event) {
  StepWatcher signals{py::none()};
  const py::gil_scoped_release others_may_run;
  return self.simulation.apply(with_event.events.at(0).action, std::ref(signals));
}

py::dict tissue_of(const LeafState& state) {
  py::dict all;
  const std::size_t points = state.tissue_points();
  all["fraction"] = array_of(state.tissue.fraction, 1);
  all["fibre_stretch"] = array_of(state.fibre_stretch, fibre_families);
  const auto by_point = [&](const auto& columns) {
    std::vector<double> values(points * columns.size());
    for (std::size_t i = 0; i < columns.size(); ++i)
      for (std::size_t p = 0; p < columns[i].size(); ++p) values[columns.size() * p + i] = columns[i][p];
    return array_of(values, columns.size());
  };
  all["natural_stretch"] = by_point(state.tissue.natural);
  if (!state.tissue.active[0].empty()) all["active_tension_mN_per_mm"] = by_point(state.tissue.active);
  if (!state.tissue.natural_sheet[0].empty()) all["natural_sheet"] = by_point(state.tissue.natural_sheet);
  return all;
}

py::dict leaf_of(const Stepping& self) {
  LeafState state;
  {
    const py::gil_scoped_release others_may_run;
    state = leaf_state(self.simulation);
  }
  py::dict all;
  all["position_mm"] = array_of(state.position_mm, 2);
  all["reference_mm"] = array_of(state.reference_mm, 2);
  all["area_mm2"] = array_of(state.area_mm2, 1);
  all["thickness_um"] = array_of(state.thickness_um, 1);
  all["principal_stretch"] = array_of(state.principal_stretch, 2);
  all["principal_stress_kPa"] = array_of(state.principal_stress_kPa, 2);
  all["first_direction_degree"] = array_of(state.first_direction_degree, 1);
  std::vector<int> taut;
  for (const TautState t : state.taut_state) taut.push_back(static_cast<int>(t));
  all["taut_state"] = py::array_t<int>(static_cast<py::ssize_t>(taut.size()), taut.data());
  all["tissue"] = tissue_of(state);
  return all;
}

py::dict nodes_of(const Stepping& self) {
  const Model& model = self.simulation.model();
  const Mesh& mesh = model.mesh();
  const std::span<const double> x = self.simulation.positions();
  const auto bag = static_cast<std::size_t>(2 * mesh.nodes());
  py::dict all;
  all["position_mm"] = array_of(x.first(bag), 2);
  all["anterior_elements"] = array_of(mesh.anterior().nodes, mesh.anterior().nodes_per_element);
  if (mesh.posterior_ring().nodes_per_element > 0) {
    all["posterior_elements"] = array_of(mesh.posterior_ring().nodes, mesh.posterior_ring().nodes_per_element);
    all["posterior_hub_elements"] = array_of(mesh.posterior_fan().nodes, mesh.posterior_fan().nodes_per_element);
  }
  const std::vector<int>& equator = mesh.equator_nodes();
  all["equator_nodes"] = py::array_t<int>(static_cast<py::ssize_t>(equator.size()), equator.data());
  if (model.ring_segments() > 0)
    all["ring_mm"] = array_of(x.subspan(static_cast<std::size_t>(model.ring_coordinate())), 2);
  return all;
}

py::list faults_of(const Stepping& self, const py::object& part, double step_mm) {
  const std::shared_ptr<const Part> checked = host_part(part);
  const std::unique_ptr<Part> copy = checked->clone();
  PartCheckOptions options;
  options.step_mm = step_mm;
  options.force_scale_mN = self.simulation.model().force_scale_mN();
  options.rotation_coordinate = self.simulation.model().lens_coordinate() + 2;
  const std::span<const double> x = self.simulation.positions();
  py::list faults;
  for (const std::string& fault : measure_part(*copy, x, options).faults()) faults.append(fault);
  return faults;
}

py::tuple margin_of(const Stepping& self) {
  RunawayMargin margin;
  {
    const py::gil_scoped_release others_may_run;
    margin = self.simulation.runaway_margin();
  }
  return py::make_tuple(std::string(to_word(margin.end)), margin.contraction_factor, margin.area_mm2);
}

}  // namespace

void bind_stepping(py::module_& module) {
  py::class_<Stepping>(module, "Stepping")
      .def_static("begin", &begin, py::arg("scenario"), py::arg("possible"), py::arg("ring_possible"), py::arg("parts"),
                  py::arg("law").none(true))
      .def_static("restore", &restore, py::arg("scenario"), py::arg("possible"), py::arg("ring_possible"),
                  py::arg("parts"), py::arg("law").none(true), py::arg("bytes"))
      .def("advance_to", &advance_to, py::arg("day"), py::arg("callback").none(true))
      .def("apply", &apply, py::arg("with_event"))
      .def("copy", [](const Stepping& self) { return Stepping(self); })
      .def("checkpoint", [](Stepping& self) { return py::bytes(self.simulation.checkpoint()); })
      .def("day", [](const Stepping& self) { return self.simulation.day(); })
      .def("status", [](const Stepping& self) { return std::string(to_string(self.simulation.status())); })
      .def("message", [](const Stepping& self) { return self.simulation.message(); })
      .def("opening_area_mm2", [](const Stepping& self) { return self.simulation.opening_area_mm2(); })
      .def("history", [](const Stepping& self) { return std::make_shared<History>(self.simulation.history()); })
      .def("runaway_margin", &margin_of)
      .def("memory_bytes", [](const Stepping& self) { return self.simulation.memory_bytes(); })
      .def("coordinates", [](const Stepping& self) { return array_of(self.simulation.positions(), 1); })
      .def("law_state", [](const Stepping& self) { return array_of(self.simulation.tissue_state(), 1); })
      .def("nodes", &nodes_of)
      .def("leaf", &leaf_of)
      .def("faults_of", &faults_of, py::arg("part"), py::arg("step_mm"));
}

}  // namespace capsim::python
