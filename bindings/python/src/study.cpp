// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/study.hpp"

#include <pybind11/stl.h>

#include <chrono>
#include <functional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "bindings.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

/// Lets Python handle signals (Ctrl-C ends a study, which keeps what is done) and see how far it is.
class StudyWatcher {
 public:
  explicit StudyWatcher(py::object callback) : callback_(std::move(callback)) {}

  bool operator()(std::size_t done, std::size_t total) {
    if (interrupted_) return false;
    const auto now = Clock::now();
    if (done < total && now - last_look_ < time_between_looks) return true;
    last_look_ = now;
    const py::gil_scoped_acquire python;
    if (PyErr_CheckSignals() != 0) {
      PyErr_Clear();
      interrupted_ = true;
      return false;
    }
    try {
      return callback_.is_none() || callback_(done, total).cast<bool>();
    } catch (py::error_already_set& error) {  // Ctrl-C while the callback was at work
      if (!error.matches(PyExc_KeyboardInterrupt)) throw;
      interrupted_ = true;
      return false;
    }
  }

 private:
  using Clock = std::chrono::steady_clock;
  static constexpr std::chrono::milliseconds time_between_looks{50};
  py::object callback_;
  Clock::time_point last_look_ = Clock::now();
  bool interrupted_ = false;
};

StudyOptions options_of(int eyes, std::vector<std::string> laws, bool typical, int workers, StudyWatcher& watcher) {
  StudyOptions options;
  options.eyes = eyes;
  options.laws = std::move(laws);
  options.typical = typical;
  options.workers = workers;
  options.progress = std::ref(watcher);
  return options;
}

std::string compare_as_json(const std::vector<Scenario>& plans, const Population& population,
                            std::vector<std::string> quantities, int eyes, std::vector<std::string> laws, bool typical,
                            int workers, const py::object& progress) {
  StudyWatcher watcher(progress);
  const py::gil_scoped_release others_may_run;
  return compare(plans, population, std::move(quantities), options_of(eyes, std::move(laws), typical, workers, watcher))
      .to_json();
}

std::string visits_as_json(const Scenario& plan, const Population& population, const std::string& quantity,
                           double limit, bool below,
                           const std::vector<std::pair<std::string, std::vector<double>>>& schedules, int eyes,
                           std::vector<std::string> laws, bool typical, int workers, const py::object& progress) {
  std::vector<Schedule> given;
  for (const auto& [name, days] : schedules) given.push_back({name, days});
  StudyWatcher watcher(progress);
  const py::gil_scoped_release others_may_run;
  return visits(plan, population, {quantity, limit, below}, std::move(given),
                options_of(eyes, std::move(laws), typical, workers, watcher))
      .to_json();
}

using LayoutTuple = std::tuple<std::string, std::vector<double>, double, double>;

std::string cuts_as_json(const Scenario& plan, const Population& population, const std::vector<LayoutTuple>& layouts,
                         int eyes, std::vector<std::string> laws, bool typical, int workers,
                         const py::object& progress) {
  std::vector<CutLayout> given;
  for (const auto& [name, hours, length_mm, day] : layouts) given.push_back({name, hours, length_mm, day});
  StudyWatcher watcher(progress);
  const py::gil_scoped_release others_may_run;
  return cuts(plan, population, std::move(given), options_of(eyes, std::move(laws), typical, workers, watcher))
      .to_json();
}

}  // namespace

void bind_study(py::module_& module) {
  module.def("compare", &compare_as_json, py::arg("plans"), py::arg("population"), py::arg("quantities"),
             py::arg("eyes"), py::arg("laws"), py::arg("typical"), py::arg("workers"), py::arg("progress").none(true));
  module.def("visits", &visits_as_json, py::arg("plan"), py::arg("population"), py::arg("quantity"), py::arg("limit"),
             py::arg("below"), py::arg("schedules"), py::arg("eyes"), py::arg("laws"), py::arg("typical"),
             py::arg("workers"), py::arg("progress").none(true));
  module.def("first_crossing", &first_crossing, py::arg("days"), py::arg("values"), py::arg("limit"), py::arg("below"));
  module.def("one_more_or_less", [](const std::string& name, const std::vector<double>& days) {
    std::vector<std::pair<std::string, std::vector<double>>> all;
    for (const Schedule& s : one_more_or_less({name, days})) all.emplace_back(s.name, s.days);
    return all;
  });
  module.def("usual_schedule", [] { return std::make_pair(usual_schedule().name, usual_schedule().days); });
  module.def("cuts", &cuts_as_json, py::arg("plan"), py::arg("population"), py::arg("layouts"), py::arg("eyes"),
             py::arg("laws"), py::arg("typical"), py::arg("workers"), py::arg("progress").none(true));
  module.def("usual_layouts", [](const Scenario& plan, double length_mm, double day) {
    std::vector<LayoutTuple> all;
    for (const CutLayout& k : usual_layouts(plan, length_mm, day))
      all.emplace_back(k.name, k.hours, k.length_mm, k.day);
    return all;
  });
  module.def("proportion", [](std::size_t count, std::size_t of) {
    const Proportion p = proportion(count, of);
    return py::make_tuple(p.share, p.low, p.high);
  });
}

}  // namespace capsim::python
