// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The anterior leaf of a simulation, point by point: where it lies, how it is stretched, what it carries.
///
/// Model.   At every Gauss point the principal stretches l1 >= l2 of the elastic deformation, and the principal Cauchy
///          stresses [kPa] of the capsule alone, s_i = l_i dW/dl_i with the blended tension-field law of capsule.hpp
///          (incompressible: per deformed area of the leaf's section). Zero or nearly so where the leaf is slack, and
///          across the wrinkles where it is wrinkled. The tissue carries its own forces beside them.
/// Layout.  Points run element by element, the elements from the rim outward, layer by layer, each layer
///          counter-clockwise. The points that hold tissue come first, in the order of the law's state.

#include <cstddef>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/contraction_law.hpp"

namespace capsim {

class Simulation;

/// The leaf on the day a simulation has reached. Arrays are point by point, row-major.
struct LeafState {
  std::vector<double> position_mm;             ///< x y.
  std::vector<double> reference_mm;            ///< x y in the stress-free shape.
  std::vector<double> area_mm2;                ///< Reference area that the point stands for.
  std::vector<double> thickness_um;            ///< Of the capsule, in the reference.
  std::vector<double> principal_stretch;       ///< l1 l2.
  std::vector<double> principal_stress_kPa;    ///< s1 s2.
  std::vector<double> first_direction_degree;  ///< Of l1 in space, from the x axis, counter-clockwise, -90 to 90.
  std::vector<TautState> taut_state;           ///< slack, wrinkled or taut.

  /// The tissue at its points, the first ones: fraction of full thickness, natural stretches, active tensions.
  FibrousTissue::Fields tissue;
  std::vector<double> fibre_stretch;  ///< hoop, +45, -45, radial of each point with tissue.

  [[nodiscard]] std::size_t points() const noexcept { return area_mm2.size(); }
  [[nodiscard]] std::size_t tissue_points() const noexcept { return tissue.fraction.size(); }
};

/// Looks at the leaf of a simulation; the simulation is left as it is. `law`: null for the one in force.
[[nodiscard]] LeafState leaf_state(const Simulation& simulation, const ContractionLaw* law = nullptr);

}  // namespace capsim
