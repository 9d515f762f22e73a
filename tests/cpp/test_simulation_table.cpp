// SPDX-License-Identifier: BSD-3-Clause
// Round eyes over a year: against an independent axisymmetric solution, and against worked tables.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "axisymmetric_bag.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "comparison.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::checks;
using namespace capsim::test;

namespace {

using Row = std::array<double, 4>;  // on table_days

Row year_of(const Scenario& scenario) {
  const History history = simulate(scenario);
  INFO(history.message());
  REQUIRE(history.status() == Status::completed);
  Row row;
  for (std::size_t k = 0; k < row.size(); ++k) row[k] = loss_percent(history, table_days[k]);
  return row;
}

Row year_of(const AxisymmetricBag& bag) {
  const auto loss = area_loss_percent(bag, {table_days.begin(), table_days.end()});
  return {loss[0], loss[1], loss[2], loss[3]};
}

std::string words(const Row& row) {
  std::string text;
  for (const double v : row) text += std::to_string(v) + "  ";
  return text;
}

/// Largest difference of two rows from day `table_days[first]` on [percentage points].
double largest_difference(const Row& a, const Row& b, std::size_t first = 0) {
  double most = 0;
  for (std::size_t k = first; k < a.size(); ++k) most = std::max(most, std::abs(a[k] - b[k]));
  return most;
}

/// Reports each day of a row; `miss` names the likely reason on the days that are known to be off.
void compare_row(const std::string& id, const std::string& source, const Row& loss, const Row& expected,
                 const std::array<double, 4>& limits, const std::array<std::string, 4>& miss = {}) {
  for (std::size_t k = 0; k < loss.size(); ++k)
    compare({"round_eye", id, source, "loss of area, day " + std::to_string(std::lround(table_days[k])), "%", loss[k],
             expected[k], within(limits[k]), miss[k]});
}

const std::string axisymmetric_oracle = "separate axisymmetric solution: line elements, Runge-Kutta steps";
const std::string worked_table = "table of an earlier, separate axisymmetric program";
const std::string spokes =
    "the table's posterior leaf was made of spokes that only pull, while the library's disc also resists an "
    "equator that moves in; "
    "and its zone may have had a softer edge";

/// A row of the table of eyes under a strong pull.
struct TableRow {
  double diameter_mm, strength, chronic;
  Row loss;
};
const std::vector<TableRow> normal_rows{
    {5.5, 1, 0, {2.0, 3.4, 3.9, 4.0}}, {5.0, 1, 0, {4.2, 6.7, 7.3, 7.4}}, {4.0, 1, 0, {9.9, 15.0, 16.2, 16.5}}};
const std::vector<TableRow> weak_rows{{5.0, 0.1, 0.2, {7.8, 21, 30, 40}}, {4.0, 0.1, 0.2, {25, 48, 63, 77}}};

/// The eye of a row: its stress-free rim radius is the one that opens to the row's diameter under its own
/// zonule, found with the axisymmetric solution.
Scenario eye_of(const TableRow& row, double edge_mm, double posterior_um, double posterior_compression = 0.05) {
  const double r = row.diameter_mm / 2;
  const auto eye = [&](double a) {
    Scenario s = strong_pull_eye(a, r, edge_mm, posterior_um);
    if (posterior_um > 0) s.mesh.around = 48;
    s.zonule.strength = row.strength;
    s.contraction.chronic_signal = row.chronic;
    return s;
  };
  const auto excess = [&](double a) {
    AxisymmetricBag bag = axisymmetric(eye(a));
    bag.posterior_compression = posterior_compression;
    return rim_on_day_0_mm(bag) - r;
  };
  double before = 0.8 * r, a = 0.9 * r, excess_before = excess(before), excess_now = excess(a);
  for (int k = 0; k < 20 && std::abs(excess_now) > 1e-9; ++k) {
    const double next = a - excess_now * (a - before) / (excess_now - excess_before);
    before = a;
    excess_before = excess_now;
    a = next;
    excess_now = excess(a);
  }
  return eye(a);
}

std::string millimetres(const TableRow& row) { return words({row.diameter_mm, 0, 0, 0}).substr(0, 3) + " mm"; }

}  // namespace

TEST_CASE("a_round_eye_follows_the_independent_axisymmetric_solution", "[simulation][oracle][evidence]") {
  // 24 quadratic elements around, 10 along the leaf, 3 or 4 of them in the narrowest zone.
  constexpr double discretisation_points = 0.06;
  std::vector<Scenario> eyes;
  eyes.push_back(eye_of(normal_rows[0], 0.04, 5));
  eyes.push_back(eye_of(weak_rows[1], 0.04, 5));
  eyes.push_back(with_pull_held(weak_pull_eye(2.75, 0.05), 0.1));
  eyes.push_back(weak_pull_eye(2.0, 0.05, 5));
  eyes.back().zonule.strength = 0.3;
  // Every family of fibres, the matrix, a stiff leaf in compression and a longer laying stretch.
  eyes.push_back(weak_pull_eye(2.5, 0.05));
  eyes.back().contraction.hoop_weight = 0.7;
  eyes.back().contraction.diagonal_weight = 0.2;
  eyes.back().contraction.radial_weight = 0.1;
  eyes.back().contraction.matrix_modulus_kPa = 40;
  eyes.back().contraction.laying_stretch = 1.4;
  eyes.back().contraction.packing_limit = 0.65;
  eyes.back().capsule.compression_fraction = 0.4;
  const std::array<std::string, 5> names{"normal eye, 5.5 mm", "weak zonule, chronic signal, 4 mm",
                                         "5.5 mm, zonule 0.1 at full pull", "4 mm, zonule 0.3",
                                         "5 mm, all families of fibres and a matrix"};
  constexpr double d = discretisation_points;
  for (std::size_t k = 0; k < eyes.size(); ++k)
    compare_row(names[k], axisymmetric_oracle, year_of(eyes[k]), year_of(axisymmetric(eyes[k])), {d, d, d, d});
}

TEST_CASE("a_round_eye_opens_on_day_0_as_the_axisymmetric_solution_says", "[simulation][oracle]") {
  constexpr double quadratic_edges_mm = 1e-4;  // an arc of 15 degrees as a parabola
  for (const TableRow& row : {normal_rows[1], weak_rows[0]})
    for (const double posterior_um : {0.0, 5.0}) {
      Scenario s = eye_of(row, 0.04, posterior_um);
      s.duration_days = 0;
      const double diameter = simulate(s).value("opening_diameter_mm", 0);
      CHECK(diameter == Approx(row.diameter_mm).margin(quadratic_edges_mm));
    }
}

TEST_CASE("normal_eyes_of_the_table_lose_area_as_worked_out", "[simulation][table][evidence]") {
  // The table does not state the softness of the zone's edge; 0.04 mm is the value that suits its normal
  // rows best, so these rows show that the law can give the table, not that it predicts it. What the
  // choice is worth is the business of the next case.
  constexpr double relative = 0.03, points = 0.3;
  for (const TableRow& row : normal_rows) {
    const Row loss = year_of(eye_of(row, 0.04, 5));
    std::array<double, 4> limits;
    for (std::size_t k = 0; k < loss.size(); ++k) limits[k] = std::max(points, relative * row.loss[k]);
    compare_row("normal eye of the table, " + millimetres(row), worked_table + "; edge of the zone chosen to suit",
                loss, row.loss, limits);
    CHECK(loss[3] < (row.diameter_mm > 4.5 ? 10 : 20));  // "under 10 %" for openings of usual size
    CHECK(loss[0] > 0.45 * loss[3]);                     // about half of it in the first month
    CHECK(loss[3] - loss[1] < 0.15 * loss[3]);           // a plateau after three months
  }
}

TEST_CASE("a_softer_zone_edge_adds_at_most_a_tenth_of_the_loss_of_a_normal_eye", "[simulation][table]") {
  for (const TableRow& row : normal_rows) {
    const Row sharp = year_of(axisymmetric(eye_of(row, 0.04, 5))), soft = year_of(axisymmetric(eye_of(row, 0.05, 5)));
    INFO(row.diameter_mm << " mm, edge 0.04: " << words(sharp) << " 0.05: " << words(soft));
    CHECK(soft[3] > sharp[3]);
    CHECK(soft[3] - sharp[3] < 0.115 * sharp[3]);
  }
}

TEST_CASE("weak_eyes_of_the_table_lie_between_a_posterior_disc_that_resists_and_none",
          "[simulation][table][evidence]") {
  // The table's posterior leaf was made of spokes: it never resists an equator that moves inward, while a
  // disc keeps the share compression_fraction of its stiffness there. With the disc and the narrower edge
  // the run loses less, without any posterior leaf and with the wider edge more.
  constexpr double rounding = 0.5;  // of the table's whole percents
  for (const TableRow& row : weak_rows) {
    const Row least = year_of(eye_of(row, 0.04, 5)), most = year_of(eye_of(row, 0.05, 0));
    INFO(row.diameter_mm << " mm: disc " << words(least) << " none " << words(most));
    for (std::size_t k = 0; k < row.loss.size(); ++k) {
      CHECK(least[k] < row.loss[k] + rounding);
      CHECK(most[k] > row.loss[k] - rounding);
      CHECK(most[k] - least[k] < 0.3 * row.loss[k] + 1.5);  // the bracket is narrow enough to say something
    }
    compare_row("weak eye of the table, " + millimetres(row), worked_table, least, row.loss,
                {rounding, rounding, rounding, rounding}, {spokes, spokes, spokes, spokes});
    // No plateau: the chronic stimulus goes on, and the smaller opening keeps closing.
    CHECK(least[3] - least[2] > 5);
  }
}

TEST_CASE("weak_eyes_of_the_table_agree_with_a_posterior_disc_that_only_pulls", "[simulation][table]") {
  // The axisymmetric solution can have such a disc (the library's leaves share one compression fraction).
  // It gives the table within its rounding from day 90 on; on day 30 it is low by 0.7 and 1.6 points.
  constexpr double rounding_and_reading = 0.8;
  constexpr double early_points = 1.8;
  for (const TableRow& row : weak_rows) {
    AxisymmetricBag bag = axisymmetric(eye_of(row, 0.05, 5, 0));
    bag.posterior_compression = 0;
    const Row loss = year_of(bag);
    INFO(row.diameter_mm << " mm: " << words(loss));
    CHECK(largest_difference(loss, row.loss, 1) < rounding_and_reading);
    CHECK(std::abs(loss[0] - row.loss[0]) < early_points);
  }
}

TEST_CASE("a_posterior_disc_that_only_pulls_can_be_added_from_outside", "[simulation][table][evidence]") {
  // The plane run with such a disc as a part of its own, for the row with the largest loss: 4.5 of the
  // 5 um, the other half micrometre being the thinnest leaf that gives the mesh a disc to hang it on.
  constexpr double thin_leaf_points = 1.0;
  Scenario s = eye_of(weak_rows[1], 0.05, 5, 0);
  s.capsule.posterior_thickness_um = 0.5;
  const auto model = std::make_shared<const Model>(s);
  CapsuleSpec slack = s.capsule;
  slack.compression_fraction = 0;
  std::vector<Leaf::Region> regions;
  for (const Patch* patch : {&model->mesh().posterior_ring(), &model->mesh().posterior_fan()})
    regions.push_back({patch, std::vector<double>(static_cast<std::size_t>(patch->points()), 0.0045), {}});
  SimulationExtras extras;
  extras.parts.push_back(std::make_shared<const Leaf>("disc that only pulls", Membrane(slack), std::move(regions)));
  Simulation simulation(model, extras);
  REQUIRE(simulation.advance_to(365) == Advance::reached);
  const History h = simulation.history();
  Row loss;
  for (std::size_t k = 0; k < loss.size(); ++k) loss[k] = loss_percent(h, table_days[k]);
  AxisymmetricBag bag = axisymmetric(eye_of(weak_rows[1], 0.05, 5, 0));
  bag.posterior_compression = 0;
  INFO(words(loss) << " axisymmetric " << words(year_of(bag)));
  CHECK(largest_difference(loss, year_of(bag)) < thin_leaf_points);
  constexpr double rounding = 0.5, thin = rounding + thin_leaf_points;
  compare_row("weak eye of the table, 4.0 mm, with a posterior disc that only pulls", worked_table, loss,
              weak_rows[1].loss, {rounding, thin, thin, thin},
              {"the softness of the zone's edge in the table is not on record", "", "", ""});
}

TEST_CASE("round_eyes_of_the_plane_program_are_given_back_by_one_edge_width", "[simulation][table]") {
  // Its edge is not on record either: 0.049 mm is read from the last day of the first row, with a disc
  // that only pulls. All other numbers follow. From day 90 on they agree to 0.25 points, or to the
  // scatter between the two earlier programs themselves where that is larger; the openings of 4 mm are
  // low by 0.6 and 1.1 points on day 30.
  struct Worked {
    std::string name;
    AxisymmetricBag bag;
    Row loss;
    double points, early_points;
  };
  const auto eye = [](double a) {
    AxisymmetricBag bag = axisymmetric(weak_pull_eye(a, 0.049, 5));
    bag.posterior_compression = 0;
    return bag;
  };
  const auto weak = [](AxisymmetricBag bag, double strength, double chronic = 0) {
    bag.zonule_stiffness_mN_per_mm *= strength;
    bag.zonule_stretch_mm /= strength;
    bag.law.chronic_signal = chronic;
    return bag;
  };
  AxisymmetricBag slacker = eye(2.75), unlike = eye(2.75);
  slacker.compression = 0.01;
  unlike.law.hoop_weight = 0.7;
  unlike.law.diagonal_weight = 0.2;
  unlike.law.radial_weight = 0.1;
  const std::vector<Worked> rows{
      {"5.5 mm", eye(2.75), {1.50, 3.40, 4.06, 4.26}, 0.1, 0.1},
      {"4 mm", eye(2.0), {12.07, 20.21, 22.61, 23.26}, 0.25, 0.8},
      {"zonule 0.1", weak(eye(2.75), 0.1), {2.28, 9.48, 13.65, 15.05}, 0.25, 0.25},
      {"zonule 0.1, 4 mm, chronic", weak(eye(2.0), 0.1, 0.2), {28.28, 52.30, 66.43, 79.28}, 0.25, 1.2},
      {"little compression", slacker, {-0.07, 1.14, 1.61, 1.75}, 0.1, 0.1},
      {"less hoop", unlike, {-1.34, -1.95, -2.48, -2.66}, 0.1, 0.1}};
  for (const Worked& row : rows) {
    const Row loss = year_of(row.bag);
    INFO(row.name << ": " << words(loss) << " worked out: " << words(row.loss));
    CHECK(largest_difference(loss, row.loss, 1) < row.points);
    CHECK(std::abs(loss[0] - row.loss[0]) < row.early_points);
  }
  // Known on the last day only, with the scatter between the two programs.
  AxisymmetricBag hoop_only = eye(2.75), long_laying = eye(2.75), stiff = eye(2.75);
  hoop_only.law.hoop_weight = 1;
  hoop_only.law.diagonal_weight = 0;
  long_laying.law.laying_stretch = 1.5;
  stiff.compression = 1;
  CHECK(year_of(eye(2.5))[3] == Approx(9.25).margin(0.25));
  CHECK(year_of(weak(eye(2.75), 0.3))[3] == Approx(8.1).margin(0.3));
  CHECK(year_of(weak(eye(2.75), 0.3, 0.2))[3] == Approx(14.05).margin(0.3));
  CHECK(year_of(hoop_only)[3] == Approx(6.4).margin(0.2));
  CHECK(year_of(long_laying)[3] == Approx(17.4).margin(0.3));
  CHECK(year_of(stiff)[3] == Approx(4.87).margin(0.2));
}

TEST_CASE("contraction_that_pulls_all_ways_opens_the_hole_under_a_firm_zonule", "[simulation]") {
  // Near a free edge tension can only live in the hoop direction: without a hoop preference the leaf
  // around the hole shortens too, and the firm zonule lets it draw the rim outward.
  Scenario s = weak_pull_eye(2.75, 0.05);
  s.capsule.compression_fraction = 1;
  s.contraction.hoop_weight = 0.25;
  s.contraction.diagonal_weight = 0.5;
  s.contraction.radial_weight = 0.25;
  s.contraction.contact_diameter_mm = 9.6;
  s.duration_days = 90;
  s.zonule.stiffness_mN_per_mm = 1000;
  const History firm = simulate(s);
  REQUIRE(firm.status() == Status::completed);
  CHECK(loss_percent(firm, 90) < -1);
  s.zonule.stiffness_mN_per_mm = 5;  // far below 2 pi b times the 2.04 mN/mm2 of the linear annulus
  s.zonule.pull_mN = 1;
  const History soft = simulate(s);
  REQUIRE(soft.status() == Status::completed);
  CHECK(loss_percent(soft, 90) > 1);
}
