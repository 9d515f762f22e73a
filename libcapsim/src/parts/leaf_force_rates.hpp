// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How the forces of a leaf that is held at x change as its reference and its thickness change.
///
/// Model.   A leaf exerts f_a = sum over Gauss points of w P D_a, with D_a = dN_a/dX and P = dW/dF. When the reference
///          positions move at the rate V, with H = dV/dX,
///            dF = -F H,   dD_a = -H^T D_a,   dw = w tr H,   dP = A : dF + P dh/h,
///            df_a = sum of w (tr H P + dP - P H^T) D_a,        A = d2W/dF2.
///          P, A and F are taken once for any number of rates, which go four at a time.
/// Assumes. No growth tensor.

#include <array>
#include <span>
#include <vector>

#include "capsim/capsule.hpp"
#include "geometry/lanes.hpp"
#include "geometry/tensor.hpp"
#include "parts/surface.hpp"

namespace capsim {

/// Rates of four changes at every point of a leaf, four numbers (one for each change) at a time.
struct FourLeafRates {
  std::vector<double> gradient;   ///< H as xx xy yx yy: [(4 * point + entry) * 4 + change].
  std::vector<double> thickness;  ///< dh/h: [4 * point + change].
};

/// Puts one change into lane `lane`: `velocity` is V of every node (x y), `thickness_mm` the rates of the regions' own.
void put_leaf_rate(const Leaf& leaf, std::span<const double> velocity,
                   std::span<const std::vector<double>> thickness_mm, std::size_t lane, FourLeafRates& rates);

class LeafForceRates {
 public:
  /// Takes deformation, stress and tangent at x.
  void look_at(const Leaf& leaf, std::span<const double> x);
  /// Adds the rates of the forces by coordinate: forces[4 * coordinate + change].
  void add(const Leaf& leaf, const FourLeafRates& rates, std::span<double> forces) const;

 private:
  struct Point {
    double weight;
    Tensor f, stress;
    Moduli<double> a;
  };
  template <surface::ElementKind kind>
  static void look_at_region(const Membrane& membrane, const Leaf::Region& region, const double* x,
                             Point* points) noexcept;
#if CAPSIM_HAS_WIDE_LANES
  template <surface::ElementKind kind>
  CAPSIM_WIDE_LANES static void look_at_region_wide(const Membrane& membrane, const Leaf::Region& region,
                                                    const double* x, Point* points) noexcept;
#endif
  [[nodiscard]] static TensorOf<Lanes> change_of_stress(const Point& p, const TensorOf<Lanes>& h,
                                                        const Lanes& thickness);
  void add_in_lanes(const Leaf& leaf, const FourLeafRates& rates, std::span<double> forces) const;
#if CAPSIM_HAS_WIDE_LANES
  CAPSIM_WIDE_LANES void add_wide(const Leaf& leaf, const FourLeafRates& rates, std::span<double> forces) const;
#endif
  std::vector<Point> points_;
};

}  // namespace capsim
