// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/sensitivities.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>
#include <optional>
#include <set>

#include "capsim/model.hpp"
#include "capsim/model_library.hpp"
#include "capsim/simulation.hpp"
#include "run/model_neighbours.hpp"
#include "run/outcome_list.hpp"
#include "run/rows_wanted.hpp"
#include "run/run_tape.hpp"
#include "run/simulation_state.hpp"
#include "run/tangent_run.hpp"
#include "scenario/scenario_number.hpp"
#include "text/number_in_text.hpp"
#include "text/violation_list.hpp"

namespace capsim {

/// A run that somebody goes along with.
class WatchedRun {
 public:
  static History run(std::shared_ptr<const Model> model, const SimulationExtras& extras, RunWatcher& watcher,
                     const ProgressCallback& progress) {
    const auto start = std::chrono::steady_clock::now();
    const double last = model->scenario().duration_days, build_seconds = model->build_seconds();
    const auto law = law_of(model->scenario(), extras);
    std::vector<Violation> violations;
    for (const Event& event : model->scenario().events) find_unchangeable(event, *law, violations);
    if (!violations.empty()) throw ScenarioError(std::move(violations));
    EyeParts parts(*model, law, extras.parts);
    Recorder recorder(*model);
    EyeState state = at_end_of_surgery(*model, parts.tissue());
    Simulation::Impl impl(std::move(model), std::move(parts), std::move(recorder), std::move(state));
    impl.watcher_ = &watcher;
    impl.begin(progress);
    if (impl.now_.status == Status::completed) static_cast<void>(impl.run_to(last, progress));
    impl.now_.diagnostics.wall_seconds =
        build_seconds + std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    return impl.history();
  }
};

namespace {

// Of a parameter's size: the step to its neighbour. Half of it times the second derivative is what derivatives are off,
// and rounding over it; a point closer to a kink than this may take the other branch.
constexpr double share_of_value = 2e-7;

/// What a parameter changes by when it changes much: its value, or what is usual for numbers of its unit.
double size_of(std::string_view unit, double value) {
  double usual = 0.1;  // shares, ratios, mm, mN
  if (unit == "um" || unit == "kPa" || unit == "day" || unit == "mN/mm" || unit == "clock hour") usual = 1;
  if (unit == "1/day") usual = 0.01;
  if (unit == "degree") usual = 10;
  if (unit == "clock hour") return usual;
  const double size = std::max(std::abs(value), usual);
  return unit == "mm" ? std::min(size, 1.0) : size;  // tissue ends within hundredths of a millimetre
}

/// Why a run has no derivative by a number that is there, or empty.
std::string not_differentiable(const Scenario& scenario, std::string_view path) {
  for (const std::string_view part : {"mesh.", "numerics.", "duration_days", "output_every_days"})
    if (path.starts_with(part)) return "a number of the eye or the operation, not of mesh, method or rows";
  if (path.find("relaxing_cuts.hours") != std::string_view::npos)
    return "a number that leaves the columns of the mesh where they are";
  if (path.ends_with("eyelet_hour")) return "a number that leaves the eyelet at its node of the wire";
  if (path.ends_with("failure_elongation_mm")) return "a number without jumps";
  if (!path.starts_with("events[") || !path.ends_with("].day")) return {};
  const std::size_t own = static_cast<std::size_t>(std::stoul(std::string(path.substr(7))));
  const double day = scenario.events[own].day;
  if (day <= 0 || day >= scenario.duration_days) return "a day inside the run";
  for (std::size_t i = 0; i < scenario.events.size(); ++i)
    if (i != own && std::abs(scenario.events[i].day - day) < 1e-6) return "a day that no other event shares";
  return {};
}

struct Chosen {
  SensitivityParameter parameter;
  ParameterStep step;
  Scenario beside;
};

/// Step and nearby scenario of every parameter; throws with all that are wrong.
std::vector<Chosen> choose(const Scenario& scenario, std::span<const std::string> paths) {
  std::vector<Chosen> all;
  std::vector<Violation> wrong;
  for (const std::string& path : paths) {
    Scenario here = scenario;
    const ScenarioNumber number = number_at(here, path);
    std::string limit = number.value == nullptr ? number.instead : not_differentiable(scenario, path);
    if (!limit.empty()) {
      wrong.push_back({path, number.value == nullptr ? "" : number_text(*number.value), std::move(limit),
                       "derivatives are by real numbers of the scenario, see sensitivities.hpp"});
      continue;
    }
    Chosen c;
    c.parameter = {path, std::string(number.unit), *number.value};
    const double step = share_of_value * size_of(number.unit, *number.value);
    c.parameter.one_sided = *number.value - step < number.limits.low;
    c.beside = scenario;
    double& beside = *number_at(c.beside, path).value;
    beside += step;
    c.step.size = beside - *number.value;  // as it came out
    all.push_back(std::move(c));
  }
  if (!wrong.empty()) throw ScenarioError(std::move(wrong));
  return all;
}

/// Whether the rows that the run recorded are on the days on which they were expected.
bool as_planned(const History& history, const TangentRun& tangent, const std::vector<double>& days) {
  const std::vector<TangentRun::Recorded>& rows = tangent.recorded_rows();
  if (rows.size() != history.rows()) return false;
  for (std::size_t r = 0; r < rows.size(); ++r)
    if (rows[r].number >= days.size() || std::abs(days[rows[r].number] - history.day()[r]) >= same_day) return false;
  return true;
}

/// The history of a neighbour: its own numbers where there are some, those of the run elsewhere; without outlines,
/// which no outcome is made of.
History beside(const History& run, const std::vector<Series>& rows, const RowsWanted& beside_rows) {
  std::vector<Series> series;
  for (std::size_t s = 0; s < rows.size(); ++s) {
    const Series& of_run = run.all_series()[s];
    if (of_run.axis == Axis::rim_point || of_run.axis == Axis::equator_point || of_run.axis == Axis::ring_point)
      continue;
    series.push_back(of_run);
    std::vector<double>& values = series.back().values;
    const std::size_t columns = of_run.columns;
    const bool is_area = of_run.name == "opening_area_mm2";
    auto next = rows[s].values.begin();
    for (std::size_t r = 0; r < beside_rows.size(); ++r) {
      if (beside_rows[r] == RowUse::none) continue;
      if (beside_rows[r] == RowUse::all || is_area) std::copy_n(next, columns, &values[r * columns]);
      next += static_cast<std::ptrdiff_t>(columns);
    }
  }
  std::vector<CutRecord> cuts = run.cuts();
  for (CutRecord& cut : cuts)  // on the day of the row just after it
    for (std::size_t r = 0; r < run.rows(); ++r)
      if (run.value("event_side", r) == 1 && std::abs(run.day()[r] - cut.day) < same_day) {
        cut.day = series.front().values[r];
        break;
      }
  return History::assemble(run.scenario(), run.status(), run.message(), run.version(), run.diagnostics(),
                           std::move(cuts), std::move(series));
}

/// A clock hour that was found among the twelve, or among chords: the place stays where it is, unless it moves.
bool another_place(const Outcome& here, const Outcome& beside) {
  constexpr double far = 0.01;  // hours; a neighbour is far less away than that
  return here.unit == "h" && std::abs(beside.value - here.value) > far;
}

/// Which rows of a history that has all of the run the neighbours have, too.
RowsWanted rows_beside(const History& history, const TangentRun& tangent) {
  RowsWanted beside(history.rows(), RowUse::none);
  for (const TangentRun::Recorded& row : tangent.recorded_rows())
    if (row.number < beside.size()) beside[row.number] = row.beside;
  return beside;
}

/// How much an outcome grows from the run to its neighbour; NaN where it has no derivative.
double growth(const Outcome& here, const Outcome& beside, const FinishedRun& run, const FinishedRun& neighbour) {
  constexpr double missing = std::numeric_limits<double>::quiet_NaN();
  if (another_place(here, beside)) return missing;  // a jump
  const ListedOutcome* line = outcome_line(here.name);
  if (line == nullptr || line->growth == nullptr) return beside.value - here.value;
  return line->growth(run, neighbour).value_or(missing);
}

void differentiate_outcomes(const TangentRun& tangent, const std::vector<Chosen>& chosen, const RowsWanted& beside_rows,
                            Sensitivities& result) {
  const std::size_t count = chosen.size(), values = result.outcomes.values.size();
  result.by_outcome.assign(values * count, std::numeric_limits<double>::quiet_NaN());
  if (!tangent.followed() || result.history.rows() == 0) return;
  const std::vector<Outcome>& here = result.outcomes.values;
  const FinishedRun run(result.history, nullptr);
  for (std::size_t p = 0; p < count; ++p) {
    const History history = beside(result.history, tangent.rows(p), beside_rows);
    const FinishedRun neighbour(history, nullptr);
    const std::vector<Outcome> there = computed_outcomes(neighbour);
    // The same list at both, where the day in a name may be another by a hair.
    if (there.size() != values) continue;
    for (std::size_t o = 0; o < values; ++o)
      result.by_outcome[o * count + p] = chosen[p].step.of(0, growth(here[o], there[o], run, neighbour));
  }
}

void differentiate_series(const TangentRun& tangent, const std::vector<Chosen>& chosen,
                          const std::vector<std::string>& names, const RowsWanted& beside_rows, Sensitivities& result) {
  const std::vector<Series>& all = result.history.all_series();
  for (const std::string& name : names) {
    const auto s = static_cast<std::size_t>(
        std::find_if(all.begin(), all.end(), [&](const Series& x) { return x.name == name; }) - all.begin());
    Sensitivities::OfSeries of{name, all[s].columns, {}};
    of.values.assign(all[s].values.size() * chosen.size(), std::numeric_limits<double>::quiet_NaN());
    const std::vector<double>& here = all[s].values;
    for (std::size_t p = 0; p < chosen.size(); ++p) {
      const std::vector<double>& there = tangent.rows(p)[s].values;
      std::size_t next = 0;  // the neighbours have some of the rows only
      for (std::size_t r = 0; r < beside_rows.size(); ++r) {
        if (beside_rows[r] == RowUse::none) continue;
        for (std::size_t c = 0; c < of.columns; ++c)
          of.values[(r * of.columns + c) * chosen.size() + p] =
              chosen[p].step.of(here[r * of.columns + c], there[next * of.columns + c]);
        ++next;
      }
    }
    result.by_series.push_back(std::move(of));
  }
}

void check_series(const Model& model, const std::vector<std::string>& names) {
  const Recorder recorder(model);
  for (const std::string& name : names)
    if (std::none_of(recorder.series().begin(), recorder.series().end(),
                     [&](const Series& series) { return series.name == name; }))
      throw ArgumentError("sensitivities: this run has no series \"" + name + "\"");
}

/// The neighbours of every parameter; throws with all that have none, and ModelError where the host says no.
std::vector<TangentRun::Direction> directions_of(const Model& model, const std::vector<Chosen>& chosen,
                                                 const std::function<bool()>& go_on) {
  ModelNeighbours neighbours(model);
  std::vector<TangentRun::Direction> directions;
  std::vector<Violation> wrong;
  for (const Chosen& c : chosen) {
    if (!go_on()) throw ModelError("cancelled while the eyes beside it were made", Status::cancelled, 0);
    directions.push_back({c.step, neighbours.of(c.beside, c.step), {}, {}});
    if (!directions.back().model)
      wrong.push_back({c.parameter.path, number_text(c.parameter.value), "a value beside which the mesh stays as it is",
                       "change it a little"});
  }
  if (!wrong.empty()) throw ScenarioError(std::move(wrong));
  return directions;
}

/// What the host adds to the eye of a model.
SimulationExtras extras_for(const std::shared_ptr<const Model>& model, const SensitivityOptions& options) {
  if (!options.extras) return {};
  SimulationExtras extras = options.extras(*model);
  refuse_null(model, extras);
  return extras;
}

/// What the host adds to the run, and, put into the directions, to the eyes beside it.
SimulationExtras take_extras(const std::shared_ptr<const Model>& model, const std::vector<Chosen>& chosen,
                             const SensitivityOptions& options, std::vector<TangentRun::Direction>& directions) {
  SimulationExtras here = extras_for(model, options);
  for (std::size_t p = 0; p < directions.size(); ++p) {
    TangentRun::Direction& direction = directions[p];
    direction.extras = extras_for(direction.model, options);
    if (direction.extras.parts.size() != here.parts.size())
      throw ArgumentError("sensitivities: the extras have " + std::to_string(here.parts.size()) +
                          " parts for the run and " + std::to_string(direction.extras.parts.size()) +
                          " for the eye beside it by " + chosen[p].parameter.path);
    if (options.host_force_rate)
      direction.host_rate = [&tell = options.host_force_rate, &path = chosen[p].parameter.path](
                                std::size_t part, const Part& at, std::span<const double> x, std::span<double> rate) {
        return tell(path, part, at, x, rate);
      };
  }
  return here;
}

void put_nearest(const KinkDistances& nearest, SensitivityParameter& parameter) {
  parameter.nearest_slack = nearest.slack;
  parameter.nearest_wrinkle = nearest.wrinkle;
  parameter.nearest_contact = nearest.contact;
  parameter.nearest_jump = nearest.jump;
}

/// Derivatives and kinks of a run; `beside_rows`: which rows of the history the neighbours have.
void finish(const TangentRun& tangent, const std::vector<Chosen>& chosen, const SensitivityOptions& options,
            const RowsWanted& beside_rows, Sensitivities& result) {
  if (!tangent.followed())
    result.message = "the stiffness at rest is not positive definite from some day on: there is no derivative after it";
  for (std::size_t p = 0; p < chosen.size(); ++p) put_nearest(tangent.nearest_kinks(p), result.parameters[p]);
  result.kinks_passed = tangent.kinks_passed();
  differentiate_series(tangent, chosen, options.series, beside_rows, result);
  if (options.outcomes) differentiate_outcomes(tangent, chosen, beside_rows, result);
}

/// What is left when the host wanted no more: the history as far as it went, and derivatives that are all missing.
Sensitivities without_derivatives(const SensitivityOptions& options, Sensitivities result) {
  constexpr double missing = std::numeric_limits<double>::quiet_NaN();
  const std::size_t parameters = result.parameters.size();
  result.message = "cancelled: there are no derivatives";
  result.by_outcome.clear();
  result.by_series.clear();
  if (options.outcomes) result.by_outcome.assign(result.outcomes.values.size() * parameters, missing);
  for (const std::string& name : options.series) {
    Sensitivities::OfSeries all{name, 1, {}};  // of a run that was ended before it began: without rows
    if (result.history.has(name)) {
      const Series& series = result.history.series(name);
      all.columns = series.columns;
      all.values.assign(series.values.size() * parameters, missing);
    }
    result.by_series.push_back(std::move(all));
  }
  for (SensitivityParameter& p : result.parameters) put_nearest({missing, missing, missing, missing}, p);
  return result;
}

/// What the two ways below are given.
struct WhatToRun {
  const std::shared_ptr<const Model>& model;
  const std::vector<TangentRun::Direction>& directions;
  const SimulationExtras& extras;
  const std::vector<Chosen>& chosen;
  const SensitivityOptions& options;
  [[nodiscard]] bool with_energy() const {
    return std::count(options.series.begin(), options.series.end(), "energy_uJ") > 0;
  }
};

/// The neighbours go along with the run; false where its rows are others than those that were planned.
bool along_with_run(const WhatToRun& what, bool every_row, Sensitivities& result) {
  const SensitivityOptions& options = what.options;
  const std::vector<double> days = planned_days(what.model->scenario());
  RowsWanted wanted(days.size() + 1, every_row ? RowUse::all : RowUse::none);  // one more where it ends early
  if (!every_row) want_days(days, options.series_days, wanted);
  TangentRun tangent(what.model, what.directions, std::move(wanted), what.with_energy());
  result.history = WatchedRun::run(what.model, what.extras, tangent, options.progress);
  if (options.outcomes) result.outcomes = outcomes(result.history);
  if (result.history.status() == Status::cancelled) {
    result = without_derivatives(options, std::move(result));
    return true;
  }
  if (!every_row && !as_planned(result.history, tangent, days)) return false;
  RowsWanted beside_rows;
  for (const TangentRun::Recorded& row : tangent.recorded_rows()) beside_rows.push_back(row.beside);
  finish(tangent, what.chosen, options, beside_rows, result);
  return true;
}

/// The run alone, and then the neighbours along with its tape, once it is known which rows count.
void along_with_tape(const WhatToRun& what, Sensitivities& result) {
  const SensitivityOptions& options = what.options;
  const Model& model = *what.model;
  const auto rows_asked = [&](std::span<const Series> rows) {
    return rows_wanted(rows, options.outcomes,
                       options.series.empty() ? std::span<const double>() : options.series_days);
  };
  RunTape tape(rows_asked);
  result.history = WatchedRun::run(what.model, what.extras, tape, options.progress);
  result.outcomes = outcomes(result.history);
  const auto ask = [&](const RunWatcher::Eye& eye, double day, std::span<const double> x) {
    return !options.progress ||
           options.progress({day, model.scenario().duration_days, opening_area_mm2(model.mesh(), x, eye.open_layers)});
  };
  const RowsWanted wanted = rows_asked(result.history.all_series());
  TangentRun tangent(what.model, what.directions, wanted, what.with_energy());
  if (result.history.status() == Status::cancelled || !tape.show(model, what.extras, wanted, tangent, ask)) {
    result = without_derivatives(options, std::move(result));
    return;
  }
  const RowsWanted beside_rows = rows_beside(result.history, tangent);
  finish(tangent, what.chosen, options, beside_rows, result);
}

}  // namespace

void check_sensitivity_parameters(const Scenario& scenario, std::span<const std::string> parameters) {
  scenario.validate();
  if (scenario.zonule.failure_elongation_mm)
    throw ScenarioError({{"zonule.failure_elongation_mm", number_text(*scenario.zonule.failure_elongation_mm), "null",
                          "a run in which bundles fail jumps and has no derivative"}});
  static_cast<void>(choose(scenario, parameters));
}

Sensitivities sensitivities(const Scenario& scenario, std::span<const std::string> parameters,
                            const SensitivityOptions& options) {
  check_sensitivity_parameters(scenario, parameters);
  const std::vector<Chosen> chosen = choose(scenario, parameters);
  Sensitivities result;
  for (const Chosen& c : chosen) result.parameters.push_back(c.parameter);
  const auto go_on = [&] { return !options.progress || options.progress({0, scenario.duration_days, 0}); };
  std::shared_ptr<const Model> model;
  std::vector<TangentRun::Direction> directions;
  SimulationExtras extras;
  try {
    model = std::make_shared<const Model>(scenario, std::vector<RelaxingCuts>{}, false, options.library, go_on);
    directions = directions_of(*model, chosen, go_on);
    extras = take_extras(model, chosen, options, directions);
  } catch (const ModelError& error) {
    if (error.status() != Status::cancelled) throw;
    result.history = never_begun(scenario, error, 0);
    result.outcomes = outcomes(result.history);
    return without_derivatives(options, std::move(result));
  }
  check_series(*model, options.series);
  const WhatToRun what{model, directions, extras, chosen, options};
  // Where the rows that count are known beforehand the neighbours go along with the run, which need not have others.
  const bool every_row = !options.series.empty() && options.series_days.empty();
  if ((every_row || (!options.outcomes && !options.extras)) && along_with_run(what, every_row, result)) return result;
  along_with_tape(what, result);
  return result;
}

}  // namespace capsim
