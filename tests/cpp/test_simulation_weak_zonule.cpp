// SPDX-License-Identifier: BSD-3-Clause
// Weak and missing zonule: where bag, opening and optic go, how far, and how oval the opening gets.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <tuple>
#include <vector>

#include "capsim/simulation.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

/// An odd number of missing hours, the middle one at 3 o'clock.
ByHour gap(int width) {
  ByHour missing;
  for (int k = 0; k < width; ++k) missing[3 - width / 2 + k] = 0;
  return missing;
}

ByHour cosine(double mean, double swing) {
  ByHour strength;
  for (int hour = 1; hour <= 12; ++hour) strength[hour] = mean * (1 - swing * std::cos(angle_of_hour(hour)));
  return strength;
}

History year_of(Scenario s) {
  s.output_every_days = s.duration_days;
  History history = simulate(s);
  INFO(history.message());
  REQUIRE(history.status() == Status::completed);
  return history;
}

double last(const History& h, const char* series, std::size_t column = 0) {
  return h.value(series, h.rows() - 1, column);
}

double last_loss(const History& h) { return loss_percent(h, h.scenario().duration_days); }

double last_distance(const History& h, const char* series) {
  return std::hypot(last(h, series, 0), last(h, series, 1));
}

/// One eye of the plane program, opening of 5 mm, weak side at 3 o'clock.
struct Worked {
  std::string name;
  double rest;  // strength elsewhere
  ByHour by_hour;
  double chronic, loss_percent, equator_mm, opening_x_mm, bag_x_mm;

  [[nodiscard]] Scenario eye(double posterior_um) const {
    Scenario s = weak_pull_eye(2.5, 0.0475, posterior_um);
    s.zonule.strength = rest;
    s.zonule.strength_by_hour = by_hour;
    s.contraction.chronic_signal = chronic;
    return s;
  }
};
const std::vector<Worked> worked{{"all 0.3", 0.3, {}, 0, 23.1, 9.50, 0, 0},
                                 {"all 0.1", 0.1, {}, 0, 46.8, 8.77, 0, 0},
                                 {"3 h missing, rest 1", 1, gap(3), 0, 28.0, 9.38, -0.459, -0.452},
                                 {"3 h missing, rest 0.3", 0.3, gap(3), 0, 43.8, 8.91, -0.590, -0.574},
                                 {"3 h missing, rest 0.1", 0.1, gap(3), 0, 59.9, 8.33, -0.642, -0.629},
                                 {"5 h missing, rest 0.3", 0.3, gap(5), 0, 63.6, 8.23, -1.221, -1.198},
                                 {"3 h missing, rest 1, chronic", 1, gap(3), 0.2, 34.9, 9.22, -0.553, -0.538},
                                 {"3 h missing, rest 0.3, chronic", 0.3, gap(3), 0.2, 54.9, 8.60, -0.714, -0.686}};

}  // namespace

TEST_CASE("weak_sectors_lose_and_shift_as_the_plane_program_worked_out", "[simulation][table]") {
  // No posterior leaf: the program's spokes are slack as soon as the equator has moved inward, which is
  // most of the year. The edge width is the one number not on record.
  constexpr double points = 0.5, offset_mm = 0.02, diameter_mm = 0.03;
  for (const Worked& row : worked) {
    const History h = year_of(row.eye(0));
    INFO(row.name << ": loss " << last_loss(h) << " %, opening x " << last(h, "opening_center_mm"));
    CHECK(last_loss(h) == Approx(row.loss_percent).margin(points));
    CHECK(last(h, "equator_diameter_mm") == Approx(row.equator_mm).margin(diameter_mm));
    CHECK(last(h, "opening_center_mm", 0) == Approx(row.opening_x_mm).margin(offset_mm));
    CHECK(last(h, "equator_center_mm", 0) == Approx(row.bag_x_mm).margin(offset_mm));
    CHECK(last(h, "opening_center_mm", 1) == Approx(0).margin(1e-4));
  }
}

TEST_CASE("a_strength_that_varies_as_a_cosine_shifts_the_opening_as_worked_out", "[simulation][table]") {
  // Not quite the same eye: hours are joined by half cosines here, the program had the cosine itself.
  constexpr double points = 1.0, offset_mm = 0.03;
  for (const auto& [strength, loss, x] :
       {std::tuple{cosine(0.55, 0.8), 20.3, -0.221}, std::tuple{cosine(0.3, 0.9), 35.2, -0.457}}) {
    Scenario s = weak_pull_eye(2.5, 0.0475);
    s.zonule.strength_by_hour = strength;
    s.zonule.interpolation = HourInterpolation::smooth;
    const History h = year_of(s);
    CHECK(last_loss(h) == Approx(loss).margin(points));
    CHECK(last(h, "opening_center_mm", 0) == Approx(x).margin(offset_mm));
  }
}

TEST_CASE("haptics_into_the_gap_spare_area_and_shift_and_haptics_square_to_it_do_not", "[simulation][table]") {
  // The program's haptics pushed 1.5 mN; how their force fell with travel is not on record, hence the
  // wider tolerances. Loss [%], opening x, optic x: 33.9, -0.292, -0.316 and 51.4, -0.742, -0.399.
  constexpr double points = 2.0, offset_mm = 0.03, optic_mm = 0.1;
  Scenario s = worked.back().eye(0);
  s.lens = LensSpec{};
  s.lens->haptic_force_mN = 1.5;
  s.lens->relaxed_fraction = 1;
  s.lens->axis_hour = 3;
  const History into = year_of(s);
  s.lens->axis_hour = 12;
  const History square = year_of(s);
  CHECK(last_loss(into) == Approx(33.9).margin(points));
  CHECK(last(into, "opening_center_mm") == Approx(-0.292).margin(offset_mm));
  CHECK(last(into, "lens_center_mm") == Approx(-0.316).margin(optic_mm));
  CHECK(last_loss(square) == Approx(51.4).margin(points));
  CHECK(last(square, "opening_center_mm") == Approx(-0.742).margin(offset_mm));
  CHECK(last(square, "lens_center_mm") == Approx(-0.399).margin(optic_mm));
  // Without a lens: 54.9 %, -0.714 mm.
  CHECK(last_loss(into) < 0.7 * worked.back().loss_percent);
  CHECK(last_loss(square) > 0.85 * worked.back().loss_percent);
}

TEST_CASE("a_posterior_disc_that_resists_compression_spares_a_free_equator_a_fifth", "[simulation]") {
  // How much the plane program's answers hang on its spokes, which resist no inward motion: a 5 um disc
  // with the leaf's own compression fraction of 0.05 takes 4 to 12 points off the loss and 10 to 25 % off
  // the shift.
  for (const std::size_t k : {2u, 3u, 5u, 7u}) {
    const History h = year_of(worked[k].eye(5));
    INFO(worked[k].name << ": loss " << last_loss(h) << ", opening x " << last(h, "opening_center_mm"));
    const double spared = worked[k].loss_percent - last_loss(h);
    CHECK(spared > 2);
    CHECK(spared < 13);
    const double shift = last(h, "opening_center_mm") / worked[k].opening_x_mm;
    CHECK(shift > 0.72);
    CHECK(shift < 0.92);
  }
}

TEST_CASE("everything_moves_away_from_missing_zonules_and_further_the_wider_the_gap", "[simulation]") {
  // A chronic stimulus and a moderate pull.
  constexpr double no_load_mN = 1e-9;  // hours share a bundle's load by the arcs they cover, to rounding
  std::array<double, 3> before{};
  for (const int width : {1, 3, 5}) {
    Scenario s = quick_eye();
    s.zonule.pull_mN = 20;
    s.zonule.strength = 0.3;
    s.zonule.strength_by_hour = gap(width);
    s.contraction.chronic_signal = 0.2;
    s.contraction.fibre_modulus_kPa = 400;
    s.contraction.band_width_mm.reset();
    const History h = year_of(s);
    const std::array<const char*, 3> series{"opening_center_mm", "equator_center_mm", "lens_center_mm"};
    for (std::size_t k = 0; k < series.size(); ++k) {
      INFO(series[k] << ", " << width << " h missing: " << last(h, series[k]));
      CHECK(last(h, series[k], 0) < before[k]);  // beyond the narrower gap's
      CHECK(std::abs(last(h, series[k], 1)) < 1e-4);
      before[k] = last(h, series[k], 0);
    }
    for (int hour = 0; hour < 12; ++hour)
      CHECK((last(h, "zonule_load_mN", static_cast<std::size_t>(hour)) < no_load_mN) == gap(width).contains(hour));
  }
  INFO("5 h missing: " << before[0] << ", " << before[1] << ", " << before[2]);
  for (const double x : before) {
    CHECK(x < -0.1);
    CHECK(x > -1.3);
  }
}

TEST_CASE("the_opening_gets_short_towards_the_gap_and_stays_wide_across_it", "[simulation]") {
  const History h = year_of(worked[2].eye(0));
  const double ovality = last(h, "opening_max_diameter_mm") / last(h, "opening_min_diameter_mm");
  CHECK(ovality > 1.2);
  CHECK(ovality < 1.6);
  // The longest chord runs across the gap's axis (12 - 6 o'clock), within the 1 degree of the search.
  // A meridian names both of its ends: 0 and 6 are the same line.
  CHECK(std::abs(std::remainder(last(h, "opening_max_meridian_hour"), 6)) < 0.05);
}

TEST_CASE("uneven_cells_hardly_shift_the_opening_and_an_uneven_zonule_does", "[simulation]") {
  Scenario s = weak_pull_eye(2.5, 0.0475);
  s.zonule.strength = 0.3;
  s.contraction.interpolation = HourInterpolation::smooth;
  for (int hour = 1; hour <= 12; ++hour)
    s.contraction.cells_left_by_hour[hour] = 0.5 * (1 + 0.9 * std::cos(angle_of_hour(hour)));
  const History cells = year_of(s);
  CHECK(last_distance(cells, "opening_center_mm") < 0.05);  // 0.02 mm in the plane program
  s.contraction.cells_left_by_hour.clear();
  s.zonule.strength_by_hour = cosine(0.3, 0.9);
  s.zonule.interpolation = HourInterpolation::smooth;
  const History zonule = year_of(s);
  CHECK(last_distance(zonule, "opening_center_mm") > 0.3);
}

TEST_CASE("a_weak_zonule_and_a_chronic_stimulus_together_cost_more_than_their_sum", "[simulation]") {
  // An opening of 5.5 mm under the strong pull, no posterior leaf.
  const auto loss = [](double strength, double chronic) {
    Scenario s = strong_pull_eye(strength == 1 ? 2.4257 : 2.67, 2.75, 0.045, 0);
    s.zonule.strength = strength;
    s.contraction.chronic_signal = chronic;
    return last_loss(year_of(s));
  };
  const double neither = loss(1, 0), weak = loss(0.1, 0), chronic = loss(1, 0.2), both = loss(0.1, 0.2);
  INFO(neither << " " << weak << " " << chronic << " " << both);
  CHECK(chronic < 1.5 * neither);  // either alone does little
  CHECK(weak < 12);
  CHECK(both - neither > 1.5 * (weak - neither + chronic - neither));
}
