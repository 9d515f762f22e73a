// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "scenario/carried_pull.hpp"
#include "scenario/limits.hpp"
#include "scenario/opening_outline.hpp"
#include "scenario/scenario_checks.hpp"

namespace capsim {
namespace {

/// Least leaf between rim and equator, and between the tip of a cut and the equator [mm].
constexpr double least_leaf_mm = 0.25;
/// Points of a traced rim nearer to each other than this are the same point [mm].
constexpr double same_point_mm = 1e-4;
/// An ellipse longer than this many times its width is a slit, not an opening.
constexpr double most_elongated = 4;
/// A traced opening no smaller than the smallest round one: pi/4 * (0.5 mm)^2 [mm^2].
constexpr double least_area_mm2 = 0.19;
/// Cuts nearer to each other than this leave a sliver of leaf [degrees].
constexpr double least_angle_between_cuts = 5;
/// More output days than this fill the memory with near copies.
constexpr double most_output_days = 20000;

std::string mm(double value) { return number_text(std::round(value * 1e4) / 1e4); }

/// Paths that describe the rim, in the order in which the struct uses them.
std::string rim_path(const OpeningSpec& opening) {
  if (!opening.outline_mm.empty()) return "opening.outline_mm";
  return opening.diameters_mm ? "opening.diameters_mm" : "opening.diameter_mm";
}
std::string rim_value(const OpeningSpec& opening) {
  if (!opening.outline_mm.empty()) return "an outline of " + std::to_string(opening.outline_mm.size()) + " points";
  if (!opening.diameters_mm) return number_text(opening.diameter_mm);
  return '[' + number_text((*opening.diameters_mm)[0]) + ", " + number_text((*opening.diameters_mm)[1]) + ']';
}

/// Distance of the rim's farthest point from the pupil centre, where the equator's centre lies [mm].
double farthest_rim_mm(const OpeningSpec& opening) {
  double farthest = 0;
  for (const Point& point : opening.outline_mm) farthest = std::max(farthest, std::hypot(point[0], point[1]));
  if (!opening.outline_mm.empty()) return farthest;
  const Point center = opening.center_mm;
  if (!opening.diameters_mm) return std::hypot(center[0], center[1]) + opening.diameter_mm / 2;
  constexpr int directions = 720;
  for (int k = 0; k < directions; ++k) {
    const double angle = 2 * pi * k / directions;
    const double r = rim_distance(opening, angle);
    farthest = std::max(farthest, std::hypot(center[0] + r * std::cos(angle), center[1] + r * std::sin(angle)));
  }
  return farthest;
}

/// Width of the leaf from rim to equator along the ray from the opening's centre at clock hour `hour` [mm].
double leaf_width_mm(const Scenario& scenario, double hour) {
  const double angle = angle_of_hour(hour);
  const Point center = opening_center(scenario.opening);
  const double along = center[0] * std::cos(angle) + center[1] * std::sin(angle);
  const double across = center[1] * std::cos(angle) - center[0] * std::sin(angle);
  const double radius = scenario.bag.equator_diameter_mm / 2;
  return std::sqrt(std::max(0.0, radius * radius - across * across)) - along - rim_distance(scenario.opening, angle);
}

/// Angle between two clock hours, 0..180 [degrees].
double degrees_between(double a, double b) {
  return std::abs(angle_difference(angle_of_hour(a), angle_of_hour(b))) * 180 / pi;
}

/// The checks, one function for each part of the eye.
class ConsistencyCheck {
 public:
  ConsistencyCheck(const Scenario& scenario, ViolationList& found) : scenario_(scenario), found_(found) {}

  void run() {
    output_days();
    outline();
    opening_in_bag();
    capsule();
    zonule();
    lens();
    if (scenario_.tension_ring) ring(*scenario_.tension_ring, "tension_ring");
    contraction();
    bag_tissue();
    if (found_.usable("mesh.around") && scenario_.mesh.around % 4 != 0)
      add("mesh.around", number_text(scenario_.mesh.around), "a multiple of 4",
          "use " + std::to_string((scenario_.mesh.around + 2) / 4 * 4));
    events();
  }

 private:
  void add(std::string path, std::string value, std::string limit, std::string hint) {
    found_.add_unusable({std::move(path), std::move(value), std::move(limit), std::move(hint)});
  }

  void output_days() {
    if (!found_.usable({"duration_days", "output_every_days"})) return;
    if (scenario_.duration_days / scenario_.output_every_days > most_output_days)
      add("output_every_days", number_text(scenario_.output_every_days),
          ">= " + number_text(scenario_.duration_days / most_output_days) + ", duration_days over " +
              number_text(most_output_days),
          "fewer output days");
  }

  void outline() {
    const auto& points = scenario_.opening.outline_mm;
    if (points.empty() || !found_.usable("opening.outline_mm")) return;
    for (std::size_t k = 0; k < points.size(); ++k) {
      const Point& next = points[(k + 1) % points.size()];
      if (std::hypot(next[0] - points[k][0], next[1] - points[k][1]) >= same_point_mm) continue;
      const bool closing = k + 1 == points.size();
      return add(
          item_path("opening.outline_mm", closing ? k : k + 1),
          '[' + number_text(points[k][0]) + ", " + number_text(points[k][1]) + ']',
          closing ? "different from the first point" : "different from the point before",
          closing ? "the outline closes by itself: leave the repeated point out" : "leave the repeated point out");
    }
    const std::string value = rim_value(scenario_.opening);
    if (const auto edges = crossing_edges(points))
      return add(
          "opening.outline_mm", value, "a curve that does not cross itself",
          "the edges after points " + std::to_string(edges->first) + " and " + std::to_string(edges->second) + " meet");
    if (!is_star_shaped(points, polygon_centroid(points)))
      return add("opening.outline_mm", value, "star-shaped about its centroid",
                 "every ray from the centre must meet the rim once");
    if (const double area = std::abs(polygon_area(points)); area < least_area_mm2)
      add("opening.outline_mm", value, "at least " + number_text(least_area_mm2) + " mm2 in area",
          "it has " + mm(area) + " mm2");
  }

  void opening_in_bag() {
    const OpeningSpec& opening = scenario_.opening;
    const std::string path = rim_path(opening);
    if (!found_.usable({path, "bag.equator_diameter_mm", "opening.axis_hour"})) return;
    if (opening.outline_mm.empty() && opening.diameters_mm) {
      const auto [shorter, longer] = std::minmax((*opening.diameters_mm)[0], (*opening.diameters_mm)[1]);
      if (longer > most_elongated * shorter)
        add(path, rim_value(opening), "an ellipse at most " + number_text(most_elongated) + " times as long as wide",
            "");
    }
    if (opening.outline_mm.empty() && !found_.usable("opening.center_mm")) return;
    const double reach = scenario_.bag.equator_diameter_mm / 2 - least_leaf_mm;
    const double farthest = farthest_rim_mm(opening);
    if (farthest <= reach) return split_insertion(reach + least_leaf_mm - farthest);
    const std::string limit = "inside the equator with " + number_text(least_leaf_mm) +
                              " mm of leaf to spare: rim <= " + mm(reach) + " mm from the pupil centre";
    const std::string hint = "bag.equator_diameter_mm is " + number_text(scenario_.bag.equator_diameter_mm) +
                             " and the rim reaches " + mm(farthest) + " mm";
    OpeningSpec centred = opening;
    centred.center_mm = {0, 0};
    const bool shifted_out = opening.outline_mm.empty() && farthest_rim_mm(centred) <= reach;
    const Point& center = opening.center_mm;
    add(shifted_out ? "opening.center_mm" : path,
        shifted_out ? '[' + number_text(center[0]) + ", " + number_text(center[1]) + ']' : rim_value(opening), limit,
        hint);
  }

  void split_insertion(double narrowest_leaf) {
    const ZonuleSpec& zonule = scenario_.zonule;
    if (zonule.attachment != ZonuleAttachment::split || zonule.anterior_share == 0) return;
    if (found_.usable("zonule.anterior_inset_mm") && zonule.anterior_inset_mm > narrowest_leaf)
      add("zonule.anterior_inset_mm", number_text(zonule.anterior_inset_mm),
          "<= " + mm(narrowest_leaf) + ", the narrowest leaf between rim and equator",
          "fibres can't insert in the opening");
  }

  void capsule() {
    const CapsuleSpec& capsule = scenario_.capsule;
    if (capsule.law == CapsuleLaw::fung && found_.usable({"capsule.fung_a1", "capsule.fung_a2"}) &&
        std::abs(capsule.fung_a2) >= capsule.fung_a1)
      add("capsule.fung_a2", number_text(capsule.fung_a2),
          "smaller in size than fung_a1 = " + number_text(capsule.fung_a1), "or the energy is not convex");
    const auto& knots = capsule.anterior_thickness_profile;
    for (std::size_t k = 1; k < knots.size(); ++k) {
      const std::string path = member_path(item_path("capsule.anterior_thickness_profile", k), "radius_ratio");
      if (found_.usable(path) && !(knots[k].radius_ratio > knots[k - 1].radius_ratio))
        add(path, number_text(knots[k].radius_ratio),
            "> " + number_text(knots[k - 1].radius_ratio) + ", the knot before", "sort the knots from pole to equator");
    }
  }

  void zonule() {
    const ZonuleSpec& zonule = scenario_.zonule;
    const double equator = scenario_.bag.equator_diameter_mm;
    if (!found_.usable({"zonule.ciliary_ring_diameter_mm", "bag.equator_diameter_mm"})) return;
    if (zonule.ciliary_ring_diameter_mm <= equator)
      return add("zonule.ciliary_ring_diameter_mm", number_text(zonule.ciliary_ring_diameter_mm),
                 "> bag.equator_diameter_mm = " + number_text(equator), "the zonule spans the space between");
    if (!found_.usable({"zonule.pull_mN", "zonule.stiffness_mN_per_mm"}) || zonule.pull_mN == 0) return;
    if (zonule.stiffness_mN_per_mm == 0)
      return add("zonule.pull_mN", number_text(zonule.pull_mN), "0 when zonule.stiffness_mN_per_mm is 0",
                 "fibres without stiffness can't pull");
    const double gap = (zonule.ciliary_ring_diameter_mm - equator) / 2;
    const double most_pull = zonule.stiffness_mN_per_mm * gap;
    if (zonule.pull_mN >= most_pull)
      return add(
          "zonule.pull_mN", number_text(zonule.pull_mN),
          "< " + mm(most_pull) + ", zonule.stiffness_mN_per_mm times the gap of " + mm(gap) + " mm to the ciliary ring",
          "the slack length would be " + mm(gap - zonule.pull_mN / zonule.stiffness_mN_per_mm) + " mm");
    pull_on_capsule();
  }

  void pull_on_capsule() {
    if (!found_.usable({"capsule", "zonule", "opening"})) return;
    const double most_pull = most_carried_pull_mN(scenario_);
    if (scenario_.zonule.pull_mN < most_pull) return;
    add("zonule.pull_mN", number_text(scenario_.zonule.pull_mN),
        "< " + mm(most_pull) +
            ", what the capsule can carry: pi bag.equator_diameter_mm times E t / 3, less for a hole",
        "no unloaded bag comes to rest as stated: a weaker pull, or a larger capsule.modulus_kPa or thickness");
  }

  void lens() {
    if (!scenario_.lens) return;
    const LensSpec& lens = *scenario_.lens;
    const double equator = scenario_.bag.equator_diameter_mm;
    const std::string equator_text = "bag.equator_diameter_mm = " + number_text(equator);
    const bool equator_usable = found_.usable("bag.equator_diameter_mm");
    if (equator_usable && found_.usable("lens.optic_diameter_mm") && lens.optic_diameter_mm >= equator)
      add("lens.optic_diameter_mm", number_text(lens.optic_diameter_mm), "< " + equator_text,
          "the optic lies inside the bag");
    if (equator_usable && found_.usable({"lens.overall_diameter_mm", "lens.haptic_force_mN"}) &&
        lens.haptic_force_mN > 0 && lens.overall_diameter_mm <= equator)
      add("lens.overall_diameter_mm", number_text(lens.overall_diameter_mm), "> " + equator_text,
          "haptics that do not reach the equator can't push: set haptic_force_mN to 0");
    if (found_.usable({"lens.haptics", "lens.haptic_arc_degrees"}) && lens.haptics * lens.haptic_arc_degrees > 350)
      add("lens.haptic_arc_degrees", number_text(lens.haptic_arc_degrees),
          "<= " + mm(350.0 / lens.haptics) + " with " + std::to_string(lens.haptics) + " haptics",
          "their arcs would overlap");
  }

  void ring(const TensionRingSpec& ring, const std::string& path) {
    const std::string free_path = member_path(path, "free_diameter_mm");
    const double equator = scenario_.bag.equator_diameter_mm;
    if (!found_.usable({free_path, "bag.equator_diameter_mm"})) return;
    if (ring.free_diameter_mm <= equator)
      return add(free_path, number_text(ring.free_diameter_mm), "> bag.equator_diameter_mm = " + number_text(equator),
                 "a smaller ring lies loose in the bag");
    const std::string eyelet_path = member_path(path, "eyelet_hour");
    if (!ring.eyelet_hour ||
        !found_.usable({eyelet_path, member_path(path, "gap_hour"), member_path(path, "arc_degrees")}))
      return;
    const double half_gap = (360 - ring.arc_degrees * ring.free_diameter_mm / equator) / 2;
    if (degrees_between(*ring.eyelet_hour, ring.gap_hour) < half_gap)
      add(eyelet_path, number_text(*ring.eyelet_hour),
          "at least " + mm(half_gap / 30) + " hours from gap_hour = " + number_text(ring.gap_hour),
          "the eyelet would lie in the gap of the ring");
  }

  void contraction() {
    const ContractionSpec& law = scenario_.contraction;
    if (law.contact_diameter_mm && found_.usable({"contraction.contact_diameter_mm", "bag.equator_diameter_mm"}) &&
        *law.contact_diameter_mm >= scenario_.bag.equator_diameter_mm)
      add("contraction.contact_diameter_mm", number_text(*law.contact_diameter_mm),
          "< bag.equator_diameter_mm = " + number_text(scenario_.bag.equator_diameter_mm), "the zone lies on the leaf");
    if (const auto conditions = own_conditions().contraction) (this->*conditions)();
  }

  void fibre_remodelling() {
    const ContractionSpec& law = scenario_.contraction;
    if (found_.usable({"contraction.hoop_weight", "contraction.diagonal_weight", "contraction.radial_weight"}) &&
        !(law.hoop_weight + law.diagonal_weight + law.radial_weight > 0))
      add("contraction.hoop_weight", number_text(law.hoop_weight), "> 0 when the other two weights are 0",
          "no fibre family is left; for an eye that does not contract set cells_left to 0");
    if (found_.usable({"contraction.packing_limit", "contraction.laying_stretch"}) &&
        law.packing_limit * law.laying_stretch >= 1)
      add("contraction.packing_limit", number_text(law.packing_limit),
          "< " + mm(1 / law.laying_stretch) + ", 1 over contraction.laying_stretch",
          "new tissue would be laid down already packed");
  }

  /// What pulls on both leaves under a law, and the sum of its weights with what it must be.
  struct PullOfLeaves {
    double strength, weights;
    const char* limit;
  };
  static PullOfLeaves pull_of_fibres(const BagTissueSpec& tissue) {
    return {tissue.fibre_modulus_kPa, tissue.hoop_weight + (tissue.diagonal_weight + tissue.radial_weight),
            "> 0 when the other two weights are 0"};
  }
  static PullOfLeaves pull_of_cells(const BagTissueSpec& tissue) {
    return {tissue.active_tension_mN_per_mm, tissue.hoop_weight,
            "> 0, since the radial pull is a share of the hoop pull"};
  }

  /// What a law asks of the fields beyond their limits; a null pointer: nothing.
  struct ConditionsOfLaw {
    ContractionKind law;
    void (ConsistencyCheck::*contraction)();
    void (ConsistencyCheck::*change)(const ContractionChange& change, const std::string& path);
    PullOfLeaves (*leaves)(const BagTissueSpec& tissue);
  };
  // A law that is not here asks for nothing.
  [[nodiscard]] ConditionsOfLaw own_conditions() const {
    static constexpr ConditionsOfLaw laws[] = {
        {ContractionKind::fibre_remodelling, &ConsistencyCheck::fibre_remodelling, &ConsistencyCheck::laid_stretch,
         &pull_of_fibres},
        {ContractionKind::active_lock_in, nullptr, nullptr, &pull_of_cells},  // weights and laying stretch play no part
    };
    for (const ConditionsOfLaw& own : laws)
      if (own.law == scenario_.contraction.law) return own;
    return {};
  }

  void bag_tissue() {
    const BagTissueSpec& tissue = scenario_.bag_tissue;
    if (tissue.inner_diameter_mm && found_.usable({"bag_tissue.inner_diameter_mm", "bag.equator_diameter_mm"}) &&
        *tissue.inner_diameter_mm >= scenario_.bag.equator_diameter_mm)
      add("bag_tissue.inner_diameter_mm", number_text(*tissue.inner_diameter_mm),
          "< bag.equator_diameter_mm = " + number_text(scenario_.bag.equator_diameter_mm),
          "the leaves fuse inside the equator");
    const auto pull_of = own_conditions().leaves;
    const PullOfLeaves pull = pull_of != nullptr ? pull_of(tissue) : PullOfLeaves{};
    if (pull.strength > 0 && !(pull.weights > 0) &&
        found_.usable({"bag_tissue.hoop_weight", "bag_tissue.diagonal_weight", "bag_tissue.radial_weight"}))
      add("bag_tissue.hoop_weight", number_text(tissue.hoop_weight), pull.limit,
          "for leaves that do not contract set the modulus and the active tension to 0");
  }

  struct PlacedCut {
    double hour;
    std::string path;
  };

  void events() {
    std::vector<PlacedCut> cuts;
    std::string ring_path = scenario_.tension_ring ? "tension_ring" : "";
    for (std::size_t k = 0; k < scenario_.events.size(); ++k) {
      const Event& event = scenario_.events[k];
      const std::string path = item_path("events", k);
      if (const std::string day = member_path(path, "day");
          found_.usable({day, "duration_days"}) && event.day > scenario_.duration_days)
        add(day, number_text(event.day), "<= duration_days = " + number_text(scenario_.duration_days),
            "it would never happen");
      if (const auto* relaxing = std::get_if<RelaxingCuts>(&event.action))
        relaxing_cuts(*relaxing, member_path(path, "relaxing_cuts"), cuts);
      if (const auto* change = std::get_if<ContractionChange>(&event.action))
        if (const auto conditions = own_conditions().change)
          (this->*conditions)(*change, member_path(path, "contraction_change"));
      if (const auto* inserted = std::get_if<TensionRingSpec>(&event.action)) {
        const std::string here = member_path(path, "tension_ring");
        ring(*inserted, here);
        if (!ring_path.empty() && found_.usable(path))
          found_.add_unusable({here, "a second ring", "the only ring", "the first is " + ring_path});
        ring_path = here;
      }
    }
  }

  void laid_stretch(const ContractionChange& change, const std::string& change_path) {
    const ContractionSpec& law = scenario_.contraction;
    const std::string path = member_path(change_path, "laying_stretch");
    if (change.laying_stretch && found_.usable({"contraction.packing_limit", path}) &&
        law.packing_limit * *change.laying_stretch >= 1)
      add(path, number_text(*change.laying_stretch),
          "< " + mm(1 / law.packing_limit) + ", 1 over contraction.packing_limit",
          "new tissue would be laid down already packed");
  }

  void relaxing_cuts(const RelaxingCuts& relaxing, const std::string& path, std::vector<PlacedCut>& cuts) {
    const std::string hours_path = member_path(path, "hours");
    for (std::size_t k = 0; k < relaxing.hours.size(); ++k) {
      const double hour = relaxing.hours[k];
      const std::string hour_path = item_path(hours_path, k);
      if (!found_.usable(hour_path)) continue;
      for (const PlacedCut& other : cuts)
        if (degrees_between(hour, other.hour) < least_angle_between_cuts) {
          add(hour_path, number_text(hour),
              "at least " + mm(least_angle_between_cuts / 30) + " hours from every other cut",
              other.path + " is at " + number_text(other.hour));
          break;
        }
      cuts.push_back({hour, hour_path});
    }
    longest_cut(relaxing, path);
  }

  /// One message for an event: the cut that has the least leaf.
  void longest_cut(const RelaxingCuts& relaxing, const std::string& path) {
    const std::string length_path = member_path(path, "length_mm");
    const std::string rim = rim_path(scenario_.opening);
    if (!found_.usable({length_path, "bag.equator_diameter_mm", rim, "opening.axis_hour"})) return;
    if (rim != "opening.outline_mm" && !found_.usable("opening.center_mm")) return;
    double least_leaf = scenario_.bag.equator_diameter_mm;
    double least_hour = 12;
    for (const double hour : relaxing.hours) {
      if (!clock_hours.allow(hour)) continue;
      if (const double leaf = leaf_width_mm(scenario_, hour); leaf < least_leaf) {
        least_leaf = leaf;
        least_hour = hour;
      }
    }
    if (relaxing.length_mm <= least_leaf - least_leaf_mm) return;
    add(length_path, number_text(relaxing.length_mm),
        "<= " + mm(least_leaf - least_leaf_mm) + ", the leaf less " + number_text(least_leaf_mm) + " mm",
        "cut longer than the leaf: at " + number_text(least_hour) + " o'clock it is " + mm(least_leaf) +
            " mm wide from rim to equator");
  }

  const Scenario& scenario_;
  ViolationList& found_;
};

}  // namespace

void check_consistency(const Scenario& scenario, ViolationList& found) { ConsistencyCheck(scenario, found).run(); }

}  // namespace capsim
