// SPDX-License-Identifier: BSD-3-Clause
// The model: the stated eye is the eye at rest, and what was planned lies on mesh lines.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "axisymmetric_bag.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"
#include "capsim/simulation.hpp"
#include "scenario/opening_outline.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

constexpr double in_situ_mm = 1e-4;  // how well the stated eye is met, a fiftieth of a cell's width

Point at(const std::vector<double>& x, int node) {
  return {x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]};
}

double radius(const std::vector<double>& x, int node) { return std::hypot(at(x, node)[0], at(x, node)[1]); }

double mean_equator_radius(const Mesh& mesh, const std::vector<double>& x) {
  double sum = 0;  // even columns
  for (const int node : mesh.equator_nodes()) sum += radius(x, node);
  return sum / static_cast<double>(mesh.equator_nodes().size());
}

/// Largest distance of a rim node from the stated rim, along the ray from the opening's centre.
double rim_error_mm(const Model& model, const std::vector<double>& x) {
  const OpeningSpec& opening = model.scenario().opening;
  const Point center = opening_center(opening);
  double most = 0;
  for (int c = 0; c < model.mesh().columns(); ++c) {
    const Point p = at(x, model.mesh().node(0, c));
    const double dx = p[0] - center[0], dy = p[1] - center[1];
    most = std::max(most, std::abs(std::hypot(dx, dy) - rim_distance(opening, std::atan2(dy, dx))));
  }
  return most;
}

std::vector<Point> trefoil() {
  std::vector<Point> outline;
  for (int k = 0; k < 40; ++k) {
    const double t = 2 * pi * k / 40, r = 2.5 + 0.12 * std::cos(3 * t) + 0.08 * std::sin(2 * t);
    outline.push_back({0.1 + r * std::cos(t), r * std::sin(t) - 0.05});
  }
  return outline;
}

/// Openings of every kind in an eye without a lens.
std::vector<Scenario> openings() {
  Scenario round = quick_eye();
  round.lens.reset();
  Scenario ellipse = round, off_centre = round, traced = round;
  ellipse.opening.diameters_mm = {5.5, 4.8};
  ellipse.opening.axis_hour = 1.5;
  off_centre.opening.center_mm = {0.4, -0.2};
  traced.opening.outline_mm = trefoil();
  return {round, ellipse, off_centre, traced};
}

History first_day(Scenario s) {
  s.duration_days = 0;
  return simulate(s);
}

}  // namespace

TEST_CASE("the_stated_opening_is_the_rim_at_rest_and_the_stated_bag_the_equator", "[model]") {
  for (const Scenario& base : openings())
    for (const MeasuredUnder under :
         {MeasuredUnder::end_of_surgery, MeasuredUnder::own_zonule, MeasuredUnder::full_strength_zonule})
      for (const bool weak : {false, true}) {
        Scenario s = base;
        s.opening.measured_under = under;
        if (weak) {
          s.zonule.strength = 0.6;
          s.zonule.strength_by_hour = {{4, 0.1}, {5, 0.3}};
        }
        const Model model(s);
        const bool own = under != MeasuredUnder::full_strength_zonule;
        CHECK(rim_error_mm(model, own ? model.rest_as_stated() : model.rest_full_strength()) < in_situ_mm);
        CHECK(mean_equator_radius(model.mesh(), model.rest_full_strength()) ==
              Approx(s.bag.equator_diameter_mm / 2).margin(in_situ_mm));
        CHECK(model.in_situ_error_mm() < in_situ_mm);
      }
}

TEST_CASE("day_0_of_a_run_shows_the_stated_opening", "[model][simulation]") {
  // Area of the exact shape; quadratic rim edges of 15 degrees are good to a few parts in 1e5.
  constexpr double edges = 1e-4;
  const double stated[] = {pi / 4 * 5.25 * 5.25, pi / 4 * 5.5 * 4.8};
  const auto eyes = openings();
  for (std::size_t k = 0; k < 2; ++k)
    for (const double strength : {1.0, 0.4}) {
      Scenario s = eyes[k];
      s.zonule.strength = strength;
      CHECK(first_day(s).value("opening_area_mm2", 0) == Approx(stated[k]).epsilon(edges));
    }
  const History ellipse = first_day(eyes[1]);
  CHECK(ellipse.value("opening_max_diameter_mm", 0) == Approx(5.5).margin(2e-3));  // chords of the drawn polygon
  CHECK(ellipse.value("opening_min_diameter_mm", 0) == Approx(4.8).margin(4e-3));
  CHECK(ellipse.value("opening_max_meridian_hour", 0) == Approx(1.5).margin(0.04));  // meridians of one degree
  const History off_centre = first_day(eyes[2]);
  CHECK(off_centre.value("opening_center_mm", 0, 0) == Approx(0.4).margin(in_situ_mm));
  CHECK(off_centre.value("opening_center_mm", 0, 1) == Approx(-0.2).margin(in_situ_mm));
  // A traced rim: every recorded rim point lies on it (mid-sides and corners are nodes, so all of them).
  const History traced = first_day(eyes[3]);
  const Point center = opening_center(eyes[3].opening);
  for (const Point& p : traced.outline_mm(0)) {
    const double dx = p[0] - center[0], dy = p[1] - center[1];
    CHECK(std::hypot(dx, dy) == Approx(rim_distance(eyes[3].opening, std::atan2(dy, dx))).margin(in_situ_mm));
  }
}

TEST_CASE("under_a_full_strength_reference_a_weak_zonule_leaves_the_opening_smaller", "[model][simulation]") {
  Scenario s = openings().front();
  s.zonule.pull_mN = 60;  // enough that its loss shows
  s.opening.measured_under = MeasuredUnder::full_strength_zonule;
  const double full = first_day(s).value("opening_area_mm2", 0);
  s.zonule.strength = 0.3;
  const double weak = first_day(s).value("opening_area_mm2", 0);
  s.opening.measured_under = MeasuredUnder::end_of_surgery;
  const double own = first_day(s).value("opening_area_mm2", 0);
  CHECK(weak < 0.9 * full);
  CHECK(own == Approx(full).epsilon(1e-4));
}

TEST_CASE("a_push_of_the_haptics_opens_the_stated_opening_by_less_than_a_hundredth", "[model][simulation]") {
  // Where the stated opening is that of bag and zonule alone, the lens then widens it across its axis.
  Scenario s = quick_eye();
  s.opening.measured_under = MeasuredUnder::own_zonule;
  const History with = first_day(s);
  s.lens.reset();
  const double gain = with.value("opening_area_mm2", 0) / first_day(s).value("opening_area_mm2", 0) - 1;
  CHECK(gain > 0.001);
  CHECK(gain < 0.01);
  CHECK(with.value("opening_max_diameter_mm", 0) - with.value("opening_min_diameter_mm", 0) < 0.1);
}

TEST_CASE("the_stress_free_shape_opens_to_the_stated_one_in_the_axisymmetric_solution", "[model][oracle]") {
  // Back from the model's stress-free radii with the independent forward solution.
  constexpr double coarse_mesh_mm = 2e-3;  // four layers
  for (const double pull_mN : {20.0, 60.0})
    for (const double strength : {1.0, 0.5}) {
      Scenario s = openings().front();
      s.capsule.posterior_thickness_um = 0;
      s.zonule.pull_mN = pull_mN;
      s.zonule.strength = strength;
      s.bag.equator_diameter_mm = 10.5;
      const Model model(s);
      Scenario bare = s;
      bare.opening.measured_under = MeasuredUnder::stress_free;
      bare.opening.diameter_mm = 2 * radius(model.mesh().reference(), model.mesh().node(0, 0));
      bare.bag.equator_diameter_mm = 2 * model.stress_free_equator_radius_mm();
      bare.contraction.edge_width_mm = 0.05;
      AxisymmetricBag bag = axisymmetric(bare);
      bag.zonule_stretch_mm = pull_mN / s.zonule.stiffness_mN_per_mm + 10.5 / 2 - bag.equator_mm;
      CHECK(rim_on_day_0_mm(bag) == Approx(5.25 / 2).margin(coarse_mesh_mm));
      CHECK(bag.rim_mm < 2.625);
    }
}

TEST_CASE("a_stress_free_description_is_taken_as_it_is", "[model]") {
  Scenario s = weak_pull_eye(2.25, 0.05);
  const Model model(s);
  CHECK(model.stress_free_equator_radius_mm() == 5);
  for (int c = 0; c < model.mesh().columns(); ++c)
    CHECK(radius(model.mesh().reference(), model.mesh().node(0, c)) == Approx(2.25).margin(1e-12));
}

TEST_CASE("without_pull_the_stated_eye_is_the_stress_free_one", "[model]") {
  Scenario s = openings().front();
  s.zonule.pull_mN = 0;
  const Model model(s);
  for (int n = 0; n < model.mesh().nodes(); ++n) {
    CHECK(at(model.rest_as_stated(), n)[0] == Approx(at(model.mesh().reference(), n)[0]).margin(in_situ_mm));
    CHECK(at(model.rest_as_stated(), n)[1] == Approx(at(model.mesh().reference(), n)[1]).margin(in_situ_mm));
  }
}

TEST_CASE("a_mesh_line_lies_on_the_edge_of_the_contact_zone", "[model]") {
  constexpr double line_mm = 2e-3;  // lines are placed once per correction of the shape, not at its end
  for (Scenario s : openings()) {
    if (s.opening.center_mm[0] != 0) s.opening.center_mm = {0.15, -0.1};  // else the rim leaves the optic
    const Model model(s);
    REQUIRE(model.tissue_layers() > 0);
    const int row = model.tissue_layers() * model.mesh().plan().order;
    double farthest = 0;
    for (int c = 0; c < model.mesh().columns(); ++c)
      farthest = std::max(farthest, std::abs(radius(model.rest_as_stated(), model.mesh().node(row, c)) -
                                             model.contact_diameter_mm() / 2));
    CHECK(farthest < line_mm);
  }
}

TEST_CASE("cells_fade_with_the_distance_from_the_rim_and_follow_the_clock", "[model]") {
  Scenario s = openings().front();
  s.contraction.band_width_mm = 0.4;
  s.contraction.cells_left = 0.5;
  s.contraction.cells_left_by_hour = {{3, 0.1}};
  const Model model(s);
  const Patch& leaf = model.mesh().anterior();
  std::size_t k = 0;
  for (int e = 0; e < model.tissue_layers() * model.mesh().plan().around; ++e)
    for (int q = 0; q < leaf.points_per_element; ++q, ++k) {
      const Point p = leaf.at(model.rest_as_stated(), e, q);
      const double r = std::hypot(p[0], p[1]),
                   from_3 = std::abs(angle_difference(std::atan2(p[1], p[0]), 0)) * 180 / pi;
      if (std::abs(from_3 - 15) < 1) continue;  // the step between two hours is smoothed over a degree
      const double c0 = from_3 < 15 ? 0.1 : 0.5;
      CHECK(model.initial_cells()[k] == Approx(c0 * std::exp(-(r - 2.625) / 0.4)).epsilon(1e-3));
    }
  CHECK(k == model.initial_cells().size());
  // No decay, no hours: all ones inside a sharp zone.
  s.contraction.band_width_mm.reset();
  s.contraction.cells_left = 1;
  s.contraction.cells_left_by_hour.clear();
  const Model even(s);
  CHECK(even.initial_cells() == std::vector<double>(even.initial_cells().size(), 1.0));
}

TEST_CASE("an_opening_larger_than_the_optic_has_no_contact_zone", "[model]") {
  Scenario s = openings().front();
  s.opening.diameter_mm = 7;
  const Model model(s);
  CHECK(model.tissue_layers() == 0);
  CHECK(model.make_fibrous_tissue() == nullptr);
}

TEST_CASE("planned_cuts_end_on_mesh_lines_at_the_asked_length", "[model]") {
  constexpr double length_mm = 2e-3;
  constexpr double meridian = 5e-4;  // uneven columns stretch a little unevenly under the pull [rad]
  Scenario s = openings().front();
  s.events.push_back({30, RelaxingCuts{{12, 4.5, 9}, 0.3}});
  s.events.push_back({60, RelaxingCuts{{1.5, 7}, 1.2}});
  const Model model(s);
  REQUIRE(model.cuts().size() == 5);
  const Mesh& mesh = model.mesh();
  for (const PlannedCut& cut : model.cuts()) {
    CHECK(cut.length_mm == (cut.day == 30 ? 0.3 : 1.2));
    const Point tip = at(model.rest_as_stated(), mesh.tip_node(cut.line, cut.layers));
    CHECK(std::hypot(tip[0], tip[1]) == Approx(2.625 + cut.length_mm).margin(length_mm));
    CHECK(std::abs(angle_difference(std::atan2(tip[1], tip[0]), angle_of_hour(cut.hour))) < meridian);
  }
}

TEST_CASE("lips_are_one_until_their_cut_is_open", "[model]") {
  Scenario s = openings().front();
  s.events.push_back({30, RelaxingCuts{{12, 6}, 0.5}});
  const Model model(s);
  const auto count = [](const std::vector<int>& dof) { return 1 + *std::max_element(dof.begin(), dof.end()); };
  const int closed = count(model.dof_map(std::vector<int>{0, 0}, false, false));
  const int layers = model.cuts().front().layers, order = model.mesh().plan().order;
  const int open = count(model.dof_map(std::vector<int>{layers, 0}, false, false));
  CHECK(closed == 2 * (model.mesh().nodes() - 2 * layers * order));
  CHECK(open - closed == 2 * layers * order);
  CHECK(count(model.dof_map(std::vector<int>{0, 0}, true, false)) - closed == 3);
}

TEST_CASE("a_model_shared_by_threads_gives_each_the_same_answer", "[model][simulation]") {
  Scenario s = quick_eye();
  s.duration_days = 60;
  s.zonule.strength_by_hour = {{5, 0.2}};
  const auto model = std::make_shared<const Model>(s);
  const History alone = simulate(model);
  std::vector<History> together(3);
  std::vector<std::thread> threads;
  for (History& h : together) threads.emplace_back([&h, &model] { h = simulate(model); });
  for (std::thread& t : threads) t.join();
  const History built_again = simulate(s);
  together.push_back(built_again);
  for (const History& h : together) {
    REQUIRE(h.rows() == alone.rows());
    for (std::size_t k = 0; k < alone.all_series().size(); ++k)
      CHECK(h.all_series()[k].values == alone.all_series()[k].values);  // to the last bit
  }
}

TEST_CASE("possible_cuts_are_checked_as_those_of_an_event", "[model]") {
  const auto paths = [](std::vector<RelaxingCuts> possible) {
    std::vector<std::string> found;
    try {
      const Model model(openings().front(), std::move(possible));
    } catch (const ScenarioError& error) {
      for (const Violation& violation : error.violations()) found.push_back(violation.path);
    }
    return found;
  };
  using Paths = std::vector<std::string>;
  const RelaxingCuts good{{12, 3}, 0.75};
  CHECK(paths({good}).empty());
  CHECK(paths({good, {{12, 3}, 0.5}}).empty());  // two lengths at one hour are alternatives
  CHECK(paths({good, {{13}, 0.75}}) == Paths{"possible_cuts[1].hours[0]"});
  CHECK(paths({{{12}, -1}}) == Paths{"possible_cuts[0].length_mm"});
  CHECK(paths({{{}, 0.75}}) == Paths{"possible_cuts[0].hours"});
  CHECK(paths({{{std::nan("")}, 0.75}}) == Paths{"possible_cuts[0].hours[0]"});
  CHECK(paths({{{12}, std::nan("")}}) == Paths{"possible_cuts[0].length_mm"});
  CHECK(paths({{{12, 12.01}, 0.75}}) == Paths{"possible_cuts[0].hours[1]"});
  CHECK(paths({{{12}, 7}}) == Paths{"possible_cuts[0].length_mm"});  // longer than the leaf
}

TEST_CASE("an_impossible_eye_is_refused_by_name", "[model]") {
  Scenario wrong = quick_eye();
  wrong.opening.diameter_mm = 11;  // wider than the equator
  CHECK_THROWS_AS(Model(wrong), ScenarioError);
  Scenario torn = quick_eye();  // no leaf this soft bears this pull
  torn.capsule.modulus_kPa = 5;
  torn.zonule.pull_mN = 60;
  CHECK_THROWS_AS(Model(torn), ScenarioError);
  torn.capsule.modulus_kPa = 310;  // it would without its opening
  CHECK_THROWS_AS(Model(torn), ModelError);
}

TEST_CASE("an_off_centre_opening_hardly_shifts_the_bag_or_the_optic", "[model][simulation][evidence]") {
  // Two published finite-element studies of the emptied bag, without contraction: the optic shifts by
  // 1e-3 mm or less (10.1097/j.jcrs.0000000000000711) and by less than 0.04 mm (PMID 33144045). Here the
  // shift grows with the pull that stretches the leaf: under 20 mN the bag moves by 0.5 % of the opening's
  // offset, under 60 mN by 2 %. The first study's bag hangs on stiffer fibres in three
  // dimensions and is hardly stretched, so its bound is not met; the second one's is.
  constexpr double published_mm = 0.04;
  for (const double pull_mN : {20.0, 60.0})
    for (const double offset_mm : {0.25, 0.5, 1.0}) {
      Scenario s = quick_eye();
      s.zonule.pull_mN = pull_mN;
      s.opening.center_mm = {offset_mm, 0};
      const History h = first_day(s);
      const double bag = h.value("equator_center_mm", 0, 0), optic = h.value("lens_center_mm", 0, 0);
      INFO(pull_mN << " mN, " << offset_mm << " mm: bag " << bag << ", optic " << optic);
      CHECK(std::abs(bag) < published_mm);
      CHECK(std::abs(optic) < published_mm);
      CHECK(std::abs(bag) < (pull_mN < 30 ? 0.006 : 0.025) * offset_mm);
      CHECK(std::abs(h.value("equator_center_mm", 0, 1)) < 1e-6);
    }
  Scenario slack = quick_eye();  // nothing stretched, nothing moved
  slack.lens.reset();
  slack.zonule.pull_mN = 0;
  slack.opening.center_mm = {1, 0};
  CHECK(std::abs(first_day(slack).value("equator_center_mm", 0, 0)) < 1e-6);
}

TEST_CASE("chords_of_a_round_opening_are_its_diameter_whatever_its_size", "[model][opening]") {
  // Rays of the meridian search pass exactly through corners of the rim for some sizes.
  constexpr double four_chords_per_edge = 6e-4;  // 1 - cos(15 degrees / 8)
  for (const int around : {24, 48, 72})
    for (double diameter = 3; diameter < 9; diameter += 0.05) {
      std::vector<Point> rim;
      for (int k = 0; k < 2 * around; ++k)
        rim.push_back(
            {diameter / 2 * std::cos(pi / 2 + pi * k / around), diameter / 2 * std::sin(pi / 2 + pi * k / around)});
      const OpeningShape shape = measure_opening(rim, 2, false);
      CHECK(shape.min_diameter_mm == Approx(diameter).epsilon(four_chords_per_edge));
      CHECK(shape.max_diameter_mm == Approx(diameter).epsilon(1e-6));
    }
}
