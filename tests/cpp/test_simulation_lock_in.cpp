// SPDX-License-Identifier: BSD-3-Clause
// Whole runs under the law of active lock-in: an independent solution, symmetry, forks, checkpoints, cuts,
// rings, failure; and a host's law under which the leaf itself shrinks.
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "axisymmetric_bag.hpp"
#include "capsim/contraction_law.hpp"
#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

Scenario with_lock_in(Scenario s) {
  s.contraction.law = ContractionKind::active_lock_in;
  s.contraction.active_tension_mN_per_mm = 8;
  s.contraction.active_radial_share = 0;
  s.contraction.lock_in_per_day = 0.1;
  s.contraction.locked_modulus_kPa = 10000;
  s.contraction.matrix_modulus_kPa = 20;
  return s;
}

/// Everyday eyes: 5.25 mm under a healthy zonule, and under a weak one with a stimulus that stays.
Scenario healthy() {
  Scenario s = with_lock_in(quick_eye());
  s.zonule.pull_mN = 22;
  s.contraction.band_width_mm = 0.2;
  s.opening.diameter_mm = 5.25;
  s.output_every_days = 5;
  return s;
}
Scenario weak_and_chronic() {
  Scenario s = healthy();
  s.zonule.strength = 0.1;
  s.contraction.chronic_signal = 0.2;
  return s;
}

History completed(const Scenario& s) {
  History history = simulate(s);
  INFO(history.message());
  REQUIRE(history.status() == Status::completed);
  return history;
}

bool same_series(const History& a, const History& b) {
  if (a.rows() != b.rows() || a.all_series().size() != b.all_series().size()) return false;
  for (std::size_t k = 0; k < a.all_series().size(); ++k)
    if (a.all_series()[k].values != b.all_series()[k].values) return false;
  return true;
}

double gain(const History& h, const char* series, double day) {
  const std::size_t after = h.row_at(day);
  REQUIRE(h.value("event_side", after) == 1);
  return h.value(series, after) - h.value(series, after - 1);
}

}  // namespace

TEST_CASE("a_round_eye_locks_in_what_the_axisymmetric_solution_says", "[simulation][lock_in][oracle]") {
  // 24 quadratic elements around, 10 along the leaf; time steps good to some thousandths of the loss.
  constexpr double discretisation_points = 0.06;
  Scenario firm = with_lock_in(weak_pull_eye(2.6, 0.05)), weak = with_lock_in(weak_pull_eye(2.2, 0.05, 5)), all = firm;
  weak.zonule.strength = 0.2;
  weak.contraction.chronic_signal = 0.2;
  all.contraction.active_radial_share = 0.2;
  all.contraction.matrix_modulus_kPa = 2000;
  all.contraction.lock_in_per_day = 0.02;
  all.contraction.packing_limit = 0.8;
  all.capsule.compression_fraction = 0.4;
  for (Scenario s : {firm, weak, all}) {
    s.duration_days = 365;
    const History h = completed(s);
    const auto expected = area_loss_percent(axisymmetric(s), {table_days.begin(), table_days.end()});
    CHECK(expected[3] > 2);
    for (std::size_t k = 0; k < table_days.size(); ++k) {
      INFO("day " << table_days[k] << ": " << loss_percent(h, table_days[k]) << " % against " << expected[k]);
      CHECK(loss_percent(h, table_days[k]) == Approx(expected[k]).margin(discretisation_points));
    }
  }
}

TEST_CASE("a_normal_eye_loses_little_and_a_weak_chronic_one_several_times_as_much", "[simulation][lock_in]") {
  const History normal = completed(healthy()), weak = completed(weak_and_chronic());
  CHECK(loss_percent(normal, 365) > 2);
  CHECK(loss_percent(normal, 365) < 10);
  CHECK(loss_percent(weak, 365) > 3 * loss_percent(normal, 365));
  // A plateau after three months in the normal eye; the small opening of the weak one keeps closing.
  CHECK(std::abs(loss_percent(normal, 365) - loss_percent(normal, 90)) < 0.25 * loss_percent(normal, 90));
  Scenario small_opening = weak_and_chronic();
  small_opening.opening.diameter_mm = 4;
  const History closing = completed(small_opening);
  CHECK(loss_percent(closing, 365) > 1.2 * loss_percent(closing, 90));
}

TEST_CASE("locked_tissue_keeps_what_soft_tissue_gives_back", "[simulation][lock_in]") {
  // Long after the cells have gone to rest.
  const auto kept = [](double modulus_kPa, double lock_in_per_day) {
    Scenario s = healthy();
    s.contraction.locked_modulus_kPa = modulus_kPa;
    s.contraction.lock_in_per_day = lock_in_per_day;
    const History h = completed(s);
    double most = 0;
    for (const double day : {20.0, 30.0, 40.0, 50.0, 60.0, 90.0}) most = std::max(most, loss_percent(h, day));
    return loss_percent(h, 365) / most;
  };
  CHECK(kept(30000, 0.5) > 0.85);
  CHECK(kept(10, 0.5) < 0.3);
  CHECK(kept(30000, 0.5) > kept(30000, 0.005));
}

TEST_CASE("pulling_all_ways_closes_less_than_pulling_along_the_rim", "[simulation][lock_in]") {
  Scenario all_ways = healthy();
  all_ways.contraction.active_radial_share = 1;
  CHECK(loss_percent(completed(all_ways), 60) < loss_percent(completed(healthy()), 60));
}

TEST_CASE("lock_in_asks_for_no_fibres", "[scenario][lock_in]") {
  Scenario s = healthy();
  s.contraction.hoop_weight = s.contraction.diagonal_weight = s.contraction.radial_weight = 0;
  s.contraction.packing_limit = 0.9;  // above 1 over the laying stretch
  CHECK(s.violations().empty());
  s.contraction.law = ContractionKind::fibre_remodelling;
  CHECK(s.violations().size() == 2);
  CHECK(Scenario::from_json(healthy().to_json()) == healthy());
}

TEST_CASE("nothing_contracts_without_a_pull", "[simulation][lock_in]") {
  Scenario s = healthy();
  s.contraction.active_tension_mN_per_mm = 0;
  s.contraction.matrix_modulus_kPa = 0;
  s.lens.reset();  // its haptics relax
  CHECK(std::abs(loss_percent(completed(s), 365)) < 1e-3);
}

TEST_CASE("the_mirror_twin_of_a_lopsided_eye_locks_in_the_mirror_image", "[simulation][lock_in][symmetry]") {
  constexpr double solver = 2e-5;
  Scenario s = weak_and_chronic();
  s.eye = Eye::right;
  s.duration_days = 120;
  s.output_every_days = 30;
  s.opening.center_mm = {0.12, -0.07};
  s.zonule.strength_by_hour = {{4, 0.3}, {5, 0.0}, {9, 0.6}};
  s.contraction.cells_left_by_hour = {{2, 0.3}};
  s.numerics.force_tolerance = 1e-8;
  s.numerics.time_tolerance = 1e-5;
  s.events = {{60, RelaxingCuts{{1, 5, 8.5}, 0.7}}};
  const History h = completed(s), twin = completed(mirrored(s)), turned = completed(rotated(s, 5));
  const double c = std::cos(5 * pi / 6), q = std::sin(5 * pi / 6);
  REQUIRE(h.rows() == twin.rows());
  REQUIRE(h.rows() == turned.rows());
  for (std::size_t r = 0; r < h.rows(); ++r) {
    for (const char* series :
         {"opening_area_mm2", "zonule_load_total_mN", "rim_tension_mN_per_mm", "fibrous_tissue", "energy_uJ"}) {
      INFO(series << ", row " << r);
      CHECK(h.value(series, r) == Approx(twin.value(series, r)).margin(solver));
      CHECK(h.value(series, r) == Approx(turned.value(series, r)).margin(solver));
    }
    const double x = h.value("opening_center_mm", r, 0), y = h.value("opening_center_mm", r, 1);
    CHECK(x == Approx(-twin.value("opening_center_mm", r, 0)).margin(solver));
    CHECK(y == Approx(twin.value("opening_center_mm", r, 1)).margin(solver));
    CHECK(c * x + q * y == Approx(turned.value("opening_center_mm", r, 0)).margin(solver));
    CHECK(c * y - q * x == Approx(turned.value("opening_center_mm", r, 1)).margin(solver));
  }
  CHECK(std::abs(h.value("opening_center_mm", h.rows() - 1, 0)) > 100 * solver);
}

TEST_CASE("forks_checkpoints_and_reruns_under_lock_in_agree_to_the_bit", "[simulation][lock_in][stepping]") {
  Scenario s = weak_and_chronic();
  s.duration_days = 120;
  const auto model = std::make_shared<const Model>(s, std::vector<RelaxingCuts>{{{12, 6}, 0.5}});
  CHECK(same_series(simulate(model), simulate(model)));
  Simulation past(model);
  REQUIRE(past.advance_to(60) == Advance::reached);
  const std::string bytes = past.checkpoint();
  Simulation restored = Simulation::restore(model, bytes), fork = past;
  REQUIRE(fork.apply(RelaxingCuts{{12, 6}, 0.5}));
  REQUIRE(fork.advance_to(120) == Advance::reached);
  REQUIRE(past.advance_to(120) == Advance::reached);
  REQUIRE(restored.advance_to(120) == Advance::reached);
  CHECK(same_series(past.history(), restored.history()));
  CHECK(fork.opening_area_mm2() > past.opening_area_mm2());
  Scenario other = s;
  other.contraction.law = ContractionKind::fibre_remodelling;
  CHECK_THROWS_AS(Simulation::restore(std::make_shared<const Model>(other), bytes), CheckpointError);
}

TEST_CASE("cuts_under_lock_in_give_area_back_and_severed_flaps_stay_whole", "[simulation][lock_in][cuts]") {
  for (const Scenario& eye : {healthy(), weak_and_chronic()})
    for (const double unloaded : {0.0, 0.2}) {
      Scenario s = eye;
      s.contraction.unloaded_deactivation_per_day = unloaded;
      s.events.push_back({60, RelaxingCuts{{12, 3, 6, 9}, 0.75}});
      const History h = completed(s);
      INFO("strength " << s.zonule.strength << ", unloaded " << unloaded);
      CHECK(gain(h, "opening_area_mm2", 60) > 0.05 * h.value("opening_area_mm2", 0));
      CHECK(gain(h, "rim_tension_mN_per_mm", 60) < 0);
      CHECK(gain(h, "energy_uJ", 60) < 0);
      CHECK(h.value("cut_tip_release_mN", h.row_at(60), 0) > 0);
      CHECK(h.diagnostics().worst_element_ratio > 0);
    }
}

TEST_CASE("a_tip_under_lock_in_releases_what_a_longer_cut_frees", "[simulation][lock_in][cuts]") {
  constexpr double rough = 0.1, reach_mm = 0.05;  // as under the other law
  Scenario s = healthy();
  s.duration_days = 60;
  s.output_every_days = 60;
  const auto run = [&s](double length_mm) {
    Scenario cut = s;
    cut.events.push_back({60, RelaxingCuts{{12, 3, 6, 9}, length_mm}});
    return completed(cut);
  };
  for (const double length_mm : {0.25, 0.75}) {
    const double difference =
        (gain(run(length_mm - reach_mm), "energy_uJ", 60) - gain(run(length_mm + reach_mm), "energy_uJ", 60)) /
        (4 * 2 * reach_mm);
    const History h = run(length_mm);
    INFO(length_mm << " mm");
    CHECK(h.value("cut_tip_release_mN", h.row_at(60), 0) == Approx(difference).epsilon(rough));
  }
}

TEST_CASE("a_ring_spares_the_bag_under_lock_in", "[simulation][lock_in][tension_ring]") {
  Scenario s = weak_and_chronic(), ring = s;
  ring.tension_ring = TensionRingSpec{};
  const History without = completed(s), with = completed(ring);
  const auto shrinks = [](const History& h) {
    return h.value("equator_diameter_mm", 0) - h.value("equator_diameter_mm", h.rows() - 1);
  };
  CHECK(shrinks(with) < shrinks(without));
}

TEST_CASE("the_default_tolerance_serves_lock_in_to_a_thousandth_of_the_area", "[simulation][lock_in][time]") {
  for (const Scenario& eye : {healthy(), weak_and_chronic()}) {
    Scenario strict = eye;
    strict.numerics.time_tolerance = 1e-7;
    const History quick = completed(eye), slow = completed(strict);
    for (const double day : table_days)
      CHECK(quick.value("opening_area_mm2", quick.row_at(day)) ==
            Approx(slow.value("opening_area_mm2", slow.row_at(day))).epsilon(1e-3));
  }
}

TEST_CASE("violent_lock_in_ends_with_an_answer_or_a_status", "[simulation][lock_in][failure]") {
  for (const double pull : {100.0, 1000.0}) {
    Scenario s = weak_and_chronic();
    s.contraction.active_tension_mN_per_mm = pull;
    s.contraction.band_width_mm.reset();
    s.opening.diameter_mm = 4;
    s.numerics.max_steps = 400;
    const History h = simulate(s);
    INFO(h.message());
    REQUIRE(h.rows() > 0);
    for (const double area : h.opening_area_mm2()) CHECK(std::isfinite(area));
    if (h.status() != Status::completed) CHECK_FALSE(h.message().empty());
  }
}

namespace {

/// A host's law: the leaf itself shrinks, alike in all directions, by a share that grows with time.
class ShrinkingLeaf : public ContractionLaw {
 public:
  static constexpr double per_day = 1e-3;
  [[nodiscard]] std::string_view name() const noexcept override { return "shrinking leaf"; }
  [[nodiscard]] std::size_t variables() const noexcept override { return 1; }
  void start(std::span<const double>, std::span<double> y) const override { std::fill(y.begin(), y.end(), 1.0); }
  void rate(double, std::span<const double>, std::span<const double>, std::span<double> dydt) const override {
    std::fill(dydt.begin(), dydt.end(), -per_day);
  }
  void apply(std::span<const double>, FibrousTissue::Fields&) const override {}
  [[nodiscard]] bool grows_leaf() const noexcept override { return true; }
  void grow_leaf(std::span<const double> y, std::span<double> growth) const override {
    for (std::size_t p = 0; p < y.size(); ++p) growth[4 * p] = growth[4 * p + 3] = y[p];
  }
};

}  // namespace

TEST_CASE("a_free_leaf_that_shrinks_by_a_law_from_outside_shrinks_as_a_whole", "[simulation][lock_in][closed_forms]") {
  // Growth alike everywhere fits together: the leaf scales without stress, but for the very soft bed that holds it.
  constexpr double bed = 2e-3;
  Scenario s = quick_eye();
  s.opening.measured_under = MeasuredUnder::stress_free;
  s.opening.diameter_mm = 5;
  s.contraction.contact_diameter_mm = 10.2;  // tissue points, and so growth, all over the leaf
  s.contraction.edge_width_mm = 0.05;
  s.contraction.band_width_mm.reset();
  s.zonule.strength = 0;
  s.capsule.posterior_thickness_um = 0;
  s.lens.reset();
  s.duration_days = 100;
  s.output_every_days = 50;
  SimulationExtras extras;
  extras.law = std::make_shared<const ShrinkingLeaf>();
  const auto model = std::make_shared<const Model>(s);
  Simulation simulation(model, extras);
  REQUIRE(simulation.advance_to(50) == Advance::reached);
  Simulation fork = simulation, restored = Simulation::restore(model, simulation.checkpoint(), extras);
  for (Simulation* each : {&simulation, &fork, &restored}) {
    REQUIRE(each->advance_to(100) == Advance::reached);
    const History h = each->history();
    const std::size_t last = h.rows() - 1;
    CHECK(h.value("opening_diameter_mm", last) / h.value("opening_diameter_mm", 0) ==
          Approx(1 - 100 * ShrinkingLeaf::per_day).epsilon(bed));
    CHECK(std::abs(h.value("rim_tension_mN_per_mm", last)) < 0.02);  // the leaf is 12 mN/mm stiff
    CHECK(std::abs(h.value("rim_stretch", last) - 0.9) < bed);
  }
}
