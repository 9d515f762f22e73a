// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/outcomes.hpp"

#include <utility>

#include <pybind11/stl.h>

#include "bindings.hpp"
#include "capsim/relief_range.hpp"
#include "capsim/simulation.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

/// Three lists: (name, unit, value, description), (code, text), cautions.
py::tuple to_python(const Outcomes& outcomes) {
  py::list values, flags, cautions;
  for (const Outcome& o : outcomes.values) values.append(py::make_tuple(o.name, o.unit, o.value, o.description));
  for (const Flag& flag : outcomes.flags) flags.append(py::make_tuple(flag.code, flag.text));
  for (const std::string& caution : outcomes.cautions) cautions.append(caution);
  return py::make_tuple(values, flags, cautions);
}

py::tuple outcomes_of(const History& history) {
  Outcomes result;
  {
    const py::gil_scoped_release others_may_run;
    result = capsim::outcomes(history);
  }
  return to_python(result);
}

py::tuple run_with_margin(const Scenario& scenario) {
  std::shared_ptr<History> history;
  Outcomes result;
  {
    const py::gil_scoped_release others_may_run;
    RunWithMargin run = simulate_with_margin(scenario);
    result = capsim::outcomes(run.history, run.margin);
    history = std::make_shared<History>(std::move(run.history));
  }
  return py::make_tuple(history, to_python(result));
}

/// (population, laws, factors, statuses, [(name, unit, description, values)], text of the flag).
py::tuple relief_range_of(const Scenario& scenario, const Population* population) {
  ReliefRange range;
  {
    const py::gil_scoped_release others_may_run;
    const auto go_on = [] {
      const py::gil_scoped_acquire python;
      if (PyErr_CheckSignals() != 0) throw py::error_already_set();
      return true;
    };
    range = population != nullptr ? relief_range(scenario, *population, go_on) : relief_range(scenario, go_on);
  }
  py::list quantities;
  for (const ReliefQuantity& q : range.quantities)
    quantities.append(py::make_tuple(q.name, q.unit, q.description, q.values));
  return py::make_tuple(range.population, range.laws, range.factors, range.status, quantities, range.flag().text);
}

/// What a run can have, whether or not one was made: (name, unit, which way is better, description).
py::list known_outcome_table() {
  py::list table;
  for (const KnownOutcome& o : known_outcomes())
    table.append(py::make_tuple(o.name, o.unit, to_string(o.better), o.description));
  return table;
}

}  // namespace

void bind_outcomes(py::module_& module) {
  module.def("run_with_margin", &run_with_margin, py::arg("scenario"));
  module.def("known_outcomes", &known_outcome_table);
  module.def("relief_range", &relief_range_of, py::arg("scenario"), py::arg("population").none(true));
  module.def("outcomes", &outcomes_of, py::arg("history"));
  module.attr("research_caution") = py::str(std::string(research_caution()));
  module.attr("relaxing_cut_caution") = py::str(std::string(relaxing_cut_caution()));
}

}  // namespace capsim::python
