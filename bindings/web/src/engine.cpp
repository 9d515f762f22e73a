// SPDX-License-Identifier: BSD-3-Clause
/// @file  The engine as a browser sees it: JSON text in, one answer out.
///
/// An answer is JSON text (what happened, and the layout of the numbers) plus one block of doubles:
/// every series of the history, one after the other, row-major. The caller copies both out of the
/// memory of the engine and releases the answer. No exception leaves this file: it would reach
/// JavaScript as a bare number.

#include <emscripten.h>

#include <cstdint>
#include <exception>
#include <memory>
#include <new>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/error.hpp"
#include "capsim/history.hpp"
#include "capsim/model.hpp"
#include "capsim/model_library.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/population.hpp"
#include "capsim/runaway.hpp"
#include "capsim/scenario.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"
#include "capsim/version.hpp"

// Asks the page, after every time step, whether to go on. Not called when nobody listens.
EM_JS(int, capsim_go_on, (double day, double duration_days, double opening_area_mm2),
      { return Module.goOn(day, duration_days, opening_area_mm2) ? 1 : 0; });
// Hands over day 0 of a run that goes on; the answer is the engine's own, and gone when this returns.
EM_JS(void, capsim_begun, (const void* answer), { Module.begun(answer); });

namespace {

using Json = nlohmann::ordered_json;

/// What one call leaves behind, until `capsim_release`.
struct Answer {
  std::string text;
  std::vector<double> numbers;
};

Json violations_json(const std::vector<capsim::Violation>& violations) {
  Json list = Json::array();
  for (const capsim::Violation& v : violations)
    list.push_back(
        {{"path", v.path}, {"value", v.value}, {"limit", v.limit}, {"hint", v.hint}, {"text", v.to_string()}});
  return list;
}

Json diagnostics_json(const capsim::Diagnostics& d) {
  Json all = Json::object();
  for (const capsim::DiagnosticField& field : capsim::diagnostic_fields()) {
    Json& value = all[std::string(field.name)];
    if (field.count != nullptr)
      value = d.*field.count;
    else
      value = d.*field.number;
  }
  return all;
}

Json outcomes_json(const capsim::Outcomes& outcomes) {
  Json values = Json::array(), flags = Json::array();
  for (const capsim::Outcome& o : outcomes.values)
    values.push_back({{"name", o.name}, {"unit", o.unit}, {"value", o.value}, {"description", o.description}});
  for (const capsim::Flag& f : outcomes.flags) flags.push_back({{"code", f.code}, {"text", f.text}});
  return {{"values", std::move(values)}, {"flags", std::move(flags)}, {"cautions", outcomes.cautions}};
}

Json cuts_json(const std::vector<capsim::CutRecord>& cuts) {
  Json list = Json::array();
  for (const capsim::CutRecord& c : cuts)
    list.push_back(
        {{"hour", c.hour}, {"length_mm", c.length_mm}, {"length_on_day_mm", c.length_on_day_mm}, {"day", c.day}});
  return list;
}

/// `margin`: none when it was not asked for, or the last day was not reached.
void write_history(const capsim::History& history, const std::optional<capsim::RunawayMargin>& margin, Answer& answer) {
  Json series = Json::array();
  std::size_t total = 0;
  for (const capsim::Series& s : history.all_series()) total += s.values.size();
  answer.numbers.reserve(total);
  for (const capsim::Series& s : history.all_series()) {
    series.push_back({{"name", s.name},
                      {"unit", s.unit},
                      {"description", s.description},
                      {"columns", s.columns},
                      {"axis", capsim::to_string(s.axis)},
                      {"offset", answer.numbers.size()}});
    answer.numbers.insert(answer.numbers.end(), s.values.begin(), s.values.end());
  }
  Json text = {{"status", capsim::to_string(history.status())},
               {"message", history.message()},
               {"version", history.version()},
               {"rows", history.rows()},
               {"scenario", Json::parse(history.scenario().to_json())},
               {"diagnostics", diagnostics_json(history.diagnostics())},
               {"cuts", cuts_json(history.cuts())},
               {"outcomes", outcomes_json(capsim::outcomes(history, margin))},
               {"series", std::move(series)}};
  if (margin)
    text["runaway_margin"] = {{"end", capsim::to_word(margin->end)},
                              {"contraction_factor", margin->contraction_factor},
                              {"area_mm2", margin->area_mm2},
                              {"equilibria", margin->equilibria}};
  answer.text = text.dump(-1, ' ', false, Json::error_handler_t::replace);
}

void write_problem(Answer& answer, const char* status, const std::string& message,
                   const std::vector<capsim::Violation>& violations = {}) {
  answer.numbers.clear();
  const Json problem = {{"status", status}, {"message", message}, {"violations", violations_json(violations)}};
  answer.text = Json{{"problem", problem}}.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// Runs `work` on a fresh answer; whatever it throws becomes {status, message, violations}.
template <class Work>
Answer* answered(Work&& work) noexcept {
  Answer* answer = new (std::nothrow) Answer;
  if (answer == nullptr) return nullptr;
  try {
    try {
      work(*answer);
    } catch (const capsim::ScenarioError& error) {
      write_problem(*answer, "wrong_input", error.what(), error.violations());
    } catch (const std::bad_alloc&) {
      write_problem(*answer, "out_of_memory", "the engine ran out of memory");
    } catch (const std::exception& error) {
      write_problem(*answer, "internal_error", error.what());
    } catch (...) {
      write_problem(*answer, "internal_error", "unknown error in the engine");
    }
  } catch (...) {  // not even the message could be stored
    delete answer;
    return nullptr;
  }
  return answer;
}

/// What the runs of this engine lend each other: an eye whose shape was found before, or whose mesh is that of the one
/// before, need not look for it again. No digit depends on it.
const std::shared_ptr<capsim::ModelLibrary>& lent() {
  static const auto library = std::make_shared<capsim::ModelLibrary>(16);
  return library;
}

/// A run to the last day that hands over day 0 as soon as the eye has come to rest.
capsim::RunWithMargin run_from_day_0(const capsim::Scenario& scenario, const capsim::ProgressCallback& progress,
                                     bool with_margin) {
  const auto go_on = [&] { return !progress || progress({0, scenario.duration_days, 0}); };
  try {
    capsim::Simulation eye(
        std::make_shared<const capsim::Model>(scenario, std::vector<capsim::RelaxingCuts>{}, false, lent(), go_on), {},
        progress);
    bool reached = eye.status() == capsim::Status::completed;
    if (reached) {
      Answer day_0;
      write_history(eye.history(), std::nullopt, day_0);
      capsim_begun(&day_0);
      reached = eye.advance_to(scenario.duration_days, progress) == capsim::Advance::reached;
    }
    capsim::RunWithMargin result{eye.history(), {}};
    if (reached && with_margin) result.margin = eye.runaway_margin();
    return result;
  } catch (const capsim::ModelError&) {  // a run that has not begun: the library says why
    return capsim::simulate_with_margin(scenario, progress, lent());
  }
}

/// A study as its text asks for it: {kind, plans, population, eyes, laws?, threshold?, layouts?}. One thread: that of
/// the caller; `listen` is told how many runs are done.
std::string study_json(const Json& request, bool listen) {
  const capsim::Population& eyes = capsim::population(request.at("population").get<std::string>());
  capsim::StudyOptions options;
  options.eyes = request.at("eyes").get<int>();
  options.laws = request.value("laws", std::vector<std::string>{});
  options.workers = 1;
  if (listen)
    options.progress = [](std::size_t done, std::size_t total) {
      return capsim_go_on(static_cast<double>(done), static_cast<double>(total), 0) != 0;
    };
  std::vector<capsim::Scenario> plans;
  for (const Json& plan : request.at("plans")) plans.push_back(capsim::Scenario::from_json(plan.dump()));
  const std::string kind = request.at("kind").get<std::string>();
  if (kind == "compare") return capsim::compare(plans, eyes, {}, options).to_json();
  if (kind == "visits") {
    capsim::Threshold threshold;
    const Json asked = request.value("threshold", Json::object());
    threshold.quantity = asked.value("quantity", threshold.quantity);
    threshold.limit = asked.value("limit", threshold.limit);
    threshold.below = asked.value("below", threshold.below);
    return capsim::visits(plans.at(0), eyes, threshold, {}, options).to_json();
  }
  if (kind != "cuts") throw capsim::ArgumentError("there is no study \"" + kind + "\": compare, visits or cuts");
  std::vector<capsim::CutLayout> layouts;
  for (const Json& layout : request.value("layouts", Json::array()))
    layouts.push_back({layout.at("name").get<std::string>(), layout.at("hours").get<std::vector<double>>(),
                       layout.at("length_mm").get<double>(), layout.at("day").get<double>()});
  return capsim::cuts(plans.at(0), eyes, std::move(layouts), options).to_json();
}

Json sensitivities_json(const capsim::Sensitivities& found) {
  Json parameters = Json::array();
  for (const capsim::SensitivityParameter& p : found.parameters)
    parameters.push_back({{"path", p.path}, {"unit", p.unit}, {"value", p.value}, {"one_sided", p.one_sided}});
  return {{"status", capsim::to_string(found.history.status())},
          {"message", found.message},
          {"parameters", std::move(parameters)},
          {"outcomes", outcomes_json(found.outcomes)}};
}

std::string_view view(const char* text, int bytes) { return {text, static_cast<std::size_t>(bytes)}; }

}  // namespace

extern "C" {

/// Runs the scenario in `text` (UTF-8 JSON). `listen`: call `goOn` after every time step. `with_margin`: the margin to
/// runaway of the last day is among the outcomes. `tell_day_0`: call `begun` with the history up to there.
EMSCRIPTEN_KEEPALIVE Answer* capsim_simulate(const char* text, int bytes, int listen, int with_margin, int tell_day_0) {
  return answered([&](Answer& answer) {
    const capsim::Scenario scenario = capsim::Scenario::from_json(view(text, bytes));
    bool stopped = false;  // who has once said stop is not asked again
    const auto heard = [&](const capsim::Progress& p) {
      stopped = stopped || capsim_go_on(p.day, p.duration_days, p.opening_area_mm2) == 0;
      return !stopped;
    };
    capsim::ProgressCallback progress;
    if (listen != 0) progress = heard;
    if (tell_day_0 == 0 && with_margin == 0)
      return write_history(capsim::simulate(scenario, progress, lent()), std::nullopt, answer);
    const capsim::RunWithMargin run = tell_day_0 != 0 ? run_from_day_0(scenario, progress, with_margin != 0)
                                                      : capsim::simulate_with_margin(scenario, progress, lent());
    write_history(run.history, run.margin, answer);
  });
}

/// The scenario in `text` with every field written, checked.
EMSCRIPTEN_KEEPALIVE Answer* capsim_complete(const char* text, int bytes) {
  return answered([&](Answer& answer) {
    capsim::Scenario scenario = capsim::Scenario::from_json(view(text, bytes));
    scenario.validate();
    answer.text = scenario.to_json(-1);
  });
}

/// The scenario in `text` seen in a mirror, every field written.
EMSCRIPTEN_KEEPALIVE Answer* capsim_mirrored(const char* text, int bytes) {
  return answered([&](Answer& answer) {
    answer.text = capsim::mirrored(capsim::Scenario::from_json(view(text, bytes))).to_json(-1);
  });
}

/// The populations that come with the library, as [{name, edition, description, laws}].
EMSCRIPTEN_KEEPALIVE Answer* capsim_populations() {
  return answered([](Answer& answer) {
    Json list = Json::array();
    for (const std::string& name : capsim::population_names()) {
      const capsim::Population& eyes = capsim::population(name);
      list.push_back(
          {{"name", name}, {"edition", eyes.edition()}, {"description", eyes.description()}, {"laws", eyes.laws()}});
    }
    answer.text = list.dump();
  });
}

/// One eye of a population about the scenario in `text` (UTF-8 JSON), every field written. `name` is UTF-8;
/// `typical`: the population's settings are put into the scenario first.
EMSCRIPTEN_KEEPALIVE Answer* capsim_eye_of_population(const char* name, int name_bytes, const char* text, int bytes,
                                                      double index, int typical) {
  return answered([&](Answer& answer) {
    const capsim::Scenario scenario = capsim::Scenario::from_json(view(text, bytes));
    try {
      const capsim::Population& eyes = capsim::population(view(name, name_bytes));
      const auto number = static_cast<std::uint64_t>(index);
      answer.text = (typical != 0 ? eyes.draw(scenario, number) : eyes.around(scenario, number)).to_json(-1);
    } catch (const capsim::ArgumentError& error) {  // no such population, or not for this contraction law
      write_problem(answer, "wrong_input", error.what());
    }
  });
}

/// The eye of the scenario in `text` (UTF-8 JSON) under another contraction law, at the same place within a population,
/// every field written. `name` and `law` are UTF-8.
EMSCRIPTEN_KEEPALIVE Answer* capsim_eye_under_law(const char* name, int name_bytes, const char* law, int law_bytes,
                                                  const char* text, int bytes) {
  return answered([&](Answer& answer) {
    const capsim::Scenario scenario = capsim::Scenario::from_json(view(text, bytes));
    try {
      answer.text = capsim::population(view(name, name_bytes)).under(scenario, view(law, law_bytes)).to_json(-1);
    } catch (const capsim::ArgumentError& error) {  // no such population, or not for one of the two laws
      write_problem(answer, "wrong_input", error.what());
    }
  });
}

/// Plans of a crowd: the study that `text` (UTF-8 JSON) asks for, as the library's own JSON. `listen`: call `goOn` with
/// the runs that are done and all there are.
EMSCRIPTEN_KEEPALIVE Answer* capsim_study(const char* text, int bytes, int listen) {
  return answered([&](Answer& answer) {
    try {
      answer.text = study_json(Json::parse(view(text, bytes)), listen != 0);
    } catch (const capsim::ScenarioError&) {
      throw;                                        // with all its violations
    } catch (const capsim::ArgumentError& error) {  // no such population or study
      write_problem(answer, "wrong_input", error.what());
    } catch (const Json::exception& error) {  // not the shape of a request
      write_problem(answer, "wrong_input", error.what());
    } catch (const std::out_of_range&) {
      write_problem(answer, "wrong_input", "a study needs a plan");
    }
  });
}

/// Derivatives of the outcomes of a run, as `text` (UTF-8 JSON) asks for them: {scenario, parameters}. The numbers are
/// those of outcome o by parameter p at [o * parameters + p].
EMSCRIPTEN_KEEPALIVE Answer* capsim_sensitivities(const char* text, int bytes) {
  return answered([&](Answer& answer) {
    try {
      const Json request = Json::parse(view(text, bytes));
      const auto paths = request.at("parameters").get<std::vector<std::string>>();
      const capsim::Sensitivities found =
          capsim::sensitivities(capsim::Scenario::from_json(request.at("scenario").dump()), paths);
      answer.text = sensitivities_json(found).dump(-1, ' ', false, Json::error_handler_t::replace);
      answer.numbers = found.by_outcome;
    } catch (const Json::exception& error) {  // not the shape of a request
      write_problem(answer, "wrong_input", error.what());
    }
  });
}

/// Version and the two cautions.
EMSCRIPTEN_KEEPALIVE Answer* capsim_about() {
  return answered([](Answer& answer) {
    answer.text = Json{{"version", capsim::version()},
                       {"researchCaution", capsim::research_caution()},
                       {"relaxingCutCaution", capsim::relaxing_cut_caution()}}
                      .dump();
  });
}

EMSCRIPTEN_KEEPALIVE const char* capsim_answer_text(const Answer* answer) { return answer->text.data(); }
EMSCRIPTEN_KEEPALIVE int capsim_answer_text_bytes(const Answer* answer) {
  return static_cast<int>(answer->text.size());
}
EMSCRIPTEN_KEEPALIVE const double* capsim_answer_numbers(const Answer* answer) { return answer->numbers.data(); }
EMSCRIPTEN_KEEPALIVE int capsim_answer_count(const Answer* answer) { return static_cast<int>(answer->numbers.size()); }
EMSCRIPTEN_KEEPALIVE void capsim_release(Answer* answer) { delete answer; }

}  // extern "C"
