// SPDX-License-Identifier: BSD-3-Clause
// How soon a host that wants to stop is heard. Counted in work, which is the same on every machine; the times are those
// of benchmark_cancel_latency.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <tuple>
#include <utility>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/population.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"
#include "run/host_watch.hpp"

using namespace capsim;

namespace {

/// Between two looks: what the library aims at, and what ends an equilibrium that is not left half made.
double most_work(int unknowns) { return 1.5 * HostWatch::work_between_looks(unknowns); }
const double most_work_unasked = most_work(1);  // on the coarse mesh

Scenario quick_eye() {
  Scenario s;
  s.mesh = MeshSpec::coarse();
  s.duration_days = 60;
  return s;
}

/// Some hundred rows lie in each of its last steps.
Scenario many_rows() {
  Scenario s = quick_eye();
  s.duration_days = 240;
  s.output_every_days = 0.05;
  return s;
}

/// Its unloaded shape takes long to find.
Scenario long_search() {
  Scenario s = quick_eye();
  s.name = "long search";
  s.zonule.pull_mN = 90;
  s.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}};
  return s;
}

const Threshold half_shut{"opening_diameter_mm", 2.5};

/// How often a study of `eyes` eyes asks its host, who says yes so many times.
template <class Run>
int looks_of(int eyes, const Run& run, int yes = 1000000) {
  StudyOptions options;
  options.eyes = eyes;
  options.workers = 1;
  options.laws = {"fibre_remodelling"};
  int looks = 0;
  options.progress = [&](std::size_t, std::size_t) { return ++looks <= yes; };
  run(options);
  return looks;
}

double work_of(const Simulation& simulation) { return simulation.history().diagnostics().work; }

/// The most work of a run between two looks, its begin and its end included.
double longest_unasked(const Scenario& scenario) {
  Simulation simulation(std::make_shared<const Model>(scenario));
  double last = work_of(simulation), longest = 0;
  const auto look = [&] {
    const double now = work_of(simulation);
    longest = std::max(longest, now - last);
    last = now;
    return true;
  };
  (void)simulation.advance_to(scenario.duration_days, [&](const Progress&) { return look(); });
  (void)look();
  return longest;
}

}  // namespace

TEST_CASE("a_host_is_asked_often_enough_wherever_a_run_is", "[simulation][cancel]") {
  Scenario s = quick_eye();
  SECTION("in a plain run") {}
  SECTION("with many rows in each step") { s = many_rows(); }
  SECTION("with events that change much") {
    s.events = {{10, RelaxingCuts{{12, 2, 4, 6, 8, 10}, 1.0}},
                {20, TensionRingSpec{}},
                {30, ZonuleDamage{{{4, 0.0}, {5, 0.0}}}}};
  }
  SECTION("with a zonule that fails, bundle by bundle") {
    s.zonule.failure_elongation_mm = 0.2;
    s.contraction.fibre_modulus_kPa *= 3;
  }
  SECTION("where no equilibrium is left") {
    s.zonule.strength = 0.05;
    s.contraction.fibre_modulus_kPa *= 30;
  }
  CHECK(longest_unasked(s) < most_work_unasked);
}

TEST_CASE("a_host_is_asked_often_enough_while_a_model_is_built", "[model][cancel]") {
  Scenario s = quick_eye();
  s.zonule.pull_mN = 90;
  s.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}};
  int looks = 0;
  const Model model(s, {}, false, nullptr, [&looks] { return ++looks > 0; });
  REQUIRE(model.in_situ_work() > 3 * most_work_unasked);
  CHECK(model.in_situ_work() / (looks + 1) < most_work_unasked);
}

TEST_CASE("of_a_large_system_a_host_is_asked_more_often", "[model][cancel]") {
  // A factorization of it takes eight times as long as one of the coarse mesh.
  Scenario s = long_search();
  s.mesh = MeshSpec::standard();
  s.zonule.pull_mN = 70;
  s.zonule.strength_by_hour = {{4, 0}, {5, 0}};
  s.events = {{30, RelaxingCuts{{12, 6}, 0.75}}};
  // What had been done when the host said no at its n-th look; of a whole search, all of it.
  int unknowns = 0;
  const auto work_at_look = [&](int last) {
    try {
      int looks = 0;
      const Model model(s, {}, false, nullptr, [&] { return ++looks < last; });
      unknowns = model.coordinates();
      return std::pair(model.in_situ_work(), false);
    } catch (const ModelError& error) {
      REQUIRE(error.status() == Status::cancelled);
      return std::pair(error.work(), true);
    }
  };
  std::vector<double> done{0};
  for (bool cancelled = true; cancelled;) {
    double work = 0;
    std::tie(work, cancelled) = work_at_look(static_cast<int>(done.size()));
    done.push_back(work);
  }
  REQUIRE(unknowns > 3000);
  REQUIRE(done.back() > 3 * most_work(unknowns));
  for (std::size_t look = 1; look < done.size(); ++look) CHECK(done[look] - done[look - 1] < most_work(unknowns));
}

TEST_CASE("a_run_stopped_at_a_row_inside_a_step_ends_there_and_goes_on", "[simulation][cancel]") {
  const Scenario s = many_rows();
  const auto model = std::make_shared<const Model>(s);
  Simulation whole(model), stopped(model);
  REQUIRE(whole.advance_to(s.duration_days) == Advance::reached);
  double day = 0;
  const auto until_a_row = [&](const Progress& now) {
    day = now.day;
    const double rows = day / s.output_every_days;
    return std::abs(rows - std::round(rows)) > 1e-6 || day < 100;
  };
  REQUIRE(stopped.advance_to(s.duration_days, until_a_row) == Advance::cancelled);
  CHECK(day < s.duration_days - 1);
  CHECK(stopped.day() == day);
  CHECK(stopped.history().day().back() == day);
  REQUIRE(stopped.advance_to(s.duration_days) == Advance::reached);
  const History a = whole.history(), b = stopped.history();
  REQUIRE(a.rows() == b.rows());
  for (std::size_t row = 0; row < a.rows(); ++row) {
    CHECK(a.day()[row] == Approx(b.day()[row]).margin(1e-9));
    CHECK(a.value("opening_area_mm2", row) == Approx(b.value("opening_area_mm2", row)).epsilon(3e-4));
  }
}

TEST_CASE("what_a_host_throws_at_a_row_inside_a_step_leaves_a_run_that_goes_on", "[simulation][cancel]") {
  const Scenario s = many_rows();
  Simulation simulation(std::make_shared<const Model>(s));
  struct Thrown {};
  double day = 0;
  const auto throws = [&](const Progress& now) -> bool {
    day = now.day;
    const double rows = day / s.output_every_days;
    if (std::abs(rows - std::round(rows)) < 1e-6 && day > 100) throw Thrown();
    return true;
  };
  CHECK_THROWS_AS(simulation.advance_to(s.duration_days, throws), Thrown);
  CHECK(day < s.duration_days - 1);
  CHECK(simulation.day() == day);
  CHECK(simulation.history().day().back() == day);
  REQUIRE(simulation.advance_to(s.duration_days) == Advance::reached);
  CHECK(simulation.history().rows() == 4801);
}

TEST_CASE("derivatives_can_be_ended_while_their_model_is_built", "[sensitivities][cancel]") {
  Scenario s = quick_eye();
  s.zonule.pull_mN = 90;
  s.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}};
  SensitivityOptions options;
  int looks = 0;
  options.progress = [&looks](const Progress& now) {
    CHECK(now.day == 0);
    ++looks;
    return false;
  };
  const std::vector<std::string> by{"contraction.signal_days"};
  const Sensitivities ended = sensitivities(s, by, options);
  CHECK(looks == 1);
  CHECK(ended.history.status() == Status::cancelled);
  CHECK(ended.history.rows() == 0);
  CHECK_THAT(ended.message, Catch::Contains("cancelled"));
  REQUIRE(ended.parameters.size() == 1);
}

TEST_CASE("a_study_is_heard_before_its_first_run", "[study][cancel]") {
  // What the plans' outcomes are called and where their threshold lies is found on the day of surgery.
  Scenario plan = long_search();
  plan.duration_days = 1;
  const Population& crowd = population("age_related_cataract");
  const double least = Model(plan).in_situ_work() / most_work_unasked;
  REQUIRE(least > 3);
  int looks_of_run = 0;
  (void)simulate(crowd.around(plan, 0), [&](const Progress&) { return ++looks_of_run > 0; });
  const auto comparing = [&](const StudyOptions& options) { static_cast<void>(compare({plan}, crowd, {}, options)); };
  const auto visiting = [&](const StudyOptions& options) {
    static_cast<void>(visits(plan, crowd, half_shut, {{"once", {1}}}, options));
  };
  CHECK(looks_of(1, comparing) > looks_of_run + least);
  CHECK(looks_of(1, visiting) > looks_of_run + least);

  Comparison compared;
  CHECK(looks_of(2, [&](const StudyOptions& o) { compared = compare({plan}, crowd, {}, o); }, 0) == 1);
  CHECK(compared.cancelled);
  CHECK(compared.status == std::vector<std::string>(2, "not run"));
  CHECK_FALSE(compared.to_json().empty());
  VisitStudy visited;
  CHECK(looks_of(
            2, [&](const StudyOptions& o) { visited = visits(plan, crowd, half_shut, {{"once", {1}}}, o); }, 0) == 1);
  CHECK(visited.cancelled);
  CHECK(visited.status == std::vector<std::string>(2, "not run"));
  CHECK_FALSE(visited.to_json().empty());
}

TEST_CASE("a_study_of_cuts_is_heard_while_its_models_are_built", "[study][cancel]") {
  const Population& crowd = population("age_related_cataract");
  const auto cutting = [&](Scenario plan) {
    plan.duration_days = 1;
    return [&crowd, plan](const StudyOptions& options) {
      static_cast<void>(cuts(plan, crowd, {{"two", {12, 6}, 0.5, 0.5}}, options));
    };
  };
  const Scenario plan = long_search();
  const double least = Model(plan).in_situ_work() / most_work_unasked;
  CHECK(looks_of(1, cutting(plan)) - looks_of(1, cutting(quick_eye())) > 0.5 * least);
}

TEST_CASE("an_action_whose_rest_is_far_away_can_be_ended_and_is_done_when_the_run_goes_on", "[simulation][cancel]") {
  Scenario s = quick_eye();
  s.zonule.strength = 0.1;
  s.capsule.modulus_kPa = 200;
  TensionRingSpec stiff;  // in a soft bag under a weak zonule
  stiff.free_diameter_mm = 13;
  stiff.wire_diameter_mm = 0.3;
  const auto model = std::make_shared<const Model>(s, std::vector<RelaxingCuts>{}, true);
  Simulation whole(model), ended(model);
  for (Simulation* each : {&whole, &ended}) REQUIRE(each->advance_to(20) == Advance::reached);
  const double before = work_of(whole);
  double last = before, longest = 0;
  REQUIRE(whole.apply(stiff, [&](const Progress&) {
    longest = std::max(longest, work_of(whole) - last);
    last = work_of(whole);
    return true;
  }));
  REQUIRE(work_of(whole) - before > most_work_unasked);
  CHECK(longest < most_work_unasked);

  int looks = 0;
  const auto no = [&looks](const Progress&) { return ++looks < 1; };
  CHECK_FALSE(ended.apply(stiff, no));
  CHECK(looks == 1);
  CHECK(ended.status() == Status::cancelled);
  for (Simulation* each : {&whole, &ended}) REQUIRE(each->advance_to(60) == Advance::reached);
  CHECK(ended.history().rows() == whole.history().rows());
  CHECK(ended.opening_area_mm2() == Approx(whole.opening_area_mm2()).epsilon(3e-4));
  CHECK_THROWS_AS(ended.apply(stiff), ScenarioError);  // the ring is in
}
