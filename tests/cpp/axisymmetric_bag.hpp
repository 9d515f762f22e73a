// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  An independent solution of a round eye: the same equations along one radius only.
///
/// Model.   A round bag stays round, so the leaf is r(R) on [rim, equator] with the principal stretches
///          r'(R) and r/R; zonule and posterior leaf see the equator's radius only. Energy and law are
///          written here a second time from the theory, with nothing of the library in them:
///            2 pi int (h W + tissue) R dR + K/2 <stretch + b - r(b)>^2 + pi b^2 h_p W(r(b)/b).
/// Method.  Three-node line elements with three Gauss points, Newton with a banded factor and a line
///          search, and classical Runge-Kutta steps of fixed length: an other element, an other solver
///          and an other integrator than the library's.

#include <functional>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim::test {

struct AxisymmetricBag {
  double rim_mm = 2.5, equator_mm = 5;  ///< Stress-free radii.
  double modulus_kPa = 830, anterior_mm = 0.014, posterior_mm = 0;
  double compression = 0.05;            ///< Share of compressive stiffness of the anterior leaf ...
  double posterior_compression = 0.05;  ///< ... and of the posterior one; 0: a disc that only pulls.
  double zonule_stiffness_mN_per_mm = 150;
  double zonule_stretch_mm = 0.4;  ///< Beyond slack, while the equator is at its stress-free radius.
  ContractionSpec law;
  std::function<double(double)> cells;  ///< c(0) at stress-free radius R.
  int elements = 40;
  double step_days = 2;
};

/// The same eye as a scenario whose opening is stated stress-free and whose zonule is even all round.
[[nodiscard]] AxisymmetricBag axisymmetric(const Scenario& scenario);

/// Radius of the rim at rest on day 0 [mm].
[[nodiscard]] double rim_on_day_0_mm(const AxisymmetricBag& bag);

/// Loss of opening area since day 0 [%] on each of `days`, which increase.
[[nodiscard]] std::vector<double> area_loss_percent(const AxisymmetricBag& bag, const std::vector<double>& days);

}  // namespace capsim::test
