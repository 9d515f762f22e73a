// SPDX-License-Identifier: BSD-3-Clause
// Outcomes say what the series say: numbers, directions for either eye, flags and cautions.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

/// Missing zonule at 3 o'clock and a little below, cuts on day 60, damage on day 90.
Scenario eventful(Eye eye) {
  Scenario s = quick_eye();
  s.eye = eye;
  s.duration_days = 200;
  s.output_every_days = 15;
  s.zonule.pull_mN = 30;
  s.zonule.strength = 0.5;
  s.zonule.strength_by_hour = {{3, 0}, {4, 0}};
  s.contraction.chronic_signal = 0.2;
  s.contraction.fibre_modulus_kPa = 400;
  s.events = {{60, RelaxingCuts{{12, 7}, 0.8}}, {90, ZonuleDamage{{{9, 0.1}}}}};
  return s;
}

const History& eventful_run() {
  static const History history = simulate(eventful(Eye::right));
  return history;
}

/// A history with some values replaced.
struct Change {
  std::string series;
  std::size_t row, column;
  double value;
};
History changed(const History& h, const std::vector<Change>& changes) {
  std::vector<Series> series = h.all_series();
  for (const Change& change : changes)
    for (Series& s : series)
      if (s.name == change.series) s.values[change.row * s.columns + change.column] = change.value;
  return History::assemble(h.scenario(), h.status(), h.message(), h.version(), h.diagnostics(), h.cuts(),
                           std::move(series));
}

History of_quick_eye(double days, void (*adapt)(Scenario&) = nullptr) {
  Scenario s = quick_eye();
  s.duration_days = days;
  if (adapt != nullptr) adapt(s);
  return simulate(s);
}

std::string text_of(const Outcomes& o, const std::string& code) {
  for (const Flag& flag : o.flags)
    if (flag.code == code) return flag.text;
  return {};
}

}  // namespace

TEST_CASE("outcomes_of_the_last_day_are_the_last_row", "[outcomes]") {
  const History& h = eventful_run();
  REQUIRE(h.status() == Status::completed);
  const Outcomes o = outcomes(h);
  const std::size_t last = h.rows() - 1;
  for (const char* name :
       {"day", "opening_area_mm2", "opening_diameter_mm", "opening_min_diameter_mm", "opening_max_diameter_mm",
        "clear_circle_diameter_mm", "equator_diameter_mm", "zonule_load_total_mN", "rim_tension_mN_per_mm",
        "fibrous_tissue", "rim_overlap_min_mm", "rim_overlap_min_hour", "lens_rotation_deg"}) {
    INFO(name);
    CHECK(o[name] == h.value(name, last));
  }
  CHECK(o["completed"] == 1);
  CHECK(o["opening_area_start_mm2"] == h.value("opening_area_mm2", 0));
  CHECK(o["area_loss_percent"] ==
        Approx(100 * (1 - h.value("opening_area_mm2", last) / h.value("opening_area_mm2", 0))));
  CHECK(o["equator_loss_mm"] == Approx(h.value("equator_diameter_mm", 0) - h.value("equator_diameter_mm", last)));
  const char* pupils[] = {"clear_of_2_2_mm_pupil", "clear_of_4_0_mm_pupil", "clear_of_5_0_mm_pupil"};
  for (std::size_t k = 0; k < 3; ++k) CHECK(o[pupils[k]] == h.value("pupil_clear_fraction", last, k));
}

TEST_CASE("every_outcome_has_a_name_a_unit_and_a_sentence", "[outcomes]") {
  std::set<std::string> names;
  for (const Outcome& value : outcomes(eventful_run()).values) {
    INFO(value.name);
    CHECK(names.insert(value.name).second);
    CHECK_FALSE(value.unit.empty());
    CHECK(value.description.back() == '.');
    CHECK(std::isfinite(value.value));
  }
}

TEST_CASE("area_loss_on_a_day_is_read_from_the_course", "[outcomes]") {
  // Day 30 is an output day of a run that reports every 15 days, and lies between rows when it reports
  // every 20; then the loss is the straight line between them.
  Scenario s = quick_eye();
  s.duration_days = 100;
  s.output_every_days = 15;
  const History on = simulate(s);
  CHECK(outcomes(on)["area_loss_30d_percent"] == Approx(loss_percent(on, 30)));
  s.output_every_days = 20;
  const History between = simulate(s);
  CHECK(outcomes(between)["area_loss_30d_percent"] ==
        Approx((loss_percent(between, 20) + loss_percent(between, 40)) / 2));
  CHECK(outcomes(between).has("area_loss_90d_percent"));
  CHECK_FALSE(outcomes(between).has("area_loss_180d_percent"));  // not reached
  CHECK_THROWS_AS(outcomes(between)["area_loss_180d_percent"], ArgumentError);
}

TEST_CASE("largest_loads_are_those_of_the_whole_course", "[outcomes]") {
  const History& h = eventful_run();
  const Outcomes o = outcomes(h);
  double most = 0, stretch = 0, hour = 0, day = 0;
  for (std::size_t r = 0; r < h.rows(); ++r) {
    stretch = std::max(stretch, h.value("rim_stretch_max", r));
    for (std::size_t k = 0; k < 12; ++k)
      if (h.value("zonule_load_mN", r, k) > most) {
        most = h.value("zonule_load_mN", r, k);
        hour = k == 0 ? 12 : static_cast<double>(k);
        day = h.value("day", r);
      }
  }
  CHECK(o["zonule_load_max_mN"] == most);
  CHECK(o["zonule_load_max_hour"] == hour);
  CHECK(o["zonule_load_max_day"] == day);
  CHECK(o["rim_stretch_max"] == stretch);
}

TEST_CASE("relief_is_the_difference_of_both_sides_of_the_cuts", "[outcomes]") {
  const History& h = eventful_run();
  const Outcomes o = outcomes(h);
  const std::size_t after = h.row_at(60), before = after - 1, last = h.rows() - 1;
  const auto jump = [&](const char* series) { return h.value(series, after) - h.value(series, before); };
  CHECK(o["relief_day_60_mm2"] == Approx(jump("opening_area_mm2")));
  CHECK(o["relief_day_60_percent"] == Approx(100 * jump("opening_area_mm2") / h.value("opening_area_mm2", before)));
  CHECK(o["clear_circle_gain_day_60_mm"] == Approx(jump("clear_circle_diameter_mm")));
  CHECK(o["zonule_load_change_day_60_mN"] == Approx(jump("zonule_load_total_mN")));
  CHECK(o["relief_kept_day_60_mm2"] == Approx(h.value("opening_area_mm2", last) - h.value("opening_area_mm2", before)));
  CHECK_FALSE(o.has("relief_day_90_mm2"));  // damage to the zonule is no cut
  double release = 0;
  for (const double v : h.series("cut_tip_release_mN").values) release = std::max(release, v);
  CHECK(o["cut_tip_release_max_mN"] == release);
  CHECK(o["cut_tip_to_equator_mm"] ==
        std::min(h.value("cut_tip_to_equator_mm", last, 0), h.value("cut_tip_to_equator_mm", last, 1)));
}

TEST_CASE("directions_are_hours_and_nasal_for_either_eye", "[outcomes][frame]") {
  // The weak side is 3:30, so everything moves towards 9:30: temporal in a right eye, nasal in a left one.
  const Outcomes right = outcomes(eventful_run()), left = outcomes(simulate(eventful(Eye::left)));
  Scenario nobody = eventful(Eye::unspecified);
  const Outcomes neither = outcomes(simulate(nobody));
  const Outcomes twin = outcomes(simulate(mirrored(eventful(Eye::right))));
  const History& h = eventful_run();
  for (const std::string what : {"opening", "lens", "equator"}) {
    INFO(what);
    const double x = h.value(what + "_center_mm", h.rows() - 1, 0), y = h.value(what + "_center_mm", h.rows() - 1, 1);
    CHECK(right[what + "_decentration_mm"] == Approx(std::hypot(x, y)));
    CHECK(x < 0);
    CHECK(right[what + "_nasal_mm"] == x);  // +x is nasal in a right eye
    CHECK(left[what + "_nasal_mm"] == Approx(-x).margin(1e-9));
    CHECK(right[what + "_superior_mm"] == y);
    CHECK_FALSE(neither.has(what + "_nasal_mm"));
    CHECK(neither.has(what + "_superior_mm"));
    // The hour points where the centre lies.
    const double angle = angle_of_hour(right[what + "_decentration_hour"]);
    CHECK(std::hypot(x, y) * std::cos(angle) == Approx(x).margin(1e-9));
    CHECK(std::hypot(x, y) * std::sin(angle) == Approx(y).margin(1e-9));
    // A mirror twin has moved as far to the nasal side, at the mirrored hour.
    constexpr double solver = 2e-3;
    CHECK(twin[what + "_nasal_mm"] == Approx(right[what + "_nasal_mm"]).margin(solver));
    CHECK(std::remainder(twin[what + "_decentration_hour"] + right[what + "_decentration_hour"], 12) ==
          Approx(0).margin(0.1));
    const double x0 = h.value(what + "_center_mm", 0, 0), y0 = h.value(what + "_center_mm", 0, 1);
    CHECK(right[what + "_shift_mm"] == Approx(std::hypot(x - x0, y - y0)));
  }
  CHECK(right["equator_decentration_hour"] == Approx(9.5).margin(0.7));
  const Point bag{h.value("equator_center_mm", h.rows() - 1, 0), 0};
  CHECK(side_in_words(bag, Eye::right) == "temporal");
  CHECK(side_in_words(bag, Eye::left) == "nasal");
  CHECK(side_in_words(bag, Eye::unspecified).find("nasal") == std::string::npos);
}

TEST_CASE("a_centre_that_has_not_moved_points_to_12", "[outcomes]") {
  const Outcomes o =
      outcomes(changed(of_quick_eye(0), {{"opening_center_mm", 0, 0, 0.0}, {"opening_center_mm", 0, 1, 0.0}}));
  CHECK(o["opening_decentration_mm"] == 0);
  CHECK(o["opening_decentration_hour"] == 12);
}

TEST_CASE("without_a_lens_there_is_no_lens_to_report", "[outcomes]") {
  const Outcomes o = outcomes(of_quick_eye(10, [](Scenario& s) { s.lens.reset(); }));
  CHECK_FALSE(o.has("lens_decentration_mm"));
  CHECK_FALSE(o.has_flag("rim_off_optic"));
  CHECK(o.has("opening_decentration_mm"));
}

TEST_CASE("flags_are_raised_by_their_number_and_only_by_it", "[outcomes]") {
  const History calm = of_quick_eye(30, [](Scenario& s) { s.zonule.pull_mN = 10; });
  REQUIRE(calm.status() == Status::completed);
  CHECK(outcomes(calm).flags.empty());
  const std::size_t last = calm.rows() - 1;
  const auto flagged = [&](const std::vector<Change>& changes, const std::string& code) {
    const Outcomes o = outcomes(changed(calm, changes));
    return o.has_flag(code) && o.flags.size() == 1 && !text_of(o, code).empty();
  };
  CHECK(flagged({{"rim_stretch_max", 1, 0, 1.4}}, "rim_stretch_near_tearing"));
  CHECK(flagged({{"rim_stretch", last, 0, 0.45}}, "strain_beyond_law"));
  CHECK(flagged({{"rim_overlap_min_mm", last, 0, -0.2}}, "rim_off_optic"));
  CHECK(flagged({{"ring_load_mN", 1, 0, 3}, {"ring_end_gap_mm", last, 0, -0.3}}, "ring_ends_overlap"));
  CHECK_FALSE(flagged({{"ring_load_mN", 1, 0, 3}, {"ring_end_gap_mm", last, 0, 0.3}}, "ring_ends_overlap"));
  const Outcomes torn = outcomes(changed(calm, {{"rim_stretch_max", 1, 0, 1.7}}));
  CHECK(torn.has_flag("rim_stretch_near_tearing"));
  CHECK(torn.has_flag("strain_beyond_law"));
  CHECK(text_of(torn, "rim_stretch_near_tearing").find("1.70") != std::string::npos);
  CHECK(outcomes(of_quick_eye(10, [](Scenario& s) { s.contraction.cells_left = 0; })).has_flag("no_contraction"));
  CHECK(outcomes(of_quick_eye(10, [](Scenario& s) {
          s.zonule.failure_elongation_mm = 10;
        })).has_flag("unvalidated_zonule_failure"));
}

TEST_CASE("lips_that_cross_later_are_flagged_though_the_cut_gaped", "[outcomes]") {
  const History& h = eventful_run();
  CHECK_FALSE(outcomes(h).has_flag("lips_overlap"));
  const Outcomes late = outcomes(changed(h, {{"lips_cross", h.rows() - 1, 0, 1}}));
  CHECK(late.has_flag("lips_overlap"));
  CHECK(late.has("relief_day_60_mm2"));  // at once it did relieve
  const Outcomes at_once = outcomes(changed(h, {{"cut_gape_mm", h.row_at(60), 1, -0.01}}));
  CHECK(at_once.has_flag("lips_overlap"));
  CHECK_FALSE(at_once.has("relief_day_60_mm2"));
  CHECK_FALSE(at_once.has("relief_kept_day_60_mm2"));
}

TEST_CASE("a_run_that_ended_early_says_so_and_reports_the_day_reached", "[outcomes]") {
  int calls = 0;
  const History part = simulate(eventful(Eye::right), [&](const Progress&) { return ++calls < 6; });
  REQUIRE(part.status() == Status::cancelled);
  const Outcomes o = outcomes(part);
  CHECK(o["completed"] == 0);
  CHECK(o["day"] == part.value("day", part.rows() - 1));
  CHECK(text_of(o, "run_not_completed").find(part.message()) != std::string::npos);
  CHECK_FALSE(o.has("relief_day_60_mm2"));  // day 60 was not reached
  // No rest state at all: nothing but the status.
  const Outcomes none = outcomes(of_quick_eye(10, [](Scenario& s) { s.capsule.modulus_kPa = 310; }));
  REQUIRE(none.values.size() == 1);
  CHECK(none["completed"] == 0);
  CHECK(none.has_flag("run_not_completed"));
}

TEST_CASE("cautions_come_with_every_result_and_those_of_cuts_with_cuts", "[outcomes]") {
  const Outcomes plain = outcomes(of_quick_eye(0)), cut = outcomes(eventful_run());
  REQUIRE(plain.cautions.size() == 1);
  CHECK(plain.cautions.front() == research_caution());
  REQUIRE(cut.cautions.size() == 2);
  CHECK(cut.cautions.back() == relaxing_cut_caution());
  for (const char* part : {"esearch and teaching", "not for treating a patient", "clinician", "local protocols"}) {
    INFO(part);
    CHECK(research_caution().find(part) != std::string_view::npos);
  }
  for (const char* part : {"pressure rise", "inflammation", "lens pitting", "macular oedema", "retinal detachment",
                           "equator", "zonular load", "dislocation", "posterior laser openings"}) {
    INFO(part);
    CHECK(relaxing_cut_caution().find(part) != std::string_view::npos);
  }
}
