// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The checker of what part.hpp demands of every part of the eye, for parts from anywhere.
///
/// measure_part(part, x) measures, at the coordinates x, that
///   - gradient() adds to what is there, returns energy(), and equals the difference of the energy;
///   - hessian() is symmetric and equals the difference of the gradient, column by column, so that
///     an entry outside the reported cliques shows too;
///   - the positive variant has no negative eigenvalue;
///   - a rigid motion of the eye with its anchors leaves the energy and turns the forces with it;
///   - a clone gives the same numbers, and moving the clone's anchors does not move the part's.
/// Differences are of fourth order over four points, so that a step large against rounding is small
/// against the curvature of the stiffest contact. Try several x: taut and slack, in contact and out of
/// it, but none within a few steps of a kink of the energy. The cost is that of 4 gradients for each
/// coordinate, and of the eigenvalues of a full matrix: a coarse mesh will do.

#include <span>
#include <string>
#include <vector>

#include "capsim/part.hpp"

namespace capsim {

struct PartCheckOptions {
  double step_mm = 1e-5;         ///< Of the differences.
  int rotation_coordinate = -1;  ///< Index of an angle; all other coordinates are x y pairs.
  double force_scale_mN = 0;     ///< Forces are compared with this when the largest present is smaller.
};

/// Errors relative to the largest number of their kind; zero is perfect.
struct PartErrors {
  /// A derivative agrees with its difference to this share of the largest entry beside it: what is left
  /// of the rounding over the step, and of the step to the fourth power.
  static constexpr double derivative_tolerance = 1e-6;
  /// Rigid motion: a few hundred roundings of numbers that are large against their differences.
  static constexpr double rigid_tolerance = 1e-10;
  /// The same sums in another order.
  static constexpr double rounding = 1e-12;

  double energy = 0;    ///< gradient()'s return value against energy().
  double adding = 0;    ///< gradient() into a filled vector against one into zeros.
  double gradient = 0;  ///< Against differences of the energy.
  double hessian = 0;   ///< Against differences of the gradient.
  double outside = 0;   ///< Differences of the gradient outside the cliques.
  double asymmetry = 0;
  double negative = 0;      ///< Most negative eigenvalue of the positive variant.
  double moved_energy = 0;  ///< After a rigid motion.
  double moved_forces = 0;
  bool clone_differs = false;
  bool couplings_lost = false;  ///< couplings_hold() denies the x that couplings() has just been given.

  /// One sentence for each demand that is not met; empty when all is well.
  [[nodiscard]] std::vector<std::string> faults() const;
};

/// Measures a part at x, where its energy must be finite. Throws ArgumentError when it is not, or
/// when hessian() names a clique that couplings() has not reported.
[[nodiscard]] PartErrors measure_part(Part& part, std::span<const double> x, const PartCheckOptions& options = {});

}  // namespace capsim
