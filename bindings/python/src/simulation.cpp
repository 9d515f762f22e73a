// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <functional>
#include <memory>

#include "bindings.hpp"
#include "step_watcher.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

std::shared_ptr<History> simulate_without_gil(const Scenario& scenario, const py::object& callback) {
  StepWatcher watcher(callback);
  const py::gil_scoped_release others_may_run;
  return std::make_shared<History>(simulate(scenario, std::ref(watcher)));
}

}  // namespace

void bind_simulation(py::module_& module) {
  module.def("simulate", &simulate_without_gil, py::arg("scenario"), py::arg("callback").none(true));
}

}  // namespace capsim::python
