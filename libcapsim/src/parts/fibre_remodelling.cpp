// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/fibre_remodelling.hpp"

#include <algorithm>
#include <cmath>

#include "parts/cell_kinetics.hpp"
#include "parts/law_makers.hpp"

namespace capsim {

std::optional<TissueMaterial> FibreRemodelling::material() const {
  const double unit = spec_.tissue_thickness_mm * spec_.fibre_modulus_kPa;
  TissueMaterial m;
  m.thickness_mm = spec_.tissue_thickness_mm;
  m.fibre_stiffness_mN_per_mm = {spec_.hoop_weight * unit, 0.5 * spec_.diagonal_weight * unit,
                                 0.5 * spec_.diagonal_weight * unit, spec_.radial_weight * unit};
  m.matrix_modulus_kPa = spec_.matrix_modulus_kPa;
  return m;
}

double FibreRemodelling::force_scale_mN_per_mm() const noexcept {
  return spec_.fibre_modulus_kPa * spec_.tissue_thickness_mm;
}

std::unique_ptr<ContractionLaw> FibreRemodelling::changed(const ContractionChange& change) const {
  return std::unique_ptr<ContractionLaw>(new FibreRemodelling(with_change(spec_, change), families_));
}

std::unique_ptr<ContractionLaw> FibreRemodelling::without_idle_variables() const {
  const double weight[fibre_families] = {spec_.hoop_weight, spec_.diagonal_weight, spec_.diagonal_weight,
                                         spec_.radial_weight};
  std::vector<std::size_t> pulling;
  for (const std::size_t i : families_)
    if (weight[i] > 0) pulling.push_back(i);
  if (pulling.size() == families_.size()) return nullptr;
  return std::unique_ptr<ContractionLaw>(new FibreRemodelling(spec_, std::move(pulling)));
}

namespace {

constexpr double least_pull = 1e-3;  // of full tissue at a strain of 1: fibres that pull less are slack

// Trace of the tension [mN/mm] with which the matrix, compressed, withstands the fibres; 0 or negative as a rule.
double matrix_answer(const Membrane& matrix, double thickness, double rr, double rh, double hh) {
  const double mean = 0.5 * (rr + hh), radius = std::hypot(0.5 * (rr - hh), rh);
  const double l1 = std::sqrt(mean + radius), l2 = std::sqrt(std::max(mean - radius, 1e-6 * mean));
  if (taut_state(matrix, l1, l2) == TautState::taut) return 0;
  const StretchResponse full = matrix.full(l1, l2), relaxed = matrix.relaxed(l1, l2);
  return thickness * (l1 * (full.w1 - relaxed.w1) + l2 * (full.w2 - relaxed.w2));
}

}  // namespace

void FibreRemodelling::let_go(std::span<const double> y, std::span<const double> stretches,
                              std::span<double> dm) const {
  constexpr double half_load = 0.5, load_width = 0.2;  // as under active lock-in
  const std::size_t n = dm.size();
  const TissueMaterial tissue = *material();
  double whole = 0;
  for (const double stiffness : tissue.fibre_stiffness_mN_per_mm) whole += stiffness;
  Membrane matrix;
  matrix.mu_kPa = spec_.matrix_modulus_kPa / 3;
  const double *m = &y[n], *f = &y[2 * n];
  for (std::size_t p = 0; p < n; ++p) {
    if (f[p] <= no_tissue) continue;
    double pull = 0;
    for (std::size_t k = 0; k < families_.size(); ++k) {
      const std::size_t i = families_[k];
      const double stretch = stretches[i * n + p], v = std::max(y[(3 + k) * n + p] / f[p], spec_.packing_limit);
      pull += tissue.fibre_stiffness_mN_per_mm[i] * std::max(stretch / v - 1, 0.0) * stretch / v;
    }
    const auto [rr, rh, hh] = right_cauchy_green(stretches, n, p);
    const double answer =
        spec_.matrix_modulus_kPa > 0 ? matrix_answer(matrix, spec_.tissue_thickness_mm, rr, rh, hh) : 0.0;
    // Fibres without stiffness or thickness are slack, as those that pull less than the least.
    const double pulled = pull + least_pull * whole, share = pulled > 0 ? (pull + answer) / pulled : 0;
    dm[p] -= spec_.unloaded_deactivation_per_day * m[p] * 0.5 * (1 - std::tanh((share - half_load) / load_width));
  }
}

void FibreRemodelling::start(std::span<const double> cells, std::span<double> y) const {
  std::fill(y.begin(), y.end(), 0.0);
  std::copy(cells.begin(), cells.end(), y.begin());
}

namespace {

// Rates of f v, family by family; those of f are there already.
CAPSIM_INLINE void fibre_rates(const ContractionSpec& spec, std::span<const std::size_t> families, std::size_t n,
                               std::span<const double> y, std::span<const double> stretches,
                               std::span<double> dydt) noexcept {
  const double remodel = 1 / spec.remodelling_days, lay = 1 / spec.laying_stretch;
  const double *m = &y[n], *f = &y[2 * n], *df = &dydt[2 * n];
  for (std::size_t k = 0; k < families.size(); ++k) {
    const double *v = &y[(3 + k) * n], *l = &stretches[families[k] * n];
    double* CAPSIM_ALONE dv = &dydt[(3 + k) * n];
    for (std::size_t p = 0; p < n; ++p) {
      const double target = l[p] * lay;
      dv[p] = m[p] * remodel * (f[p] * target - v[p]) + df[p] * target;
    }
  }
}

constexpr double softness = 0.01;  // of the corner at the packing limit, in stretch

// Natural stretch of fibres that are `share` of the full tissue: tissue can't be packed beyond the limit.
template <class T>
CAPSIM_INLINE T natural_stretch(const T& times_share, const T& share, double floor) noexcept {
  const T one(1.0);
  const auto some = share > T(no_tissue);
  return floored(pick(some, times_share / pick(some, share, one), one), floor, softness);
}

CAPSIM_INLINE void natural_stretches(const double* times_share, const double* share, std::size_t n, double floor,
                                     double* natural) noexcept {
  std::size_t p = 0;
  for (; p + 4 <= n; p += 4)
    natural_stretch(Lanes::from(times_share + p), Lanes::from(share + p), floor).to(natural + p);
  for (; p < n; ++p) natural[p] = natural_stretch(times_share[p], share[p], floor);
}

CAPSIM_INLINE void kinetics(const ContractionSpec& spec, std::span<const std::size_t> families, double day,
                            std::size_t n, std::span<const double> y, std::span<const double> stretches,
                            std::span<double> dydt) noexcept {
  cell_rates(spec, day, n, y, dydt);
  fibre_rates(spec, families, n, y, stretches, dydt);
}

#if CAPSIM_HAS_WIDE_LANES
CAPSIM_WIDE_LANES void kinetics_wide(const ContractionSpec& spec, std::span<const std::size_t> families, double day,
                                     std::size_t n, std::span<const double> y, std::span<const double> stretches,
                                     std::span<double> dydt) noexcept {
  kinetics(spec, families, day, n, y, stretches, dydt);
}
CAPSIM_WIDE_LANES void natural_stretches_wide(const double* times_share, const double* share, std::size_t n,
                                              double floor, double* natural) noexcept {
  natural_stretches(times_share, share, n, floor, natural);
}
#endif

}  // namespace

void FibreRemodelling::rate(double day, std::span<const double> y, std::span<const double> stretches,
                            std::span<double> dydt) const {
  const std::size_t n = y.size() / variables();
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes())
    kinetics_wide(spec_, families_, day, n, y, stretches, dydt);
  else
#endif
    kinetics(spec_, families_, day, n, y, stretches, dydt);
  if (spec_.unloaded_deactivation_per_day > 0) let_go(y, stretches, dydt.subspan(n, n));
}

void FibreRemodelling::apply(std::span<const double> y, FibrousTissue::Fields& fields) const {
  const std::size_t n = fields.fraction.size();
  for (std::size_t p = 0; p < n; ++p) fields.fraction[p] = std::max(y[2 * n + p], 0.0);
  for (std::size_t k = 0; k < families_.size(); ++k) {
    const double* times_share = &y[(3 + k) * n];
    double* natural = fields.natural[families_[k]].data();
#if CAPSIM_HAS_WIDE_LANES
    if (wide_lanes()) {
      natural_stretches_wide(times_share, fields.fraction.data(), n, spec_.packing_limit, natural);
      continue;
    }
#endif
    natural_stretches(times_share, fields.fraction.data(), n, spec_.packing_limit, natural);
  }
}

std::unique_ptr<ContractionLaw> make_fibre_remodelling(const ContractionSpec& spec) {
  return std::make_unique<FibreRemodelling>(spec);
}

}  // namespace capsim
