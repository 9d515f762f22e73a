// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <chrono>
#include <functional>
#include <memory>
#include <utility>

#include "bindings.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

/// Called after every time step without the GIL: lets Python handle signals (Ctrl-C) and asks the
/// Python callback, if any, whether to go on.
class StepWatcher {
 public:
  explicit StepWatcher(py::object callback) : callback_(std::move(callback)) {}

  bool operator()(const Progress& progress) {
    const auto now = Clock::now();
    if (callback_.is_none() && now - last_look_ < time_between_looks) return true;
    last_look_ = now;
    const py::gil_scoped_acquire python;
    if (PyErr_CheckSignals() != 0) throw py::error_already_set();
    if (callback_.is_none()) return true;
    return callback_(progress.day, progress.duration_days, progress.opening_area_mm2).cast<bool>();
  }

 private:
  using Clock = std::chrono::steady_clock;
  /// A tenth of what a person notices after Ctrl-C; taking the GIL this rarely costs nothing.
  static constexpr std::chrono::milliseconds time_between_looks{50};
  py::object callback_;
  Clock::time_point last_look_ = Clock::now();
};

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
