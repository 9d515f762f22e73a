// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/fibre_remodelling.hpp"

#include <algorithm>
#include <cmath>

#include "parts/cell_kinetics.hpp"

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

void FibreRemodelling::start(std::span<const double> cells, std::span<double> y) const {
  std::fill(y.begin(), y.end(), 0.0);
  std::copy(cells.begin(), cells.end(), y.begin());
}

void FibreRemodelling::rate(double day, std::span<const double> y, std::span<const double> stretches,
                            std::span<double> dydt) const {
  const std::size_t n = y.size() / variables();
  const double remodel = 1 / spec_.remodelling_days, lay = 1 / spec_.laying_stretch;
  cell_rates(spec_, day, n, y, dydt);
  const double *m = &y[n], *f = &y[2 * n];
  double *dm = &dydt[n], *df = &dydt[2 * n];
  if (spec_.unloaded_deactivation_per_day > 0) {
    // Share of the fibres that are slack, smooth over 2 % of stretch about the natural length.
    const double weights[fibre_families] = {spec_.hoop_weight, 0.5 * spec_.diagonal_weight, 0.5 * spec_.diagonal_weight,
                                            spec_.radial_weight};
    const double sum = spec_.hoop_weight + spec_.diagonal_weight + spec_.radial_weight;
    for (std::size_t p = 0; p < n; ++p) {
      if (f[p] <= no_tissue) continue;
      double slack = 0;
      for (int i = 0; i < fibre_families; ++i)
        slack +=
            weights[i] / sum * 0.5 * (1 - std::tanh((stretches[i * n + p] * f[p] / y[(3 + i) * n + p] - 1) / 0.02));
      dm[p] -= spec_.unloaded_deactivation_per_day * slack * m[p];
    }
  }
  for (int i = 0; i < fibre_families; ++i) {
    const double *v = &y[(3 + i) * n], *l = &stretches[i * n];
    double* dv = &dydt[(3 + i) * n];
    for (std::size_t p = 0; p < n; ++p) {
      const double target = l[p] * lay;
      dv[p] = m[p] * remodel * (f[p] * target - v[p]) + df[p] * target;
    }
  }
}

void FibreRemodelling::apply(std::span<const double> y, FibrousTissue::Fields& fields) const {
  const std::size_t n = fields.fraction.size();
  const double floor = spec_.packing_limit, softness = 0.01;
  for (std::size_t p = 0; p < n; ++p) fields.fraction[p] = std::max(y[2 * n + p], 0.0);
  for (int i = 0; i < fibre_families; ++i)
    for (std::size_t p = 0; p < n; ++p) {
      const double f = fields.fraction[p];
      // Smooth floor: tissue can't be packed beyond the limit.
      fields.natural[i][p] = floored(f > no_tissue ? y[(3 + i) * n + p] / f : 1, floor, softness);
    }
}

}  // namespace capsim
