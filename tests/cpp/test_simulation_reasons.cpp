// SPDX-License-Identifier: BSD-3-Clause
// What a run that ends early says: what failed, where, what to try; and which days it keeps.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;
using Catch::Contains;

namespace {

/// A host's part that gives an energy and forces of its own from a day on, and nothing before.
class Spoiler : public Part {
 public:
  Spoiler(double energy, double force, double from_day) : energy_(energy), force_(force), from_(from_day) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "my instrument"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<Spoiler>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    const int first = 0;
    cliques.add({&first, 1});
  }
  [[nodiscard]] double energy(std::span<const double>) const override { return day_ < from_ ? 0 : energy_; }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    if (day_ >= from_) g[0] += force_;
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    const double none = 0;
    tangent.add(0, &none);
  }
  void set_day(double day) override { day_ = day; }

 private:
  double energy_, force_, from_, day_ = 0;
};

History with_part(double energy, double force, double from_day) {
  Scenario s = quick_eye();
  s.output_every_days = 30;
  SimulationExtras extras;
  extras.parts.push_back(std::make_shared<const Spoiler>(energy, force, from_day));
  return simulate(s, std::move(extras));
}

constexpr double undefined = std::numeric_limits<double>::quiet_NaN(),
                 endless = std::numeric_limits<double>::infinity();

}  // namespace

TEST_CASE("a_part_of_the_host_that_gives_no_number_is_named_and_no_element_is_blamed",
          "[simulation][failure][reasons]") {
  for (const History& h : {with_part(undefined, 0, 0), with_part(0, undefined, 0), with_part(0, endless, 0)}) {
    INFO(h.message());
    CHECK(h.status() == Status::non_finite);
    CHECK(h.rows() == 0);
    CHECK_THAT(h.message(), Contains("my instrument") && Contains("is not a number"));
    CHECK_THAT(h.message(), !Contains("o'clock") && !Contains("unbalanced force 0"));
  }
}

TEST_CASE("a_part_of_the_host_with_an_energy_without_end_is_no_fold", "[simulation][failure][reasons]") {
  const History h = with_part(endless, 0, 0);
  INFO(h.message());
  CHECK(h.status() == Status::no_equilibrium);
  CHECK_THAT(h.message(), Contains("my instrument") && Contains("energy without end") && !Contains("fold"));
}

TEST_CASE("a_run_that_fails_on_its_way_keeps_the_last_day_it_reached", "[simulation][failure][reasons]") {
  for (const double energy : {undefined, endless}) {
    const History h = with_part(energy, 0, 47.25);
    INFO(h.message());
    REQUIRE(h.rows() >= 2);
    CHECK(h.value("day", 0) == 0);
    const double last = h.value("day", h.rows() - 1);
    CHECK(last == h.diagnostics().last_good_day);
    CHECK(last > 30);
    CHECK(last < 47.25);
    CHECK_THAT(h.message(), Contains("my instrument") && Contains("last good day"));
  }
}

TEST_CASE("a_run_whose_budget_is_spent_keeps_the_last_day_it_reached", "[simulation][failure][reasons][work]") {
  Scenario s = quick_eye();
  s.zonule.strength = 0.1;
  s.contraction.chronic_signal = 0.4;
  s.numerics.time_tolerance = 1e-7;
  s.output_every_days = 50;
  s.numerics.max_work = 200;
  const History h = simulate(s);
  INFO(h.message());
  REQUIRE(h.status() == Status::too_much_work);
  CHECK_THAT(h.message(), Contains("numerics.max_work") && Contains("o'clock") && Contains("try"));
  CHECK(h.value("day", h.rows() - 1) == h.diagnostics().last_good_day);
}

TEST_CASE("a_run_that_was_cancelled_and_goes_on_has_no_row_more_than_one_that_was_not", "[simulation][stepping]") {
  Scenario s = quick_eye();
  s.output_every_days = 30;
  s.events.push_back({40, RelaxingCuts{{12, 6}, 0.6}});
  const auto model = std::make_shared<const Model>(s);
  const History whole = simulate(model);
  for (const double stop : {1.0, 20.0, 39.9, 41.0, 100.0}) {
    Simulation simulation(model);
    REQUIRE(simulation.advance_to(365, [stop](const Progress& p) { return p.day < stop; }) == Advance::cancelled);
    const History cancelled = simulation.history();
    CHECK(cancelled.day().back() == simulation.day());  // the last day reached is kept while it stands there
    auto restored = Simulation::restore(model, simulation.checkpoint());
    for (Simulation* goes_on : {&simulation, &restored}) {
      REQUIRE(goes_on->advance_to(365) == Advance::reached);
      const History h = goes_on->history();
      REQUIRE(h.rows() == whole.rows());
      for (std::size_t r = 0; r < h.rows(); ++r) {
        CHECK(h.value("day", r) == Approx(whole.value("day", r)).margin(1e-9));
        CHECK(h.value("event_side", r) == whole.value("event_side", r));
      }
    }
  }
}

TEST_CASE("bundles_that_are_stretched_too_far_fail_on_day_0_and_at_an_event", "[simulation][failure][zonule]") {
  Scenario s = quick_eye();
  s.duration_days = 60;
  s.output_every_days = 30;
  const auto greatest = [](const Simulation& simulation) {
    const auto zonule = simulation.model().make_zonule(simulation.model().scenario().zonule);
    double most = 0;
    for (const Zonule::Bundle& bundle : zonule->bundles())
      most = std::max(most, zonule->elongation_mm(bundle, simulation.positions()));
    return most;
  };
  const double at_rest = greatest(Simulation(std::make_shared<const Model>(s)));
  // Below what the fibres are stretched at rest: none is left on the first row.
  s.zonule.failure_elongation_mm = 0.5 * at_rest;
  const History none = simulate(s);
  CHECK(none.status() == Status::completed);
  CHECK(none.value("zonule_load_total_mN", 0) == 0);
  // Above it, until an event takes what the neighbours then have to carry.
  s.zonule.failure_elongation_mm = 1.01 * at_rest;
  s.events.push_back({10, ZonuleDamage{{{3, 0.0}, {4, 0.0}, {5, 0.0}, {6, 0.0}}}});
  const History later = simulate(s);
  REQUIRE(later.status() == Status::completed);
  CHECK(later.value("zonule_load_total_mN", 0) > 0);
  std::size_t after = 0;
  while (later.value("event_side", after) != 1) ++after;
  s.zonule.failure_elongation_mm.reset();
  const History held = simulate(s);
  CHECK(later.value("zonule_load_total_mN", after) < held.value("zonule_load_total_mN", after));
}

TEST_CASE("the_tissue_never_counts_for_more_than_all_of_it", "[simulation][reasons]") {
  Scenario s = quick_eye();
  s.contraction.tissue_per_day = 10;  // much faster than cells: the time steps overshoot the full thickness a little
  s.contraction.chronic_signal = 0.4;
  const History h = simulate(s);
  double most = 0;
  for (const double f : h.series("fibrous_tissue").values) most = std::max(most, f);
  CHECK(most <= 1);
  CHECK(most > 0.999);
}
