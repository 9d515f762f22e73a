// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/carried_pull.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/frame.hpp"

namespace capsim {
namespace {

constexpr double no_zonule = 0.01;  // of what the capsule can carry: a zonule that can't pull more holds nothing
constexpr double unloaded = 0.95;   // of the stated opening; what so weak a zonule, and rounding, may leave
constexpr int radii = 200;          // of the unloaded equator, between rim and equator at rest

double thickest_um(const CapsuleSpec& capsule) {
  if (capsule.anterior_thickness_profile.empty()) return capsule.anterior_thickness_um;
  double thickest = 0;
  for (const ThicknessKnot& knot : capsule.anterior_thickness_profile) thickest = std::max(thickest, knot.thickness_um);
  return thickest;
}

/// The most that this eye's own zonule pulls, however far the bag has shrunk.
double most_own_pull_mN(const ZonuleSpec& zonule, double radius) {
  double strength = zonule.strength;
  for (const auto& [hour, own] : zonule.strength_by_hour) strength = std::max(strength, own);
  return strength * (zonule.pull_mN + zonule.stiffness_mN_per_mm * radius);
}

/// Whether the opening lies round about the pole and nothing in the bag pushes its equator outward.
bool round_and_empty(const Scenario& s) {
  const bool round = s.opening.outline_mm.empty() && !s.opening.diameters_mm &&
                     std::hypot(s.opening.center_mm[0], s.opening.center_mm[1]) == 0;
  const bool pushed = s.tension_ring || (s.lens && s.lens->haptic_force_mN > 0);
  return round && (s.opening.measured_under == MeasuredUnder::own_zonule || !pushed);
}

}  // namespace

double most_carried_pull_mN(const Scenario& s) {
  const CapsuleSpec& capsule = s.capsule;
  if (capsule.law != CapsuleLaw::neo_hookean || s.opening.measured_under == MeasuredUnder::stress_free)
    return std::numeric_limits<double>::infinity();
  const double at_equator = s.zonule.attachment == ZonuleAttachment::split ? 1 - s.zonule.anterior_share : 1;
  if (at_equator == 0) return std::numeric_limits<double>::infinity();
  const double radius = s.bag.equator_diameter_mm / 2;
  const double front = thickest_um(capsule), back = capsule.posterior_thickness_um;
  const double per_um = 2 * pi * radius * capsule.modulus_kPa / 3 * 1e-3 / at_equator;
  const double most = per_um * (front + back);
  if (s.opening.measured_under == MeasuredUnder::full_strength_zonule || !round_and_empty(s) ||
      most_own_pull_mN(s.zonule, radius) > no_zonule * at_equator * most)
    return most;
  const double a = unloaded * s.opening.diameter_mm / 2;
  double without = 0;
  for (int k = 1; k < radii; ++k) {
    const double b = a + (radius - a) * k / radii;
    without = std::max(without, front * (b * b - a * a) / (b * b + a * a) + back * (1 - std::pow(b / radius, 6)));
  }
  return per_um * without;
}

}  // namespace capsim
