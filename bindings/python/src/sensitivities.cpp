// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/sensitivities.hpp"

#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "bindings.hpp"
#include "capsim/model_library.hpp"
#include "step_watcher.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

py::array_t<double> array_of(const std::vector<double>& values, const std::vector<py::ssize_t>& shape) {
  py::array_t<double> array(shape);
  std::copy(values.begin(), values.end(), array.mutable_data());
  return array;
}

/// (history, parameters, names, outcomes by parameter, {series: rows by columns by parameter}, message, kinks passed).
py::tuple sensitivities_of(const Scenario& scenario, const std::vector<std::string>& parameters,
                           const std::vector<std::string>& series, bool outcomes, const std::vector<double>& days,
                           const std::shared_ptr<ModelLibrary>& library) {
  Sensitivities found;
  {
    StepWatcher signals{py::none()};
    const py::gil_scoped_release others_may_run;
    found = capsim::sensitivities(scenario, parameters, {series, outcomes, days, std::ref(signals), library, {}, {}});
  }
  const auto count = static_cast<py::ssize_t>(found.parameters.size());
  py::list by, names;
  for (const SensitivityParameter& p : found.parameters)
    by.append(py::make_tuple(p.path, p.value, p.one_sided, p.nearest_slack, p.nearest_wrinkle, p.nearest_contact,
                             p.nearest_jump));
  for (const Outcome& o : found.outcomes.values) names.append(py::make_tuple(o.name, o.unit, o.description));
  py::dict of_series;
  for (const Sensitivities::OfSeries& s : found.by_series)
    of_series[py::str(s.name)] = array_of(
        s.values, {static_cast<py::ssize_t>(found.history.rows()), static_cast<py::ssize_t>(s.columns), count});
  const py::array_t<double> of_outcomes =
      array_of(found.by_outcome, {outcomes ? static_cast<py::ssize_t>(found.outcomes.values.size()) : 0, count});
  return py::make_tuple(
      std::make_shared<History>(std::move(found.history)), by, names, of_outcomes, of_series, found.message,
      py::make_tuple(found.kinks_passed.slack, found.kinks_passed.wrinkle, found.kinks_passed.contact));
}

}  // namespace

void bind_sensitivities(py::module_& module) {
  module.def("sensitivities", &sensitivities_of, py::arg("scenario"), py::arg("parameters"), py::arg("series"),
             py::arg("outcomes") = true, py::arg("series_days") = std::vector<double>{},
             py::arg("library") = py::none());
  module.def("check_sensitivity_parameters", [](const Scenario& scenario, const std::vector<std::string>& parameters) {
    capsim::check_sensitivity_parameters(scenario, parameters);
  });
}

}  // namespace capsim::python
