// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/sensitivities.hpp"

#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "bindings.hpp"
#include "capsim/model.hpp"
#include "capsim/model_library.hpp"
#include "host_parts.hpp"
#include "step_watcher.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

py::array_t<double> array_of(const std::vector<double>& values, const std::vector<py::ssize_t>& shape) {
  py::array_t<double> array(shape);
  std::copy(values.begin(), values.end(), array.mutable_data());
  return array;
}

py::array_t<double> vector_of(std::span<const double> values) {
  return py::array_t<double>(static_cast<py::ssize_t>(values.size()), values.data());
}

/// What Python adds to an eye: make(scenario, coordinates) gives its parts and its law.
std::function<SimulationExtras(const Model&)> extras_by(const py::object& make) {
  if (make.is_none()) return {};
  return [&make](const Model& model) {
    const py::gil_scoped_acquire python;
    const auto [parts, law] =
        make(model.scenario(), vector_of(model.eye_as_stated())).cast<std::pair<py::list, py::object>>();
    return host_extras(parts, law);
  };
}

/// What Python's parts tell of their derivatives: tell(path, number, part, coordinates) gives an array, or None.
HostForceRate force_rate_by(const py::object& tell) {
  if (tell.is_none()) return {};
  return [&tell](std::string_view path, std::size_t number, const Part& here, std::span<const double> x,
                 std::span<double> rate) {
    const py::gil_scoped_acquire python;
    const py::object told = tell(std::string(path), number, object_of(here), vector_of(x));
    if (told.is_none()) return false;
    const auto array = told.cast<py::array_t<double, py::array::c_style | py::array::forcecast>>();
    if (static_cast<std::size_t>(array.size()) != rate.size())
      throw py::value_error("force_rate gave " + std::to_string(array.size()) + " numbers; " +
                            std::to_string(rate.size()) + " are needed");
    for (std::size_t c = 0; c < rate.size(); ++c) rate[c] += array.data()[c];
    return true;
  };
}

/// (history, parameters, names, outcomes by parameter, {series: rows by columns by parameter}, message, kinks passed).
py::tuple sensitivities_of(const Scenario& scenario, const std::vector<std::string>& parameters,
                           const std::vector<std::string>& series, bool outcomes, const std::vector<double>& days,
                           const std::shared_ptr<ModelLibrary>& library, const py::object& extras,
                           const py::object& force_rate) {
  Sensitivities found;
  {
    StepWatcher signals{py::none()};
    const SensitivityOptions options{
        series, outcomes, days, std::ref(signals), library, extras_by(extras), force_rate_by(force_rate)};
    const py::gil_scoped_release others_may_run;
    found = capsim::sensitivities(scenario, parameters, options);
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
             py::arg("library") = py::none(), py::arg("extras") = py::none(), py::arg("force_rate") = py::none());
  module.def("check_sensitivity_parameters", [](const Scenario& scenario, const std::vector<std::string>& parameters) {
    capsim::check_sensitivity_parameters(scenario, parameters);
  });
}

}  // namespace capsim::python
