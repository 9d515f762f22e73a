// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/active_lock_in.hpp"

#include <algorithm>
#include <cmath>

#include "parts/cell_kinetics.hpp"
#include "parts/pulled_length.hpp"
#include "parts/tissue_sheet.hpp"

namespace capsim {
namespace {

constexpr double softness = 0.01;                    // of the corner at the packing limit, in stretch
constexpr double least_active = 1e-3;                // cells fewer than these are counted as so many, in a quotient
constexpr double half_load = 0.5, load_width = 0.2;  // share of the pull passed on at which half of it is let go

double root(double square) noexcept { return std::sqrt(std::max(square, 0.0)); }

// The stretch whose square is `metric`, kept above the packing limit; positive definite for any input.
SymmetricTensor stretch_above(const SymmetricTensor& metric, double floor) noexcept {
  return of_eigenvalues(metric, [floor](double v) { return floored(root(v), floor, softness); });
}

TissueMaterial sheet_of(const ContractionSpec& spec) noexcept {
  TissueMaterial m;
  m.thickness_mm = spec.tissue_thickness_mm;
  m.matrix_modulus_kPa = spec.matrix_modulus_kPa;
  m.sheet_modulus_kPa = spec.locked_modulus_kPa;
  return m;
}

}  // namespace

std::optional<TissueMaterial> ActiveLockIn::material() const { return sheet_of(spec_); }

double ActiveLockIn::force_scale_mN_per_mm() const noexcept { return spec_.active_tension_mN_per_mm; }

void ActiveLockIn::start(std::span<const double> cells, std::span<double> y) const {
  std::fill(y.begin(), y.end(), 0.0);
  std::copy(cells.begin(), cells.end(), y.begin());
}

void ActiveLockIn::rate(double day, std::span<const double> y, std::span<const double> stretches,
                        std::span<double> dydt) const {
  const std::size_t n = y.size() / variables();
  cell_rates(spec_, day, n, y, dydt);
  const double floor = spec_.packing_limit;
  const bool lets_go = spec_.unloaded_deactivation_per_day > 0 && spec_.active_tension_mN_per_mm > 0;
  const TissueSheet sheet(sheet_of(spec_));
  for (std::size_t p = 0; p < n; ++p) {
    const auto [rr, rh, hh] = right_cauchy_green(stretches, n, p);
    const SymmetricTensor metric{rr, rh, hh};
    const double m = y[n + p], f = y[2 * n + p], df = dydt[2 * n + p];
    SymmetricTensor flow, laid = metric;
    if (f > no_tissue) {
      const SymmetricTensor natural = stretch_above({y[3 * n + p] / f, y[4 * n + p] / f, y[5 * n + p] / f}, floor);
      // What the tissue gives way to is kept above the packing limit as well, so that it comes to rest there.
      const SymmetricTensor wanted = stretch_above(metric, floor);
      const SymmetricTensor square{wanted.xx * wanted.xx + wanted.xy * wanted.xy, wanted.xy * (wanted.xx + wanted.yy),
                                   wanted.yy * wanted.yy + wanted.xy * wanted.xy};
      // Positive definite for any input, since both stretches are above the limit.
      const SymmetricTensor shortening =
          of_eigenvalues(congruent(inverse(natural), square), [](double v) { return v < 1 ? std::log(v) : 0; });
      flow = congruent(natural, shortening);
      laid = congruent(natural, of_eigenvalues(shortening, [](double v) { return std::exp(v); }));
      if (lets_go) {
        const SymmetricTensor stretch = of_eigenvalues(metric, root);
        const double passive = spec_.tissue_thickness_mm * sheet.hoop_stress_kPa(stretch, natural);
        const double share = PulledLength(stretches[p], floor).slope +
                             passive / (spec_.active_tension_mN_per_mm * std::max(m, least_active));
        dydt[n + p] -=
            spec_.unloaded_deactivation_per_day * m * 0.5 * (1 - std::tanh((share - half_load) / load_width));
      }
    }
    const double gives_way = spec_.lock_in_per_day * m * f;
    dydt[3 * n + p] = gives_way * flow.xx + df * laid.xx;
    dydt[4 * n + p] = gives_way * flow.xy + df * laid.xy;
    dydt[5 * n + p] = gives_way * flow.yy + df * laid.yy;
  }
}

void ActiveLockIn::apply(std::span<const double> y, FibrousTissue::Fields& fields) const {
  const std::size_t n = fields.fraction.size();
  for (auto& values : fields.active) values.resize(n);  // zero for the families that do not pull
  for (auto& values : fields.natural_sheet) values.resize(n);
  fields.stall = spec_.packing_limit;
  for (std::size_t p = 0; p < n; ++p) {
    const double f = std::max(y[2 * n + p], 0.0), pull = spec_.active_tension_mN_per_mm * std::max(y[n + p], 0.0) * f;
    fields.fraction[p] = f;
    fields.active[0][p] = pull;
    fields.active[3][p] = spec_.active_radial_share * pull;
    const SymmetricTensor natural =
        f > no_tissue ? stretch_above({y[3 * n + p] / f, y[4 * n + p] / f, y[5 * n + p] / f}, spec_.packing_limit)
                      : SymmetricTensor{1, 0, 1};
    fields.natural_sheet[0][p] = natural.xx;
    fields.natural_sheet[1][p] = natural.xy;
    fields.natural_sheet[2][p] = natural.yy;
  }
}

}  // namespace capsim
