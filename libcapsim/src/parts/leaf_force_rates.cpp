// SPDX-License-Identifier: BSD-3-Clause
#include "parts/leaf_force_rates.hpp"

#include <algorithm>

#include "geometry/lanes.hpp"
#include "parts/membrane_law.hpp"
#include "parts/surface.hpp"

namespace capsim {
namespace {

std::size_t points_of(const Leaf& leaf) {
  std::size_t points = 0;
  for (const Leaf::Region& region : leaf.regions()) points += static_cast<std::size_t>(region.patch->points());
  return points;
}

CAPSIM_INLINE TensorOf<Lanes> each_lane(const Tensor& a) noexcept {
  return {Lanes(a.xx), Lanes(a.xy), Lanes(a.yx), Lanes(a.yy)};
}

// Adds A : dF.
CAPSIM_INLINE void add_contracted(const Moduli<double>& a, const TensorOf<Lanes>& df, TensorOf<Lanes>& s) noexcept {
  using namespace entry;
  const auto row = [&](int i, Lanes& sum) CAPSIM_INLINE_LAMBDA {
    sum += Lanes(a(i, xx)) * df.xx;
    sum += Lanes(a(i, xy)) * df.xy;
    sum += Lanes(a(i, yx)) * df.yx;
    sum += Lanes(a(i, yy)) * df.yy;
  };
  row(xx, s.xx);
  row(xy, s.xy);
  row(yx, s.yx);
  row(yy, s.yy);
}

}  // namespace

void put_leaf_rate(const Leaf& leaf, std::span<const double> velocity,
                   std::span<const std::vector<double>> thickness_mm, std::size_t lane, FourLeafRates& rates) {
  rates.gradient.resize(16 * points_of(leaf));
  rates.thickness.resize(4 * points_of(leaf));
  std::size_t p = 0;
  for (std::size_t r = 0; r < leaf.regions().size(); ++r) {
    const Leaf::Region& region = leaf.regions()[r];
    const Patch& patch = *region.patch;
    for (int e = 0, k = 0; e < patch.elements(); ++e)
      for (int q = 0; q < patch.points_per_element; ++q, ++k, ++p) {
        const auto h = deformation_gradient(patch, velocity, e, q);  // of a velocity: its gradient
        for (std::size_t i = 0; i < 4; ++i) rates.gradient[(4 * p + i) * 4 + lane] = h[i];
        rates.thickness[4 * p + lane] =
            thickness_mm[r][static_cast<std::size_t>(k)] / region.thickness_mm[static_cast<std::size_t>(k)];
      }
  }
}

// The points of a region, four elements at a time.
template <surface::ElementKind kind>
CAPSIM_INLINE void LeafForceRates::look_at_region(const Membrane& membrane, const Leaf::Region& region, const double* x,
                                                  Point* points) noexcept {
  const Patch& patch = *region.patch;
  const double *thickness = region.thickness_mm.data(), *weights = patch.weights.data();
  surface::each_four_points<kind>(
      patch, x, 0, patch.elements(), 0,
      [&](const surface::FourElements<kind>& elements, const TensorOf<Lanes>& f) CAPSIM_INLINE_LAMBDA {
        const surface::Split<Lanes> s(f);
        const auto w = membrane_law::blended<membrane_law::Derivatives::second>(membrane, s.l1(), s.l2());
        const Lanes h = elements.at.of(thickness);
        TensorOf<Lanes> stress;
        Moduli<Lanes> a;
        surface::add_isotropic_stress(s, w, h, stress);
        surface::add_isotropic_tangent(s, w, h, Curvature::exact, a);
        for (int lane = elements.from; lane < elements.to; ++lane) {
          const std::size_t k = elements.at.point[lane];
          Point& p = points[k];
          p.weight = weights[k];
          p.f = {f.xx[lane], f.xy[lane], f.yx[lane], f.yy[lane]};
          p.stress = {stress.xx[lane], stress.xy[lane], stress.yx[lane], stress.yy[lane]};
          for (int i = 0; i < 10; ++i) p.a.value[i] = a.value[i][lane];
        }
      });
}

#if CAPSIM_HAS_WIDE_LANES
template <surface::ElementKind kind>
CAPSIM_WIDE_LANES void LeafForceRates::look_at_region_wide(const Membrane& membrane, const Leaf::Region& region,
                                                           const double* x, Point* points) noexcept {
  look_at_region<kind>(membrane, region, x, points);
}
#endif

void LeafForceRates::look_at(const Leaf& leaf, std::span<const double> x) {
  points_.resize(points_of(leaf));
  Point* points = points_.data();
  for (const Leaf::Region& region : leaf.regions()) {
    surface::with_kind(*region.patch, [&](auto kind) {
#if CAPSIM_HAS_WIDE_LANES
      if constexpr (surface::worth_widening<kind.value>)
        if (wide_lanes()) return look_at_region_wide<kind.value>(leaf.membrane(), region, x.data(), points);
#endif
      look_at_region<kind.value>(leaf.membrane(), region, x.data(), points);
    });
    points += region.patch->points();
  }
}

// tr H P + A : dF + P dh/h - P H^T, times the weight, with dF = -F H.
CAPSIM_INLINE TensorOf<Lanes> LeafForceRates::change_of_stress(const Point& p, const TensorOf<Lanes>& h,
                                                               const Lanes& thickness) {
  const TensorOf<Lanes> f = each_lane(p.f), stress = each_lane(p.stress), df = -f * h;
  TensorOf<Lanes> s = stress;
  s *= h.xx + h.yy + thickness;
  add_contracted(p.a, df, s);
  s -= stress * transposed(h);
  s *= Lanes(p.weight);
  return s;
}

CAPSIM_INLINE void LeafForceRates::add_in_lanes(const Leaf& leaf, const FourLeafRates& rates,
                                                std::span<double> forces) const {
  auto at = points_.begin();
  const double *h_at = rates.gradient.data(), *t_at = rates.thickness.data();
  for (const Leaf::Region& region : leaf.regions()) {
    const Patch& patch = *region.patch;
    const std::size_t n = static_cast<std::size_t>(patch.nodes_per_element);
    for (int e = 0; e < patch.elements(); ++e) {
      VectorOf<Lanes> force[8];
      for (int q = 0; q < patch.points_per_element; ++q, ++at, h_at += 16, t_at += 4) {
        const TensorOf<Lanes> h{Lanes::from(h_at), Lanes::from(h_at + 4), Lanes::from(h_at + 8),
                                Lanes::from(h_at + 12)};
        const TensorOf<Lanes> s = change_of_stress(*at, h, Lanes::from(t_at));
        const TensorOf<Lanes> by_local = s * transposed(each_lane(tensor(patch.local_by_reference(e, q))));
        const double* d = &patch.local_gradient[static_cast<std::size_t>(q) * 2 * n];
        for (std::size_t b = 0; b < n; ++b)
          force[b] += by_local * VectorOf<Lanes>{Lanes(d[2 * b]), Lanes(d[2 * b + 1])};
      }
      const int* nodes = &patch.nodes[static_cast<std::size_t>(e) * n];
      for (std::size_t b = 0; b < n; ++b) {
        double* target = &forces[8 * static_cast<std::size_t>(nodes[b])];
        (Lanes::from(target) + force[b].x).to(target);
        (Lanes::from(target + 4) + force[b].y).to(target + 4);
      }
    }
  }
}

#if CAPSIM_HAS_WIDE_LANES
CAPSIM_WIDE_LANES void LeafForceRates::add_wide(const Leaf& leaf, const FourLeafRates& rates,
                                                std::span<double> forces) const {
  add_in_lanes(leaf, rates, forces);
}
#endif

void LeafForceRates::add(const Leaf& leaf, const FourLeafRates& rates, std::span<double> forces) const {
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes()) return add_wide(leaf, rates, forces);
#endif
  add_in_lanes(leaf, rates, forces);
}

}  // namespace capsim
