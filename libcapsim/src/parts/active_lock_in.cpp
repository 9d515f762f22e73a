// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/active_lock_in.hpp"

#include <algorithm>
#include <cmath>

#include "parts/cell_kinetics.hpp"
#include "parts/law_makers.hpp"
#include "parts/pulled_length.hpp"
#include "parts/tissue_sheet.hpp"

namespace capsim {
namespace {

constexpr double softness = 0.01;                    // of the corner at the packing limit, in stretch
constexpr double least_active = 1e-3;                // cells fewer than these are counted as so many, in a quotient
constexpr double half_load = 0.5, load_width = 0.2;  // share of the pull passed on at which half of it is let go

template <class T>
CAPSIM_INLINE T root(const T& square) noexcept {
  return sqrt(larger(square, T(0.0)));
}

// The stretch whose square is `metric`, kept above the packing limit; positive definite for any input.
template <class T>
CAPSIM_INLINE SymmetricTensorOf<T> stretch_above(const SymmetricTensorOf<T>& metric, double floor) noexcept {
  const Eigenvalues<T> squares(metric);
  return squares.with(floored(root(squares.high), floor, softness), floored(root(squares.low), floor, softness));
}

// Where the rates read and write.
struct AtPoints {
  const double *y, *stretches;
  double* dydt;
  std::size_t n;
  const ContractionSpec& spec;
};

double load(const double* p, double) noexcept { return *p; }
CAPSIM_INLINE Lanes load(const double* p, const Lanes&) noexcept { return Lanes::from(p); }
void store(double* p, double v) noexcept { *p = v; }
CAPSIM_INLINE void store(double* p, const Lanes& v) noexcept { v.to(p); }

// Of a length of 1 at most; where none is shortened nothing is to be done.
template <class T>
CAPSIM_INLINE T log_of_shortened(const T& length) noexcept {
  return any(length < T(1.0)) ? log(length) : T(0.0);
}

// Rates of f times the metric of the natural state, at the point p or at it and the three after it; those of c, m and f
// are there already.
template <class T>
CAPSIM_INLINE void natural_rates(const AtPoints& at, std::size_t p) noexcept {
  using Tensor = SymmetricTensorOf<T>;
  const T one(1.0), zero(0.0);
  const auto state = [&](std::size_t variable) CAPSIM_INLINE_LAMBDA { return load(at.y + variable * at.n + p, one); };
  const auto stretch = [&](std::size_t family)
                           CAPSIM_INLINE_LAMBDA { return load(at.stretches + family * at.n + p, one); };
  const T hoop = stretch(0), plus = stretch(1), minus = stretch(2), radial = stretch(3);
  const Tensor metric{radial * radial, 0.5 * (plus - minus) * (plus + minus), hoop * hoop};  // right_cauchy_green
  const T m = state(1), f = state(2), df = load(at.dydt + 2 * at.n + p, one);
  const auto some = f > T(no_tissue);
  const T over = 1.0 / pick(some, f, one);
  const double floor = at.spec.packing_limit;
  const Tensor natural = stretch_above(Tensor{state(3) * over, state(4) * over, state(5) * over}, floor);
  // What the tissue gives way to is kept above the packing limit as well, so that it comes to rest there.
  const Tensor wanted = stretch_above(metric, floor);
  const Tensor square{wanted.xx * wanted.xx + wanted.xy * wanted.xy, wanted.xy * (wanted.xx + wanted.yy),
                      wanted.yy * wanted.yy + wanted.xy * wanted.xy};
  // Positive definite for any input, since both stretches are above the limit. What is longer than natural is taken as
  // it is: the tissue gives way to shortening only.
  const Eigenvalues<T> kept(congruent(inverse(natural), square));
  const T high = pick(kept.high < one, kept.high, one), low = pick(kept.low < one, kept.low, one);
  const Tensor flow = congruent(natural, kept.with(log_of_shortened(high), log_of_shortened(low))),
               laid = congruent(natural, kept.with(high, low));
  const T gives_way = pick(some, at.spec.lock_in_per_day * m * f, zero);
  const auto put = [&](std::size_t variable, const T& flows, const T& lies, const T& as_it_lies) {
    store(at.dydt + variable * at.n + p, gives_way * flows + df * pick(some, lies, as_it_lies));
  };
  put(3, flow.xx, laid.xx, metric.xx);
  put(4, flow.xy, laid.xy, metric.xy);
  put(5, flow.yy, laid.yy, metric.yy);
}

CAPSIM_INLINE void all_rates(const AtPoints& at, double day) noexcept {
  const std::size_t of_cells = 3 * at.n;
  cell_rates(at.spec, day, at.n, {at.y, of_cells}, {at.dydt, of_cells});
  std::size_t p = 0;
  for (; p + 4 <= at.n; p += 4) natural_rates<Lanes>(at, p);
  for (; p < at.n; ++p) natural_rates<double>(at, p);
}

// What carries the load, at the point p or at it and the three after it.
template <class T>
CAPSIM_INLINE void fields_at(const ContractionSpec& spec, const double* y, std::size_t n, std::size_t p,
                             FibrousTissue::Fields& fields) noexcept {
  using Tensor = SymmetricTensorOf<T>;
  const T one(1.0), zero(0.0);
  const auto state = [&](std::size_t variable) CAPSIM_INLINE_LAMBDA { return load(y + variable * n + p, one); };
  const T f = larger(state(2), zero), pull = spec.active_tension_mN_per_mm * larger(state(1), zero) * f;
  store(&fields.fraction[p], f);
  store(&fields.active[0][p], pull);
  store(&fields.active[3][p], spec.active_radial_share * pull);
  const auto some = f > T(no_tissue);
  const T share = pick(some, f, one);
  const Tensor natural =
      stretch_above(Tensor{state(3) / share, state(4) / share, state(5) / share}, spec.packing_limit);
  store(&fields.natural_sheet[0][p], pick(some, natural.xx, one));
  store(&fields.natural_sheet[1][p], pick(some, natural.xy, zero));
  store(&fields.natural_sheet[2][p], pick(some, natural.yy, one));
}

CAPSIM_INLINE void all_fields(const ContractionSpec& spec, const double* y, std::size_t n,
                              FibrousTissue::Fields& fields) noexcept {
  std::size_t p = 0;
  for (; p + 4 <= n; p += 4) fields_at<Lanes>(spec, y, n, p, fields);
  for (; p < n; ++p) fields_at<double>(spec, y, n, p, fields);
}

#if CAPSIM_HAS_WIDE_LANES
CAPSIM_WIDE_LANES void all_rates_wide(const AtPoints& at, double day) noexcept { all_rates(at, day); }
CAPSIM_WIDE_LANES void all_fields_wide(const ContractionSpec& spec, const double* y, std::size_t n,
                                       FibrousTissue::Fields& fields) noexcept {
  all_fields(spec, y, n, fields);
}
#endif

TissueMaterial sheet_of(const ContractionSpec& spec) noexcept {
  TissueMaterial m;
  m.thickness_mm = spec.tissue_thickness_mm;
  m.matrix_modulus_kPa = spec.matrix_modulus_kPa;
  m.sheet_modulus_kPa = spec.locked_modulus_kPa;
  return m;
}

// Cells that carry no load let go.
void let_go(const ContractionSpec& spec, std::size_t n, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) {
  const double floor = spec.packing_limit;
  const TissueSheet sheet(sheet_of(spec));
  for (std::size_t p = 0; p < n; ++p) {
    const double m = y[n + p], f = y[2 * n + p];
    if (!(f > no_tissue)) continue;
    const auto [rr, rh, hh] = right_cauchy_green(stretches, n, p);
    const SymmetricTensor natural =
        stretch_above(SymmetricTensor{y[3 * n + p] / f, y[4 * n + p] / f, y[5 * n + p] / f}, floor);
    const SymmetricTensor stretch = of_eigenvalues(SymmetricTensor{rr, rh, hh}, root<double>);
    const double passive = spec.tissue_thickness_mm * sheet.hoop_stress_kPa(stretch, natural);
    const double share =
        PulledLength(stretches[p], floor).slope + passive / (spec.active_tension_mN_per_mm * std::max(m, least_active));
    dydt[n + p] -= spec.unloaded_deactivation_per_day * m * 0.5 * (1 - std::tanh((share - half_load) / load_width));
  }
}

}  // namespace

std::optional<TissueMaterial> ActiveLockIn::material() const { return sheet_of(spec_); }

double ActiveLockIn::force_scale_mN_per_mm() const noexcept { return spec_.active_tension_mN_per_mm; }

std::unique_ptr<ContractionLaw> ActiveLockIn::changed(const ContractionChange& change) const {
  return std::make_unique<ActiveLockIn>(with_change(spec_, change));
}

void ActiveLockIn::start(std::span<const double> cells, std::span<double> y) const {
  std::fill(y.begin(), y.end(), 0.0);
  std::copy(cells.begin(), cells.end(), y.begin());
}

void ActiveLockIn::rate(double day, std::span<const double> y, std::span<const double> stretches,
                        std::span<double> dydt) const {
  const std::size_t n = y.size() / variables();
  const AtPoints at{y.data(), stretches.data(), dydt.data(), n, spec_};
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes())
    all_rates_wide(at, day);
  else
#endif
    all_rates(at, day);
  if (spec_.unloaded_deactivation_per_day > 0 && spec_.active_tension_mN_per_mm > 0)
    let_go(spec_, n, y, stretches, dydt);
}

void ActiveLockIn::apply(std::span<const double> y, FibrousTissue::Fields& fields) const {
  const std::size_t n = fields.fraction.size();
  for (auto& values : fields.active) values.resize(n);  // zero for the families that do not pull
  for (auto& values : fields.natural_sheet) values.resize(n);
  fields.stall = spec_.packing_limit;
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes()) return all_fields_wide(spec_, y.data(), n, fields);
#endif
  all_fields(spec_, y.data(), n, fields);
}

std::unique_ptr<ContractionLaw> make_active_lock_in(const ContractionSpec& spec) {
  return std::make_unique<ActiveLockIn>(spec);
}

}  // namespace capsim
