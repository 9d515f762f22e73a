// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/capsule.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "parts/leaf_density.hpp"
#include "parts/membrane_kinks.hpp"
#include "parts/surface.hpp"

namespace capsim {
namespace {

using membrane_law::Derivatives;

LeafDensity density_of(const Membrane& membrane, const Leaf::Region& region) {
  return {membrane, region.thickness_mm.data(), region.growth.empty() ? nullptr : region.growth.data()};
}

}  // namespace

void surface::add_element_cliques(const Patch& patch, int first, int last, Cliques& cliques) {
  const int n = patch.nodes_per_element;
  std::vector<int> coordinates(2 * static_cast<std::size_t>(n));
  for (int e = first; e < last; ++e) {
    for (int a = 0; a < n; ++a) {
      coordinates[2 * a] = 2 * patch.nodes[static_cast<std::size_t>(e) * n + a];
      coordinates[2 * a + 1] = coordinates[2 * a] + 1;
    }
    cliques.add(coordinates);
  }
}

Membrane::Membrane(const CapsuleSpec& spec)
    : law(spec.law),
      mu_kPa(spec.modulus_kPa / 3),
      c_kPa(spec.fung_c_kPa),
      a1(spec.fung_a1),
      a2(spec.fung_a2),
      compression_fraction(spec.compression_fraction) {}

StretchResponse Membrane::full(double l1, double l2) const noexcept {
  return membrane_law::full<Derivatives::second>(*this, l1, l2);
}

TautState taut_state(const Membrane& m, double l1, double l2) noexcept {
  if (l1 <= 1) return TautState::slack;
  return membrane_law::is_taut(m, l1, l2) ? TautState::taut : TautState::wrinkled;
}

StretchResponse Membrane::relaxed(double l1, double l2) const noexcept {
  return membrane_law::mixture<Derivatives::second>(*this, membrane_law::Shares<double>{1, 0, 1}, l1, l2);
}

StretchResponse Membrane::blended(double l1, double l2) const noexcept {
  return membrane_law::blended<Derivatives::second>(*this, l1, l2);
}

double Membrane::small_strain_modulus_kPa() const noexcept {
  return law == CapsuleLaw::neo_hookean ? 3 * mu_kPa : c_kPa * (a1 - a2 * a2 / a1);
}

double anterior_thickness_mm(const CapsuleSpec& spec, double ratio) noexcept {
  const auto& knots = spec.anterior_thickness_profile;
  if (knots.empty()) return 1e-3 * spec.anterior_thickness_um;
  if (ratio <= knots.front().radius_ratio) return 1e-3 * knots.front().thickness_um;
  for (std::size_t k = 1; k < knots.size(); ++k)
    if (ratio <= knots[k].radius_ratio) {
      const double t = (ratio - knots[k - 1].radius_ratio) / (knots[k].radius_ratio - knots[k - 1].radius_ratio);
      return 1e-3 * (knots[k - 1].thickness_um + t * (knots[k].thickness_um - knots[k - 1].thickness_um));
    }
  return 1e-3 * knots.back().thickness_um;
}

Leaf::Leaf(std::string_view name, Membrane membrane, std::vector<Region> regions)
    : name_(name), membrane_(membrane), regions_(std::move(regions)) {}
Leaf::~Leaf() = default;
Leaf::Leaf(const Leaf&) = default;

std::unique_ptr<Part> Leaf::clone() const { return std::make_unique<Leaf>(*this); }

void Leaf::couplings(std::span<const double>, Cliques& cliques) {
  for (const Region& region : regions_)
    surface::add_element_cliques(*region.patch, 0, region.patch->elements(), cliques);
}

double Leaf::energy(std::span<const double> x) const {
  double total = 0;
  for (const Region& region : regions_)
    total += surface::with_kind(*region.patch, [&](auto kind) {
      return surface::energy<kind.value>(*region.patch, x.data(), 0, region.patch->elements(),
                                         density_of(membrane_, region));
    });
  return total;
}

double Leaf::gradient(std::span<const double> x, std::span<double> g) const {
  double total = 0;
  for (const Region& region : regions_)
    total += surface::with_kind(*region.patch, [&](auto kind) {
      return surface::gradient<kind.value>(*region.patch, x.data(), g.data(), 0, region.patch->elements(),
                                           density_of(membrane_, region));
    });
  return total;
}

double Leaf::energy_by_reference(std::span<const double> x, std::span<const double> shift, Region& ahead,
                                 Region& behind) const {
  double total = 0;
  for (const Region& region : regions_) {
    const Patch& patch = *region.patch;
    if (patch.nodes_per_element != 4 && patch.nodes_per_element != 8) continue;
    total += surface::with_kind(patch, [&](auto kind) {
      const int last = patch.elements();
      // Thickness and growth stay in space: what a moved point meets is their value there.
      ahead = behind = region;
      for (auto [side, step] :
           {std::pair{&ahead, surface::field_step_mm}, std::pair{&behind, -surface::field_step_mm}}) {
        surface::follow_field<kind.value.nodes>(patch, shift, 0, last, 1, step, side->thickness_mm);
        surface::follow_field<kind.value.nodes>(patch, shift, 0, last, 4, step, side->growth);
      }
      return surface::energy_by_reference<kind.value>(patch, x.data(), shift.data(), 0, last,
                                                      density_of(membrane_, region)) +
             surface::energy_between<kind.value>(patch, x.data(), shift.data(), 0, last, density_of(membrane_, ahead),
                                                 density_of(membrane_, behind)) /
                 (2 * surface::field_step_mm);
    });
  }
  return total;
}

void Leaf::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  std::size_t clique = 0;
  for (const Region& region : regions_) {
    surface::with_kind(*region.patch, [&](auto kind) {
      surface::hessian<kind.value>(*region.patch, x.data(), curvature, clique, tangent, 0, region.patch->elements(),
                                   density_of(membrane_, region));
    });
    clique += static_cast<std::size_t>(region.patch->elements());
  }
}

void Leaf::kinks(std::span<const double> x, KinkValues& values) const {
  if (membrane_.compression_fraction >= 1) return;  // the full law everywhere
  for (const Region& region : regions_) {
    const Patch& patch = *region.patch;
    const LeafDensity density = density_of(membrane_, region);
    const std::span<double> here = values.add(Kink::wrinkle, 2 * static_cast<std::size_t>(patch.points()));
    surface::with_kind(patch, [&](auto kind) {
      surface::each_four_points<kind.value>(
          patch, x.data(), 0, patch.elements(), 0, [&](const auto& elements, const auto& f) {
            put_membrane_kinks(membrane_, elements, density.grown(elements.at, f).f, here);
          });
    });
  }
}

std::array<double, 4> deformation_gradient(const Patch& patch, std::span<const double> x, int element,
                                           int point) noexcept {
  const Tensor f = surface::with_kind(patch, [&](auto kind) {
    double position[2 * kind.value.nodes];
    surface::gather<kind.value.nodes>(patch, x.data(), element, position);
    return surface::deformation<kind.value.nodes>(patch, position, element, point);
  });
  return {f.xx, f.xy, f.yx, f.yy};
}

std::array<double, 2> principal_stretches(const std::array<double, 4>& f) noexcept {
  const surface::Split<double> s(tensor(f));
  return {s.l1(), s.l2()};
}

}  // namespace capsim
