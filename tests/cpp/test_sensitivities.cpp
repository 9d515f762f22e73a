// SPDX-License-Identifier: BSD-3-Clause
// Derivatives of runs against differences of runs with tight tolerances, and against what symmetry asks of them.
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "scenario/scenario_number.hpp"

using namespace capsim;

namespace {

/// Forty days on a small mesh, so tight that differences of runs can be believed.
Scenario tight_eye() {
  Scenario s;
  s.mesh = {12, 2, 2};
  s.opening.measured_under = MeasuredUnder::own_zonule;  // round with lens and ring it wrinkles all round at once
  s.zonule.strength = 0.9;
  s.duration_days = 40;
  s.output_every_days = 20;
  s.numerics.time_tolerance = 1e-8;
  s.numerics.force_tolerance = 1e-11;
  return s;
}

double derivative(const Sensitivities& found, const std::string& outcome, const std::string& path) {
  const std::size_t count = found.parameters.size();
  for (std::size_t o = 0; o < found.outcomes.values.size(); ++o)
    for (std::size_t p = 0; p < count; ++p)
      if (found.outcomes.values[o].name == outcome && found.parameters[p].path == path)
        return found.by_outcome[o * count + p];
  FAIL("no derivative of " << outcome << " by " << path);
  return NAN;
}

/// Richardson's extrapolation of central differences of whole runs: the independent way.
std::vector<double> by_runs(const Scenario& scenario, const std::vector<std::string>& names, const std::string& path,
                            double step) {
  const auto at = [&](double change) {
    Scenario s = scenario;
    *number_at(s, path).value += change;
    return outcomes(simulate(s));
  };
  const Outcomes ahead = at(step), behind = at(-step), far_ahead = at(2 * step), far_behind = at(-2 * step);
  std::vector<double> derivatives;
  for (const std::string& name : names) {
    const double once = (ahead[name] - behind[name]) / (2 * step),
                 twice = (far_ahead[name] - far_behind[name]) / (4 * step);
    derivatives.push_back((4 * once - twice) / 3);
  }
  return derivatives;
}

// To five digits; or, where a parameter does little, to a share of the outcome for a change of the parameter by its own
// size. In a symmetric eye a whole ring of Gauss points begins to wrinkle at once: a run's steps in time feel when, and
// steps that are taken as given leave this much on so small a mesh.
constexpr double agreement = 1e-5, share_of_outcome = 5e-6;

void agree_with_runs(const Scenario& scenario, const std::map<std::string, double>& steps,
                     const std::vector<std::string>& names) {
  std::vector<std::string> paths;
  for (const auto& [path, step] : steps) paths.push_back(path);
  const Sensitivities found = sensitivities(scenario, paths);
  REQUIRE(found.message.empty());
  for (const auto& [path, step] : steps) {
    const std::vector<double> runs = by_runs(scenario, names, path, step);
    Scenario copy = scenario;
    const double size = std::abs(*number_at(copy, path).value);
    for (std::size_t i = 0; i < names.size(); ++i) {
      const double here = derivative(found, names[i], path);
      INFO(names[i] << " by " << path << ": " << here << ", by runs " << runs[i]);
      CHECK(here ==
            Approx(runs[i]).epsilon(agreement).margin(share_of_outcome * std::abs(found.outcomes[names[i]]) / size));
    }
  }
}

}  // namespace

TEST_CASE("derivatives_of_a_run_are_those_of_differences_of_tight_runs", "[sensitivities]") {
  agree_with_runs(tight_eye(),
                  {{"contraction.signal_days", 0.02},
                   {"contraction.fibre_modulus_kPa", 0.3},
                   {"capsule.modulus_kPa", 1},
                   {"opening.diameter_mm", 2e-3},
                   {"zonule.pull_mN", 0.02},
                   {"zonule.strength_by_hour.4", 1e-3}},
                  {"opening_area_mm2", "zonule_load_total_mN", "equator_diameter_mm"});
}

TEST_CASE("derivatives_of_an_eye_stated_with_what_lies_in_it_are_those_of_differences_of_runs", "[sensitivities]") {
  Scenario s = tight_eye();
  s.opening.measured_under = MeasuredUnder::end_of_surgery;
  s.duration_days = 5;  // before points begin to wrinkle, see share_of_outcome
  agree_with_runs(s,
                  {{"contraction.fibre_modulus_kPa", 0.3},
                   {"capsule.modulus_kPa", 1},
                   {"opening.diameter_mm", 2e-3},
                   {"zonule.pull_mN", 0.02},
                   {"zonule.strength_by_hour.4", 1e-3},
                   {"lens.haptic_force_mN", 0.01}},
                  {"opening_area_mm2", "zonule_load_total_mN", "equator_diameter_mm"});
}

TEST_CASE("derivatives_hold_under_the_second_law_and_across_events", "[sensitivities]") {
  Scenario s = tight_eye();
  s.contraction.law = ContractionKind::active_lock_in;
  s.zonule.strength = 0.5;
  s.events.push_back({12, ZonuleDamage{{{5, 0.2}, {6, 0.1}}}});
  s.events.push_back({25, RelaxingCuts{{12, 6}, 0.6}});
  agree_with_runs(s,
                  {{"contraction.active_tension_mN_per_mm", 0.01},
                   {"events[0].zonule_damage.strength_by_hour.5", 1e-3},
                   {"events[0].day", 0.05},
                   {"events[1].day", 0.05}},
                  {"opening_area_mm2", "zonule_load_total_mN"});
}

TEST_CASE("tissue_that_is_laid_at_the_edge_of_slack_has_the_derivatives_of_differences_of_runs", "[sensitivities]") {
  // Under the second law tissue locks at the stretch that it has, so that much of it stays beside a kink. With
  // neighbours ten times farther off, which lie on either side of it, the load's derivative was off by half of itself.
  Scenario s = tight_eye();
  s.contraction.law = ContractionKind::active_lock_in;
  s.opening.measured_under = MeasuredUnder::end_of_surgery;
  s.zonule.strength = 1;
  s.duration_days = s.output_every_days = 10;
  s.numerics.time_tolerance = 1e-9;
  const std::vector<std::string> names{"opening_area_mm2", "zonule_load_total_mN", "equator_diameter_mm"};
  const Sensitivities found = sensitivities(s, std::vector<std::string>{"opening.diameter_mm"});
  const std::vector<double> runs = by_runs(s, names, "opening.diameter_mm", 2e-3);
  const double beside_kinks = 1e-2;
  for (std::size_t i = 0; i < names.size(); ++i)
    CHECK(derivative(found, names[i], "opening.diameter_mm") == Approx(runs[i]).epsilon(beside_kinks));
}

TEST_CASE("a_ring_laid_in_on_the_way_has_the_derivatives_of_differences_of_runs", "[sensitivities]") {
  // Contact keeps the couplings that it told last. When the tangent asked the run's own ring for them, the run went on
  // with a tangent that was not its own, ended on the ring's day, and left derivatives that were all zero.
  Scenario s = tight_eye();
  s.opening.measured_under = MeasuredUnder::end_of_surgery;
  s.zonule.strength = 0.6;
  s.duration_days = s.output_every_days = 150;
  s.numerics.time_tolerance = 1e-9;
  s.numerics.max_steps = 1'000'000;
  s.numerics.max_work = 1e9;
  s.events = {{30, ZonuleDamage{{{5, 0.2}, {6, 0.0}}}}, {60, TensionRingSpec{}}, {120, RelaxingCuts{{12, 4, 8}, 0.5}}};
  const std::vector<std::string> paths{"contraction.signal_days", "zonule.pull_mN"};
  const Sensitivities found = sensitivities(s, paths);
  CHECK(found.message.empty());
  const std::vector<std::string> names{"opening_area_mm2", "zonule_load_total_mN"};
  for (const std::string& path : paths) {
    const std::vector<double> runs = by_runs(s, names, path, 0.02);
    for (std::size_t i = 0; i < names.size(); ++i)
      CHECK(derivative(found, names[i], path) == Approx(runs[i]).epsilon(1e-4));  // bundles go slack on the way
  }
}

TEST_CASE("the_release_at_the_tip_of_a_cut_has_the_derivative_of_differences_of_runs", "[sensitivities][cuts]") {
  Scenario s = tight_eye();
  s.mesh = {12, 4, 2};
  s.zonule.strength = 0.5;
  s.duration_days = 5;  // before points begin to wrinkle, see share_of_outcome
  s.events.push_back({2, RelaxingCuts{{12, 6}, 0.6}});
  agree_with_runs(s, {{"contraction.fibre_modulus_kPa", 0.3}, {"zonule.pull_mN", 0.02}}, {"cut_tip_release_max_mN"});
}

TEST_CASE("derivatives_follow_tissue_outside_the_optic_and_the_bond_of_the_leaves", "[sensitivities][bag_tissue]") {
  Scenario s = tight_eye();
  s.mesh = {12, 4, 2};
  s.duration_days = 5;  // likewise
  s.bag_tissue.fibre_modulus_kPa = 225;
  s.bag_tissue.bond_kPa_per_mm = 20;
  s.bag_tissue.haptic_bond_mN_per_mm = 5;
  agree_with_runs(s,
                  {{"bag_tissue.fibre_modulus_kPa", 0.3},
                   {"contraction.signal_days", 0.02},
                   {"zonule.pull_mN", 0.02},
                   {"zonule.strength_by_hour.4", 1e-3}},
                  {"opening_area_mm2", "equator_diameter_mm"});
}

TEST_CASE("derivatives_on_chosen_days_are_those_of_all_rows", "[sensitivities]") {
  Scenario s = tight_eye();
  s.mesh = {12, 2, 2};
  s.duration_days = 30;
  s.output_every_days = 2;
  s.events.push_back({12, RelaxingCuts{{12, 6}, 0.6}});
  const std::vector<std::string> paths{"contraction.fibre_modulus_kPa", "zonule.pull_mN", "events[0].day"};
  const Sensitivities all = sensitivities(s, paths, {{"opening_area_mm2"}, true, {}});
  const Sensitivities some = sensitivities(s, paths, {{"opening_area_mm2"}, false, {5, 12, 30}});
  CHECK(some.history.rows() < all.history.rows());
  CHECK(some.history.rows() >= 5);  // 4 and 6, both sides of the cuts, the last
  std::size_t compared = 0;
  for (std::size_t r = 0; r < some.history.rows(); ++r) {
    std::size_t same = 0;
    while (all.history.day()[same] != some.history.day()[r] ||
           all.history.value("event_side", same) != some.history.value("event_side", r))
      ++same;
    // As near to rest as the force tolerance of this eye lets both be.
    CHECK(some.history.opening_area_mm2()[r] == Approx(all.history.opening_area_mm2()[same]).epsilon(1e-6));
    for (std::size_t p = 0; p < paths.size(); ++p) {
      const double here = some.by_series[0].values[r * paths.size() + p];
      if (std::isnan(here)) continue;
      CHECK(here == Approx(all.by_series[0].values[same * paths.size() + p]).epsilon(1e-4).margin(1e-9));
      ++compared;
    }
  }
  CHECK(compared >= 5 * paths.size());
}

TEST_CASE("the_derivative_by_the_uniform_strength_is_the_sum_over_the_hours", "[sensitivities]") {
  Scenario s = tight_eye();
  s.zonule.strength = 0.4;
  std::vector<std::string> paths{"zonule.strength", "contraction.cells_left"};
  for (int hour = 1; hour <= 12; ++hour) {
    paths.push_back("zonule.strength_by_hour." + std::to_string(hour));
    paths.push_back("contraction.cells_left_by_hour." + std::to_string(hour));
  }
  const Sensitivities found = sensitivities(s, paths);
  const double rounding = 1e-7;  // twelve differences of forces, each good to 1e-9 of the largest; of the outcome: 1e-8
  for (const std::string whole : {"zonule.strength", "contraction.cells_left"}) {
    double sum = 0;
    for (int hour = 1; hour <= 12; ++hour)
      sum += derivative(found, "opening_area_mm2", whole + "_by_hour." + std::to_string(hour));
    const double margin = 1e-8 * found.outcomes["opening_area_mm2"] / s.zonule.strength;
    CHECK(sum == Approx(derivative(found, "opening_area_mm2", whole)).epsilon(rounding).margin(margin));
  }
}

TEST_CASE("a_turned_and_a_mirrored_eye_have_turned_and_mirrored_derivatives", "[sensitivities]") {
  Scenario s = tight_eye();
  s.mesh.around = 24;  // two elements for each hour, so that a turned mesh is the same mesh
  s.zonule.strength_by_hour = {{4, 0.3}, {5, 0.5}};
  const std::vector<std::string> here{"zonule.strength_by_hour.4", "zonule.strength_by_hour.7"};
  const std::vector<std::string> turned{"zonule.strength_by_hour.7", "zonule.strength_by_hour.10"};
  const std::vector<std::string> seen{"zonule.strength_by_hour.8", "zonule.strength_by_hour.5"};
  const Sensitivities a = sensitivities(s, here), b = sensitivities(rotated(s, 3), turned),
                      c = sensitivities(mirrored(s), seen);
  // The turned run places its steps in time by its own last digits, see share_of_outcome.
  const double rounding = 1e-6, share = 1e-7;
  for (const std::size_t p : {0, 1})
    for (const std::string name : {"opening_area_mm2", "lens_decentration_mm", "zonule_load_total_mN"}) {
      const double expected = derivative(a, name, here[p]);
      INFO(name << " by " << here[p]);
      const double margin = share * a.outcomes[name] / 0.3;
      CHECK(derivative(b, name, turned[p]) == Approx(expected).epsilon(rounding).margin(margin));
      CHECK(derivative(c, name, seen[p]) == Approx(expected).epsilon(rounding).margin(margin));
    }
}

// An eye that is alike all round: hours, meridians and points tie but for what rounding leaves, which must not choose.
TEST_CASE("of_hours_that_tie_the_largest_load_grows_as_that_which_grows_most", "[sensitivities]") {
  Scenario s;
  s.mesh = {24, 2, 2};  // every hour alike
  s.lens.reset();
  s.duration_days = 40;
  s.output_every_days = 10;
  std::vector<std::string> by;
  for (int hour = 1; hour <= 12; ++hour) by.push_back("zonule.strength_by_hour." + std::to_string(hour));
  const Sensitivities found = sensitivities(s, by, {{"zonule_load_mN", "zonule_load_max_mN"}, true});
  const std::vector<double>&loads = found.by_series[0].values, &most = found.by_series[1].values;
  const std::size_t last = found.history.rows() - 1;
  for (std::size_t p = 0; p < by.size(); ++p) {
    double largest = -1e9;
    for (std::size_t hour = 0; hour < 12; ++hour)
      largest = std::max(largest, loads[(last * 12 + hour) * by.size() + p]);
    CHECK(most[last * by.size() + p] == Approx(largest));
    // Hours differ in name only, and so do what they do to what is the same at all of them.
    for (const std::string name : {"zonule_load_max_mN", "opening_min_diameter_mm", "clear_circle_diameter_mm",
                                   "rim_overlap_min_mm", "rim_stretch_max", "opening_decentration_mm"}) {
      CAPTURE(name, by[p]);
      CHECK(derivative(found, name, by[p]) == Approx(derivative(found, name, by[2])).epsilon(1e-4).margin(1e-7));
    }
    CHECK(derivative(found, "opening_decentration_mm", by[p]) > 0);
    for (const std::string name : {"zonule_load_max_hour", "opening_decentration_hour", "rim_overlap_min_hour"})
      CHECK(std::isnan(derivative(found, name, by[p])));
  }
}

TEST_CASE("a_clock_hour_that_jumps_to_another_has_no_derivative", "[sensitivities]") {
  Scenario s = tight_eye();  // even all round: any hour may have the largest load
  s.numerics = {};
  const std::string by = "zonule.strength_by_hour.8";
  const Sensitivities found = sensitivities(s, std::vector<std::string>{by});
  for (const std::string name : {"zonule_load_max_hour", "rim_overlap_min_hour"}) {
    const double here = derivative(found, name, by);
    CHECK((std::isnan(here) || std::abs(here) < 100));
  }
}

TEST_CASE("the_run_that_is_differentiated_is_the_plain_run_to_the_last_bit", "[sensitivities]") {
  Scenario s;
  s.mesh = MeshSpec::coarse();
  s.duration_days = 60;
  const std::vector<std::string> paths{"contraction.signal_days"};
  const Sensitivities found = sensitivities(s, paths, {{"opening_area_mm2"}, true});
  const History plain = simulate(s);
  REQUIRE(found.history.rows() == plain.rows());
  for (std::size_t r = 0; r < plain.rows(); ++r)
    CHECK(found.history.opening_area_mm2()[r] == plain.opening_area_mm2()[r]);
  REQUIRE(found.by_series.size() == 1);
  CHECK(found.by_series[0].values.back() ==
        Approx(derivative(found, "opening_area_mm2", "contraction.signal_days")).epsilon(1e-12));
}

TEST_CASE("derivatives_on_chosen_days_are_those_of_the_rows_beside_them_and_of_no_others", "[sensitivities]") {
  Scenario s;
  s.mesh = MeshSpec{12, 2};
  s.duration_days = 60;
  s.output_every_days = 10;
  s.numerics.time_tolerance = 1e-9;
  s.numerics.force_tolerance = 1e-11;
  const std::vector<std::string> paths{"contraction.signal_days", "opening.diameter_mm"};
  const Sensitivities all = sensitivities(s, paths, {{"opening_area_mm2"}, false});
  const Sensitivities some = sensitivities(s, paths, {{"opening_area_mm2"}, false, {20, 45}});
  REQUIRE(all.by_series[0].values.size() == 14);
  // The run does not come to rest on rows that nobody asked for, and has none on days 10 and 30.
  REQUIRE(some.history.day().size() == 5);
  // Relative. With the tolerances as they are by default derivatives differ by 2e-4 for rests that are left out, with
  // the tight ones of here by what is left of them (2.5e-6 measured); and by rounding over the step, theory 16.
  const double rests_left_out = 1e-5, rounding = 2e-7;  // the second of outcome over parameter
  for (std::size_t i = 0; i < 10; ++i) {
    const double day = some.history.day()[i / 2];
    const auto same = static_cast<std::size_t>(std::lround(day / 10));
    if (day == 20 || day == 40 || day == 50)
      CHECK(some.by_series[0].values[i] ==
            Approx(all.by_series[0].values[2 * same + i % 2])
                .epsilon(rests_left_out)
                .margin(rounding * some.history.opening_area_mm2()[i / 2] / some.parameters[i % 2].value));
    else
      CHECK(std::isnan(some.by_series[0].values[i]));
  }
}

TEST_CASE("what_a_run_has_no_derivative_by_is_refused_by_its_path", "[sensitivities]") {
  Scenario s = tight_eye();
  s.events.push_back({20, RelaxingCuts{{12, 6}, 0.6}});
  const std::vector<std::string> wrong{"mesh.around",
                                       "numerics.time_tolerance",
                                       "duration_days",
                                       "zonule.strenght",
                                       "capsule.law",
                                       "opening.diameters_mm[0]",
                                       "events[0].relaxing_cuts.hours[0]",
                                       "zonule.strength_by_hour.13",
                                       "tension_ring.wire_diameter_mm"};
  try {
    static_cast<void>(sensitivities(s, wrong));
    FAIL("nothing was refused");
  } catch (const ScenarioError& error) {
    REQUIRE(error.violations().size() == wrong.size());
    for (std::size_t i = 0; i < wrong.size(); ++i) CHECK(error.violations()[i].path == wrong[i]);
  }
  const std::vector<std::string> right{"zonule.strength"};
  CHECK_THROWS_AS(sensitivities(s, right, {{"opening_aera_mm2"}, true}), ArgumentError);
}

TEST_CASE("rows_that_no_outcome_needs_can_be_forgotten_while_a_run_is_kept", "[sensitivities]") {
  // More rows inside steps than a tape keeps before it asks which of them count. Reference: the neighbours along with
  // the run itself, at every row.
  Scenario s = tight_eye();
  s.numerics = {};
  s.output_every_days = 0.2;
  const std::vector<std::string> by{"contraction.signal_days", "zonule.pull_mN"};
  const Sensitivities kept = sensitivities(s, by);
  SensitivityOptions every_row;
  every_row.series = {"opening_area_mm2"};
  const Sensitivities beside = sensitivities(s, by, every_row);
  REQUIRE(kept.history.rows() == 201);
  REQUIRE(kept.by_outcome.size() == beside.by_outcome.size());
  int told = 0;
  for (std::size_t i = 0; i < kept.by_outcome.size(); ++i) {
    CAPTURE(i);
    REQUIRE(std::isnan(kept.by_outcome[i]) == std::isnan(beside.by_outcome[i]));
    if (std::isnan(kept.by_outcome[i])) continue;
    ++told;
    CHECK(kept.by_outcome[i] == Approx(beside.by_outcome[i]).epsilon(1e-6).margin(1e-9));
  }
  CHECK(told > 20);
}

TEST_CASE("derivatives_that_the_host_ends_are_all_missing_and_say_so", "[sensitivities]") {
  Scenario s = tight_eye();
  s.numerics = {};
  const std::vector<std::string> by{"contraction.signal_days"};
  SensitivityOptions options;
  options.series = {"opening_area_mm2"};
  options.series_days = {20};
  int asked = 0, most = 0;  // 0: as often as it likes
  options.progress = [&](const Progress&) { return ++asked < most || most == 0; };
  const Sensitivities whole = sensitivities(s, by, options);
  REQUIRE(whole.message.empty());
  const int all = asked;
  REQUIRE(all > 8);
  for (const int end : {1, 2, all - 2}) {  // while its neighbours are made, in the run alone, and in that beside them
    asked = 0;
    most = end;
    const Sensitivities ended = sensitivities(s, by, options);
    CHECK(asked == end);
    CHECK_THAT(ended.message, Catch::Contains("cancelled"));
    CHECK((ended.history.rows() == whole.history.rows()) == (end > 2));
    CHECK((ended.history.rows() == 0) == (end == 1));
    REQUIRE(ended.by_series.size() == 1);
    REQUIRE(ended.by_outcome.size() == ended.outcomes.values.size());
    for (const double value : ended.by_series[0].values) CHECK(std::isnan(value));
    for (const double value : ended.by_outcome) CHECK(std::isnan(value));
  }
}
