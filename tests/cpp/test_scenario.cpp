// SPDX-License-Identifier: BSD-3-Clause
// What a scenario may hold: defaults, limits, what must fit together, mirror and turn.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

/// The full scenario with one value replaced, as text.
std::string full_with(const std::string& path, const json& value) {
  json root = json_of(full_scenario());
  at_path(root, path) = value;
  return root.dump();
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// Exactly one violation, at `path`, whose line mentions `mention`.
void check_only(const std::vector<Violation>& found, const std::string& path, const std::string& mention) {
  INFO("expected " << path << " mentioning '" << mention << "'; found:\n" << lines_of(found));
  REQUIRE(found.size() == 1);
  CHECK(found[0].path == path);
  CHECK(has(found[0].to_string(), mention));
  CHECK(has(ScenarioError(found).what(), path + " = "));
}

void check_only(const Scenario& scenario, const std::string& path, const std::string& mention) {
  check_only(scenario.violations(), path, mention);
}

std::vector<Point> circle(int points, double radius, Point center = {0, 0}) {
  std::vector<Point> outline;
  for (int k = 0; k < points; ++k)
    outline.push_back(
        {center[0] + radius * std::cos(2 * pi * k / points), center[1] + radius * std::sin(2 * pi * k / points)});
  return outline;
}

Scenario with_cuts(std::vector<double> hours, double length_mm) {
  Scenario s;
  s.events.push_back({90, RelaxingCuts{std::move(hours), length_mm}});
  return s;
}

}  // namespace

TEST_CASE("the_default_scenario_is_valid", "[scenario]") {
  CHECK(Scenario{}.violations().empty());
  CHECK_NOTHROW(Scenario{}.validate());
  CHECK(full_scenario().violations().empty());
  CHECK(full_scenario(true).violations().empty());
}

TEST_CASE("every_number_out_of_range_is_refused_with_its_path", "[scenario]") {
  struct Refusal {
    const char* path;
    json value;
    const char* mention;
  };
  const std::vector<Refusal> refusals{
      {"duration_days", -1, ">= 0"},
      {"duration_days", 31536000, "looks like seconds: 365 days?"},
      {"output_every_days", 0, ">= 0.01"},
      {"bag.equator_diameter_mm", 10300, "looks like micrometres: 10.3 mm?"},
      {"bag.equator_diameter_mm", 0.0103, "looks like metres: 10.3 mm?"},
      {"opening.diameter_mm", 5100, "looks like micrometres: 5.1 mm?"},
      {"opening.diameter_mm", 0, ">= 0.5"},
      {"opening.diameter_mm", -5, ">= 0.5"},
      {"opening.center_mm[1]", 200, "looks like micrometres: 0.2 mm?"},
      {"opening.axis_hour", 0, "12 o'clock is 12, not 0"},
      {"capsule.modulus_kPa", 1e-12, ">= 1 and <= 100000"},
      {"capsule.modulus_kPa", 0.83, "looks like MPa: 830 kPa?"},
      {"capsule.modulus_kPa", 830000, "looks like Pa: 830 kPa?"},
      {"capsule.fung_a1", 0, "> 0"},
      {"capsule.anterior_thickness_um", 0.014, "looks like millimetres: 14 um?"},
      {"capsule.posterior_thickness_um", 0.005, "looks like millimetres: 5 um?"},
      {"capsule.compression_fraction", 0, ">= 0.001"},
      {"capsule.compression_fraction", 5, "looks like per cent: 0.05?"},
      {"zonule.stiffness_mN_per_mm", -1, ">= 0"},
      {"zonule.stiffness_mN_per_mm", 150000, "looks like micronewtons per mm: 150 mN/mm?"},
      {"zonule.pull_mN", 60000, "looks like micronewtons: 60 mN?"},
      {"zonule.strength", 80, "looks like per cent: 0.8?"},
      {"zonule.strength_by_hour.4", 1.5, "<= 1"},
      {"zonule.ciliary_ring_diameter_mm", 12400, "looks like micrometres: 12.4 mm?"},
      {"zonule.anterior_share", 60, "looks like per cent: 0.6?"},
      {"zonule.failure_elongation_mm", 3800, "looks like micrometres: 3.8 mm?"},
      {"tension_ring.modulus_kPa", 3, "looks like GPa: 3000000 kPa?"},
      {"tension_ring.gap_hour", 13, "a clock face has 12 hours: 1?"},
      {"tension_ring.gap_hour", -3, "a clock face has 12 hours"},
      {"tension_ring.arc_degrees", 360, "<= 350"},
      {"tension_ring.arc_degrees", 5, "looks like radians"},
      {"lens.haptics", 5, "<= 4"},
      {"lens.haptics", 1, ">= 2"},
      {"lens.axis_hour", 90, "looks like degrees: 3 o'clock"},
      {"lens.haptic_force_mN", -1, ">= 0"},
      {"contraction.cells_left", 100, "looks like per cent: 1?"},
      {"contraction.signal_days", 0, ">= 0.01"},
      {"contraction.laying_stretch", 0.9, ">= 1"},
      {"contraction.hoop_weight", -0.1, ">= 0"},
      {"contraction.tissue_thickness_mm", 50, "looks like micrometres: 0.05 mm?"},
      {"events[1].day", -1, ">= 0"},
      {"events[1].relaxing_cuts.hours[2]", 0, "12 o'clock is 12, not 0"},
      {"events[1].relaxing_cuts.hours[3]", 12.5, "after 12 o'clock write 0.5"},
      {"events[1].relaxing_cuts.length_mm", 0, ">= 0.05"},
      {"events[1].relaxing_cuts.length_mm", 750, "looks like micrometres: 0.75 mm?"},
      {"events[0].zonule_damage.strength_by_hour.4", -0.1, ">= 0"},
      {"mesh.around", 8, ">= 12"},
      {"mesh.around", 400, "<= 384"},
      {"mesh.radial", 1, ">= 2"},
      {"mesh.order", 3, "<= 2"},
      {"numerics.time_tolerance", 0, ">= 1e-09"},
      {"numerics.force_tolerance", 1, "<= 0.0001"},
      {"numerics.max_step_days", 0, ">= 0.001"},
      {"numerics.max_steps", 0, ">= 1"},
  };
  for (const Refusal& refusal : refusals)
    check_only(violations_in(full_with(refusal.path, refusal.value)), refusal.path, refusal.mention);
}

TEST_CASE("a_struct_is_checked_like_a_text", "[scenario]") {
  Scenario s;
  s.opening.diameter_mm = std::numeric_limits<double>::quiet_NaN();
  check_only(s, "opening.diameter_mm", "NaN");
  s = {};
  s.duration_days = std::numeric_limits<double>::infinity();
  check_only(s, "duration_days", "Infinity");
  s = {};
  s.zonule.strength_by_hour[13] = 1;
  check_only(s, "zonule.strength_by_hour.13", R"("1" to "12")");
  s = {};
  s.name = "\xff";
  check_only(s, "name", "UTF-8");
  s.name = std::string(1001, 'n');
  check_only(s, "name", "1000 bytes");
  s = {};
  s.capsule.law = static_cast<CapsuleLaw>(7);
  check_only(s, "capsule.law", R"("neo_hookean" or "fung")");
  s = {};
  s.events.push_back({1, RelaxingCuts{}});
  check_only(s, "events[0].relaxing_cuts.hours", "1 and <= 24 hours");
  s.events[0].action = ZonuleDamage{};
  check_only(s, "events[0].zonule_damage.strength_by_hour", ">= 1 and <= 12 hours");
}

TEST_CASE("the_opening_must_leave_a_leaf_inside_the_equator", "[scenario]") {
  Scenario s;
  s.opening.diameter_mm = 9.8;  // exactly 0.25 mm of leaf
  CHECK(s.violations().empty());
  s.opening.diameter_mm = 9.81;
  check_only(s, "opening.diameter_mm", "bag.equator_diameter_mm is 10.3");
  s = {};
  s.opening.center_mm = {0, -2.4};
  check_only(s, "opening.center_mm", "rim <= 4.9 mm");
  s = {};
  s.opening.diameters_mm = {9.9, 6};
  check_only(s, "opening.diameters_mm", "inside the equator");
  s.opening.diameters_mm = {9, 2};
  check_only(s, "opening.diameters_mm", "4 times as long as wide");
  s = {};
  s.opening.outline_mm = circle(12, 2.6, {3, 0});
  check_only(s, "opening.outline_mm", "inside the equator");
}

TEST_CASE("a_traced_outline_must_be_a_simple_star", "[scenario]") {
  Scenario s;
  auto& outline = s.opening.outline_mm;
  outline = circle(8, 2.6);
  CHECK(s.violations().empty());
  std::reverse(outline.begin(), outline.end());
  CHECK(s.violations().empty());
  outline = circle(7, 2.6);
  check_only(s, "opening.outline_mm", "8 and <= 2000 points");
  outline = circle(2001, 2.6);
  check_only(s, "opening.outline_mm", "8 and <= 2000 points");
  outline = circle(12, 2.6);
  std::swap(outline[3], outline[6]);
  check_only(s, "opening.outline_mm", "does not cross itself");
  outline = circle(12, 2.6);
  outline.push_back(outline.front());
  check_only(s, "opening.outline_mm[12]", "closes by itself");
  outline = circle(12, 2.6);
  outline.insert(outline.begin() + 5, outline[5]);
  check_only(s, "opening.outline_mm[6]", "different from the point before");
  outline = {{-2, -2}, {2, -2}, {2, 2}, {1.5, 2}, {1.5, -1.5}, {-1.5, -1.5}, {-1.5, 2}, {-2, 2}};  // a U
  check_only(s, "opening.outline_mm", "star-shaped");
  outline = circle(12, 0.2);
  check_only(s, "opening.outline_mm", "mm2 in area");
  outline = circle(12, 2.6);
  outline[4][1] = 2600;
  check_only(s, "opening.outline_mm[4][1]", "looks like micrometres: 2.6 mm?");
}

TEST_CASE("an_opening_larger_than_the_optic_is_allowed", "[scenario]") {
  Scenario s;
  s.opening.diameter_mm = 7;
  CHECK(s.violations().empty());
}

TEST_CASE("the_zonule_must_have_a_positive_slack_length", "[scenario]") {
  Scenario s;
  s.zonule.pull_mN = 157.4;  // 150 mN/mm times 1.05 mm is 157.5
  CHECK(s.violations().empty());
  s.zonule.pull_mN = 157.6;
  check_only(s, "zonule.pull_mN", "< 157.5");
  s.zonule.stiffness_mN_per_mm = 0;
  check_only(s, "zonule.pull_mN", "0 when zonule.stiffness_mN_per_mm is 0");
  s.zonule.pull_mN = 0;
  CHECK(s.violations().empty());
  s.zonule.ciliary_ring_diameter_mm = 10.3;
  check_only(s, "zonule.ciliary_ring_diameter_mm", "> bag.equator_diameter_mm = 10.3");
  s = {};
  s.zonule.attachment = ZonuleAttachment::split;
  CHECK(s.violations().empty());
  s.opening.diameter_mm = 7;
  check_only(s, "zonule.anterior_inset_mm", "<= 1.65");
}

TEST_CASE("the_capsule_must_be_able_to_carry_the_pull", "[scenario]") {
  // pi 10.3 mm times 60 kPa / 3 times 19 um: 12.296 mN.
  Scenario s;
  s.capsule.modulus_kPa = 60;
  s.zonule.pull_mN = 12.29;
  CHECK(s.violations().empty());
  s.zonule.pull_mN = 12.31;
  check_only(s, "zonule.pull_mN", "< 12.2962, what the capsule can carry");
  s.zonule.strength = 0;  // the bag is stated under a healthy zonule, whatever this eye's is
  check_only(s, "zonule.pull_mN", "< 12.2962");
  s.zonule.strength = 1;
  s.opening.measured_under = MeasuredUnder::stress_free;  // nothing is stated under the pull
  CHECK(s.violations().empty());
  s.opening.measured_under = MeasuredUnder::own_zonule;
  s.capsule.law = CapsuleLaw::fung;  // stiffens without end
  CHECK(s.violations().empty());
  s.capsule.law = CapsuleLaw::neo_hookean;
  s.capsule.anterior_thickness_profile = {{0, 10}, {1, 14.1}};  // where it is thickest
  CHECK(s.violations().empty());
  s.capsule.anterior_thickness_profile = {{0, 13}, {1, 10}};
  check_only(s, "zonule.pull_mN", "< 11.649");
  s.capsule.anterior_thickness_profile.clear();
  s.zonule.attachment = ZonuleAttachment::split;  // what inserts on the leaf is held by its hoops
  s.zonule.anterior_share = 0.5;
  CHECK(s.violations().empty());
  s.zonule.pull_mN = 24.7;
  check_only(s, "zonule.pull_mN", "< 24.5924");
  s.zonule.anterior_share = 1;
  CHECK(s.violations().empty());
}

TEST_CASE("a_bag_whose_opening_is_stated_without_a_zonule_carries_less", "[scenario]") {
  // Its unloaded opening is known, and can't be so small that the leaf around it would carry all.
  Scenario s;
  s.capsule.modulus_kPa = 60;
  s.zonule.pull_mN = 9;
  s.opening.measured_under = MeasuredUnder::own_zonule;
  CHECK(s.violations().empty());
  s.zonule.strength = 0;
  check_only(s, "zonule.pull_mN", "what the capsule can carry");
  s.opening.diameter_mm = 2;
  CHECK(s.violations().empty());
  s.opening.diameter_mm = 5;
  s.opening.center_mm = {0.1, 0};  // nothing is claimed of other openings
  CHECK(s.violations().empty());
  s.opening.center_mm = {0, 0};
  s.zonule.strength_by_hour = {{3, 0.5}};
  CHECK(s.violations().empty());
  s.zonule.strength_by_hour.clear();
  s.zonule.pull_mN = 5;
  CHECK(s.violations().empty());
}

TEST_CASE("capsule_constants_must_keep_the_energy_convex_and_the_profile_in_order", "[scenario]") {
  Scenario s;
  s.capsule.fung_a2 = 2.85;
  CHECK(s.violations().empty());  // not the law in use
  s.capsule.law = CapsuleLaw::fung;
  check_only(s, "capsule.fung_a2", "fung_a1 = 2.85");
  s.capsule.fung_a2 = -2.9;
  check_only(s, "capsule.fung_a2", "not convex");
  s = {};
  s.capsule.anterior_thickness_profile = {{0, 14}, {1, 7}, {0.5, 15}};
  check_only(s, "capsule.anterior_thickness_profile[2].radius_ratio", "> 1, the knot before");
  s.capsule.anterior_thickness_profile = {{0, 14}};
  check_only(s, "capsule.anterior_thickness_profile", "2 and <= 100 knots");
  s.capsule.anterior_thickness_profile = {{0, 14}, {1, 0.007}};
  check_only(s, "capsule.anterior_thickness_profile[1].thickness_um", "looks like millimetres: 7 um?");
}

TEST_CASE("lens_and_ring_must_fit_the_bag", "[scenario]") {
  Scenario s;
  s.bag.equator_diameter_mm = 8;
  s.lens->optic_diameter_mm = 8.5;
  check_only(s, "lens.optic_diameter_mm", "< bag.equator_diameter_mm = 8");
  s = {};
  s.lens->overall_diameter_mm = 10.3;
  check_only(s, "lens.overall_diameter_mm", "> bag.equator_diameter_mm");
  s.lens->haptic_force_mN = 0;
  CHECK(s.violations().empty());
  s = {};
  s.lens->haptics = 4;
  s.lens->haptic_arc_degrees = 90;
  check_only(s, "lens.haptic_arc_degrees", "<= 87.5 with 4 haptics");
  s = {};
  s.tension_ring = TensionRingSpec{};
  s.tension_ring->free_diameter_mm = 10;
  check_only(s, "tension_ring.free_diameter_mm", "> bag.equator_diameter_mm");
  s.tension_ring = TensionRingSpec{};
  s.tension_ring->arc_degrees = 120;
  s.tension_ring->eyelet_hour = 2;
  check_only(s, "tension_ring.eyelet_hour", "gap_hour = 12");
  s.tension_ring->eyelet_hour = 6;
  CHECK(s.violations().empty());
}

TEST_CASE("tissue_needs_a_family_of_fibres_room_to_be_laid_and_a_place_on_the_leaf", "[scenario]") {
  Scenario s;
  s.contraction.hoop_weight = s.contraction.diagonal_weight = 0;
  check_only(s, "contraction.hoop_weight", "no fibre family is left");
  s.contraction.radial_weight = 0.1;
  CHECK(s.violations().empty());
  s = {};
  s.contraction.packing_limit = 0.9;
  check_only(s, "contraction.packing_limit", "< 0.8333");
  s = {};
  s.contraction.contact_diameter_mm = 11;
  check_only(s, "contraction.contact_diameter_mm", "< bag.equator_diameter_mm = ");
}

TEST_CASE("a_cut_must_end_inside_the_leaf", "[scenario]") {
  // leaf: 5.15 - 2.625 = 2.525 mm, less 0.25 mm
  CHECK(with_cuts({12, 6}, 2.275).violations().empty());
  check_only(with_cuts({12, 6}, 2.28), "events[0].relaxing_cuts.length_mm", "cut longer than the leaf");
  Scenario s = with_cuts({3, 9}, 1.5);
  CHECK(s.violations().empty());
  s.opening.center_mm = {1, 0};
  check_only(s, "events[0].relaxing_cuts.length_mm", "at 3 o'clock it is 1.525 mm wide");
  s.events[0].action = RelaxingCuts{{9}, 1.5};
  CHECK(s.violations().empty());
  s = with_cuts({12}, 2.3);
  s.opening.outline_mm = circle(64, 2.5);
  CHECK(s.violations().empty());
  s.opening.outline_mm = circle(64, 2.7);
  check_only(s, "events[0].relaxing_cuts.length_mm", "at 12 o'clock it is 2.45 mm wide");
  s = with_cuts({12}, 1.5);
  s.opening.diameters_mm = {7, 4};  // long axis at 12
  check_only(s, "events[0].relaxing_cuts.length_mm", "<= 1.4");
  s.opening.axis_hour = 3;
  CHECK(s.violations().empty());
}

TEST_CASE("two_cuts_must_be_apart_also_on_different_days", "[scenario]") {
  check_only(with_cuts({12, 0.1}, 0.75), "events[0].relaxing_cuts.hours[1]", "0.1667 hours from every other cut");
  CHECK(with_cuts({12, 0.2}, 0.75).violations().empty());
  Scenario s = with_cuts({12, 6}, 0.75);
  s.events.push_back({180, RelaxingCuts{{3, 6}, 1.0}});
  check_only(s, "events[1].relaxing_cuts.hours[1]", "events[0].relaxing_cuts.hours[1] is at 6");
}

TEST_CASE("events_happen_within_the_follow_up_and_bring_one_ring_at_most", "[scenario]") {
  Scenario s = with_cuts({12}, 0.75);
  s.duration_days = 90;
  CHECK(s.violations().empty());
  s.duration_days = 89;
  check_only(s, "events[0].day", "<= duration_days = 89");
  s = full_scenario(true);
  s.events.push_back({130, TensionRingSpec{}});
  check_only(s, "events[4].tension_ring", "the first is events[3].tension_ring");
  s = full_scenario();
  s.events.push_back({130, TensionRingSpec{}});
  check_only(s, "events[3].tension_ring", "the first is tension_ring");
}

TEST_CASE("eyes_at_the_edge_of_the_model_are_allowed", "[scenario]") {
  Scenario s;
  s.duration_days = 0;
  s.zonule.strength = 0;
  s.contraction.cells_left = 0;
  s.capsule.posterior_thickness_um = 0;
  s.lens.reset();
  CHECK(s.violations().empty());
  s.output_every_days = 1000;
  CHECK(s.violations().empty());
}

TEST_CASE("too_many_output_days_and_an_odd_mesh_are_refused", "[scenario]") {
  Scenario s;
  s.duration_days = 3650;
  s.output_every_days = 0.01;
  check_only(s, "output_every_days", ">= 0.1825");
  s = {};
  s.mesh.around = 50;
  check_only(s, "mesh.around", "multiple of 4 (use 52)");
}

TEST_CASE("one_mistake_gives_one_message_and_two_give_two", "[scenario]") {
  Scenario s = with_cuts({12}, 0.75);
  s.bag.equator_diameter_mm = 10300;  // would also break the opening, the zonule, the lens and the cut
  check_only(s, "bag.equator_diameter_mm", "10.3 mm?");
  s.events[0].day = 400;
  const auto found = s.violations();
  CHECK(found.size() == 2);
  CHECK_THROWS_AS(s.validate(), ScenarioError);
  CHECK(has(ScenarioError(found).what(), "2 violations:\n  bag.equator_diameter_mm = 10300: must be"));
  CHECK(has(ScenarioError(found).what(), "\n  events[0].day = 400: must be"));
}

TEST_CASE("an_error_reads_as_path_value_limit_hint", "[scenario]") {
  CHECK(Violation{"a.b", "3", "< 2", "try 1"}.to_string() == "a.b = 3: must be < 2 (try 1)");
  CHECK(Violation{"version", "", "1", ""}.to_string() == "version is missing: must be 1");
  CHECK(has(ScenarioError(std::vector<Violation>(60, {"a", "1", "2", ""})).what(), "... and 10 more"));
}

TEST_CASE("a_scenario_seen_twice_in_the_mirror_is_itself", "[scenario]") {
  // Hours in quarters are exact in binary; random ones lose the last bits of 12 - h.
  Scenario s = full_scenario();
  s.opening.center_mm = {0.25, -0.5};
  s.opening.outline_mm = circle(16, 2.5, {0.3, 0});
  s.tension_ring->gap_hour = 1.25;
  s.tension_ring->eyelet_hour = 7.5;
  s.zonule.strength_by_hour = {{4, 0.2}, {5, 0}, {12, 0.5}};
  CHECK_FALSE(mirrored(s) == s);
  CHECK(mirrored(mirrored(s)) == s);
  CHECK(mirrored(s).violations().empty());
}

TEST_CASE("the_mirror_moves_everything_that_has_a_place", "[scenario]") {
  Scenario s = full_scenario();
  s.eye = Eye::right;
  s.opening.axis_hour = 2;
  s.opening.center_mm = {0.5, 0.25};
  s.opening.outline_mm = circle(8, 2);
  s.zonule.strength_by_hour = {{4, 0.2}, {12, 0.5}};
  s.contraction.cells_left_by_hour = {{1, 0.8}};
  s.tension_ring->gap_hour = 10.5;
  s.tension_ring->eyelet_hour = 4;
  s.lens->axis_hour = 2.5;
  s.events[1].action = RelaxingCuts{{12, 1, 5.5}, 0.75};
  const Scenario twin = mirrored(s);
  CHECK(twin.eye == Eye::left);
  CHECK(twin.opening.axis_hour == 10);
  CHECK(twin.opening.center_mm == Point{-0.5, 0.25});
  CHECK(twin.opening.outline_mm[0] == Point{-2, 0});
  CHECK(twin.opening.outline_mm[1][1] < 0);  // still counter-clockwise
  CHECK(twin.zonule.strength_by_hour == ByHour{{8, 0.2}, {12, 0.5}});
  CHECK(twin.contraction.cells_left_by_hour == ByHour{{11, 0.8}});
  CHECK(twin.tension_ring->gap_hour == 1.5);
  CHECK(twin.tension_ring->eyelet_hour == 8);
  CHECK(twin.lens->axis_hour == 9.5);
  CHECK(std::get<RelaxingCuts>(twin.events[1].action).hours == std::vector<double>{12, 11, 6.5});
  CHECK(std::get<ZonuleDamage>(twin.events[0].action).strength_by_hour == ByHour{{8, 0.25}});
}

TEST_CASE("twelve_hours_of_turn_change_nothing_and_turns_add_up", "[scenario]") {
  Scenario s = full_scenario();
  s.opening.center_mm = {0.25, -0.5};
  CHECK(rotated(s, 12) == s);
  CHECK(rotated(s, -24) == s);
  CHECK(rotated(rotated(s, 3), 6) == rotated(s, 9));
  CHECK(rotated(rotated(s, 3), -3) == s);
  CHECK(rotated(s, 1).violations().empty());
}

TEST_CASE("a_turn_of_three_hours_moves_the_top_to_three_o_clock", "[scenario]") {
  Scenario s = full_scenario();
  s.opening.center_mm = {0, 0.5};
  s.zonule.strength_by_hour = {{12, 0.5}, {10, 0.1}};
  const Scenario turned = rotated(s, 3);
  CHECK(turned.opening.center_mm == Point{0.5, 0});
  CHECK(turned.opening.axis_hour == 3);
  CHECK(turned.zonule.strength_by_hour == ByHour{{3, 0.5}, {1, 0.1}});
  CHECK(turned.tension_ring->gap_hour == 3);
  CHECK(turned.lens->axis_hour == 6);
  CHECK(std::get<RelaxingCuts>(turned.events[1].action).hours == std::vector<double>{3, 6, 9, 12});
}

TEST_CASE("a_turn_of_one_hour_moves_points_as_it_moves_hours", "[scenario]") {
  for (int turn = 0; turn < 12; ++turn) {
    Scenario s;
    s.opening.center_mm = {0.3 * std::cos(angle_of_hour(2)), 0.3 * std::sin(angle_of_hour(2))};
    s.opening.axis_hour = 2;
    const OpeningSpec opening = rotated(s, turn).opening;
    const double hour = hour_of_angle(std::atan2(opening.center_mm[1], opening.center_mm[0]));
    CHECK(std::abs(hour - opening.axis_hour) < 1e-12);  // rounding of sin, cos and atan2
  }
}
