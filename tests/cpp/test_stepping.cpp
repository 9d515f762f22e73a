// SPDX-License-Identifier: BSD-3-Clause
/// Stepping a simulation by hand: pieces, forks, checkpoints, actions, parts and laws from outside.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <vector>

#include "capsim/backing.hpp"
#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "part_checks.hpp"

using namespace capsim;

namespace {

Scenario weak_eye() {
  Scenario s;
  s.name = "stepping";
  s.mesh = MeshSpec::coarse();
  s.opening.diameter_mm = 4.5;
  s.zonule.strength = 0.2;
  s.zonule.strength_by_hour = {{4, 0.05}, {5, 0.05}};
  s.contraction.chronic_signal = 0.2;
  s.contraction.band_width_mm.reset();
  s.duration_days = 120;
  s.output_every_days = 30;
  return s;
}

const RelaxingCuts four_cuts{{12, 3, 6, 9}, 0.75};

bool same_series(const History& a, const History& b) {
  if (a.rows() != b.rows() || a.all_series().size() != b.all_series().size()) return false;
  for (std::size_t k = 0; k < a.all_series().size(); ++k)
    if (a.all_series()[k].values != b.all_series()[k].values) return false;
  return true;
}

double last_area(const History& h) { return h.opening_area_mm2().back(); }

// Halves the rate of another law: a law a host could write.
class SlowLaw : public ContractionLaw {
 public:
  explicit SlowLaw(const ContractionSpec& spec) : inner_(spec) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "half speed"; }
  [[nodiscard]] std::size_t variables() const noexcept override { return inner_.variables(); }
  void start(std::span<const double> cells, std::span<double> y) const override { inner_.start(cells, y); }
  void rate(double day, std::span<const double> y, std::span<const double> l, std::span<double> dydt) const override {
    inner_.rate(day / 2, y, l, dydt);
    for (double& v : dydt) v /= 2;
  }
  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override { inner_.apply(y, fields); }

 private:
  FibreRemodelling inner_;
};

}  // namespace

TEST_CASE("advancing_in_pieces_gives_the_same_course", "[stepping]") {
  const auto model = std::make_shared<const Model>(weak_eye());
  const double whole = last_area(simulate(model));
  Simulation simulation(model);
  for (double day = 10; day <= 120; day += 10) REQUIRE(simulation.advance_to(day) == Advance::reached);
  CHECK(simulation.day() == 120);
  // Each piece ends a time step of its own: equal within the tolerance of the time integration.
  CHECK(last_area(simulation.history()) == Approx(whole).epsilon(3e-4));
  CHECK(simulation.opening_area_mm2() == Approx(last_area(simulation.history())).epsilon(1e-9));
  CHECK(simulation.history().day().size() == simulate(model).day().size());
}

TEST_CASE("a_fork_goes_its_own_way_and_equal_forks_agree_bit_for_bit", "[stepping]") {
  const auto model = std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{four_cuts});
  Simulation past(model);
  REQUIRE(past.advance_to(60) == Advance::reached);
  Simulation cut_now = past, wait = past, wait_again = past;
  REQUIRE(cut_now.apply(four_cuts));
  REQUIRE(cut_now.advance_to(120) == Advance::reached);
  REQUIRE(wait.advance_to(120) == Advance::reached);
  REQUIRE(wait_again.advance_to(120) == Advance::reached);
  CHECK(past.day() == 60);
  CHECK(same_series(wait.history(), wait_again.history()));
  CHECK(last_area(cut_now.history()) > 1.1 * last_area(wait.history()));
  REQUIRE(cut_now.history().cuts().size() == 4);
  CHECK(cut_now.history().cuts()[0].day == 60);
  CHECK(wait.history().cuts().empty());
  // Rolling back is assigning the copy that was kept.
  cut_now = past;
  CHECK(cut_now.day() == 60);
  CHECK(same_series(cut_now.history(), past.history()));
}

TEST_CASE("cuts_by_hand_do_what_the_same_event_does", "[stepping]") {
  Scenario with_event = weak_eye();
  with_event.events = {{60, four_cuts}};
  const History planned = simulate(with_event);
  Simulation by_hand(std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{four_cuts}));
  REQUIRE(by_hand.advance_to(60) == Advance::reached);
  REQUIRE(by_hand.apply(four_cuts));
  REQUIRE(by_hand.advance_to(120) == Advance::reached);
  // Output day 60 and the event's before row are one row in a planned run, two by hand.
  CHECK(last_area(by_hand.history()) == Approx(last_area(planned)).epsilon(3e-4));
  const History h = by_hand.history();
  const std::size_t after = h.row_at(60);
  CHECK(h.value("event_side", after) == 1);
  CHECK(h.value("event_side", after - 1) == -1);
  CHECK(h.opening_area_mm2()[after] > h.opening_area_mm2()[after - 1]);
}

TEST_CASE("an_action_that_the_model_does_not_foresee_is_refused_and_changes_nothing", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye()));
  REQUIRE(simulation.advance_to(30) == Advance::reached);
  const std::size_t rows = simulation.history().rows();
  try {
    simulation.apply(four_cuts);
    FAIL("a cut without a mesh line was accepted");
  } catch (const ScenarioError& error) {
    CHECK(error.violations().size() == 4);
    CHECK(error.violations()[0].to_string().find("cut line the model was built with") != std::string::npos);
  }
  CHECK_THROWS_AS(simulation.apply(TensionRingSpec{}), ScenarioError);
  ZonuleDamage impossible;
  impossible.strength_by_hour = {{3, 2.0}};
  CHECK_THROWS_AS(simulation.apply(impossible), ScenarioError);
  CHECK(simulation.history().rows() == rows);
  CHECK(simulation.advance_to(60) == Advance::reached);
}

TEST_CASE("a_ring_and_damage_by_hand_act_at_once", "[stepping]") {
  const auto model = std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{}, true);
  Simulation simulation(model);
  REQUIRE(simulation.advance_to(30) == Advance::reached);
  const double before = simulation.history().series("equator_diameter_mm").values.back();
  Simulation ring = simulation, damage = simulation;
  REQUIRE(ring.apply(TensionRingSpec{}));
  CHECK(ring.history().series("equator_diameter_mm").values.back() > before + 0.05);
  CHECK(ring.history().series("ring_load_mN").values.back() > 0);
  ZonuleDamage gone;
  gone.strength_by_hour = {{12, 0.0}, {1, 0.0}};
  REQUIRE(damage.apply(gone));
  const History h = damage.history();
  CHECK(h.value("zonule_load_mN", h.rows() - 1, 0) < 0.2 * h.value("zonule_load_mN", h.rows() - 2, 0));
}

TEST_CASE("a_restored_checkpoint_continues_bit_for_bit", "[stepping]") {
  Scenario scenario = weak_eye();
  scenario.events = {{20, four_cuts}, {40, TensionRingSpec{}}};
  scenario.events.push_back({100, ZonuleDamage{{{7, 0.0}}}});
  const auto model = std::make_shared<const Model>(scenario);
  Simulation first(model);
  REQUIRE(first.advance_to(60) == Advance::reached);
  const std::string bytes = first.checkpoint();
  Simulation second = Simulation::restore(model, bytes);
  CHECK(second.day() == 60);
  CHECK(same_series(first.history(), second.history()));
  REQUIRE(first.advance_to(120) == Advance::reached);
  REQUIRE(second.advance_to(120) == Advance::reached);
  CHECK(same_series(first.history(), second.history()));
  CHECK(std::equal(first.positions().begin(), first.positions().end(), second.positions().begin()));
  CHECK(std::equal(first.tissue_state().begin(), first.tissue_state().end(), second.tissue_state().begin()));
  CHECK(first.history().cuts().size() == second.history().cuts().size());

  Scenario other = scenario;
  other.zonule.strength = 0.25;
  CHECK_THROWS_AS(Simulation::restore(std::make_shared<const Model>(other), bytes), CheckpointError);
  CHECK_THROWS_AS(Simulation::restore(model, bytes.substr(0, bytes.size() / 2)), CheckpointError);
  CHECK_THROWS_AS(Simulation::restore(model, "not a checkpoint"), CheckpointError);
}

TEST_CASE("a_cancelled_simulation_can_go_on", "[stepping]") {
  const auto model = std::make_shared<const Model>(weak_eye());
  Simulation simulation(model);
  CHECK(simulation.advance_to(120, [](const Progress& p) { return p.day < 20; }) == Advance::cancelled);
  CHECK(simulation.status() == Status::cancelled);
  CHECK(simulation.advance_to(120) == Advance::reached);
  CHECK(simulation.status() == Status::completed);
  CHECK(last_area(simulation.history()) == Approx(last_area(simulate(model))).epsilon(3e-4));
}

TEST_CASE("a_run_that_was_cancelled_acted_upon_and_completed_says_completed", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{four_cuts}));
  CHECK(simulation.advance_to(120, [](const Progress& p) { return p.day < 20; }) == Advance::cancelled);
  CHECK(simulation.history().message().starts_with("cancelled on day"));
  REQUIRE(simulation.apply(four_cuts));
  CHECK(simulation.history().message().starts_with("on its way"));
  REQUIRE(simulation.advance_to(120) == Advance::reached);
  CHECK(simulation.history().status() == Status::completed);
  CHECK(simulation.history().message() == "completed 120 days");
}

TEST_CASE("a_refused_action_leaves_a_cancelled_run_cancelled", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye()));
  CHECK(simulation.advance_to(120, [](const Progress& p) { return p.day < 20; }) == Advance::cancelled);
  CHECK_THROWS_AS(simulation.apply(four_cuts), ScenarioError);
  CHECK(simulation.status() == Status::cancelled);
}

TEST_CASE("a_day_that_is_not_a_number_is_refused", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye()));
  CHECK_THROWS_AS(simulation.advance_to(std::nan("")), ArgumentError);
  CHECK_THROWS_AS(simulation.advance_to(-std::nan("")), Error);
  CHECK(simulation.advance_to(-HUGE_VAL) == Advance::reached);
  CHECK(simulation.day() == 0);
}

TEST_CASE("the_same_cut_and_a_second_ring_are_refused_by_name", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{four_cuts}, true));
  REQUIRE(simulation.apply(four_cuts));
  REQUIRE(simulation.apply(TensionRingSpec{}));
  const std::size_t rows = simulation.history().rows();
  CHECK_THROWS_WITH(simulation.apply(RelaxingCuts{{3}, 0.75}), Catch::Contains("3 o'clock"));
  CHECK_THROWS_WITH(simulation.apply(TensionRingSpec{}), Catch::Contains("a second ring"));
  CHECK(simulation.history().rows() == rows);
  CHECK(simulation.history().cuts().size() == 4);
}

TEST_CASE("an_observer_reads_the_simulation_at_every_step", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye()));
  const std::vector<double> at_rest(simulation.positions().begin(), simulation.positions().end());
  std::vector<double> days, areas;
  std::size_t rows = 0;
  const Advance how = simulation.advance_to(60, [&](const Progress& p) {
    days.push_back(p.day);
    areas.push_back(p.opening_area_mm2);
    CHECK(simulation.day() == p.day);
    CHECK(simulation.opening_area_mm2() == p.opening_area_mm2);
    CHECK_FALSE(std::equal(at_rest.begin(), at_rest.end(), simulation.positions().begin()));
    CHECK(simulation.history().day().back() <= p.day);
    CHECK(simulation.history().rows() >= rows);
    rows = simulation.history().rows();
    return true;
  });
  REQUIRE(how == Advance::reached);
  CHECK(days.size() >= 4);
  CHECK(std::is_sorted(days.begin(), days.end()));
  CHECK(days.back() == 60);
  CHECK(areas.back() < areas.front());
  // Looking on changes nothing.
  Simulation unobserved(std::make_shared<const Model>(weak_eye()));
  REQUIRE(unobserved.advance_to(60) == Advance::reached);
  CHECK(same_series(simulation.history(), unobserved.history()));
}

TEST_CASE("a_part_from_outside_takes_part_in_the_equilibrium", "[stepping]") {
  const auto model = std::make_shared<const Model>(weak_eye());
  SimulationExtras extras;
  // A stiff bed under the equator: the bag can hardly shrink.
  std::vector<double> rest;
  for (const int n : model->mesh().equator_nodes())
    for (std::size_t k = 0; k < 2; ++k)
      rest.push_back(model->rest_full_strength()[2 * static_cast<std::size_t>(n) + k]);
  const auto bed = std::make_shared<const Backing>(model->mesh().equator_nodes(), rest, 1000.0);
  Backing checked = *bed;
  checks::check_part(checked, model->rest_full_strength());  // the library's own checker, usable on any part
  extras.parts.push_back(bed);
  Simulation held(model, extras);
  REQUIRE(held.advance_to(120) == Advance::reached);
  const History free_course = simulate(model), held_course = held.history();
  const auto loss = [](const History& h) {
    return h.series("equator_diameter_mm").values.front() - h.series("equator_diameter_mm").values.back();
  };
  CHECK(loss(held_course) < 0.1 * loss(free_course));
}

TEST_CASE("a_law_from_outside_replaces_the_default", "[stepping]") {
  // Half the speed: day 120 of the slow law is day 60 of the default, but for the haptics' relaxation.
  Scenario scenario = weak_eye();
  scenario.lens.reset();
  const auto model = std::make_shared<const Model>(scenario);
  SimulationExtras extras;
  extras.law = std::make_shared<const SlowLaw>(scenario.contraction);
  Simulation slow(model, extras), usual(model);
  REQUIRE(slow.advance_to(120) == Advance::reached);
  REQUIRE(usual.advance_to(60) == Advance::reached);
  CHECK(last_area(slow.history()) == Approx(last_area(usual.history())).epsilon(3e-4));
}

TEST_CASE("memory_is_bounded_and_told", "[stepping]") {
  Simulation simulation(std::make_shared<const Model>(weak_eye()));
  REQUIRE(simulation.advance_to(30) == Advance::reached);
  const std::size_t early = simulation.memory_bytes();
  REQUIRE(simulation.advance_to(120) == Advance::reached);
  const std::size_t late = simulation.memory_bytes();
  CHECK(early > 100'000);
  // Only the recorded rows grow.
  std::size_t rows = 0;
  const History history = simulation.history();
  for (const Series& s : history.all_series()) rows += s.values.size() * sizeof(double);
  CHECK(late < early + 4 * rows + 100'000);
}

TEST_CASE("a_fork_costs_the_shared_past_once_and_little_else", "[stepping]") {
  // Cut on day 60 or on day 90, forked on day 60, against two runs that plan the cut.
  const auto planned = [](double day) {
    Scenario s = weak_eye();
    s.events = {{day, four_cuts}};
    return simulate(s).diagnostics();
  };
  Simulation past(std::make_shared<const Model>(weak_eye(), std::vector<RelaxingCuts>{four_cuts}));
  REQUIRE(past.advance_to(60) == Advance::reached);
  Simulation now = past, later = past;
  REQUIRE(now.apply(four_cuts));
  REQUIRE(later.advance_to(90) == Advance::reached);
  REQUIRE(later.apply(four_cuts));
  for (Simulation* future : {&now, &later}) REQUIRE(future->advance_to(120) == Advance::reached);
  const Diagnostics shared = past.history().diagnostics(), a = now.history().diagnostics(),
                    b = later.history().diagnostics();
  const Diagnostics whole_a = planned(60), whole_b = planned(90);
  const auto ratio = [&](auto count) {
    const double forked =
        static_cast<double>(count(a) + count(b) - count(shared));  // a fork's counts begin with its past's
    const double separate = static_cast<double>(count(whole_a) + count(whole_b) - count(shared));
    return forked / separate;
  };
  CHECK(shared.right_hand_sides > 40);
  CHECK(a.right_hand_sides > shared.right_hand_sides + 20);
  constexpr double worth_it = 1.3;
  CHECK(ratio([](const Diagnostics& d) { return d.right_hand_sides; }) < worth_it);
  CHECK(ratio([](const Diagnostics& d) { return d.newton_iterations; }) < worth_it);
  CHECK(ratio([](const Diagnostics& d) { return d.equilibria; }) < worth_it);
  // A fork begins with a factorization of its own: a handful among the dozens of evaluations each saves.
  CHECK(ratio([](const Diagnostics& d) { return d.factorizations + d.newton_iterations; }) < worth_it);
}
