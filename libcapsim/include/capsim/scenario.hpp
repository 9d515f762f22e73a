// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A scenario: everything that defines one eye, one operation and one follow-up, as plain values.
///
/// Every number carries its unit in its name; every default is listed with its source in
/// libcapsim/doc/parameters.md. Nothing here computes: `Model` turns a scenario into mechanics.

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "capsim/error.hpp"
#include "capsim/frame.hpp"

namespace capsim {

/// Values by clock hour, 1..12: the value holds for the 30 degree sector centred on that hour.
using ByHour = std::map<int, double>;

/// The capsular bag.
struct BagSpec {
  double equator_diameter_mm = 10.3;  ///< In situ, under a full-strength zonule.
  bool operator==(const BagSpec&) const = default;
};

/// In which state of the eye the stated opening (and its contact zone) is meant. The bag itself is of normal anatomy.
enum class MeasuredUnder {
  end_of_surgery,        ///< In this eye on day 0, with its zonule and with the lens and the ring that are in it.
  own_zonule,            ///< Under this eye's zonule, before lens and ring are in.
  full_strength_zonule,  ///< As it would lie if the zonule were healthy all round.
  stress_free            ///< Opening and equator are given unloaded (verification, bench tests).
};

/// The opening in the anterior leaf. Exactly one description is used: `outline_mm` when not
/// empty, else `diameters_mm` when set, else `diameter_mm`.
struct OpeningSpec {
  double diameter_mm = 5.25;
  std::optional<std::array<double, 2>> diameters_mm;  ///< Ellipse: along `axis_hour`, and square to it.
  double axis_hour = 12;                              ///< Meridian of the first diameter of an ellipse.
  Point center_mm{0, 0};                              ///< From the pupil centre; not used with an outline.
  std::vector<Point> outline_mm;                      ///< Traced rim, at least 8 points, star-shaped.
  MeasuredUnder measured_under = MeasuredUnder::end_of_surgery;
  bool operator==(const OpeningSpec&) const = default;
};

enum class CapsuleLaw { neo_hookean, fung };

/// One knot of the anterior thickness profile.
struct ThicknessKnot {
  double radius_ratio = 0;  ///< Distance from the pole over equator radius, 0..1.
  double thickness_um = 0;
  bool operator==(const ThicknessKnot&) const = default;
};

/// The capsule's material and thickness.
struct CapsuleSpec {
  CapsuleLaw law = CapsuleLaw::neo_hookean;
  double modulus_kPa = 830;  ///< Young's modulus of the neo-Hookean law (mu = E/3).
  double fung_c_kPa = 315;   ///< Exponential law, see capsule.hpp.
  double fung_a1 = 2.85;
  double fung_a2 = 1.34;
  double anterior_thickness_um = 14;
  std::vector<ThicknessKnot> anterior_thickness_profile;  ///< Replaces the constant when not empty.
  double posterior_thickness_um = 5;                      ///< 0: no posterior leaf.
  double compression_fraction = 0.05;                     ///< Share of the compressive stiffness kept when wrinkled.
  bool operator==(const CapsuleSpec&) const = default;
};

enum class HourInterpolation { stepwise, smooth };
enum class ZonuleAttachment { equator, split };

/// The zonule: tension-only springs from the bag to the ciliary ring.
struct ZonuleSpec {
  double stiffness_mN_per_mm = 150;  ///< Total radial stiffness at full strength.
  double pull_mN = 22.1;             ///< Total radial pull on the in-situ bag at full strength.
  double strength = 1.0;             ///< 0 absent .. 1 healthy, hours not listed below.
  ByHour strength_by_hour;           ///< Replaces `strength` in the listed hours.
  HourInterpolation interpolation = HourInterpolation::stepwise;
  double ciliary_ring_diameter_mm = 12.4;
  ZonuleAttachment attachment = ZonuleAttachment::equator;
  double anterior_share = 0.6;                  ///< With `split`: share inserted on the anterior leaf.
  double anterior_inset_mm = 1.75;              ///< With `split`: distance of that insertion inside the equator.
  std::optional<double> failure_elongation_mm;  ///< Bundles stretched beyond fail. Unvalidated; off.
  bool operator==(const ZonuleSpec&) const = default;
};

/// An open capsular tension ring or ring segment, inside the equator.
struct TensionRingSpec {
  double free_diameter_mm = 12.3;
  double wire_diameter_mm = 0.20;
  double modulus_kPa = 3.0e6;   ///< Short-term modulus.
  double creep_fraction = 0.7;  ///< Share of the stiffness left after creep.
  double creep_time_days = 14;
  double gap_hour = 12;  ///< Where the gap lies at insertion.
  double arc_degrees =
      290;  ///< Angle covered when free (the ends meet at 290/360 of the free diameter); 120 for a segment.
  std::optional<double> eyelet_hour;  ///< A sutured eyelet holds the ring to the sclera at this hour.
  double eyelet_stiffness_mN_per_mm = 20;
  bool operator==(const TensionRingSpec&) const = default;
};

/// The artificial lens: a rigid optic on compression-spring haptics.
struct LensSpec {
  double optic_diameter_mm = 6.0;
  int haptics = 2;                    ///< 2, 3 or 4, evenly spaced.
  double axis_hour = 3;               ///< Clock hour of the first haptic.
  double haptic_force_mN = 1.0;       ///< Push of each haptic on the in-situ bag on day 0.
  double overall_diameter_mm = 13.0;  ///< Free diameter over the haptics.
  double haptic_arc_degrees = 40;     ///< Contact arc of each haptic on the equator.
  double relaxed_fraction = 0.7;      ///< Share of the haptic force left after relaxation.
  double relaxation_days = 30;
  double adhesion_kPa_per_mm = 0;  ///< In-plane bond of leaf to optic over the overlap; off.
  bool operator==(const LensSpec&) const = default;
};

/// The contraction laws of the library, each by the one word that it has in files, JSON and text; see the header of
/// that name. A further one is added at the end.
#define CAPSIM_CONTRACTION_LAWS(LAW)                          \
  LAW(fibre_remodelling) /* Fibres laid down at a stretch. */ \
  LAW(active_lock_in)    /* Cells that pull, tissue that keeps it. */
#define CAPSIM_LAW(word) word,
enum class ContractionKind { CAPSIM_CONTRACTION_LAWS(CAPSIM_LAW) };
#undef CAPSIM_LAW

/// The contraction law and its parameters, see contraction_law.hpp.
struct ContractionSpec {
  double cells_left = 1.0;    ///< Cells left under the rim, 0 (perfect polishing) .. 1.
  ByHour cells_left_by_hour;  ///< Replaces `cells_left` in the listed hours.
  HourInterpolation interpolation = HourInterpolation::stepwise;
  double chronic_signal = 0;             ///< s_inf: stimulus that never fades.
  double signal_days = 25.8;             ///< tau_s.
  double regrowth_per_day = 0.05;        ///< rc.
  double activation_per_day = 0.1;       ///< ka.
  double deactivation_per_day = 0.0442;  ///< kd.
  double tissue_per_day = 1.0 / 15;      ///< kf.
  double remodelling_days = 20;          ///< tau_c.
  double laying_stretch = 1.2;           ///< lambda_h.
  double packing_limit = 0.3;            ///< Smallest natural stretch a fibre family can reach.
  double fibre_modulus_kPa = 255;        ///< Ef.
  double matrix_modulus_kPa = 20;        ///< Em: resistance of the tissue to in-plane compression.
  double tissue_thickness_mm = 0.05;     ///< hf.
  double hoop_weight = 0.85;
  double diagonal_weight = 0.15;  ///< Shared by the two diagonal families.
  double radial_weight = 0;
  std::optional<double> band_width_mm = 0.2;  ///< w of the contact zone; null: no decay.
  double edge_width_mm = 0;  ///< Softness of the contact zone's edge: cells fall as 1/(1 + exp(d/edge)).
  std::optional<double> contact_diameter_mm;  ///< Null: the optic's diameter, 6.0 without a lens.
  double cells_beyond_contact = 0;           ///< Share of the band's cells that is there outside the contact zone, too.
  double unloaded_deactivation_per_day = 0;  ///< Extra loss of activity of fibres that carry no load.
  ContractionKind law = ContractionKind::fibre_remodelling;
  // The next four belong to active lock-in; fibre modulus, weights, laying and remodelling to fibre remodelling.
  double active_tension_mN_per_mm =
      14;                          ///< Ta: hoop pull of fully active cells in full tissue, per mm of the leaf's width.
  double active_radial_share = 0;  ///< beta: radial pull over hoop pull.
  double lock_in_per_day = 0.1;  ///< zeta: rate at which active cells take up what is shorter than its natural length.
  double locked_modulus_kPa = 10000;  ///< El: modulus of the tissue that holds what was contracted.
  bool operator==(const ContractionSpec&) const = default;
};

/// Fibrous tissue where the two leaves lie on each other outside the optic. Its cells follow the kinetics and the law
/// of `contraction`; see bag_tissue in the theory, section 3.
struct BagTissueSpec {
  double fibre_modulus_kPa = 0;         ///< Of the first law's fibres there; 0 (and no active tension): no tissue.
  double active_tension_mN_per_mm = 0;  ///< Of the second law's cells there, per mm of the leaf's width.
  double tissue_thickness_mm = 0.05;
  double hoop_weight = 0.6;
  double diagonal_weight = 0;
  double radial_weight = 0.35;
  double cells_left = 1;             ///< Cells on the leaf at the end of surgery, 0 .. 1.
  ByHour cells_left_by_hour;         ///< Replaces `cells_left` in the listed hours.
  double clear_zone_mm = 0.9;        ///< Width of the strip at the equator where a tension ring keeps the leaves apart.
  double bond_kPa_per_mm = 0;        ///< In-plane bond of the two leaves where the tissue is full.
  double haptic_bond_mN_per_mm = 0;  ///< What holds a haptic to its arc of equator, along it, when the tissue is full.
  std::optional<double>
      inner_diameter_mm;  ///< Inside it the leaves are apart. Null: the optic's; no tissue without one.
  bool operator==(const BagTissueSpec&) const = default;
};

/// Radial slits from the rim outward.
struct RelaxingCuts {
  std::vector<double> hours;  ///< Clock hours, decimals allowed.
  double length_mm = 0.75;    ///< From the rim along the leaf, as the leaf lies at the end of surgery.
  bool operator==(const RelaxingCuts&) const = default;
};

/// A sudden change of the zonule.
struct ZonuleDamage {
  ByHour strength_by_hour;  ///< New strength of the listed hours.
  bool operator==(const ZonuleDamage&) const = default;
};

/// Other values of the contraction from that day on: a drug, an inflammation that comes back. What is not given stays.
/// Only what the cells do from then on may change, not what the tissue is made of or where it lies. A new `signal_days`
/// counts from surgery, as the old one did. Tissue outside the optic follows, but for pull and radial share: it has its
/// own.
struct ContractionChange {
  std::optional<double> chronic_signal, signal_days, regrowth_per_day, activation_per_day, deactivation_per_day,
      tissue_per_day, remodelling_days, laying_stretch, unloaded_deactivation_per_day, active_tension_mN_per_mm,
      active_radial_share, lock_in_per_day;
  bool operator==(const ContractionChange&) const = default;
};

/// What may happen to an eye: the one list of it. Its JSON keys are `action_keys` in scenario_fields.hpp.
using Action = std::variant<RelaxingCuts, ZonuleDamage, TensionRingSpec, ContractionChange>;

/// What happens on one day. Exactly one action.
struct Event {
  double day = 0;
  Action action;
  bool operator==(const Event&) const = default;
};

/// The finite-element mesh of the anterior leaf.
struct MeshSpec {
  int around = 48;     ///< Elements around.
  int radial = 6;      ///< Element layers from rim to equator.
  int order = 2;       ///< 1: 4-node, 2: 8-node elements.
  int tip_layers = 5;  ///< Further layers for each length of cut that is planned: they lie about its tips.
  bool operator==(const MeshSpec&) const = default;
  static constexpr MeshSpec coarse() { return {24, 4, 2}; }
  static constexpr MeshSpec standard() { return {48, 6, 2}; }
  static constexpr MeshSpec fine() { return {96, 12, 2}; }
};

/// Tolerances and limits of the solution.
struct NumericsSpec {
  double time_tolerance = 1e-4;   ///< Local error of the tissue state, absolute and relative.
  double force_tolerance = 1e-6;  ///< Equilibrium residual over the largest force scale of the eye; and how closely the
                                  ///< stated opening is met [mm].
  double max_step_days = 30;
  int max_steps = 5000;
  double max_work = 5000;  ///< Of a run, in factorizations; one equilibrium may take a tenth of it.
  bool operator==(const NumericsSpec&) const = default;
};

/// One eye, one operation, one follow-up.
struct Scenario {
  std::string name = "unnamed";
  Eye eye = Eye::unspecified;
  double duration_days = 365;
  double output_every_days = 7;
  BagSpec bag;
  OpeningSpec opening;
  CapsuleSpec capsule;
  ZonuleSpec zonule;
  std::optional<TensionRingSpec> tension_ring;
  std::optional<LensSpec> lens = LensSpec{};
  ContractionSpec contraction;
  BagTissueSpec bag_tissue;
  std::vector<Event> events;
  MeshSpec mesh;
  NumericsSpec numerics;
  bool operator==(const Scenario&) const = default;

  /// Every violated constraint; empty when the scenario can be run.
  [[nodiscard]] std::vector<Violation> violations() const;
  /// Throws ScenarioError when `violations()` is not empty.
  void validate() const;

  /// Reads the JSON text of a scenario (UTF-8, byte order mark allowed).
  /// Throws ScenarioError with every violation: unknown and duplicate keys, wrong types,
  /// NaN and infinities, numbers outside double, values out of range.
  [[nodiscard]] static Scenario from_json(std::string_view text);
  /// Reads a scenario file; errors as `from_json`, plus one for a file that can't be read.
  [[nodiscard]] static Scenario from_file(const std::string& path);
  /// Complete JSON text, every field written; `from_json(to_json())` gives an equal scenario.
  [[nodiscard]] std::string to_json(int indent = 2) const;
};

/// The scenario seen in a mirror: hour -> 12 - hour, x -> -x, right eye <-> left eye.
[[nodiscard]] Scenario mirrored(const Scenario& scenario);
/// The scenario turned clockwise by a whole number of clock hours.
[[nodiscard]] Scenario rotated(const Scenario& scenario, int hours);

}  // namespace capsim
