// SPDX-License-Identifier: BSD-3-Clause
// The C interface: derivatives of a run, and how an advance came out.
#include <catch2/catch.hpp>
#include <limits>

#include "c_handles.hpp"
#include "capsim/model.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

Scenario eye() {
  Scenario scenario;
  scenario.duration_days = 20;
  scenario.output_every_days = 10;
  scenario.mesh = MeshSpec::coarse();
  return scenario;
}

std::string error_of(const SensitivitiesHandle& s) {
  return text_by([&](auto... to) { return capsim_sensitivities_error(s.get(), to...); });
}

}  // namespace

TEST_CASE("c_sensitivities_are_those_of_the_library_bit_for_bit", "[c_interface][sensitivities]") {
  const std::vector<std::string> by{"contraction.signal_days", "zonule.strength_by_hour.4"};
  SensitivityOptions wanted_options;
  wanted_options.series = {"opening_area_mm2", "zonule_load_mN"};
  wanted_options.series_days = {20};
  const Sensitivities wanted = sensitivities(eye(), by, wanted_options);

  const SensitivitiesHandle s(capsim_sensitivities_create());
  const ScenarioHandle scenario = scenario_of(eye());
  const char* const paths[] = {by[0].c_str(), by[1].c_str()};
  const char* const series[] = {"opening_area_mm2", "zonule_load_mN"};
  const double day = 20;
  capsim_sensitivity_options options = CAPSIM_SENSITIVITY_OPTIONS;
  options.series = series;
  options.series_count = 2;
  options.series_days = &day;
  options.series_day_count = 1;
  REQUIRE(capsim_sensitivities_run(s.get(), scenario.get(), paths, 2, &options) == CAPSIM_OK);
  CHECK(text_by([&](auto... to) { return capsim_sensitivities_message(s.get(), to...); }).empty());

  REQUIRE(capsim_sensitivities_parameter_count(s.get()) == 2);
  for (std::size_t p = 0; p < 2; ++p) {
    capsim_sensitivity_parameter one{};
    one.struct_size = sizeof one;
    REQUIRE(capsim_sensitivities_parameter(s.get(), p, &one) == CAPSIM_OK);
    CHECK(one.value == wanted.parameters[p].value);
    CHECK((one.one_sided == 1) == wanted.parameters[p].one_sided);
    CHECK(one.nearest_slack == wanted.parameters[p].nearest_slack);
    CHECK(one.nearest_wrinkle == wanted.parameters[p].nearest_wrinkle);
    CHECK(one.nearest_contact == wanted.parameters[p].nearest_contact);
    CHECK(one.nearest_jump == wanted.parameters[p].nearest_jump);
    CHECK(text_by([&](auto... to) { return capsim_sensitivities_parameter_path(s.get(), p, to...); }) == by[p]);
    CHECK(text_by([&](auto... to) { return capsim_sensitivities_parameter_unit(s.get(), p, to...); }) ==
          wanted.parameters[p].unit);
  }
  capsim_kink_counts passed{};
  passed.struct_size = sizeof passed;
  REQUIRE(capsim_sensitivities_kinks_passed(s.get(), &passed) == CAPSIM_OK);
  CHECK(passed.slack == wanted.kinks_passed.slack);
  CHECK(passed.wrinkle == wanted.kinks_passed.wrinkle);
  CHECK(passed.contact == wanted.kinks_passed.contact);
  REQUIRE_FALSE(wanted.outcomes.values.empty());
  for (std::size_t o = 0; o < wanted.outcomes.values.size(); ++o) {
    const char* name = wanted.outcomes.values[o].name.c_str();
    INFO(name);
    CHECK(bits(numbers_by([&](auto... to) { return capsim_sensitivities_of_outcome(s.get(), name, to...); })) ==
          bits(std::span(wanted.by_outcome).subspan(2 * o, 2)));
  }
  for (const auto& one : wanted.by_series)
    CHECK(bits(numbers_by([&](auto... to) {
            return capsim_sensitivities_of_series(s.get(), one.name.c_str(), to...);
          })) == bits(one.values));

  const HistoryHandle h = new_history();
  REQUIRE(capsim_sensitivities_history(s.get(), h.get()) == CAPSIM_OK);
  CHECK(bits(numbers_by([&](auto... to) { return capsim_history_values(h.get(), "opening_area_mm2", to...); })) ==
        bits(wanted.history.series("opening_area_mm2").values));
}

TEST_CASE("c_sensitivities_refuse_what_is_not_there_with_a_reason_for_each", "[c_interface][sensitivities]") {
  const SensitivitiesHandle s(capsim_sensitivities_create());
  const HistoryHandle h = new_history();
  const ScenarioHandle scenario = scenario_of(eye());
  std::size_t size = 0;
  CHECK(capsim_sensitivities_of_outcome(s.get(), "area_loss_percent", nullptr, 0, &size) == CAPSIM_NOT_FOUND);
  CHECK(capsim_sensitivities_history(s.get(), h.get()) == CAPSIM_NOT_FOUND);
  CHECK(capsim_sensitivities_parameter_count(s.get()) == 0);

  const char* const wrong[] = {"mesh.around", "opening.diamter_mm"};
  CHECK(capsim_sensitivities_run(s.get(), scenario.get(), wrong, 2, nullptr) == CAPSIM_INVALID_SCENARIO);
  REQUIRE(capsim_sensitivities_violation_count(s.get()) == 2);
  CHECK(text_by([&](auto... to) {
          return capsim_sensitivities_violation(s.get(), 0, CAPSIM_VIOLATION_LINE, to...);
        }).find("mesh") != std::string::npos);
  CHECK_THAT(error_of(s), Catch::Contains("opening.diamter_mm"));

  const char* const right[] = {"opening.diameter_mm"};
  const char* const none[] = {nullptr};
  capsim_sensitivity_options options = CAPSIM_SENSITIVITY_OPTIONS;
  options.series = none;
  options.series_count = 1;
  CHECK(capsim_sensitivities_run(s.get(), scenario.get(), right, 1, &options) == CAPSIM_BAD_ARGUMENT);
  const char* const unknown[] = {"opening_aera_mm2"};
  options.series = unknown;
  CHECK(capsim_sensitivities_run(s.get(), scenario.get(), right, 1, &options) == CAPSIM_BAD_ARGUMENT);
  CHECK_THAT(error_of(s), Catch::Contains("opening_aera_mm2"));
  CHECK(capsim_sensitivities_run(s.get(), nullptr, right, 1, nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_sensitivities_run(s.get(), scenario.get(), none, 1, nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_sensitivities_run(nullptr, scenario.get(), right, 1, nullptr) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_advance_says_reached_or_cancelled", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(eye());
  CHECK(capsim_simulation_last_advance(nullptr) == CAPSIM_ADVANCE_NONE);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  CHECK(capsim_simulation_last_advance(s.get()) == CAPSIM_ADVANCE_NONE);
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.progress = [](const capsim_progress*, void*) -> std::int32_t { return CAPSIM_CANCEL; };
  CHECK(capsim_simulation_advance_to(s.get(), 10, &options) == CAPSIM_NOT_COMPLETED);
  CHECK(capsim_simulation_last_advance(s.get()) == CAPSIM_ADVANCE_CANCELLED);
  CHECK(capsim_simulation_advance_to(s.get(), 10, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_last_advance(s.get()) == CAPSIM_ADVANCE_REACHED);
  CHECK(capsim_simulation_advance_to(s.get(), std::numeric_limits<double>::quiet_NaN(), nullptr) ==
        CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_simulation_last_advance(s.get()) == CAPSIM_ADVANCE_NONE);
  CHECK(capsim_advance_name(CAPSIM_ADVANCE_CANCELLED) == std::string("cancelled"));
  CHECK(capsim_advance_name(CAPSIM_ADVANCE_NONE) == std::string("none"));

  REQUIRE(capsim_scenario_set_integer(scenario.get(), "numerics.max_steps", 1) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  CHECK(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_NOT_COMPLETED);
  CHECK(capsim_simulation_last_advance(s.get()) == CAPSIM_ADVANCE_ENDED);
}

TEST_CASE("c_event_of_another_scenario_is_done_today", "[c_interface]") {
  Scenario weaker = eye();
  ContractionChange change;
  change.chronic_signal = 0;
  weaker.events.push_back({3, change});
  const ScenarioHandle scenario = scenario_of(eye()), from = scenario_of(weaker);
  const SimulationHandle s(capsim_simulation_create());
  CHECK(capsim_simulation_apply_event(s.get(), from.get(), 0) == CAPSIM_NOT_STARTED);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 10, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_apply_event(s.get(), from.get(), 1) == CAPSIM_NOT_FOUND);
  CHECK(capsim_simulation_apply_event(s.get(), nullptr, 0) == CAPSIM_BAD_ARGUMENT);
  REQUIRE(capsim_simulation_apply_event(s.get(), from.get(), 0) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);

  Simulation wanted(std::make_shared<const Model>(eye()));
  REQUIRE(wanted.advance_to(10) == Advance::reached);
  REQUIRE(wanted.apply(change));
  REQUIRE(wanted.advance_to(20) == Advance::reached);
  double area = 0;
  REQUIRE(capsim_simulation_opening_area_mm2(s.get(), &area) == CAPSIM_OK);
  CHECK(area == wanted.opening_area_mm2());
}
