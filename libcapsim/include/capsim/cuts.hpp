// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Relaxing cuts: the energy released at a tip, the gape of the lips, the margins of the tip.
///
/// Model.   The tip's energy release rate (times thickness) is T = -dPi/dL at fixed load [mN]: the
///          energy freed per mm of cut. With x in equilibrium it is the explicit derivative of the
///          energy when the reference positions around the tip move outward and the deformed
///          positions stay: a domain integral of the Eshelby tensor over the elements around the
///          tip, and what other parts add that act all over the leaf (Part::energy_by_tip_growth). Tissue, thickness
///          and growth stay where they lie in the reference, for a tip grows through them.
/// Reference. [eshelby1975], [rice1968]; theory: section 7.

#include <span>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/fibrous_tissue.hpp"
#include "capsim/mesh.hpp"

namespace capsim {

/// Energy released per mm of growth [mN] of the cut on line `line`, open over `layers` layers, in
/// the anterior `leaf` of `mesh`; `tissues` are those on it, `others` further parts of the eye.
[[nodiscard]] double tip_energy_release_mN(const Mesh& mesh, const Leaf& leaf,
                                           std::span<const FibrousTissue* const> tissues, std::span<const double> x,
                                           int line, int layers, std::span<const Part* const> others = {});

/// Memory of that; one that is kept makes further evaluations on the same mesh take none of their own.
struct TipWorkspace {
  std::vector<double> shift;
  Leaf::Region ahead, behind;
  FibrousTissue::Fields fields;
};
[[nodiscard]] double tip_energy_release_mN(const Mesh& mesh, const Leaf& leaf,
                                           std::span<const FibrousTissue* const> tissues, std::span<const double> x,
                                           int line, int layers, TipWorkspace& workspace,
                                           std::span<const Part* const> others = {});

/// Distance between the two lips at the rim [mm]; negative when they have crossed.
[[nodiscard]] double rim_gape_mm(const Mesh& mesh, std::span<const double> x, int line, int layers);

/// Length along the leaf [mm] from the rim over `layers` layers of cut line `line`, as the leaf lies at x.
[[nodiscard]] double length_along_leaf_mm(const Mesh& mesh, std::span<const double> x, int line, int layers);

}  // namespace capsim
