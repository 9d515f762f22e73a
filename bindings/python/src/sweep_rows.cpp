// SPDX-License-Identifier: BSD-3-Clause
#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "bindings.hpp"
#include "capsim/model_library.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
/// As in capsim/days.py [day].
constexpr double same_day = 1e-9;

/// Asks all runs that were given it to stop.
struct StopFlag {
  std::atomic<bool> raised{false};
};

/// What a sweep keeps of one run.
struct SweepRow {
  std::string status, message, flags;
  std::vector<double> outcomes;
  std::vector<std::vector<double>> series;  // each days x columns
};

struct Wanted {
  std::vector<std::string> outcomes, series;
  std::vector<std::size_t> columns;
  std::vector<double> days;
};

/// A series on given days: linear between rows, just after the events of a day, NaN beyond the last day reached.
void put_on_days(const History& history, const Series& series, std::span<const double> days, std::vector<double>& out) {
  const std::span<const double> at = history.day();
  const std::size_t columns = series.columns;
  for (std::size_t k = 0; k < days.size(); ++k) {
    const auto above = std::upper_bound(at.begin(), at.end(), days[k] + same_day);
    if (above == at.begin()) continue;
    const auto row = static_cast<std::size_t>(above - at.begin()) - 1;  // the last row at or before the day
    const double* low = &series.values[row * columns];
    const bool hit = std::abs(at[row] - days[k]) <= same_day;
    if (!hit && row + 1 >= at.size()) continue;
    const double share = hit ? 0 : (days[k] - at[row]) / (at[row + 1] - at[row]);
    for (std::size_t c = 0; c < columns; ++c)
      out[k * columns + c] = hit ? low[c] : low[c] + share * (low[columns + c] - low[c]);
  }
}

void keep(const History& history, const Wanted& wanted, SweepRow& row) {
  row.status = to_string(history.status());
  row.message = history.message();
  const Outcomes found = outcomes(history);
  for (const Flag& flag : found.flags) row.flags += (row.flags.empty() ? "" : "; ") + flag.code;
  for (std::size_t i = 0; i < wanted.outcomes.size(); ++i) {
    const auto same_name = [&](const Outcome& o) { return o.name == wanted.outcomes[i]; };
    const auto it = std::find_if(found.values.begin(), found.values.end(), same_name);
    if (it != found.values.end()) row.outcomes[i] = it->value;
  }
  if (history.rows() == 0) return;
  for (std::size_t i = 0; i < wanted.series.size(); ++i)
    if (history.has(wanted.series[i]))
      put_on_days(history, history.series(wanted.series[i]), wanted.days, row.series[i]);
}

SweepRow run_one(const std::string& scenario, const Wanted& wanted, const StopFlag* stop,
                 const std::shared_ptr<ModelLibrary>& library) {
  SweepRow row;
  row.outcomes.assign(wanted.outcomes.size(), nothing);
  for (const std::size_t columns : wanted.columns) row.series.emplace_back(wanted.days.size() * columns, nothing);
  try {
    const auto go_on = [&](const Progress&) { return stop == nullptr || !stop->raised; };
    keep(simulate(Scenario::from_json(scenario), go_on, library), wanted, row);
  } catch (const ScenarioError& error) {
    row.status = "invalid_scenario";
    row.message = error.what();
  } catch (const InternalError& error) {
    row.status = "internal_error";
    row.message = error.what();
  }
  return row;
}

py::tuple to_python(const SweepRow& row, const Wanted& wanted) {
  py::list series;
  for (std::size_t i = 0; i < row.series.size(); ++i) {
    std::vector<py::ssize_t> shape{static_cast<py::ssize_t>(wanted.days.size())};
    if (wanted.columns[i] != 1) shape.push_back(static_cast<py::ssize_t>(wanted.columns[i]));
    series.append(py::array_t<double>(shape, row.series[i].data()));
  }
  const py::array_t<double> outcomes(static_cast<py::ssize_t>(row.outcomes.size()), row.outcomes.data());
  return py::make_tuple(row.status, row.message, row.flags, outcomes, series);
}

/// Runs the scenarios one after the other without the GIL, with what `library` holds of similar eyes; each as (status,
/// message, flags, outcomes, series).
py::list run_rows(const std::vector<std::string>& scenarios, const std::vector<std::string>& outcomes,
                  const std::vector<std::string>& series, const std::vector<std::size_t>& columns,
                  const std::vector<double>& days, const StopFlag* stop, const std::shared_ptr<ModelLibrary>& library) {
  const Wanted wanted{outcomes, series, columns, days};
  std::vector<SweepRow> rows;
  {
    const py::gil_scoped_release others_may_run;
    for (const std::string& scenario : scenarios) rows.push_back(run_one(scenario, wanted, stop, library));
  }
  py::list all;
  for (const SweepRow& row : rows) all.append(to_python(row, wanted));
  return all;
}

}  // namespace

void bind_sweep_rows(py::module_& module) {
  py::class_<StopFlag>(module, "StopFlag").def(py::init<>()).def("raise_", [](StopFlag& flag) { flag.raised = true; });
  py::class_<ModelLibrary, std::shared_ptr<ModelLibrary>>(module, "ModelLibrary")
      .def(py::init<>())
      // It travels to another process empty: what it holds is found again there.
      .def(py::pickle([](const ModelLibrary&) { return py::tuple(); },
                      [](const py::tuple&) { return std::make_shared<ModelLibrary>(); }))
      .def("shapes_searched", &ModelLibrary::shapes_searched)
      .def("shapes_found", &ModelLibrary::shapes_found);
  module.def("run_rows", &run_rows, py::arg("scenarios"), py::arg("outcomes"), py::arg("series"), py::arg("columns"),
             py::arg("days"), py::arg("stop").none(true), py::arg("library").none(true));
}

}  // namespace capsim::python
