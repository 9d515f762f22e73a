// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/capsule.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "parts/surface.hpp"

namespace capsim {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

StretchResponse neo_hookean_full(double mu, double l1, double l2) noexcept {
  const double i = 1 / (l1 * l1 * l2 * l2);
  return {0.5 * mu * (l1 * l1 + l2 * l2 + i - 3), mu * (l1 - i / l1),     mu * (l2 - i / l2),
          mu * (1 + 3 * i / (l1 * l1)),           2 * mu * i / (l1 * l2), mu * (1 + 3 * i / (l2 * l2))};
}

StretchResponse neo_hookean_uniaxial(double mu, double l1) noexcept {
  const double i = 1 / l1;
  return {0.5 * mu * (l1 * l1 + 2 * i - 3), mu * (l1 - i * i), 0, mu * (1 + 2 * i * i * i), 0, 0};
}

// From derivatives by the Green-Lagrange strains to derivatives by the stretches.
StretchResponse fung_full(double c, double a1, double a2, double l1, double l2) noexcept {
  const double e1 = 0.5 * (l1 * l1 - 1), e2 = 0.5 * (l2 * l2 - 1);
  const double q1 = a1 * e1 + a2 * e2, q2 = a1 * e2 + a2 * e1;
  const double q = q1 * e1 + q2 * e2, s = c * std::exp(q);
  return {0.5 * c * std::expm1(q),
          s * q1 * l1,
          s * q2 * l2,
          s * ((a1 + 2 * q1 * q1) * l1 * l1 + q1),
          s * (a2 + 2 * q1 * q2) * l1 * l2,
          s * ((a1 + 2 * q2 * q2) * l2 * l2 + q2)};
}

StretchResponse fung_uniaxial(double c, double a1, double a2, double l1) noexcept {
  const double b = a1 - a2 * a2 / a1, e1 = 0.5 * (l1 * l1 - 1);
  const double q = b * e1 * e1, s = c * std::exp(q);
  return {0.5 * c * std::expm1(q), s * b * e1 * l1, 0, s * ((b + 2 * b * b * e1 * e1) * l1 * l1 + b * e1), 0, 0};
}

// Density of a leaf at Gauss point p, for the loops of surface.hpp.
struct LeafDensity {
  const Membrane& membrane;
  const double* thickness;
  const double* growth;  // null: none

  // Elastic part F Fg^-1; returns det Fg.
  double elastic(std::size_t p, const double* f, double* fe, surface::ElasticPart& part) const noexcept {
    const double determinant = part.invert(growth + 4 * p);
    part.of(f, fe);
    return determinant;
  }

  double energy(std::size_t p, const double* f) const noexcept {
    surface::ElasticPart part{{1, 0, 0, 1}};
    double fe[4], scale = thickness[p];
    if (growth != nullptr) {
      scale *= elastic(p, f, fe, part);
      f = fe;
    }
    const surface::Split s(f);
    return s.folded() ? infinite : scale * membrane.blended(s.l1(), s.l2()).w;
  }

  double stress(std::size_t p, const double* f, double* stress) const noexcept {
    surface::ElasticPart part{{1, 0, 0, 1}};
    double fe[4], scale = thickness[p];
    if (growth != nullptr) {
      scale *= elastic(p, f, fe, part);
      f = fe;
    }
    const surface::Split s(f);
    if (s.folded()) return infinite;
    const StretchResponse w = membrane.blended(s.l1(), s.l2());
    surface::add_isotropic_stress(s, w, scale, stress);
    if (growth != nullptr) part.pull_back_stress(stress);
    return scale * w.w;
  }

  void tangent(std::size_t p, const double* f, Curvature curvature, double* a) const noexcept {
    surface::ElasticPart part{{1, 0, 0, 1}};
    double fe[4], scale = thickness[p];
    if (growth != nullptr) {
      scale *= elastic(p, f, fe, part);
      f = fe;
    }
    const surface::Split s(f);
    if (s.folded()) return;
    surface::add_isotropic_tangent(s, membrane.blended(s.l1(), s.l2()), scale, curvature, a);
    if (growth != nullptr) part.pull_back_tangent(a);
  }
};

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
  return law == CapsuleLaw::neo_hookean ? neo_hookean_full(mu_kPa, l1, l2) : fung_full(c_kPa, a1, a2, l1, l2);
}

TautState taut_state(const Membrane& m, double l1, double l2) noexcept {
  if (l1 <= 1) return TautState::slack;
  const bool taut =
      m.law == CapsuleLaw::neo_hookean ? l2 * l2 * l1 >= 1 : m.a1 * (l2 * l2 - 1) + m.a2 * (l1 * l1 - 1) >= 0;
  return taut ? TautState::taut : TautState::wrinkled;
}

StretchResponse Membrane::relaxed(double l1, double l2) const noexcept {
  switch (taut_state(*this, l1, l2)) {
    case TautState::slack:
      return {};
    case TautState::wrinkled:
      return law == CapsuleLaw::neo_hookean ? neo_hookean_uniaxial(mu_kPa, l1) : fung_uniaxial(c_kPa, a1, a2, l1);
    default:
      return full(l1, l2);
  }
}

StretchResponse Membrane::blended(double l1, double l2) const noexcept {
  if (taut_state(*this, l1, l2) == TautState::taut || compression_fraction >= 1) return full(l1, l2);
  const StretchResponse r = relaxed(l1, l2);
  if (compression_fraction <= 0) return r;
  const StretchResponse f = full(l1, l2);
  const double a = 1 - compression_fraction, b = compression_fraction;
  return {a * r.w + b * f.w,     a * r.w1 + b * f.w1,   a * r.w2 + b * f.w2,
          a * r.w11 + b * f.w11, a * r.w12 + b * f.w12, a * r.w22 + b * f.w22};
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
    total += surface::with_nodes(*region.patch, [&](auto n) {
      return surface::energy<n>(*region.patch, x.data(), 0, region.patch->elements(), density_of(membrane_, region));
    });
  return total;
}

double Leaf::gradient(std::span<const double> x, std::span<double> g) const {
  double total = 0;
  for (const Region& region : regions_)
    total += surface::with_nodes(*region.patch, [&](auto n) {
      return surface::gradient<n>(*region.patch, x.data(), g.data(), 0, region.patch->elements(),
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
    total += surface::with_nodes(patch, [&](auto n) {
      const int last = patch.elements();
      // Thickness and growth stay in space: what a moved point meets is their value there.
      ahead = behind = region;
      for (auto [side, step] :
           {std::pair{&ahead, surface::field_step_mm}, std::pair{&behind, -surface::field_step_mm}}) {
        surface::follow_field<n>(patch, shift, 0, last, 1, step, side->thickness_mm);
        surface::follow_field<n>(patch, shift, 0, last, 4, step, side->growth);
      }
      return surface::energy_by_reference<n>(patch, x.data(), shift.data(), 0, last, density_of(membrane_, region)) +
             surface::energy_between<n>(patch, x.data(), shift.data(), 0, last, density_of(membrane_, ahead),
                                        density_of(membrane_, behind)) /
                 (2 * surface::field_step_mm);
    });
  }
  return total;
}

void Leaf::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  std::size_t clique = 0;
  for (const Region& region : regions_) {
    surface::with_nodes(*region.patch, [&](auto n) {
      surface::hessian<n>(*region.patch, x.data(), curvature, clique, tangent, 0, region.patch->elements(),
                          density_of(membrane_, region));
    });
    clique += static_cast<std::size_t>(region.patch->elements());
  }
}

std::array<double, 4> deformation_gradient(const Patch& patch, std::span<const double> x, int element,
                                           int point) noexcept {
  std::array<double, 4> f{};
  const std::size_t n = static_cast<std::size_t>(patch.nodes_per_element);
  const double* d = &patch.gradients[(static_cast<std::size_t>(element) * patch.points_per_element + point) * 2 * n];
  for (std::size_t a = 0; a < n; ++a) {
    const std::size_t node = static_cast<std::size_t>(patch.nodes[static_cast<std::size_t>(element) * n + a]);
    for (int i = 0; i < 2; ++i)
      for (int j = 0; j < 2; ++j) f[2 * i + j] += x[2 * node + i] * d[2 * a + j];
  }
  return f;
}

std::array<double, 2> principal_stretches(const std::array<double, 4>& f) noexcept {
  const surface::Split s(f.data());
  return {s.l1(), s.l2()};
}

}  // namespace capsim
