// SPDX-License-Identifier: BSD-3-Clause
// Time in a run: days are hit exactly, tolerances mean what they say, and rows do not change the answer.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

History completed(const Scenario& s) {
  History history = simulate(s);
  INFO(history.message());
  REQUIRE(history.status() == Status::completed);
  return history;
}

double last_area(const History& h) { return h.value("opening_area_mm2", h.rows() - 1); }

/// Much contraction: 60 % in a year.
Scenario hard_eye() {
  Scenario s = weak_pull_eye(2.0, 0.05);
  s.zonule.strength = 0.3;
  s.contraction.chronic_signal = 0.2;
  return s;
}

/// Fraction of tissue where cells are always at their fullest, by steps of a hundredth of a day.
double tissue_fraction(const ContractionSpec& law, double day) {
  const auto rate = [&](double t, double m, double f, double& dm, double& df) {
    const double signal = std::exp(-t / law.signal_days) + law.chronic_signal;
    dm = law.activation_per_day * signal * (1 - m) - law.deactivation_per_day * m;
    df = law.tissue_per_day * m * (1 - f);
  };
  const int steps = static_cast<int>(std::lround(100 * day));
  const double h = day / steps;
  double m = 0, f = 0;
  for (int k = 0; k < steps; ++k) {  // the midpoint rule
    double dm, df, dm_middle, df_middle;
    rate(k * h, m, f, dm, df);
    rate((k + 0.5) * h, m + h / 2 * dm, f + h / 2 * df, dm_middle, df_middle);
    m += h * dm_middle;
    f += h * df_middle;
  }
  return f;
}

}  // namespace

TEST_CASE("output_days_are_hit_exactly", "[simulation][time]") {
  constexpr double rounding_days = 1e-9;
  for (const double every : {7.0, 0.7, 30.0}) {
    Scenario s = quick_eye();
    s.duration_days = 61;
    s.output_every_days = every;
    const History h = completed(s);
    const std::size_t whole = static_cast<std::size_t>(std::floor(61 / every + 1e-9));
    REQUIRE(h.rows() == whole + 1 + (std::abs(whole * every - 61) > 1e-6 ? 1 : 0));
    for (std::size_t r = 0; r <= whole; ++r) CHECK(h.value("day", r) == Approx(r * every).margin(rounding_days));
    CHECK(h.value("day", h.rows() - 1) == 61);
    for (const double side : h.series("event_side").values) CHECK(side == 0);
  }
}

TEST_CASE("every_event_day_has_a_row_on_either_side_and_no_other", "[simulation][time]") {
  Scenario s = quick_eye();
  s.duration_days = 60;
  s.output_every_days = 10;
  s.events.push_back({0, ZonuleDamage{{{6, 0.5}}}});    // at the very start
  s.events.push_back({33.3, RelaxingCuts{{12}, 0.6}});  // between output days
  s.events.push_back({20, ZonuleDamage{{{3, 0.2}}}});   // on an output day, out of order
  s.events.push_back({20, RelaxingCuts{{6}, 0.6}});     // a second one on that day
  s.events.push_back({60, RelaxingCuts{{9}, 0.6}});     // on the last day
  const History h = completed(s);
  const std::vector<double> days{0, 0, 10, 20, 20, 30, 33.3, 33.3, 40, 50, 60, 60};
  const std::vector<double> sides{-1, 1, 0, -1, 1, 0, -1, 1, 0, 0, -1, 1};
  REQUIRE(h.rows() == days.size());
  for (std::size_t r = 0; r < days.size(); ++r) {
    CHECK(h.value("day", r) == Approx(days[r]).margin(1e-9));
    CHECK(h.value("event_side", r) == sides[r]);
  }
  // What an event does is seen on its after side only.
  CHECK(h.value("zonule_load_mN", 1, 6) < 0.8 * h.value("zonule_load_mN", 0, 6));
  CHECK(h.value("zonule_load_mN", 1, 6) > 0.5 * h.value("zonule_load_mN", 0, 6));  // a weak sector is stretched more
  CHECK(h.value("zonule_load_mN", 4, 3) < 0.5 * h.value("zonule_load_mN", 3, 3));
  CHECK(h.value("opening_area_mm2", 4) > h.value("opening_area_mm2", 3));
  CHECK(h.row_at(20) == 4);
  CHECK(h.row_at(33.3) == 7);
  CHECK(h.row_at(34) == 8);
  CHECK(h.row_at(1000) == h.rows() - 1);
}

TEST_CASE("the_default_tolerance_is_good_to_a_thousandth_of_the_area", "[simulation][time]") {
  constexpr double promised = 1e-3;
  for (Scenario s : {quick_eye(), hard_eye()}) {
    CHECK(s.numerics.time_tolerance == 1e-4);
    s.output_every_days = 30;
    const History loose = completed(s);
    s.numerics.time_tolerance = 1e-7;
    s.numerics.force_tolerance = 1e-8;
    const History tight = completed(s);
    REQUIRE(loose.rows() == tight.rows());
    double most = 0;
    for (std::size_t r = 0; r < loose.rows(); ++r)
      most = std::max(most, std::abs(loose.value("opening_area_mm2", r) / tight.value("opening_area_mm2", r) - 1));
    INFO("largest relative difference " << most);
    CHECK(most < promised);
    CHECK(tight.diagnostics().steps > loose.diagnostics().steps);
  }
}

TEST_CASE("a_year_takes_some_tens_of_steps_and_one_equilibrium_for_each_and_each_row", "[simulation][time]") {
  for (const Scenario& s : {quick_eye(), hard_eye()}) {
    const History history = completed(s);
    const Diagnostics d = history.diagnostics();
    INFO(d.steps << " steps, " << d.equilibria << " equilibria, " << d.right_hand_sides << " evaluations, "
                 << d.newton_iterations << " iterations");
    CHECK(d.steps < 80);
    CHECK(d.steps > 12);  // fewer would mean that the error is not controlled
    // A step whose correction changes much, or that is repeated, solves a second one; and one stands on day 0.
    const long rows = static_cast<long>(history.rows());
    CHECK(d.equilibria <= rows + 2 * (d.steps + d.rejected_steps) + 2);
    CHECK(d.right_hand_sides < 60 * (d.steps + rows));
    CHECK(d.newton_iterations < 10 * d.equilibria);
  }
}

TEST_CASE("rows_cost_no_steps_and_change_no_answer", "[simulation][time]") {
  constexpr double solver = 1e-6;  // relative, of the area; rows only change where iterations start
  Scenario s = hard_eye();
  s.numerics.force_tolerance = 1e-9;
  s.output_every_days = 365;
  const History few = completed(s);
  s.output_every_days = 3;
  const History many = completed(s);
  CHECK(few.diagnostics().steps == many.diagnostics().steps);
  CHECK(last_area(many) == Approx(last_area(few)).epsilon(solver));
}

TEST_CASE("a_daily_row_starts_so_near_to_rest_that_few_take_an_iteration", "[simulation][time]") {
  constexpr double iterations_for_a_row = 0.3;  // half of one where rows started from the rows before
  Scenario s;
  s.mesh = MeshSpec::coarse();
  const History weekly = completed(s);
  s.output_every_days = 1;
  const History daily = completed(s);
  CHECK(daily.diagnostics().steps == weekly.diagnostics().steps);
  const auto more = static_cast<double>(daily.diagnostics().newton_iterations - weekly.diagnostics().newton_iterations);
  CHECK(more < iterations_for_a_row * static_cast<double>(daily.rows() - weekly.rows()));
}

TEST_CASE("an_output_day_shows_what_a_run_that_ends_there_shows", "[simulation][time]") {
  constexpr double interpolation = 3e-4;  // relative, of the area; the dense output is of fourth order
  Scenario s = hard_eye();
  s.output_every_days = 45;
  const History whole = completed(s);
  for (const double day : {45.0, 135.0, 270.0}) {
    s.duration_days = day;
    CHECK(last_area(completed(s)) == Approx(whole.value("opening_area_mm2", whole.row_at(day))).epsilon(interpolation));
  }
}

TEST_CASE("an_event_that_changes_nothing_changes_nothing", "[simulation][time]") {
  constexpr double restart = 3e-4;  // relative, of the area; the integrator starts anew on that day
  Scenario s = hard_eye();
  const History plain = completed(s);
  s.events.push_back({77.7, ZonuleDamage{{{5, 0.3}}}});  // the strength it has
  const History interrupted = completed(s);
  CHECK(last_area(interrupted) == Approx(last_area(plain)).epsilon(restart));
  const std::size_t after = interrupted.row_at(77.7);
  CHECK(interrupted.value("opening_area_mm2", after) ==
        Approx(interrupted.value("opening_area_mm2", after - 1)).epsilon(1e-6));
}

TEST_CASE("steps_are_no_longer_than_allowed", "[simulation][time]") {
  Scenario s = quick_eye();
  s.duration_days = 100;
  s.numerics.max_step_days = 2;
  double last = 0, longest = 0;
  const History h = simulate(s, [&](const Progress& p) {
    longest = std::max(longest, p.day - last);
    last = p.day;
    return true;
  });
  CHECK(longest < 2 + 1e-9);
  CHECK(longest > 1);
  CHECK(h.diagnostics().steps >= 50);
}

TEST_CASE("tissue_grows_as_the_law_says_whatever_the_mechanics", "[simulation][time][oracle]") {
  // Full cells in a sharp zone: c stays 1, and m and f follow two ordinary equations.
  constexpr double tolerance = 2e-4;
  Scenario s = quick_eye();
  s.contraction.band_width_mm.reset();
  s.contraction.chronic_signal = 0.1;
  s.output_every_days = 30;
  const History h = completed(s);
  for (const double day : {30.0, 90.0, 180.0, 360.0}) {
    INFO("day " << day);
    CHECK(h.value("fibrous_tissue", h.row_at(day)) == Approx(tissue_fraction(s.contraction, day)).margin(tolerance));
  }
  // Volume is fraction times full thickness times the zone's reference area.
  const std::size_t last = h.rows() - 1;
  const double area = h.value("fibrous_tissue_volume_mm3", last) /
                      (h.value("fibrous_tissue", last) * s.contraction.tissue_thickness_mm);
  CHECK(area > 0);
  CHECK(area < pi * (3 * 3 - 2.625 * 2.625));  // smaller unloaded than under the pull
}

TEST_CASE("tissue_by_hour_is_thin_where_cells_were_polished_away", "[simulation][time]") {
  // Cells of an hour neither know nor feed those of another: the other hours have what they would have anyway.
  constexpr double of_other_hours = 1e-3;  // the step between hours is smoothed over 0.02 rad
  Scenario s = quick_eye();
  s.duration_days = 30;  // later, cells have grown back and the tissue is full everywhere
  const History everywhere = completed(s);
  s.contraction.cells_left_by_hour = {{12, 0.02}, {4, 0.5}};
  const History polished = completed(s);
  const std::size_t last = polished.rows() - 1;
  REQUIRE(everywhere.series("fibrous_tissue_by_hour").columns == 12);
  const auto in_hour = [last](const History& h, std::size_t hour) {
    return h.value("fibrous_tissue_by_hour", last, hour);
  };
  for (std::size_t hour = 0; hour < 12; ++hour) {
    INFO("hour " << hour);
    CHECK(in_hour(everywhere, hour) == Approx(everywhere.value("fibrous_tissue", last)).margin(of_other_hours));
    if (hour != 0 && hour != 4)
      CHECK(in_hour(polished, hour) == Approx(in_hour(everywhere, hour)).margin(of_other_hours));
  }
  CHECK(in_hour(polished, 0) < 0.5 * in_hour(polished, 4));
  CHECK(in_hour(polished, 4) < 0.9 * in_hour(polished, 8));
}

TEST_CASE("haptics_relax_with_their_own_time", "[simulation][time]") {
  // A rigid bag: the push falls by the relaxation alone.
  Scenario s = quick_eye();
  s.contraction.cells_left = 0;
  s.capsule.modulus_kPa = 5e4;
  s.zonule.stiffness_mN_per_mm = 5000;
  s.lens->relaxed_fraction = 0.6;
  s.lens->relaxation_days = 20;
  s.output_every_days = 20;
  s.duration_days = 100;
  const History h = completed(s);
  for (const double day : {20.0, 40.0, 100.0})
    CHECK(h.value("haptic_push_mN", h.row_at(day)) / h.value("haptic_push_mN", 0) ==
          Approx(0.6 + 0.4 * std::exp(-day / 20)).margin(2e-3));
  CHECK(h.value("haptic_push_mN", 0) == Approx(2 * s.lens->haptic_force_mN).epsilon(0.01));
}

TEST_CASE("advancing_in_pieces_is_advancing_at_once", "[simulation][time]") {
  constexpr double restart = 3e-4;
  Scenario s = hard_eye();
  s.duration_days = 120;
  const auto model = std::make_shared<const Model>(s);
  Simulation pieces(model);
  for (const double day : {13.0, 13.0, 40.0, 39.0, 120.0}) REQUIRE(pieces.advance_to(day) == Advance::reached);
  CHECK(pieces.day() == 120);
  CHECK(last_area(pieces.history()) == Approx(last_area(simulate(model))).epsilon(restart));
}

TEST_CASE("loss_fades_steadily_as_the_opening_comes_to_the_edge_of_the_optic", "[simulation]") {
  Scenario s;  // optic of 6 mm
  s.zonule.strength = 0.3;
  s.contraction.chronic_signal = 0.1;
  s.lens->haptic_force_mN = 0;  // so that nothing but tissue changes the opening
  double last = 100;
  for (const double diameter : {5.70, 5.78, 5.82, 5.90, 5.96}) {
    std::array<double, 2> loss{};
    for (const bool fine : {false, true}) {
      s.mesh = fine ? MeshSpec{} : MeshSpec::coarse();
      s.opening.diameter_mm = diameter;
      const History h = simulate(s);
      REQUIRE(h.status() == Status::completed);
      loss[fine] = loss_percent(h, 365);
    }
    CAPTURE(diameter, last);
    CHECK(loss[1] < last);
    CHECK(loss[1] > 0);
    constexpr double meshes = 0.02;  // points of loss
    CHECK(std::abs(loss[0] - loss[1]) < meshes);
    last = loss[1];
  }
  CHECK(last < 0.5);
  s.opening.diameter_mm = 6.1;
  const History beyond = simulate(s);
  CHECK(beyond.value("fibrous_tissue", beyond.rows() - 1) == 0);
  CHECK(std::abs(loss_percent(beyond, 365)) < 1e-6);
}
