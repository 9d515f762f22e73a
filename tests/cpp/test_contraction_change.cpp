// SPDX-License-Identifier: BSD-3-Clause
/// Values of the contraction that change on a day: as an event, as an action, in forks, checkpoints and derivatives.

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <vector>

#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using test::lines_of;

namespace {

Scenario small_eye() {
  Scenario s;
  s.name = "change";
  s.mesh = {12, 3, 2};
  s.opening.diameter_mm = 4.5;
  s.zonule.strength = 0.3;
  s.contraction.band_width_mm.reset();
  s.duration_days = 60;
  s.output_every_days = 10;
  return s;
}

ContractionChange calm() {
  ContractionChange change;
  change.activation_per_day = 0;
  change.deactivation_per_day = 0.15;
  return change;
}

double last_area(const History& h) { return h.opening_area_mm2().back(); }

Simulation begun(const Scenario& scenario) { return Simulation(std::make_shared<const Model>(scenario)); }

// The second law's tissue knows nothing of laying and remodelling, the first law's nothing of pull and lock-in.
Scenario under(ContractionKind law) {
  Scenario s = small_eye();
  s.contraction.law = law;
  return s;
}

// A law that says nothing about changes, as most of a host will not.
class Silent : public FibreRemodelling {
 public:
  using FibreRemodelling::FibreRemodelling;
  [[nodiscard]] std::unique_ptr<ContractionLaw> changed(const ContractionChange&) const override { return nullptr; }
};

}  // namespace

TEST_CASE("values_changed_on_day_0_are_those_of_a_scenario_that_begins_with_them", "[simulation][contraction_change]") {
  const auto law = GENERATE(ContractionKind::fibre_remodelling, ContractionKind::active_lock_in);
  ContractionChange change;
  change.chronic_signal = 0.2;
  change.signal_days = 15;
  change.regrowth_per_day = 0.03;
  change.activation_per_day = 0.15;
  change.deactivation_per_day = 0.05;
  change.tissue_per_day = 0.05;
  change.remodelling_days = 15;
  change.laying_stretch = 1.25;
  change.unloaded_deactivation_per_day = 0.02;
  change.active_tension_mN_per_mm = 3;
  change.active_radial_share = 0.1;
  change.lock_in_per_day = 0.08;
  Scenario from_start = under(law), changed = under(law);
  from_start.contraction = with_change(from_start.contraction, change);
  changed.events.push_back({0, change});
  const double begun_so = last_area(simulate(from_start)), begun_otherwise = last_area(simulate(under(law)));
  REQUIRE(std::abs(begun_so - begun_otherwise) > 1e-2 * begun_so);
  // One more equilibrium of the same eye on day 0; the scale of forces, and with it their tolerance, is the scenario's.
  CHECK(last_area(simulate(changed)) == Approx(begun_so).epsilon(1e-5));
}

TEST_CASE("pull_and_radial_share_of_the_rim_s_cells_do_not_reach_the_tissue_outside_the_optic",
          "[simulation][contraction_change]") {
  Scenario whole = under(ContractionKind::active_lock_in);
  whole.contraction.active_tension_mN_per_mm = 1e-3;  // hardly any under the rim: what moves is the bag's
  whole.bag_tissue.active_tension_mN_per_mm = 1;
  whole.duration_days = 30;
  Scenario changed = whole;
  ContractionChange change;
  change.active_radial_share = 1;
  changed.events.push_back({1, change});
  const double as_it_was = last_area(simulate(whole));
  REQUIRE(std::abs(as_it_was - last_area(simulate(under(ContractionKind::active_lock_in)))) > 1e-3 * as_it_was);
  CHECK(last_area(simulate(changed)) == Approx(as_it_was).epsilon(1e-4));  // the tolerance of time steps
  change = {};
  change.active_tension_mN_per_mm = 2e-3;
  changed.events = {{1, change}};
  CHECK(last_area(simulate(changed)) == Approx(as_it_was).epsilon(1e-4));
}

TEST_CASE("cells_that_are_no_longer_activated_calm_down_exponentially", "[simulation][contraction_change]") {
  const auto law = GENERATE(ContractionKind::fibre_remodelling, ContractionKind::active_lock_in);
  Simulation simulation = begun(under(law));
  REQUIRE(simulation.advance_to(20) == Advance::reached);
  REQUIRE(simulation.apply(calm()));
  const std::size_t points = simulation.tissue_state().size() / simulation.law().variables();
  const std::vector<double> before(simulation.tissue_state().begin(), simulation.tissue_state().end());
  REQUIRE(simulation.advance_to(40) == Advance::reached);
  double most = 0;
  for (std::size_t p = points; p < 2 * points; ++p) {  // m, the second variable
    most = std::max(most, before[p]);
    // dm/dt = -kd m; the tolerance of time steps.
    CHECK(simulation.tissue_state()[p] == Approx(before[p] * std::exp(-0.15 * 20)).margin(1e-3));
  }
  CHECK(most > 0.3);
}

TEST_CASE("a_change_applied_today_is_the_event_of_that_day", "[simulation][contraction_change]") {
  Scenario planned = small_eye();
  planned.events.push_back({25, calm()});
  Simulation stepped = begun(small_eye());
  REQUIRE(stepped.advance_to(25) == Advance::reached);
  REQUIRE(stepped.apply(calm()));
  REQUIRE(stepped.advance_to(60) == Advance::reached);
  const History one = simulate(planned), other = stepped.history();
  REQUIRE(one.rows() == other.rows());
  for (std::size_t r = 0; r < one.rows(); ++r) {
    CHECK(one.value("event_side", r) == other.value("event_side", r));
    CHECK(one.opening_area_mm2()[r] == other.opening_area_mm2()[r]);
  }
  CHECK(last_area(one) > 1.01 * last_area(simulate(small_eye())));
}

TEST_CASE("changed_values_survive_forks_and_checkpoints_bit_for_bit", "[simulation][contraction_change][stepping]") {
  Scenario s = small_eye();
  s.bag_tissue.fibre_modulus_kPa = 100;
  const auto model = std::make_shared<const Model>(s);
  Simulation simulation(model);
  REQUIRE(simulation.advance_to(15) == Advance::reached);
  REQUIRE(simulation.apply(calm()));
  ContractionChange second;
  second.chronic_signal = 0.4;
  second.deactivation_per_day = 0.02;
  REQUIRE(simulation.apply(second));  // the activation of the first stays
  REQUIRE(simulation.advance_to(30) == Advance::reached);
  Simulation fork(simulation), restored = Simulation::restore(model, simulation.checkpoint());
  for (Simulation* each : {&simulation, &fork, &restored}) REQUIRE(each->advance_to(60) == Advance::reached);
  CHECK(simulation.opening_area_mm2() == fork.opening_area_mm2());
  CHECK(simulation.opening_area_mm2() == restored.opening_area_mm2());
}

TEST_CASE("a_law_without_such_values_refuses_their_change_and_leaves_the_eye", "[simulation][contraction_change]") {
  Scenario s = small_eye();
  const auto law = std::make_shared<const Silent>(s.contraction);
  Simulation simulation(std::make_shared<const Model>(s), {{}, law});
  REQUIRE(simulation.advance_to(10) == Advance::reached);
  const double area = simulation.opening_area_mm2();
  CHECK_THROWS_WITH(simulation.apply(calm()), Catch::Contains("contraction_change"));
  CHECK(simulation.opening_area_mm2() == area);
  s.events.push_back({5, calm()});
  CHECK_THROWS_AS(Simulation(std::make_shared<const Model>(s), {{}, law}), ScenarioError);
}

TEST_CASE("a_change_that_changes_nothing_or_packs_new_tissue_is_refused", "[scenario][contraction_change]") {
  Scenario s = small_eye();
  s.events.push_back({5, ContractionChange{}});
  CHECK_THAT(lines_of(s.violations()), Catch::Contains("events[0].contraction_change"));
  ContractionChange packed;
  packed.laying_stretch = 1.6;
  s.contraction.packing_limit = 0.7;
  s.events = {{5, packed}};
  CHECK_THAT(lines_of(s.violations()), Catch::Contains("events[0].contraction_change.laying_stretch"));
}

TEST_CASE("derivatives_by_changed_values_and_their_day_are_those_of_runs", "[sensitivities][contraction_change]") {
  Scenario s = small_eye();
  s.mesh = {12, 2, 2};
  s.duration_days = 40;
  s.numerics = {1e-7, 1e-10, 30, 100000, 1e6};
  s.events.push_back({15, calm()});
  const std::array<std::string, 2> paths{"events[0].contraction_change.deactivation_per_day", "events[0].day"};
  const Sensitivities found = sensitivities(s, paths);
  const auto area_with = [&](double rate, double day) {
    Scenario moved = s;
    std::get<ContractionChange>(moved.events[0].action).deactivation_per_day = 0.15 + rate;
    moved.events[0].day += day;
    return last_area(simulate(moved));
  };
  const std::array<double, 2> differences{(area_with(2e-3, 0) - area_with(-2e-3, 0)) / 4e-3,
                                          (area_with(0, 0.1) - area_with(0, -0.1)) / 0.2};
  std::size_t area = 0;
  while (found.outcomes.values[area].name != "opening_area_mm2") ++area;
  // The step's square, and the time tolerance over the step.
  for (const std::size_t p : {0, 1}) CHECK(found.by_outcome[area * 2 + p] == Approx(differences[p]).epsilon(2e-3));
}
