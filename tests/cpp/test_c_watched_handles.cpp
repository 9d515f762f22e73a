// SPDX-License-Identifier: BSD-3-Clause
// The C interface: handles that tell what they do, hold no more than they may, and are not to be had while at work.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "c_handles.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

Scenario eye() {
  Scenario scenario;
  scenario.duration_days = 20;
  scenario.output_every_days = 10;
  scenario.mesh = {24, 2, 1};
  return scenario;
}

/// One eye of a population of the library, run in the calling thread.
struct SmallStudy {
  StudyHandle study{capsim_study_create()};
  PopulationHandle population{capsim_population_create()};
  ScenarioHandle plan = scenario_of(eye());
  capsim_study_options options = CAPSIM_STUDY_OPTIONS;

  SmallStudy() {
    options.eyes = options.workers = 1;
    REQUIRE(capsim_population_find(population.get(), capsim_population_name(0)) == CAPSIM_OK);
  }
  capsim_status compare() {
    const capsim_scenario* plans[] = {plan.get()};
    return capsim_study_compare(study.get(), plans, 1, population.get(), &options);
  }
  [[nodiscard]] std::string error() const {
    return text_by([&](auto... to) { return capsim_study_error(study.get(), to...); });
  }
};

const char* const one_path[] = {"contraction.signal_days"};

/// What a handle has told, line by line.
struct Log {
  std::vector<std::pair<capsim_log_level, std::string>> lines;
  [[nodiscard]] bool has(capsim_log_level level, const std::string& words) const {
    return std::any_of(lines.begin(), lines.end(), [&](const auto& line) {
      return line.first == level && line.second.find(words) != std::string::npos;
    });
  }
};
void write_down(capsim_log_level level, const char* text, void* user) {
  static_cast<Log*>(user)->lines.emplace_back(level, text);
}

}  // namespace

TEST_CASE("c_handle_with_a_log_tells_what_it_does_and_one_without_tells_nothing", "[c_interface]") {
  Log log;
  const HistoryHandle h = new_history(), silent = new_history();
  const ScenarioHandle scenario = scenario_of(eye());
  REQUIRE(capsim_history_set_log(h.get(), write_down, &log) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_OK);
  CHECK(log.lines.size() == 2);
  CHECK(log.has(CAPSIM_LOG_INFO, "begins"));
  CHECK(log.has(CAPSIM_LOG_INFO, "completed 20 days"));
  CHECK(capsim_simulate(scenario.get(), nullptr, silent.get()) == CAPSIM_OK);
  REQUIRE(capsim_scenario_set_integer(scenario.get(), "numerics.max_steps", 1) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_NOT_COMPLETED);
  CHECK(log.has(CAPSIM_LOG_WARNING, "time steps"));
  REQUIRE(capsim_scenario_set_number(scenario.get(), "zonule.strength", 7) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_INVALID_SCENARIO);
  CHECK(log.has(CAPSIM_LOG_ERROR, "zonule.strength"));
  REQUIRE(capsim_history_set_log(h.get(), nullptr, nullptr) == CAPSIM_OK);
  const std::size_t before = log.lines.size();
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_INVALID_SCENARIO);
  CHECK(log.lines.size() == before);

  Log steps;
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle right = scenario_of(eye());
  REQUIRE(capsim_simulation_set_log(s.get(), write_down, &steps) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), right.get()) == CAPSIM_OK);
  CHECK(steps.has(CAPSIM_LOG_INFO, "started"));
  const SimulationHandle fork(capsim_simulation_fork(s.get()));
  const std::size_t told = steps.lines.size();
  CHECK(capsim_simulation_advance_to(fork.get(), 1, nullptr) == CAPSIM_OK);
  CHECK(steps.lines.size() == told);
  CHECK(capsim_simulation_advance_to(s.get(), 1, nullptr) == CAPSIM_OK);
  CHECK(steps.has(CAPSIM_LOG_INFO, "reached day 1"));
  const double hour = 12;
  CHECK(capsim_simulation_cut(s.get(), &hour, 1, 0.5) == CAPSIM_INVALID_SCENARIO);  // was not foreseen
  CHECK(steps.has(CAPSIM_LOG_ERROR, "12"));
}

TEST_CASE("c_run_beyond_its_memory_limit_is_refused_before_its_model_is_built", "[c_interface]") {
  const HistoryHandle h = new_history();
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(eye());
  constexpr std::size_t too_small = 100'000, ample = 64'000'000;  // a coarse run holds some megabytes
  REQUIRE(capsim_history_set_memory_limit(h.get(), too_small) == CAPSIM_OK);
  REQUIRE(capsim_simulation_set_memory_limit(s.get(), too_small) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_OUT_OF_MEMORY);
  CHECK_THAT(error_of(h), Catch::Contains("limit") && Catch::Contains("100000"));
  CHECK(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OUT_OF_MEMORY);
  REQUIRE(capsim_history_set_memory_limit(h.get(), ample) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_OK);
  // The finest mesh there may be does not fit, and is refused without being made.
  REQUIRE(capsim_scenario_set_integer(scenario.get(), "mesh.around", 384) == CAPSIM_OK);
  REQUIRE(capsim_scenario_set_integer(scenario.get(), "mesh.radial", 48) == CAPSIM_OK);
  CHECK(capsim_simulate(scenario.get(), nullptr, h.get()) == CAPSIM_OUT_OF_MEMORY);
  CHECK(capsim_history_set_memory_limit(nullptr, 1) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_history_set_log(nullptr, nullptr, nullptr) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_history_at_work_refuses_a_second_run_and_its_own_end", "[c_interface]") {
  const HistoryHandle h = new_history();
  const ScenarioHandle scenario = scenario_of(eye());
  struct Seen {
    capsim_history* history;
    const capsim_scenario* scenario;
    bool all_refused = true;
  } seen{h.get(), scenario.get()};
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.user = &seen;
  options.progress = [](const capsim_progress*, void* user) -> std::int32_t {
    auto& at = *static_cast<Seen*>(user);
    capsim_history_destroy(at.history);  // does nothing
    const bool refused = capsim_simulate(at.scenario, nullptr, at.history) == CAPSIM_BUSY &&
                         capsim_history_load(at.history, "x") == CAPSIM_BUSY &&
                         capsim_batch(&at.scenario, &at.history, nullptr, 1, nullptr, nullptr, nullptr) == CAPSIM_BUSY;
    at.all_refused = at.all_refused && refused;
    return CAPSIM_CONTINUE;
  };
  CHECK(capsim_simulate(scenario.get(), &options, h.get()) == CAPSIM_OK);
  CHECK(seen.all_refused);
  CHECK(capsim_history_rows(h.get()) == 3);
}

TEST_CASE("c_study_and_sensitivities_tell_what_they_do", "[c_interface][study][sensitivities]") {
  Log log;
  SmallStudy small;
  REQUIRE(capsim_study_set_log(small.study.get(), write_down, &log) == CAPSIM_OK);
  REQUIRE(small.compare() == CAPSIM_OK);
  CHECK(log.lines.size() == 2);
  CHECK(log.has(CAPSIM_LOG_INFO, "compare of 1 eyes"));
  CHECK(log.has(CAPSIM_LOG_INFO, "compare is done"));
  small.options.eyes = -1;
  CHECK(small.compare() == CAPSIM_INVALID_SCENARIO);
  CHECK(log.has(CAPSIM_LOG_ERROR, "eyes"));
  REQUIRE(capsim_study_set_log(small.study.get(), nullptr, nullptr) == CAPSIM_OK);
  const std::size_t told = log.lines.size();
  CHECK(small.compare() == CAPSIM_INVALID_SCENARIO);
  CHECK(log.lines.size() == told);
  CHECK(capsim_study_set_log(nullptr, nullptr, nullptr) == CAPSIM_BAD_ARGUMENT);

  Log derivatives;
  const SensitivitiesHandle s(capsim_sensitivities_create());
  REQUIRE(capsim_sensitivities_set_log(s.get(), write_down, &derivatives) == CAPSIM_OK);
  REQUIRE(capsim_sensitivities_run(s.get(), small.plan.get(), one_path, 1, nullptr) == CAPSIM_OK);
  CHECK(derivatives.lines.size() == 2);
  CHECK(derivatives.has(CAPSIM_LOG_INFO, "derivatives by 1 parameters begins"));
  CHECK(derivatives.has(CAPSIM_LOG_INFO, "completed 20 days"));
  const char* const wrong[] = {"opening.diamter_mm"};
  CHECK(capsim_sensitivities_run(s.get(), small.plan.get(), wrong, 1, nullptr) == CAPSIM_INVALID_SCENARIO);
  CHECK(derivatives.has(CAPSIM_LOG_ERROR, "diamter_mm"));
  CHECK(capsim_sensitivities_set_log(nullptr, nullptr, nullptr) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_study_and_sensitivities_beyond_their_memory_limit_are_refused", "[c_interface][study][sensitivities]") {
  SmallStudy small;
  capsim_scenario* plan = small.plan.get();
  const SensitivitiesHandle s(capsim_sensitivities_create());
  const HistoryHandle h = new_history();
  // A limit that one run keeps, and derivatives by many numbers or runs on many threads do not.
  constexpr std::size_t of_one_run = 16'000'000;
  REQUIRE(capsim_history_set_memory_limit(h.get(), of_one_run) == CAPSIM_OK);
  REQUIRE(capsim_study_set_memory_limit(small.study.get(), of_one_run) == CAPSIM_OK);
  REQUIRE(capsim_sensitivities_set_memory_limit(s.get(), of_one_run) == CAPSIM_OK);
  CHECK(capsim_simulate(plan, nullptr, h.get()) == CAPSIM_OK);
  CHECK(small.compare() == CAPSIM_OK);
  CHECK(capsim_sensitivities_run(s.get(), plan, one_path, 1, nullptr) == CAPSIM_OK);
  CHECK(capsim_sensitivities_parameter_count(s.get()) == 1);

  small.options.eyes = small.options.workers = 64;
  CHECK(small.compare() == CAPSIM_OUT_OF_MEMORY);
  CHECK_THAT(small.error(), Catch::Contains("limit") && Catch::Contains("16000000") && Catch::Contains("workers"));
  CHECK(capsim_study_visits(small.study.get(), plan, small.population.get(), "opening_area_mm2", 3, 1,
                            &small.options) == CAPSIM_OUT_OF_MEMORY);
  CHECK(capsim_study_cuts(small.study.get(), plan, small.population.get(), 0.5, 5, &small.options) ==
        CAPSIM_OUT_OF_MEMORY);
  const std::vector<const char*> many(64, one_path[0]);
  CHECK(capsim_sensitivities_run(s.get(), plan, many.data(), many.size(), nullptr) == CAPSIM_OUT_OF_MEMORY);
  CHECK_THAT(text_by([&](auto... to) { return capsim_sensitivities_error(s.get(), to...); }),
             Catch::Contains("fewer parameters"));
  CHECK(capsim_sensitivities_parameter_count(s.get()) == 0);  // what was there before is not shown as the answer
  CHECK(capsim_study_set_memory_limit(nullptr, 1) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_sensitivities_set_memory_limit(nullptr, 1) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_study_and_sensitivities_at_work_refuse_a_second_call_and_their_own_end",
          "[c_interface][study][sensitivities]") {
  struct Seen {
    SmallStudy small;
    capsim_sensitivities* derivatives = nullptr;
    int asked = 0, refused = 0;
  } seen;
  seen.small.options.user = &seen;
  seen.small.options.executor = [](std::size_t count, capsim_job job, void* batch, void* user) -> std::int32_t {
    auto& at = *static_cast<Seen*>(user);
    capsim_study_destroy(at.small.study.get());  // does nothing
    ++at.asked;
    at.refused += at.small.compare() == CAPSIM_BUSY &&
                  capsim_study_set_log(at.small.study.get(), nullptr, nullptr) == CAPSIM_BUSY &&
                  capsim_study_set_memory_limit(at.small.study.get(), 1) == CAPSIM_BUSY;
    for (std::size_t k = 0; k < count; ++k) job(batch, k);
    return 0;
  };
  CHECK(seen.small.compare() == CAPSIM_OK);
  CHECK(seen.asked == 1);
  CHECK(seen.refused == 1);

  const SensitivitiesHandle s(capsim_sensitivities_create());
  seen.derivatives = s.get();
  const auto meddle = [](capsim_log_level, const char*, void* user) {
    auto& at = *static_cast<Seen*>(user);
    capsim_sensitivities_destroy(at.derivatives);  // does nothing
    ++at.asked;
    at.refused += capsim_sensitivities_run(at.derivatives, at.small.plan.get(), one_path, 1, nullptr) == CAPSIM_BUSY;
  };
  REQUIRE(capsim_sensitivities_set_log(s.get(), meddle, &seen) == CAPSIM_OK);
  CHECK(capsim_sensitivities_run(s.get(), seen.small.plan.get(), one_path, 1, nullptr) == CAPSIM_OK);
  CHECK(seen.asked == 3);
  CHECK(seen.refused == 3);
  CHECK(capsim_sensitivities_parameter_count(s.get()) == 1);
}

TEST_CASE("c_study_and_sensitivities_end_by_flag_or_deadline_and_say_which", "[c_interface][study][sensitivities]") {
  SmallStudy small;
  const SensitivitiesHandle s(capsim_sensitivities_create());
  const std::unique_ptr<capsim_cancel_flag, decltype(&capsim_cancel_flag_destroy)> flag(capsim_cancel_flag_create(),
                                                                                        &capsim_cancel_flag_destroy);
  capsim_cancel_flag_raise(flag.get());
  const char* const series[] = {"opening_area_mm2"};
  capsim_sensitivity_options options = CAPSIM_SENSITIVITY_OPTIONS;
  options.series = series;
  options.series_count = 1;
  const auto derivatives = [&] { return capsim_sensitivities_run(s.get(), small.plan.get(), one_path, 1, &options); };
  const auto why = [&] { return text_by([&](auto... to) { return capsim_sensitivities_error(s.get(), to...); }); };
  constexpr double too_short = 1e-9, ample = 1e9;

  small.options.cancel = options.cancel = flag.get();
  CHECK(small.compare() == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(small.error(), Catch::StartsWith("the cancel flag is raised"));
  CHECK(derivatives() == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(why(), Catch::StartsWith("the cancel flag is raised"));
  for (const double value :
       numbers_by([&](auto... to) { return capsim_sensitivities_of_series(s.get(), series[0], to...); }))
    CHECK(std::isnan(value));

  small.options.cancel = options.cancel = nullptr;
  small.options.deadline_seconds = options.deadline_seconds = too_short;
  CHECK(small.compare() == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(small.error(), Catch::StartsWith("the deadline has passed"));
  CHECK(derivatives() == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(why(), Catch::StartsWith("the deadline has passed"));
  small.options.deadline_seconds = options.deadline_seconds = -1;
  CHECK(small.compare() == CAPSIM_BAD_ARGUMENT);
  CHECK(derivatives() == CAPSIM_BAD_ARGUMENT);
  small.options.deadline_seconds = options.deadline_seconds = ample;
  CHECK(small.compare() == CAPSIM_OK);
  CHECK(derivatives() == CAPSIM_OK);
}
