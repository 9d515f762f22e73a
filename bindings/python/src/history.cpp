// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/history.hpp"

#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <memory>
#include <string>
#include <vector>

#include "bindings.hpp"
#include "capsim/results_file.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

/// A read-only view of one series that keeps its history alive: [rows] for one column, else [rows, columns].
py::array series_array(const py::object& self, const std::string& name) {
  const auto& history = self.cast<const History&>();
  const Series& series = history.series(name);
  std::vector<py::ssize_t> shape{static_cast<py::ssize_t>(history.rows())};
  if (series.columns != 1) shape.push_back(static_cast<py::ssize_t>(series.columns));
  py::array_t<double> array(shape, series.values.data(), self);
  py::detail::array_proxy(array.ptr())->flags &= ~py::detail::npy_api::NPY_ARRAY_WRITEABLE_;
  return array;
}

py::list series_table(const History& history) {
  py::list table;
  for (const Series& s : history.all_series())
    table.append(py::make_tuple(s.name, s.unit, std::string(to_string(s.axis)), s.description));
  return table;
}

/// What a run records, whether or not one was made: (name, unit, axis, description).
py::list observable_table() {
  py::list table;
  for (const Observable& o : observables())
    table.append(py::make_tuple(o.name, o.unit, to_string(o.axis), o.description));
  return table;
}

/// (name, unit, whether it is a count, description).
py::list diagnostic_table() {
  py::list table;
  for (const DiagnosticField& f : diagnostic_fields())
    table.append(py::make_tuple(f.name, f.unit, f.count != nullptr, f.description));
  return table;
}

py::list status_table() {
  py::list table;
  for (const StatusEntry& entry : statuses()) table.append(py::make_tuple(entry.name, entry.description));
  return table;
}

py::list cuts_of(const History& history) {
  py::list list;
  for (const CutRecord& cut : history.cuts()) {
    py::dict one;
    one["hour"] = cut.hour;
    one["length_mm"] = cut.length_mm;
    one["length_on_day_mm"] = cut.length_on_day_mm;
    one["day"] = cut.day;
    list.append(one);
  }
  return list;
}

py::dict diagnostics_of(const History& history) {
  py::dict all;
  for (const DiagnosticField& field : diagnostic_fields()) {
    const py::str name(field.name.data(), field.name.size());
    if (field.count != nullptr)
      all[name] = history.diagnostics().*field.count;
    else
      all[name] = history.diagnostics().*field.number;
  }
  return all;
}

/// HDF5 may be in use by h5py, which relies on the GIL: it stays held here.
void save_bytes_path(const History& history, const py::bytes& path) { save(history, std::string(path)); }
std::shared_ptr<History> load_bytes_path(const py::bytes& path, bool edited) {
  return std::make_shared<History>(load(std::string(path), edited));
}

}  // namespace

void bind_history(py::module_& module) {
  py::class_<History, std::shared_ptr<History>>(module, "History")
      .def_property_readonly("status", [](const History& h) { return std::string(to_string(h.status())); })
      .def_property_readonly("message", [](const History& h) { return h.message(); })
      .def_property_readonly("version", [](const History& h) { return h.version(); })
      .def_property_readonly("scenario", [](const History& h) { return h.scenario(); })
      .def("rows", &History::rows)
      .def("row_at", &History::row_at, py::arg("day"))
      .def("series_table", &series_table)
      .def("array", &series_array, py::arg("name"))
      .def("cuts", &cuts_of)
      .def("diagnostics", &diagnostics_of)
      .def("save", &save_bytes_path, py::arg("path"));
  module.def("observables", &observable_table);
  module.def("diagnostic_fields", &diagnostic_table);
  module.def("statuses", &status_table);
  module.attr("pupil_diameters_mm") =
      py::tuple(py::cast(std::vector<double>(pupil_diameters_mm.begin(), pupil_diameters_mm.end())));
  module.def("load", &load_bytes_path, py::arg("path"), py::arg("edited") = false);
}

}  // namespace capsim::python
