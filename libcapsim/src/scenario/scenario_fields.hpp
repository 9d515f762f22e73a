// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Every field of a scenario, once: its JSON key, its place in the struct and its limits.
///
/// Reader, writer and limit check are three visitors over these lists, so that a key or a limit
/// is stated in one place. A visitor has
///   number(key, double or optional<double>, Limits)   integer(key, int, Limits)
///   text(key, string)                                 choice(key, enum)
///   pair(key, Point or optional<Point>, Limits)       points(key, vector<Point>, Limits)
///   numbers(key, vector<double>, Limits)              by_hour(key, ByHour, Limits)
///   knots(key, vector<ThicknessKnot>)                 events(key, vector<Event>)
///   section(key, Spec)                                optional_section(key, optional<Spec>)
/// The limits are those of plausible eyes and of what the model can carry; libcapsim/doc/parameters.md
/// repeats them and a test compares the two.

#include <array>
#include <concepts>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>

#include "capsim/scenario.hpp"
#include "scenario/limits.hpp"

namespace capsim {

template <class Given, class Spec>
concept maybe_const = std::same_as<std::remove_const_t<Given>, Spec>;

/// One word of a choice in JSON.
template <class Enum>
using ChoiceWord = std::pair<Enum, std::string_view>;

// The words of each choice; an unspecified eye has none and is written as null.
constexpr auto choice_words(Eye) {
  return std::array<ChoiceWord<Eye>, 2>{{{Eye::right, "right"}, {Eye::left, "left"}}};
}
constexpr auto choice_words(MeasuredUnder) {
  return std::array<ChoiceWord<MeasuredUnder>, 4>{{{MeasuredUnder::end_of_surgery, "end_of_surgery"},
                                                   {MeasuredUnder::own_zonule, "own_zonule"},
                                                   {MeasuredUnder::full_strength_zonule, "full_strength_zonule"},
                                                   {MeasuredUnder::stress_free, "stress_free"}}};
}
constexpr auto choice_words(CapsuleLaw) {
  return std::array<ChoiceWord<CapsuleLaw>, 2>{{{CapsuleLaw::neo_hookean, "neo_hookean"}, {CapsuleLaw::fung, "fung"}}};
}
constexpr auto choice_words(HourInterpolation) {
  return std::array<ChoiceWord<HourInterpolation>, 2>{
      {{HourInterpolation::stepwise, "stepwise"}, {HourInterpolation::smooth, "smooth"}}};
}
constexpr auto choice_words(ContractionKind) {
#define CAPSIM_LAW(word) {ContractionKind::word, #word},
  return std::to_array<ChoiceWord<ContractionKind>>({CAPSIM_CONTRACTION_LAWS(CAPSIM_LAW)});
#undef CAPSIM_LAW
}
constexpr auto choice_words(ZonuleAttachment) {
  return std::array<ChoiceWord<ZonuleAttachment>, 2>{
      {{ZonuleAttachment::equator, "equator"}, {ZonuleAttachment::split, "split"}}};
}

/// `"right" or "left"`.
template <class Enum>
[[nodiscard]] std::string choice_limit(Enum choice) {
  std::string text;
  for (const auto& [value, word] : choice_words(choice))
    text += (text.empty() ? "\"" : " or \"") + std::string(word) + '"';
  return text;
}

// How many items the lists may have, and how many bytes a name.
inline constexpr Limits name_bytes = between(0, 1000);
inline constexpr Limits outline_points = zero_or_between(8, 2000);
inline constexpr Limits profile_knots = zero_or_between(2, 100);
inline constexpr Limits cuts_at_once = between(1, 24);
inline constexpr Limits event_count = between(0, 1000);
inline constexpr Limits damaged_hours = between(1, 12);

// Limits shared by several fields.
inline constexpr Limits moduli_kPa = between(1, 1e5);  ///< Softer than 1 kPa is not a membrane any more.
inline constexpr Limits times_days = between(0.01, 1e4);
inline constexpr Limits rates_per_day = between(0, 10);
inline constexpr Limits thicknesses_um = between(0.5, 100);
inline constexpr Limits event_days = between(0, 1e4);

template <class Visitor, maybe_const<BagSpec> Spec>
void fields(Visitor& visit, Spec& bag) {
  visit.number("equator_diameter_mm", bag.equator_diameter_mm, between(4, 20));
}

template <class Visitor, maybe_const<OpeningSpec> Spec>
void fields(Visitor& visit, Spec& opening) {
  visit.number("diameter_mm", opening.diameter_mm, between(0.5, 19));
  visit.pair("diameters_mm", opening.diameters_mm, between(0.5, 19));
  visit.number("axis_hour", opening.axis_hour, clock_hours);
  visit.pair("center_mm", opening.center_mm, between(-9, 9));
  visit.points("outline_mm", opening.outline_mm, between(-10, 10));
  visit.choice("measured_under", opening.measured_under);
}

template <class Visitor, maybe_const<ThicknessKnot> Spec>
void fields(Visitor& visit, Spec& knot) {
  visit.number("radius_ratio", knot.radius_ratio, fractions);
  visit.number("thickness_um", knot.thickness_um, thicknesses_um);
}

template <class Visitor, maybe_const<CapsuleSpec> Spec>
void fields(Visitor& visit, Spec& capsule) {
  visit.choice("law", capsule.law);
  visit.number("modulus_kPa", capsule.modulus_kPa, moduli_kPa);
  visit.number("fung_c_kPa", capsule.fung_c_kPa, moduli_kPa);
  visit.number("fung_a1", capsule.fung_a1, above(0, 100));
  visit.number("fung_a2", capsule.fung_a2, between(-100, 100));
  visit.number("anterior_thickness_um", capsule.anterior_thickness_um, thicknesses_um);
  visit.knots("anterior_thickness_profile", capsule.anterior_thickness_profile);
  visit.number("posterior_thickness_um", capsule.posterior_thickness_um, zero_or_between(0.5, 100));
  visit.number("compression_fraction", capsule.compression_fraction, between(0.001, 1));
}

template <class Visitor, maybe_const<ZonuleSpec> Spec>
void fields(Visitor& visit, Spec& zonule) {
  visit.number("stiffness_mN_per_mm", zonule.stiffness_mN_per_mm, between(0, 5000));
  visit.number("pull_mN", zonule.pull_mN, between(0, 1000));
  visit.number("strength", zonule.strength, fractions);
  visit.by_hour("strength_by_hour", zonule.strength_by_hour, fractions);
  visit.choice("interpolation", zonule.interpolation);
  visit.number("ciliary_ring_diameter_mm", zonule.ciliary_ring_diameter_mm, between(5, 25));
  visit.choice("attachment", zonule.attachment);
  visit.number("anterior_share", zonule.anterior_share, fractions);
  visit.number("anterior_inset_mm", zonule.anterior_inset_mm, between(0.1, 4));
  visit.number("failure_elongation_mm", zonule.failure_elongation_mm, between(0.1, 20));
}

template <class Visitor, maybe_const<TensionRingSpec> Spec>
void fields(Visitor& visit, Spec& ring) {
  visit.number("free_diameter_mm", ring.free_diameter_mm, between(5, 25));
  visit.number("wire_diameter_mm", ring.wire_diameter_mm, between(0.05, 1));
  visit.number("modulus_kPa", ring.modulus_kPa, between(1e4, 1e8));
  visit.number("creep_fraction", ring.creep_fraction, between(0.01, 1));
  visit.number("creep_time_days", ring.creep_time_days, times_days);
  visit.number("gap_hour", ring.gap_hour, clock_hours);
  visit.number("arc_degrees", ring.arc_degrees, between(60, 350));
  visit.number("eyelet_hour", ring.eyelet_hour, clock_hours);
  visit.number("eyelet_stiffness_mN_per_mm", ring.eyelet_stiffness_mN_per_mm, between(0, 1e4));
}

template <class Visitor, maybe_const<LensSpec> Spec>
void fields(Visitor& visit, Spec& lens) {
  visit.number("optic_diameter_mm", lens.optic_diameter_mm, between(3, 9));
  visit.integer("haptics", lens.haptics, between(2, 4));
  visit.number("axis_hour", lens.axis_hour, clock_hours);
  visit.number("haptic_force_mN", lens.haptic_force_mN, between(0, 100));
  visit.number("overall_diameter_mm", lens.overall_diameter_mm, between(5, 25));
  visit.number("haptic_arc_degrees", lens.haptic_arc_degrees, between(5, 170));
  visit.number("relaxed_fraction", lens.relaxed_fraction, fractions);
  visit.number("relaxation_days", lens.relaxation_days, times_days);
  visit.number("adhesion_kPa_per_mm", lens.adhesion_kPa_per_mm, between(0, 1e6));
}

template <class Visitor, maybe_const<ContractionSpec> Spec>
void fields(Visitor& visit, Spec& contraction) {
  visit.number("cells_left", contraction.cells_left, fractions);
  visit.by_hour("cells_left_by_hour", contraction.cells_left_by_hour, fractions);
  visit.choice("interpolation", contraction.interpolation);
  visit.number("chronic_signal", contraction.chronic_signal, fractions);
  visit.number("signal_days", contraction.signal_days, times_days);
  visit.number("regrowth_per_day", contraction.regrowth_per_day, rates_per_day);
  visit.number("activation_per_day", contraction.activation_per_day, rates_per_day);
  visit.number("deactivation_per_day", contraction.deactivation_per_day, rates_per_day);
  visit.number("tissue_per_day", contraction.tissue_per_day, rates_per_day);
  visit.number("remodelling_days", contraction.remodelling_days, times_days);
  visit.number("laying_stretch", contraction.laying_stretch, between(1, 2));
  visit.number("packing_limit", contraction.packing_limit, between(0.05, 0.95));
  visit.number("fibre_modulus_kPa", contraction.fibre_modulus_kPa, between(0, 1e5));
  visit.number("matrix_modulus_kPa", contraction.matrix_modulus_kPa, between(0, 1e5));
  visit.number("tissue_thickness_mm", contraction.tissue_thickness_mm, between(0, 0.5));
  visit.number("hoop_weight", contraction.hoop_weight, between(0, 10));
  visit.number("diagonal_weight", contraction.diagonal_weight, between(0, 10));
  visit.number("radial_weight", contraction.radial_weight, between(0, 10));
  visit.number("band_width_mm", contraction.band_width_mm, between(0.05, 100));
  visit.number("edge_width_mm", contraction.edge_width_mm, between(0, 1));
  visit.number("contact_diameter_mm", contraction.contact_diameter_mm, between(0.5, 20));
  visit.number("cells_beyond_contact", contraction.cells_beyond_contact, fractions);
  visit.number("unloaded_deactivation_per_day", contraction.unloaded_deactivation_per_day, rates_per_day);
  visit.choice("law", contraction.law);
  visit.number("active_tension_mN_per_mm", contraction.active_tension_mN_per_mm, between(0, 1000));
  visit.number("active_radial_share", contraction.active_radial_share, between(0, 10));
  visit.number("lock_in_per_day", contraction.lock_in_per_day, rates_per_day);
  visit.number("locked_modulus_kPa", contraction.locked_modulus_kPa, between(0, 1e6));
}

template <class Visitor, maybe_const<BagTissueSpec> Spec>
void fields(Visitor& visit, Spec& tissue) {
  visit.number("fibre_modulus_kPa", tissue.fibre_modulus_kPa, between(0, 1e5));
  visit.number("active_tension_mN_per_mm", tissue.active_tension_mN_per_mm, between(0, 1000));
  visit.number("tissue_thickness_mm", tissue.tissue_thickness_mm, between(0.001, 0.5));
  visit.number("hoop_weight", tissue.hoop_weight, between(0, 10));
  visit.number("diagonal_weight", tissue.diagonal_weight, between(0, 10));
  visit.number("radial_weight", tissue.radial_weight, between(0, 10));
  visit.number("cells_left", tissue.cells_left, fractions);
  visit.by_hour("cells_left_by_hour", tissue.cells_left_by_hour, fractions);
  visit.number("clear_zone_mm", tissue.clear_zone_mm, between(0, 5));
  visit.number("bond_kPa_per_mm", tissue.bond_kPa_per_mm, between(0, 1e5));
  visit.number("haptic_bond_mN_per_mm", tissue.haptic_bond_mN_per_mm, between(0, 1e4));
  visit.number("inner_diameter_mm", tissue.inner_diameter_mm, between(0.5, 20));
}

template <class Visitor, maybe_const<RelaxingCuts> Spec>
void fields(Visitor& visit, Spec& cuts) {
  visit.numbers("hours", cuts.hours, clock_hours);
  visit.number("length_mm", cuts.length_mm, between(0.05, 8));
}

template <class Visitor, maybe_const<ZonuleDamage> Spec>
void fields(Visitor& visit, Spec& damage) {
  visit.by_hour("strength_by_hour", damage.strength_by_hour, fractions);
}

template <class Visitor, maybe_const<ContractionChange> Spec>
void fields(Visitor& visit, Spec& change) {
  visit.number("chronic_signal", change.chronic_signal, fractions);
  visit.number("signal_days", change.signal_days, times_days);
  visit.number("regrowth_per_day", change.regrowth_per_day, rates_per_day);
  visit.number("activation_per_day", change.activation_per_day, rates_per_day);
  visit.number("deactivation_per_day", change.deactivation_per_day, rates_per_day);
  visit.number("tissue_per_day", change.tissue_per_day, rates_per_day);
  visit.number("remodelling_days", change.remodelling_days, times_days);
  visit.number("laying_stretch", change.laying_stretch, between(1, 2));
  visit.number("unloaded_deactivation_per_day", change.unloaded_deactivation_per_day, rates_per_day);
  visit.number("active_tension_mN_per_mm", change.active_tension_mN_per_mm, between(0, 1000));
  visit.number("active_radial_share", change.active_radial_share, between(0, 10));
  visit.number("lock_in_per_day", change.lock_in_per_day, rates_per_day);
}

template <class Visitor, maybe_const<MeshSpec> Spec>
void fields(Visitor& visit, Spec& mesh) {
  visit.integer("around", mesh.around, between(12, 384));
  visit.integer("radial", mesh.radial, between(2, 64));
  visit.integer("order", mesh.order, between(1, 2));
  visit.integer("tip_layers", mesh.tip_layers, between(1, 16));
}

template <class Visitor, maybe_const<NumericsSpec> Spec>
void fields(Visitor& visit, Spec& numerics) {
  visit.number("time_tolerance", numerics.time_tolerance, between(1e-9, 0.05));
  visit.number("force_tolerance", numerics.force_tolerance, between(1e-11, 1e-4));
  visit.number("max_step_days", numerics.max_step_days, between(0.001, 100));
  visit.integer("max_steps", numerics.max_steps, between(1, 10'000'000));
  visit.number("max_work", numerics.max_work, between(100, 1e9));
}

template <class Visitor, maybe_const<Scenario> Spec>
void fields(Visitor& visit, Spec& scenario) {
  visit.text("name", scenario.name);
  visit.choice("eye", scenario.eye);
  visit.number("duration_days", scenario.duration_days, event_days);
  visit.number("output_every_days", scenario.output_every_days, times_days);
  visit.section("bag", scenario.bag);
  visit.section("opening", scenario.opening);
  visit.section("capsule", scenario.capsule);
  visit.section("zonule", scenario.zonule);
  visit.optional_section("tension_ring", scenario.tension_ring);
  visit.optional_section("lens", scenario.lens);
  visit.section("contraction", scenario.contraction);
  visit.section("bag_tissue", scenario.bag_tissue);
  visit.events("events", scenario.events);
  visit.section("mesh", scenario.mesh);
  visit.section("numerics", scenario.numerics);
}

/// The JSON key of each action of an event, in the order of `Event::action`.
inline constexpr std::array<std::string_view, std::variant_size_v<Action>> action_keys{
    "relaxing_cuts", "zonule_damage", "tension_ring", "contraction_change"};

/// Calls visit(key, action) with a default action of each kind, in that order.
template <class Visit>
void each_action(Visit&& visit) {
  [&]<std::size_t... K>(std::index_sequence<K...>) {
    (visit(action_keys[K], std::variant_alternative_t<K, Action>{}), ...);
  }(std::make_index_sequence<std::variant_size_v<Action>>());
}

}  // namespace capsim
