// SPDX-License-Identifier: BSD-3-Clause
// Stepping through the C interface: advance, act, fork, roll back, go on in another process.
#include <catch2/catch.hpp>
#include <cmath>
#include <thread>

#include "c_handles.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

constexpr double cut_hours[2] = {12, 6};
constexpr double cut_length_mm = 0.5;

Scenario eye() {
  Scenario scenario;
  scenario.name = "stepping";
  scenario.duration_days = 40;
  scenario.output_every_days = 10;
  scenario.mesh = MeshSpec::coarse();
  return scenario;
}

/// Started, with cuts and a ring foreseen.
SimulationHandle started() {
  SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(eye());
  REQUIRE(capsim_simulation_foresee_cuts(s.get(), cut_hours, 2, cut_length_mm) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  return s;
}

std::vector<std::uint64_t> areas_of(const SimulationHandle& s) {
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  return bits(numbers_by([&](auto... to) { return capsim_history_values(h.get(), "opening_area_mm2", to...); }));
}

std::string checkpoint_of(const SimulationHandle& s) {
  std::size_t needed = 0;
  REQUIRE(capsim_simulation_checkpoint(s.get(), nullptr, 0, &needed) == CAPSIM_OK);
  std::string bytes(needed, '\0');
  CHECK(capsim_simulation_checkpoint(s.get(), bytes.data(), needed - 1, &needed) == CAPSIM_BUFFER_TOO_SMALL);
  REQUIRE(capsim_simulation_checkpoint(s.get(), bytes.data(), bytes.size(), &needed) == CAPSIM_OK);
  CHECK(needed == bytes.size());
  return bytes;
}

}  // namespace

TEST_CASE("c_steps_are_those_of_the_cpp_simulation_bit_for_bit", "[c_interface]") {
  Simulation wanted(std::make_shared<const Model>(eye(), std::vector<RelaxingCuts>{{{12, 6}, cut_length_mm}}));
  const SimulationHandle s = started();
  REQUIRE(wanted.advance_to(15) == Advance::reached);
  REQUIRE(capsim_simulation_advance_to(s.get(), 15, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_day(s.get()) == 15);
  double area = 0;
  CHECK(capsim_simulation_opening_area_mm2(s.get(), &area) == CAPSIM_OK);
  CHECK(area == wanted.opening_area_mm2());
  CHECK(capsim_simulation_memory_bytes(s.get()) == wanted.memory_bytes());
  REQUIRE(wanted.apply(RelaxingCuts{{12, 6}, cut_length_mm}));
  REQUIRE(capsim_simulation_cut(s.get(), cut_hours, 2, cut_length_mm) == CAPSIM_OK);
  const std::int32_t hours[1] = {4};
  const double strengths[1] = {0.5};
  REQUIRE(wanted.apply(ZonuleDamage{{{4, 0.5}}}));
  REQUIRE(capsim_simulation_damage_zonule(s.get(), hours, strengths, 1) == CAPSIM_OK);
  REQUIRE(wanted.advance_to(40) == Advance::reached);
  REQUIRE(capsim_simulation_advance_to(s.get(), 40, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_COMPLETED);
  CHECK(areas_of(s) == bits(wanted.history().opening_area_mm2()));
  // A cut made by hand comes with the cautions of cuts, though the scenario plans none.
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  REQUIRE(capsim_history_caution_count(h.get()) == 2);
  CHECK(text_by([&](auto... to) { return capsim_history_caution(h.get(), 1, to...); }) ==
        capsim_relaxing_cut_caution());
}

TEST_CASE("c_forks_are_independent_and_may_run_in_threads", "[c_interface]") {
  const SimulationHandle past = started();
  REQUIRE(capsim_simulation_advance_to(past.get(), 20, nullptr) == CAPSIM_OK);
  const auto before = areas_of(past);
  const SimulationHandle cut(capsim_simulation_fork(past.get()));
  const SimulationHandle wait(capsim_simulation_fork(past.get()));
  const SimulationHandle wait_again(capsim_simulation_fork(past.get()));
  capsim_status cut_status = CAPSIM_NOT_STARTED, wait_status = CAPSIM_NOT_STARTED;
  std::thread one([&] {
    cut_status = capsim_simulation_cut(cut.get(), cut_hours, 2, cut_length_mm);
    if (cut_status == CAPSIM_OK) cut_status = capsim_simulation_advance_to(cut.get(), 40, nullptr);
  });
  std::thread other([&] { wait_status = capsim_simulation_advance_to(wait.get(), 40, nullptr); });
  one.join();
  other.join();
  CHECK(cut_status == CAPSIM_OK);
  CHECK(wait_status == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(wait_again.get(), 40, nullptr) == CAPSIM_OK);
  CHECK(areas_of(wait) == areas_of(wait_again));
  CHECK(areas_of(past) == before);
  double cut_area = 0, wait_area = 0;
  CHECK(capsim_simulation_opening_area_mm2(cut.get(), &cut_area) == CAPSIM_OK);
  CHECK(capsim_simulation_opening_area_mm2(wait.get(), &wait_area) == CAPSIM_OK);
  CHECK(cut_area > wait_area);
}

TEST_CASE("c_checkpoint_rolls_back_and_goes_on_elsewhere_bit_for_bit", "[c_interface]") {
  const SimulationHandle s = started();
  REQUIRE(capsim_simulation_advance_to(s.get(), 10, nullptr) == CAPSIM_OK);
  const std::string bytes = checkpoint_of(s);
  REQUIRE(capsim_simulation_advance_to(s.get(), 40, nullptr) == CAPSIM_OK);
  const auto first = areas_of(s);
  REQUIRE(capsim_simulation_restore(s.get(), nullptr, bytes.data(), bytes.size()) == CAPSIM_OK);
  CHECK(capsim_simulation_day(s.get()) == 10);
  REQUIRE(capsim_simulation_advance_to(s.get(), 40, nullptr) == CAPSIM_OK);
  CHECK(areas_of(s) == first);

  const SimulationHandle elsewhere(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(eye());
  CHECK(capsim_simulation_restore(elsewhere.get(), nullptr, bytes.data(), bytes.size()) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_restore(elsewhere.get(), scenario.get(), bytes.data(), bytes.size()) ==
        CAPSIM_BAD_CHECKPOINT);  // it does not foresee the cuts
  REQUIRE(capsim_simulation_foresee_cuts(elsewhere.get(), cut_hours, 2, cut_length_mm) == CAPSIM_OK);
  REQUIRE(capsim_simulation_restore(elsewhere.get(), scenario.get(), bytes.data(), bytes.size()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(elsewhere.get(), 40, nullptr) == CAPSIM_OK);
  CHECK(areas_of(elsewhere) == first);

  CHECK(capsim_simulation_restore(s.get(), nullptr, "no", 2) == CAPSIM_BAD_CHECKPOINT);
  CHECK_FALSE(error_of(s).empty());
  CHECK(capsim_simulation_day(s.get()) == 40);  // a refused one leaves the simulation alone
}

TEST_CASE("c_action_that_was_not_foreseen_is_refused_and_changes_nothing", "[c_interface]") {
  const SimulationHandle s = started();
  REQUIRE(capsim_simulation_advance_to(s.get(), 10, nullptr) == CAPSIM_OK);
  const auto before = areas_of(s);
  const double other_hour[1] = {3};
  CHECK(capsim_simulation_cut(s.get(), other_hour, 1, cut_length_mm) == CAPSIM_INVALID_SCENARIO);
  REQUIRE(capsim_simulation_violation_count(s.get()) >= 1);
  CHECK_FALSE(text_by([&](auto... to) {
                return capsim_simulation_violation(s.get(), 0, CAPSIM_VIOLATION_LINE, to...);
              }).empty());
  CHECK_THAT(error_of(s), Catch::Contains("capsim_simulation_foresee_cuts"));
  CHECK(capsim_simulation_insert_ring(s.get(), nullptr) == CAPSIM_INVALID_SCENARIO);
  CHECK_THAT(error_of(s), Catch::Contains("capsim_simulation_foresee_ring"));
  CHECK(areas_of(s) == before);
  CHECK(capsim_simulation_foresee_ring(s.get()) == CAPSIM_BAD_ARGUMENT);  // too late
  CHECK(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);
}

TEST_CASE("c_ring_that_was_foreseen_is_put_in_as_described", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(eye());
  REQUIRE(capsim_simulation_foresee_ring(s.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 10, nullptr) == CAPSIM_OK);
  const ScenarioHandle ring = new_scenario();
  REQUIRE(capsim_scenario_set_number(ring.get(), "tension_ring.gap_hour", 3) == CAPSIM_OK);
  CHECK(capsim_simulation_insert_ring(s.get(), ring.get()) == CAPSIM_OK);
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  const auto load = numbers_by([&](auto... to) { return capsim_history_values(h.get(), "ring_load_mN", to...); });
  CHECK(load.front() == 0);
  CHECK(load.back() > 0);
}

TEST_CASE("c_cancelled_simulation_can_go_on", "[c_interface]") {
  const SimulationHandle s = started();
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.progress = [](const capsim_progress* now, void*) -> std::int32_t {
    return now->day > 5 ? CAPSIM_CANCEL : CAPSIM_CONTINUE;
  };
  CHECK(capsim_simulation_advance_to(s.get(), 40, &options) == CAPSIM_NOT_COMPLETED);
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_CANCELLED);
  CHECK_FALSE(error_of(s).empty());
  const double day = capsim_simulation_day(s.get());
  CHECK(day > 5);
  CHECK(day < 40);
  options.progress = [](const capsim_progress*, void*) -> std::int32_t { throw std::runtime_error("no more"); };
  CHECK(capsim_simulation_advance_to(s.get(), 40, &options) == CAPSIM_CALLBACK_FAILED);
  CHECK(capsim_simulation_advance_to(s.get(), 40, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_day(s.get()) == 40);
}

TEST_CASE("c_day_that_is_not_a_number_is_refused", "[c_interface]") {
  const SimulationHandle s = started();
  CHECK(capsim_simulation_advance_to(s.get(), std::nan(""), nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK_FALSE(error_of(s).empty());
  CHECK(capsim_simulation_day(s.get()) == 0);
}

TEST_CASE("c_simulation_that_was_not_started_says_so", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const HistoryHandle h = new_history();
  const ScenarioHandle wrong = new_scenario();
  double area = 0;
  std::size_t size = 0;
  capsim_simulation_destroy(nullptr);
  CHECK(capsim_simulation_fork(nullptr) == nullptr);
  CHECK(capsim_simulation_day(s.get()) == 0);
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_NONE);
  CHECK(capsim_simulation_memory_bytes(nullptr) == 0);
  CHECK(capsim_simulation_advance_to(s.get(), 3, nullptr) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_cut(s.get(), cut_hours, 2, 0.5) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_opening_area_mm2(s.get(), &area) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_history(s.get(), h.get()) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_checkpoint(s.get(), nullptr, 0, &size) == CAPSIM_NOT_STARTED);
  CHECK(capsim_simulation_advance_to(nullptr, 3, nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_simulation_start(s.get(), nullptr) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_simulation_restore(s.get(), nullptr, nullptr, 0) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_simulation_error(nullptr, nullptr, 0, &size) == CAPSIM_BAD_ARGUMENT);
  const SimulationHandle fork(capsim_simulation_fork(s.get()));
  CHECK(capsim_simulation_end(fork.get()) == CAPSIM_END_NONE);
  REQUIRE(capsim_scenario_set_number(wrong.get(), "opening.diameter_mm", -1) == CAPSIM_OK);
  CHECK(capsim_simulation_start(s.get(), wrong.get()) == CAPSIM_INVALID_SCENARIO);
  CHECK(capsim_simulation_violation_count(s.get()) == 1);
}

namespace {

/// Pulled to one side so much that the search for its unloaded shape is long, and ends without one.
Scenario without_rest() {
  Scenario scenario = eye();
  scenario.zonule.pull_mN = 110;
  scenario.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}, {7, 0}};
  scenario.numerics.max_work = 100;
  return scenario;
}

struct Asked {
  int times = 0;
  int last = 0;  // from this time on the answer is no; 0: never
  static std::int32_t answer(const capsim_progress* now, void* user) {
    Asked& asked = *static_cast<Asked*>(user);
    CHECK(now->struct_size == sizeof *now);
    return ++asked.times >= asked.last && asked.last != 0 ? CAPSIM_CANCEL : CAPSIM_CONTINUE;
  }
};

}  // namespace

TEST_CASE("c_damaged_checkpoint_is_refused_before_a_model_is_built_for_it", "[c_interface]") {
  std::string bytes = checkpoint_of(started());
  bytes[bytes.size() / 2] = static_cast<char>(bytes[bytes.size() / 2] ^ 1);
  const ScenarioHandle scenario = scenario_of(without_rest());
  const SimulationHandle s(capsim_simulation_create());
  CHECK(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_NO_REST_STATE);  // what building the model would say
  CHECK(capsim_simulation_restore(s.get(), scenario.get(), bytes.data(), bytes.size()) == CAPSIM_BAD_CHECKPOINT);
  CHECK_THAT(error_of(s), Catch::Contains("damaged"));
}

TEST_CASE("c_start_and_restore_can_be_ended_while_the_model_is_built", "[c_interface]") {
  Scenario long_search = without_rest();
  long_search.numerics.max_work = 5000;
  const ScenarioHandle scenario = scenario_of(long_search), other = scenario_of(eye());
  const SimulationHandle s(capsim_simulation_create());
  Asked asked;
  asked.last = 2;
  capsim_run_options watch = CAPSIM_RUN_OPTIONS;
  watch.progress = &Asked::answer;
  watch.user = &asked;
  REQUIRE(capsim_simulation_set_watch(s.get(), &watch) == CAPSIM_OK);
  CHECK(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_NOT_COMPLETED);
  CHECK(asked.times == 2);
  CHECK_THAT(error_of(s), Catch::Contains("while the model was built"));
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_NONE);
  CHECK(capsim_simulation_advance_to(s.get(), 1, nullptr) == CAPSIM_NOT_STARTED);

  // A flag, and a simulation that stays as it was when a restore into it is ended.
  struct Lowered {
    capsim_cancel_flag* flag = capsim_cancel_flag_create();
    ~Lowered() { capsim_cancel_flag_destroy(flag); }
  } const raised;
  capsim_cancel_flag_raise(raised.flag);
  watch = CAPSIM_RUN_OPTIONS;
  watch.cancel = raised.flag;
  REQUIRE(capsim_simulation_set_watch(s.get(), nullptr) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), other.get()) == CAPSIM_OK);
  const std::string bytes = checkpoint_of(s);
  REQUIRE(capsim_simulation_set_watch(s.get(), &watch) == CAPSIM_OK);
  CHECK(capsim_simulation_restore(s.get(), scenario.get(), bytes.data(), bytes.size()) == CAPSIM_NOT_COMPLETED);
  CHECK_THAT(error_of(s), Catch::Contains("the cancel flag is raised"));
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_COMPLETED);
  CHECK(capsim_simulation_set_watch(nullptr, nullptr) == CAPSIM_BAD_ARGUMENT);
  watch.deadline_seconds = -1;
  CHECK(capsim_simulation_set_watch(s.get(), &watch) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_action_looks_at_the_watch_of_its_handle_and_goes_on_later", "[c_interface]") {
  Scenario soft = eye();
  soft.zonule.strength = 0.1;
  soft.capsule.modulus_kPa = 200;
  const ScenarioHandle scenario = scenario_of(soft), ring = new_scenario();
  REQUIRE(capsim_scenario_set_number(ring.get(), "tension_ring.free_diameter_mm", 13) == CAPSIM_OK);
  REQUIRE(capsim_scenario_set_number(ring.get(), "tension_ring.wire_diameter_mm", 0.3) == CAPSIM_OK);
  const SimulationHandle s(capsim_simulation_create());
  REQUIRE(capsim_simulation_foresee_ring(s.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);
  Asked asked;
  asked.last = 1;
  capsim_run_options watch = CAPSIM_RUN_OPTIONS;
  watch.progress = &Asked::answer;
  watch.user = &asked;
  REQUIRE(capsim_simulation_set_watch(s.get(), &watch) == CAPSIM_OK);
  const SimulationHandle fork(capsim_simulation_fork(s.get()));
  CHECK(capsim_simulation_insert_ring(s.get(), ring.get()) == CAPSIM_NOT_COMPLETED);
  CHECK(asked.times == 1);
  CHECK(capsim_simulation_end(s.get()) == CAPSIM_END_CANCELLED);
  CHECK(capsim_simulation_advance_to(s.get(), 30, nullptr) == CAPSIM_OK);
  CHECK(capsim_simulation_insert_ring(fork.get(), ring.get()) == CAPSIM_OK);  // a fork looks at none
  CHECK(asked.times == 1);
}
