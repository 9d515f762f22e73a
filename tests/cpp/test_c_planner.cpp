// SPDX-License-Identifier: BSD-3-Clause
// What a planner in another language needs of the C interface: crowds, margins, batches, cancelling, studies.
#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <thread>

#include "c_handles.hpp"
#include "capsim/diagnostics.hpp"
#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/population.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

struct DestroyFlag {
  void operator()(capsim_cancel_flag* f) const { capsim_cancel_flag_destroy(f); }
};
using FlagHandle = std::unique_ptr<capsim_cancel_flag, DestroyFlag>;

std::string error_of(const PopulationHandle& p) {
  return text_by([&](auto... to) { return capsim_population_error(p.get(), to...); });
}

}  // namespace

TEST_CASE("c_version_number_is_that_of_the_header_and_of_the_text", "[c_interface]") {
  CHECK(capsim_version_number() == CAPSIM_VERSION_NUMBER);
  CHECK(std::to_string(CAPSIM_VERSION_MAJOR) + "." + std::to_string(CAPSIM_VERSION_MINOR) + "." +
            std::to_string(CAPSIM_VERSION_PATCH) ==
        capsim_version());
}

TEST_CASE("c_diagnostics_are_all_there_by_name_and_in_the_struct", "[c_interface]") {
  const ScenarioHandle s = scenario_of(short_eye());
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_OK);
  REQUIRE(capsim_diagnostic_count() == diagnostic_fields().size());
  capsim_diagnostics all{};
  all.struct_size = sizeof all;
  REQUIRE(capsim_history_diagnostics(h.get(), &all) == CAPSIM_OK);
  for (std::size_t k = 0; k < capsim_diagnostic_count(); ++k) {
    CHECK(capsim_diagnostic_name(k) == std::string(diagnostic_fields()[k].name));
    CHECK(capsim_diagnostic_unit(k) == std::string(diagnostic_fields()[k].unit));
    CHECK(capsim_diagnostic_description(k) == std::string(diagnostic_fields()[k].description));
    double value = -1;
    CHECK(capsim_history_diagnostic(h.get(), capsim_diagnostic_name(k), &value) == CAPSIM_OK);
    CHECK(value >= 0);
  }
  CHECK(capsim_diagnostic_name(capsim_diagnostic_count()) == nullptr);
  double value = 0;
  CHECK(capsim_history_diagnostic(h.get(), "seconds_factor", &value) == CAPSIM_OK);
  CHECK(value == all.seconds_factor);
  CHECK(capsim_history_diagnostic(h.get(), "projected_factorizations", &value) == CAPSIM_OK);
  CHECK(value == static_cast<double>(all.projected_factorizations));
  CHECK(capsim_history_diagnostic(h.get(), "iterations_of_newton", &value) == CAPSIM_NOT_FOUND);
}

TEST_CASE("c_eye_of_a_population_is_that_of_the_library", "[c_interface]") {
  const PopulationHandle p(capsim_population_create());
  REQUIRE(capsim_population_count() == population_names().size());
  CHECK(capsim_population_name(capsim_population_count()) == nullptr);
  CHECK(capsim_population_find(p.get(), "martians") == CAPSIM_NOT_FOUND);
  CHECK_THAT(error_of(p), Catch::Contains(capsim_population_name(0)));
  const ScenarioHandle base = scenario_of(short_eye()), drawn = new_scenario();
  CHECK(capsim_population_draw(p.get(), base.get(), 3, drawn.get()) == CAPSIM_NOT_FOUND);  // nothing in it yet
  REQUIRE(capsim_population_find(p.get(), capsim_population_name(0)) == CAPSIM_OK);
  const Population& wanted = population(capsim_population_name(0));
  const auto is = [&](const Scenario& scenario) { CHECK(json_text(drawn) == scenario.to_json(-1)); };
  REQUIRE(capsim_population_draw(p.get(), base.get(), 3, drawn.get()) == CAPSIM_OK);
  is(wanted.draw(short_eye(), 3));
  REQUIRE(capsim_population_around(p.get(), base.get(), 5, drawn.get()) == CAPSIM_OK);
  is(wanted.around(short_eye(), 5));
  REQUIRE(capsim_population_typical(p.get(), base.get(), drawn.get()) == CAPSIM_OK);
  is(wanted.typical(short_eye()));
  REQUIRE(capsim_population_law_count(p.get()) == wanted.laws().size());
  const std::string law = text_by([&](auto... to) { return capsim_population_law(p.get(), 0, to...); });
  CHECK(law == wanted.laws()[0]);
  REQUIRE(capsim_population_under(p.get(), base.get(), law.c_str(), drawn.get()) == CAPSIM_OK);
  is(wanted.under(short_eye(), law));
  CHECK(capsim_population_under(p.get(), base.get(), "magic", drawn.get()) == CAPSIM_NOT_FOUND);
  CHECK_THAT(error_of(p), Catch::Contains("magic"));
  const auto part = [&](capsim_population_part what) {
    return text_by([&](auto... to) { return capsim_population_text(p.get(), what, to...); });
  };
  CHECK(part(CAPSIM_POPULATION_NAME) == wanted.name());
  CHECK(part(CAPSIM_POPULATION_EDITION) == wanted.edition());
  CHECK(part(CAPSIM_POPULATION_DESCRIPTION) == wanted.description());
  double error = 0;
  CHECK(capsim_population_area_error(p.get(), &error) == CAPSIM_OK);
  CHECK(error == wanted.area_error());
  const std::string json = part(CAPSIM_POPULATION_JSON);
  CHECK(capsim_population_read_json(p.get(), json.data(), json.size()) == CAPSIM_OK);
  CHECK(capsim_population_read_json(p.get(), "{}", 2) == CAPSIM_INVALID_SCENARIO);
  REQUIRE(capsim_population_violation_count(p.get()) > 0);
  CHECK_FALSE(text_by([&](auto... to) {
                return capsim_population_violation(p.get(), 0, CAPSIM_VIOLATION_LINE, to...);
              }).empty());
}

TEST_CASE("c_quantile_is_linear_between_neighbours_and_passes_over_gaps", "[c_interface]") {
  const double gap = std::numeric_limits<double>::quiet_NaN();
  const double values[] = {5, gap, 1, 3, 7, 9};
  double q = 0;
  CHECK(capsim_quantile(values, 6, 0.5, &q) == CAPSIM_OK);
  CHECK(q == 5);
  CHECK(capsim_quantile(values, 6, 0.1, &q) == CAPSIM_OK);
  CHECK(q == Approx(1.8));
  CHECK(capsim_quantile(values, 6, 1, &q) == CAPSIM_OK);
  CHECK(q == 9);
  CHECK(capsim_quantile(&gap, 1, 0.5, &q) == CAPSIM_NOT_FOUND);
  CHECK(capsim_quantile(values, 6, 1.5, &q) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_runaway_margin_is_that_of_the_library_and_becomes_an_outcome", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(short_eye());
  capsim_runaway_margin margin{};
  margin.struct_size = sizeof margin;
  CHECK(capsim_simulation_runaway_margin(s.get(), &margin) == CAPSIM_NOT_STARTED);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);
  REQUIRE(capsim_simulation_runaway_margin(s.get(), &margin) == CAPSIM_OK);
  Simulation wanted(std::make_shared<const Model>(short_eye()));
  REQUIRE(wanted.advance_to(20) == Advance::reached);
  const RunawayMargin found = wanted.runaway_margin();
  CHECK(margin.contraction_factor == found.contraction_factor);
  CHECK(margin.area_mm2 == found.area_mm2);
  CHECK(capsim_runaway_end_name(margin.end) == std::string(to_word(found.end)));
  CHECK(capsim_runaway_end_name(99) == std::string("unknown"));
  const HistoryHandle h = new_history();
  CHECK(capsim_history_set_runaway_margin(h.get(), &margin) == CAPSIM_NOT_FOUND);
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  double value = 0;
  CHECK(capsim_history_outcome_value(h.get(), "runaway_margin", &value) == CAPSIM_NOT_FOUND);
  REQUIRE(capsim_history_set_runaway_margin(h.get(), &margin) == CAPSIM_OK);
  CHECK(capsim_history_outcome_value(h.get(), "runaway_margin", &value) == CAPSIM_OK);
  CHECK(value == found.contraction_factor);
}

TEST_CASE("c_state_is_copied_into_the_callers_buffer", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(short_eye());
  std::size_t needed = 0;
  CHECK(capsim_simulation_positions_mm(s.get(), nullptr, 0, &needed) == CAPSIM_NOT_STARTED);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  const auto model = std::make_shared<const Model>(short_eye());
  const Simulation wanted(model);
  CHECK(bits(numbers_by([&](auto... to) { return capsim_simulation_positions_mm(s.get(), to...); })) ==
        bits(wanted.positions()));
  CHECK(bits(numbers_by([&](auto... to) { return capsim_simulation_tissue_state(s.get(), to...); })) ==
        bits(wanted.tissue_state()));
  REQUIRE(capsim_simulation_equator_nodes(s.get(), nullptr, 0, &needed) == CAPSIM_OK);
  std::vector<int32_t> nodes(needed);
  CHECK(capsim_simulation_equator_nodes(s.get(), nodes.data(), needed - 1, nullptr) == CAPSIM_BUFFER_TOO_SMALL);
  REQUIRE(capsim_simulation_equator_nodes(s.get(), nodes.data(), needed, nullptr) == CAPSIM_OK);
  CHECK(nodes == model->mesh().equator_nodes());
}

TEST_CASE("c_batch_gives_the_bits_of_single_runs_on_any_threads", "[c_interface][threads]") {
  constexpr std::size_t count = 5;
  std::vector<ScenarioHandle> scenarios;
  std::vector<HistoryHandle> histories;
  std::vector<const capsim_scenario*> from;
  std::vector<capsim_history*> to;
  std::vector<std::vector<std::uint64_t>> wanted;
  for (std::size_t k = 0; k < count; ++k) {
    Scenario one = short_eye(5);
    one.opening.diameter_mm = 4.5 + 0.2 * static_cast<double>(k);
    scenarios.push_back(scenario_of(one));
    const HistoryHandle alone = new_history();
    REQUIRE(capsim_simulate(scenarios[k].get(), nullptr, alone.get()) == CAPSIM_OK);
    wanted.push_back(areas_of(alone));
    histories.push_back(new_history());
    from.push_back(scenarios[k].get());
    to.push_back(histories[k].get());
  }
  const auto on_threads = [](std::size_t jobs, capsim_job job, void* batch, void*) -> int32_t {
    std::vector<std::thread> threads;
    for (std::size_t k = 0; k < jobs; ++k) threads.emplace_back([=] { job(batch, k); });
    for (std::thread& thread : threads) thread.join();
    return 0;
  };
  const capsim_executor executors[] = {nullptr, on_threads};
  for (const capsim_executor executor : executors) {
    std::vector<capsim_status> statuses(count, -99);
    CHECK(capsim_batch(from.data(), to.data(), statuses.data(), count, nullptr, executor, nullptr) == CAPSIM_OK);
    CHECK(statuses == std::vector<capsim_status>(count, CAPSIM_OK));
    for (std::size_t k = 0; k < count; ++k) CHECK(areas_of(histories[k]) == wanted[k]);
  }

  // Executors that break their contract are told, and what was not run says so.
  const auto lazy = [](std::size_t jobs, capsim_job job, void* batch, void*) -> int32_t {
    for (std::size_t k = 0; k + 1 < jobs; ++k) job(batch, k);
    return 0;
  };
  const auto twice = [](std::size_t jobs, capsim_job job, void* batch, void*) -> int32_t {
    for (std::size_t k = 0; k < jobs; ++k) job(batch, k);
    job(batch, 0);
    job(batch, jobs);
    return 0;
  };
  std::vector<capsim_status> statuses(count);
  CHECK(capsim_batch(from.data(), to.data(), statuses.data(), count, nullptr, lazy, nullptr) == CAPSIM_CALLBACK_FAILED);
  CHECK(statuses.front() == CAPSIM_OK);
  CHECK(statuses.back() == CAPSIM_CALLBACK_FAILED);
  CHECK_THAT(error_of(histories.back()), Catch::Contains("did not run"));
  CHECK(capsim_batch(from.data(), to.data(), nullptr, count, nullptr, twice, nullptr) == CAPSIM_CALLBACK_FAILED);
  to[1] = to[0];
  CHECK(capsim_batch(from.data(), to.data(), nullptr, count, nullptr, nullptr, nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_batch(nullptr, nullptr, nullptr, 0, nullptr, nullptr, nullptr) == CAPSIM_OK);
}

TEST_CASE("c_flag_that_another_thread_raises_ends_the_run", "[c_interface][threads]") {
  const FlagHandle flag(capsim_cancel_flag_create());
  CHECK(capsim_cancel_flag_is_raised(flag.get()) == 0);
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.cancel = flag.get();
  options.user = flag.get();
  options.progress = [](const capsim_progress* now, void* user) -> int32_t {
    if (now->day > 2) std::thread([user] { capsim_cancel_flag_raise(static_cast<capsim_cancel_flag*>(user)); }).join();
    return CAPSIM_CONTINUE;
  };
  const ScenarioHandle s = scenario_of(short_eye());
  const HistoryHandle h = new_history();
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_NOT_COMPLETED);
  CHECK(capsim_history_end(h.get()) == CAPSIM_END_CANCELLED);
  CHECK_THAT(error_of(h), Catch::StartsWith("the cancel flag is raised: "));
  CHECK(capsim_history_rows(h.get()) > 0);
  capsim_cancel_flag_lower(flag.get());
  options.progress = nullptr;
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_OK);
}

TEST_CASE("c_deadline_ends_the_run_after_a_step_and_says_so", "[c_interface]") {
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.deadline_seconds = 1e-9;
  const ScenarioHandle s = scenario_of(short_eye());
  const HistoryHandle h = new_history();
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(error_of(h), Catch::StartsWith("the deadline has passed: "));
  options.deadline_seconds = 1e6;
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_OK);
  for (const double wrong : {-1.0, std::numeric_limits<double>::quiet_NaN()}) {
    options.deadline_seconds = wrong;
    CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_BAD_ARGUMENT);
  }
}

TEST_CASE("c_studies_are_those_of_the_library_on_any_threads", "[c_interface][study]") {
  const StudyHandle study(capsim_study_create());
  const PopulationHandle p(capsim_population_create());
  Scenario small = short_eye(10);
  small.mesh.radial = 2;  // some thirty runs
  small.mesh.order = 1;
  Scenario large = small;
  small.name = "small";
  large.name = "large";
  small.opening.diameter_mm = 4.5;
  large.opening.diameter_mm = 5.5;
  const ScenarioHandle one = scenario_of(small), other = scenario_of(large);
  const capsim_scenario* plans[] = {one.get(), other.get()};
  capsim_study_options options = CAPSIM_STUDY_OPTIONS;
  options.eyes = 2;
  options.workers = 1;
  const auto json = [&] { return text_by([&](auto... to) { return capsim_study_json(study.get(), to...); }); };
  const auto error = [&] { return text_by([&](auto... to) { return capsim_study_error(study.get(), to...); }); };
  std::size_t needed = 0;
  CHECK(capsim_study_json(study.get(), nullptr, 0, &needed) == CAPSIM_NOT_FOUND);
  CHECK(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_NOT_FOUND);  // no population in it
  REQUIRE(capsim_population_find(p.get(), capsim_population_name(0)) == CAPSIM_OK);
  const Population& crowd = population(capsim_population_name(0));
  StudyOptions wanted;
  wanted.eyes = 2;
  wanted.workers = 1;

  REQUIRE(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_OK);
  const std::string compared = json();
  CHECK(compared == capsim::compare({small, large}, crowd, {}, wanted).to_json());
  options.executor = [](std::size_t count, capsim_job job, void* batch, void*) -> int32_t {
    for (std::size_t k = count; k-- > 0;) job(batch, k);
    return 0;
  };
  REQUIRE(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_OK);
  CHECK(json() == compared);
  options.executor = [](std::size_t, capsim_job, void*, void*) -> int32_t { return 0; };
  CHECK(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_CALLBACK_FAILED);
  CHECK_THAT(error(), Catch::Contains("left jobs out"));
  options.executor = nullptr;

  REQUIRE(capsim_study_visits(study.get(), one.get(), p.get(), "clear_circle_diameter_mm", 3, 1, &options) ==
          CAPSIM_OK);
  CHECK(json() == visits(small, crowd, {}, {}, wanted).to_json());
  CHECK(capsim_study_visits(study.get(), one.get(), p.get(), "brightness", 3, 1, &options) == CAPSIM_INVALID_SCENARIO);
  REQUIRE(capsim_study_violation_count(study.get()) > 0);
  CHECK_FALSE(text_by([&](auto... to) {
                return capsim_study_violation(study.get(), 0, CAPSIM_VIOLATION_LINE, to...);
              }).empty());
  options.eyes = 1;
  wanted.eyes = 1;
  REQUIRE(capsim_study_cuts(study.get(), one.get(), p.get(), 0.5, 5, &options) == CAPSIM_OK);
  CHECK(json() == cuts(small, crowd, usual_layouts(small, 0.5, 5), wanted).to_json());

  // With wishes of the host's own.
  const double days[] = {2, 9}, hours[] = {12, 6};
  REQUIRE(capsim_study_add_quantity(study.get(), "opening_area_mm2") == CAPSIM_OK);
  REQUIRE(capsim_study_add_law(study.get(), "active_lock_in") == CAPSIM_OK);
  REQUIRE(capsim_study_add_schedule(study.get(), "two", days, 2) == CAPSIM_OK);
  REQUIRE(capsim_study_add_layout(study.get(), "both ends", hours, 2, 0.4, 4) == CAPSIM_OK);
  wanted.laws = {"active_lock_in"};
  REQUIRE(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_OK);
  CHECK(json() == capsim::compare({small, large}, crowd, {"opening_area_mm2"}, wanted).to_json());
  REQUIRE(capsim_study_visits(study.get(), one.get(), p.get(), "clear_circle_diameter_mm", 3, 1, &options) ==
          CAPSIM_OK);
  CHECK(json() == visits(small, crowd, {}, {{"two", {2, 9}}}, wanted).to_json());
  REQUIRE(capsim_study_cuts(study.get(), one.get(), p.get(), 0.5, 5, &options) == CAPSIM_OK);
  CHECK(json() == cuts(small, crowd, {{"both ends", {12, 6}, 0.4, 4}}, wanted).to_json());
  REQUIRE(capsim_study_add_quantity(study.get(), "brightness") == CAPSIM_OK);
  CHECK(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_INVALID_SCENARIO);
  CHECK(capsim_study_add_quantity(study.get(), nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_study_add_schedule(study.get(), "none", nullptr, 2) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_study_add_layout(nullptr, "none", hours, 2, 0.4, 4) == CAPSIM_BAD_ARGUMENT);
  REQUIRE(capsim_study_clear(study.get()) == CAPSIM_OK);
  options.eyes = 2;
  REQUIRE(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_OK);
  CHECK(json() == compared);

  const FlagHandle flag(capsim_cancel_flag_create());
  capsim_cancel_flag_raise(flag.get());
  options.cancel = flag.get();
  CHECK(capsim_study_compare(study.get(), plans, 2, p.get(), &options) == CAPSIM_NOT_COMPLETED);
  CHECK_FALSE(json().empty());
}
