// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Eyes for tests of whole runs: two families with worked answers, and a quick everyday one.
///
/// The worked answers come from two earlier, separate programs for the same equations: an axisymmetric
/// one (a table of eyes under a strong pull) and a plane one (eyes under a weak pull, weak sectors, cuts).
/// Both held the posterior leaf as spokes that only pull, and gave the contact zone a smooth edge whose
/// shape is not on record.

#include <array>
#include <cmath>

#include "capsim/history.hpp"
#include "capsim/scenario.hpp"

namespace capsim::test {

/// Pull and contraction for which the answers in these tests were worked out: inputs, not the library's
/// defaults, which are calibrated and may move.
inline Scenario worked_inputs() {
  Scenario s;
  s.zonule.pull_mN = 60;
  s.contraction.signal_days = 45;
  s.contraction.deactivation_per_day = 1.0 / 60;
  s.contraction.fibre_modulus_kPa = 300;
  s.contraction.band_width_mm = 0.6;
  return s;
}

/// What both families share: no lens, even thickness, no matrix, a zone without decay.
inline Scenario bare_eye(double edge_mm, double posterior_um) {
  Scenario s = worked_inputs();
  s.bag.equator_diameter_mm = 10;
  s.opening.measured_under = MeasuredUnder::stress_free;
  s.capsule.posterior_thickness_um = posterior_um;
  s.lens.reset();
  s.contraction.fibre_modulus_kPa = 200;
  s.contraction.matrix_modulus_kPa = 0;
  s.contraction.band_width_mm.reset();
  s.contraction.edge_width_mm = edge_mm;
  s.output_every_days = 30;
  s.mesh = {24, 10, 2};
  return s;
}

/// An eye of the table: pull 60 mN, stress-free rim radius `a`, `r` once it lies under the zonule.
inline Scenario strong_pull_eye(double a, double r, double edge_mm, double posterior_um) {
  Scenario s = bare_eye(edge_mm, posterior_um);
  s.opening.diameter_mm = 2 * a;
  s.zonule.ciliary_ring_diameter_mm = 20;  // only the gap less the slack length matters to a round eye
  s.contraction.contact_diameter_mm = 2 * (a + 1.1 * (3 - r) * a / r);
  return s;
}

/// An eye of the plane program: pull 4 mN, stress-free rim radius `a`.
inline Scenario weak_pull_eye(double a, double edge_mm, double posterior_um = 0) {
  Scenario s = bare_eye(edge_mm, posterior_um);
  s.opening.diameter_mm = 2 * a;
  s.capsule.modulus_kPa = 1000;
  s.zonule.stiffness_mN_per_mm = 110;
  s.zonule.pull_mN = 4;
  s.zonule.ciliary_ring_diameter_mm = 12.5;
  s.contraction.contact_diameter_mm = 6;
  return s;
}

/// The same with a weaker zonule that keeps its pull at rest.
inline Scenario with_pull_held(Scenario s, double strength) {
  s.zonule.stiffness_mN_per_mm *= strength;
  return s;
}

/// An everyday eye on the coarse mesh, a tenth of a second for a year.
inline Scenario quick_eye() {
  Scenario s = worked_inputs();
  s.mesh = MeshSpec::coarse();
  return s;
}

/// The everyday eye whose leaves fuse outside the optic.
inline Scenario fusing_eye(ContractionKind law = ContractionKind::fibre_remodelling) {
  Scenario s = quick_eye();
  s.duration_days = 90;
  s.zonule.pull_mN = 22.1;
  s.contraction.law = law;
  s.contraction.active_tension_mN_per_mm = 2.7;
  s.contraction.locked_modulus_kPa = 30000;
  s.bag_tissue.fibre_modulus_kPa = 225;
  s.bag_tissue.active_tension_mN_per_mm = 1;
  s.bag_tissue.bond_kPa_per_mm = 20;
  s.bag_tissue.haptic_bond_mN_per_mm = 5;
  return s;
}

/// Area loss [%] since day 0 on an output day.
inline double loss_percent(const History& history, double day) {
  return 100 * (1 - history.value("opening_area_mm2", history.row_at(day)) / history.value("opening_area_mm2", 0));
}

inline constexpr std::array<double, 4> table_days{30, 90, 180, 365};

}  // namespace capsim::test
