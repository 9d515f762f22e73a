// SPDX-License-Identifier: BSD-3-Clause
// How close a run comes to kinks: what parts say of their branches, where the next one is, and which were passed.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/lens.hpp"
#include "capsim/model.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "capsim/zonule.hpp"
#include "run/kink_watch.hpp"
#include "scenario/scenario_number.hpp"

using namespace capsim;

namespace {

/// An eye with a weak sector, whose bundles are slack in part, and without tissue: nothing moves after day 0.
Scenario quiet_eye() {
  Scenario s;
  s.mesh = {12, 2, 2};
  s.opening.measured_under = MeasuredUnder::full_strength_zonule;
  s.zonule.strength = 0.5;
  s.zonule.strength_by_hour = {{3, 0.2}, {4, 0.05}, {5, 0.2}};
  s.contraction.cells_left = 0;
  s.duration_days = s.output_every_days = 1;
  s.numerics.force_tolerance = 1e-11;
  return s;
}

/// What leaves, zonule and lens say at rest.
KinkValues seen_at_rest(const Scenario& scenario) {
  const auto model = std::make_shared<const Model>(scenario);
  Simulation simulation(model);
  REQUIRE(simulation.advance_to(scenario.duration_days) == Advance::reached);
  KinkValues values;
  model->make_anterior_leaf()->kinks(simulation.positions(), values);
  model->make_posterior_leaf()->kinks(simulation.positions(), values);
  model->make_zonule(scenario.zonule)->kinks(simulation.positions(), values);
  model->make_lens()->kinks(simulation.positions(), values);
  return values;
}

/// How many of a kind have another sign.
int changed(const KinkValues& a, const KinkValues& b, Kink kind) {
  const auto of = static_cast<std::size_t>(kind);
  REQUIRE(a.of(of).size() == b.of(of).size());
  int count = 0;
  for (std::size_t i = 0; i < a.of(of).size(); ++i)
    if (a.of(of)[i] * b.of(of)[i] < 0) ++count;
  return count;
}

}  // namespace

TEST_CASE("what_parts_say_of_kinks_is_the_state_that_their_forces_show", "[kinks]") {
  const Scenario s = quiet_eye();
  const Model model(s);
  Simulation simulation(std::make_shared<const Model>(s));
  const std::span<const double> x = simulation.positions();

  const auto leaf = model.make_anterior_leaf();
  KinkValues of_leaf;
  leaf->kinks(x, of_leaf);
  const std::span<const double> values = of_leaf.of(static_cast<std::size_t>(Kink::wrinkle));
  std::size_t k = 0;
  int taut = 0, wrinkled = 0;
  for (const Leaf::Region& region : leaf->regions())
    for (int e = 0; e < region.patch->elements(); ++e)
      for (int q = 0; q < region.patch->points_per_element; ++q, k += 2) {
        const auto [l1, l2] = principal_stretches(deformation_gradient(*region.patch, x, e, q));
        const TautState state = taut_state(leaf->membrane(), l1, l2);
        CHECK((values[k] > 0) == (state != TautState::slack));
        if (state != TautState::slack) CHECK((values[k + 1] >= 0) == (state == TautState::taut));
        taut += state == TautState::taut ? 1 : 0;
        wrinkled += state == TautState::wrinkled ? 1 : 0;
      }
  CHECK(k == values.size());
  CHECK(taut > 0);
  CHECK(wrinkled > 0);

  const auto zonule = model.make_zonule(s.zonule);
  KinkValues of_zonule;
  zonule->kinks(x, of_zonule);
  const std::span<const double> slack = of_zonule.of(static_cast<std::size_t>(Kink::slack));
  REQUIRE(slack.size() == zonule->bundles().size());
  for (std::size_t b = 0; b < slack.size(); ++b)
    CHECK((slack[b] > 0) == (zonule->tension_mN(zonule->bundles()[b], x) > 0));
}

TEST_CASE("the_next_kink_of_a_parameter_is_where_eyes_beside_it_change_their_branch", "[kinks][sensitivities]") {
  const Scenario s = quiet_eye();
  const std::vector<std::string> by{"zonule.pull_mN", "capsule.modulus_kPa", "lens.haptic_force_mN"};
  const Sensitivities found = sensitivities(s, by);
  REQUIRE(found.message.empty());
  const KinkValues here = seen_at_rest(s);
  int looked = 0;
  for (const SensitivityParameter& p : found.parameters) {
    const auto at = [&](double change) {
      Scenario there = s;
      *number_at(there, p.path).value += change;
      return seen_at_rest(there);
    };
    for (const auto& [kind, nearest] : {std::pair{Kink::slack, p.nearest_slack},
                                        {Kink::wrinkle, p.nearest_wrinkle},
                                        {Kink::contact, p.nearest_contact}}) {
      INFO(p.path << " kind " << static_cast<int>(kind) << " nearest " << nearest);
      CHECK(nearest > 0);
      if (!(nearest < 0.1 * p.value)) continue;  // to first order: believed where it is near
      ++looked;
      CHECK(changed(here, at(0.85 * nearest), kind) + changed(here, at(-0.85 * nearest), kind) == 0);
      CHECK(changed(here, at(1.15 * nearest), kind) + changed(here, at(-1.15 * nearest), kind) > 0);
    }
  }
  CHECK(looked >= 2);
}

TEST_CASE("an_eye_that_does_not_move_passes_no_kink_and_one_that_contracts_does", "[kinks][sensitivities]") {
  const std::vector<std::string> by{"zonule.pull_mN"};
  const KinkCounts none = sensitivities(quiet_eye(), by).kinks_passed;
  CHECK((none.slack == 0 && none.wrinkle == 0 && none.contact == 0));
  Scenario s = quiet_eye();
  s.contraction.cells_left = 1;
  s.duration_days = s.output_every_days = 60;
  s.numerics = {};
  const Sensitivities found = sensitivities(s, by);
  CHECK(found.kinks_passed.wrinkle > 0);
}

TEST_CASE("the_smallest_chord_jumps_where_another_meridian_is_as_small", "[kinks]") {
  KinksSeen here, beside;
  here.places[KinksSeen::rim_least] = {3, 2,   3, 4,
                                       3, 2.5, 3, 4};  // smallest at 1, the next smallest among its neighbours at 5
  beside.places[KinksSeen::rim_least] = {3, 2.001, 3, 4, 3, 2.499, 3, 4};
  KinkDistances nearest;
  KinkWatch::take_nearest(here, beside, ParameterStep{0.01}, nearest);
  CHECK(nearest.jump == Approx(2.5));  // 0.5 apart, and 0.2 nearer for each unit of the parameter
  CHECK(std::isinf(nearest.slack));
}
