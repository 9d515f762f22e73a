// SPDX-License-Identifier: BSD-3-Clause
#include "parts/leaf_force_rates.hpp"

#include <algorithm>

#include "geometry/lanes.hpp"
#include "parts/surface.hpp"

namespace capsim {
namespace {

std::size_t points_of(const Leaf& leaf) {
  std::size_t points = 0;
  for (const Leaf::Region& region : leaf.regions()) points += static_cast<std::size_t>(region.patch->points());
  return points;
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

void LeafForceRates::look_at(const Leaf& leaf, std::span<const double> x) {
  points_.assign(numbers * points_of(leaf), 0.0);
  double* at = points_.data();
  for (const Leaf::Region& region : leaf.regions()) {
    const Patch& patch = *region.patch;
    for (int e = 0, k = 0; e < patch.elements(); ++e)
      for (int q = 0; q < patch.points_per_element; ++q, ++k, at += numbers) {
        const auto f = deformation_gradient(patch, x, e, q);
        const double h = region.thickness_mm[static_cast<std::size_t>(k)];
        const surface::Split s(f.data());
        const StretchResponse w = leaf.membrane().blended(s.l1(), s.l2());
        at[0] = patch.weights[static_cast<std::size_t>(k)];
        std::copy(f.begin(), f.end(), at + 1);
        surface::add_isotropic_stress(s, w, h, at + 5);
        surface::Moduli<double> a;
        surface::add_isotropic_tangent(s, w, h, Curvature::exact, a);
        for (int i = 0, n = 9; i < 4; ++i)  // the lower half: it is symmetric
          for (int j = 0; j <= i; ++j) at[n++] = a(i, j);
      }
  }
}

void LeafForceRates::add(const Leaf& leaf, const FourLeafRates& rates, std::span<double> forces) const {
  const double *at = points_.data(), *h_at = rates.gradient.data(), *t_at = rates.thickness.data();
  for (const Leaf::Region& region : leaf.regions()) {
    const Patch& patch = *region.patch;
    const std::size_t n = static_cast<std::size_t>(patch.nodes_per_element);
    const double* d = patch.gradients.data();
    for (int e = 0; e < patch.elements(); ++e) {
      Lanes force[16];
      std::fill(force, force + 2 * n, Lanes::all(0));
      for (int q = 0; q < patch.points_per_element; ++q, at += numbers, h_at += 16, t_at += 4, d += 2 * n) {
        const double w = at[0], *f = at + 1, *p = at + 5, *a = at + 9;
        Lanes h[4], df[4], s[4];
        for (int i = 0; i < 4; ++i) h[i] = Lanes::from(h_at + 4 * i);
        for (int i = 0; i < 2; ++i)
          for (int j = 0; j < 2; ++j)
            df[2 * i + j] = Lanes::all(-f[2 * i]) * h[j] - Lanes::all(f[2 * i + 1]) * h[2 + j];
        const Lanes bulk = h[0] + h[3] + Lanes::from(t_at);
        constexpr int row[4] = {0, 1, 3, 6};  // of the lower half
        for (int i = 0; i < 4; ++i) {
          s[i] = Lanes::all(p[i]) * bulk;
          for (int j = 0; j < 4; ++j) s[i] += Lanes::all(i >= j ? a[row[i] + j] : a[row[j] + i]) * df[j];
        }
        for (int i = 0; i < 2; ++i)
          for (int k = 0; k < 2; ++k) {
            s[2 * i + k] -= Lanes::all(p[2 * i]) * h[2 * k] + Lanes::all(p[2 * i + 1]) * h[2 * k + 1];
            s[2 * i + k] = Lanes::all(w) * s[2 * i + k];
          }
        for (std::size_t b = 0; b < n; ++b)
          for (std::size_t i = 0; i < 2; ++i)
            force[2 * b + i] += s[2 * i] * Lanes::all(d[2 * b]) + s[2 * i + 1] * Lanes::all(d[2 * b + 1]);
      }
      const int* nodes = &patch.nodes[static_cast<std::size_t>(e) * n];
      for (std::size_t b = 0; b < n; ++b)
        for (std::size_t i = 0; i < 2; ++i) {
          double* target = &forces[4 * (2 * static_cast<std::size_t>(nodes[b]) + i)];
          (Lanes::from(target) + force[2 * b + i]).to(target);
        }
    }
  }
}

}  // namespace capsim
