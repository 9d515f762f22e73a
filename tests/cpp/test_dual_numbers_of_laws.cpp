// SPDX-License-Identifier: BSD-3-Clause
// Rates of both contraction laws by dual numbers, from equations that are written here once more, as the theory page
// has them. A run differences the laws by neighbours a hair beside it: so is done here, and both must agree.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "capsim/active_lock_in.hpp"
#include "capsim/fibre_remodelling.hpp"
#include "dual_number.hpp"
#include "geometry/symmetric_tensor.hpp"
#include "parts/tissue_sheet.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

constexpr double value_rounding = 1e-12;
/// Of the step 1e-5, whose square is 1e-10, and of rounding over it, 1e-11; of the largest rate by any number.
constexpr double difference_error = 1e-8;
constexpr double day = 17;
constexpr std::size_t points = 5;  // four at a time, and one

/// Signal, cells, myofibroblasts and tissue.
template <class T>
std::array<T, 3> cell_rates_of(const ContractionSpec& s, const std::vector<T>& y) {
  const double signal = std::exp(-day / s.signal_days) + s.chronic_signal;
  const T &c = y[0], &m = y[1], &f = y[2];
  return {s.regrowth_per_day * signal * c * (1.0 - c),
          s.activation_per_day * signal * c * (1.0 - m) - s.deactivation_per_day * m, s.tissue_per_day * m * (1.0 - f)};
}

/// Share of the cells that let go where they pass on so much of their pull.
template <class T>
T letting_go(const ContractionSpec& s, const T& share) {
  return s.unloaded_deactivation_per_day * 0.5 * (1.0 - tanh((share - 0.5) / 0.2));
}

template <class T>
std::vector<T> fibre_rates(const ContractionSpec& s, const std::vector<T>& y, const std::array<T, 4>& stretch) {
  const auto [dc, dm, df] = cell_rates_of(s, y);
  std::vector<T> rate{dc, dm, df};
  const double unit = s.tissue_thickness_mm * s.fibre_modulus_kPa;
  const std::array<double, 4> stiffness{s.hoop_weight * unit, 0.5 * s.diagonal_weight * unit,
                                        0.5 * s.diagonal_weight * unit, s.radial_weight * unit};
  T pull = 0.0, whole = 0.0;
  for (std::size_t i = 0; i < 4; ++i) {
    const T natural = y[3 + i] / y[2], elastic = stretch[i] / natural;
    if (elastic > 1.0) pull += stiffness[i] * (elastic - 1.0) * elastic;
    whole += stiffness[i];
    const T laid = stretch[i] / s.laying_stretch;
    rate.push_back(y[1] / s.remodelling_days * (y[2] * laid - y[3 + i]) + df * laid);
  }
  // The matrix, neo-Hookean, beyond what it does as a tension field.
  const T rr = stretch[3] * stretch[3], hh = stretch[0] * stretch[0],
          rh = 0.5 * (stretch[1] - stretch[2]) * (stretch[1] + stretch[2]);
  const T mean = 0.5 * (rr + hh), radius = sqrt(0.25 * (rr - hh) * (rr - hh) + rh * rh);
  const T l1 = sqrt(mean + radius), l2 = sqrt(mean - radius), volume = 1.0 / (l1 * l1 * l2 * l2);
  const double mu = s.matrix_modulus_kPa / 3;
  T answer = 0.0;
  if (!(l1 > 1.0 && l2 * l2 * l1 >= 1.0)) {
    const T along = mu * (l1 * l1 - volume), across = mu * (l2 * l2 - volume);
    answer = s.tissue_thickness_mm * (along + across - (l1 > 1.0 ? mu * (l1 * l1 - 1.0 / l1) : T(0.0)));
  }
  rate[1] -= y[1] * letting_go(s, (pull + answer) / (pull + 1e-3 * whole));
  return rate;
}

template <class T>
SymmetricTensorOf<T> above(const SymmetricTensorOf<T>& metric, double floor) {
  const auto kept = [&](const T& square) {
    const T over = sqrt(square) - floor;
    return floor + 0.5 * (over + sqrt(over * over + 1e-4));
  };
  return of_eigenvalues(metric, kept);
}

/// Energy of the locked sheet [kPa] by the stretch U and the natural state: of the elastic part of U as a right
/// stretch.
template <class T>
T sheet_energy(const ContractionSpec& s, const std::array<T, 4>& f, const SymmetricTensorOf<T>& natural) {
  const SymmetricTensorOf<T> u = inverse(natural);
  const std::array<T, 4> e{f[0] * u.xx + f[1] * u.xy, f[0] * u.xy + f[1] * u.yy, f[2] * u.xx + f[3] * u.xy,
                           f[2] * u.xy + f[3] * u.yy};
  const Eigenvalues<T> squares(
      SymmetricTensorOf<T>{e[0] * e[0] + e[2] * e[2], e[0] * e[1] + e[2] * e[3], e[1] * e[1] + e[3] * e[3]});
  const T l1 = sqrt(squares.high), l2 = sqrt(squares.low);
  const double fibres = s.locked_modulus_kPa / 3, matrix = s.matrix_modulus_kPa / 3;
  const T i = 1.0 / (l1 * l1 * l2 * l2), full = 0.5 * (l1 * l1 + l2 * l2 + i - 3.0),
          field = 0.5 * (l1 * l1 + 2.0 / l1 - 3.0);
  if (!(l1 > 1.0)) return matrix * full;
  return l2 * l2 * l1 >= 1.0 ? fibres * full : matrix * full + (fibres - matrix) * field;
}

template <class T>
std::vector<T> lock_in_rates(const ContractionSpec& s, const std::vector<T>& y, const std::array<T, 4>& stretch) {
  using Tensor = SymmetricTensorOf<T>;
  const auto [dc, dm, df] = cell_rates_of(s, y);
  const Tensor metric{stretch[3] * stretch[3], 0.5 * (stretch[1] - stretch[2]) * (stretch[1] + stretch[2]),
                      stretch[0] * stretch[0]};
  const Tensor natural = above(Tensor{y[3] / y[2], y[4] / y[2], y[5] / y[2]}, s.packing_limit);
  const Tensor wanted = above(metric, s.packing_limit);
  const Tensor square = congruent(wanted, Tensor{1.0, 0.0, 1.0});
  const Eigenvalues<T> kept(congruent(inverse(natural), square));
  const T high = kept.high < 1.0 ? kept.high : T(1.0), low = kept.low < 1.0 ? kept.low : T(1.0);
  const Tensor flow = congruent(natural, kept.with(log(high), log(low))),
               laid = congruent(natural, kept.with(high, low));
  const T gives = s.lock_in_per_day * y[1] * y[2];

  // Nominal hoop stress: the energy's slope when the hoop column of U grows.
  const Tensor u = of_eigenvalues(metric, [](const T& square_of) { return sqrt(square_of); });
  const T column = sqrt(u.xy * u.xy + u.yy * u.yy);
  using Along = DualOf<T>;
  const auto constant = [](const T& v) { return Along(v, T(0.0)); };
  const Along energy =
      sheet_energy<Along>(s, {constant(u.xx), Along(u.xy, u.xy / column), constant(u.xy), Along(u.yy, u.yy / column)},
                          {constant(natural.xx), constant(natural.xy), constant(natural.yy)});
  const T above_stall = stretch[0] - s.packing_limit,
          slope = 0.5 * (1.0 + above_stall / sqrt(above_stall * above_stall + 0.03 * 0.03));
  const T cells = y[1] > 1e-3 ? y[1] : T(1e-3);
  const T share = slope + s.tissue_thickness_mm * energy.d / (s.active_tension_mN_per_mm * cells);
  return {dc,
          dm - y[1] * letting_go(s, share),
          df,
          gives * flow.xx + df * laid.xx,
          gives * flow.xy + df * laid.xy,
          gives * flow.yy + df * laid.yy};
}

ContractionSpec spec_of(ContractionKind law) {
  ContractionSpec s;
  s.law = law;
  s.unloaded_deactivation_per_day = 0.07;
  s.matrix_modulus_kPa = 40;
  s.locked_modulus_kPa = 150;
  s.chronic_signal = 0.1;
  return s;
}

/// State and stretches at five points: taut, wrinkled and shortened, sheared.
std::array<double, 4> stretches_of(std::size_t p) {
  const double rr = std::array{1.21, 1.10, 0.81, 0.72, 1.02}[p], hh = std::array{1.10, 0.70, 0.64, 0.95, 0.79}[p],
               rh = std::array{0.05, 0.12, -0.07, 0.04, -0.11}[p];
  const double mean = 0.5 * (rr + hh);
  return {std::sqrt(hh), std::sqrt(mean + rh), std::sqrt(mean - rh), std::sqrt(rr)};
}

template <class Law, class Rates>
void rates_have_the_derivatives_of(const ContractionSpec& spec, std::size_t variables,
                                   const std::vector<double>& natural, const Rates& rates) {
  const Law law(spec);
  REQUIRE(law.variables() == variables);
  std::vector<double> y(variables * points), stretches(4 * points);
  for (std::size_t p = 0; p < points; ++p) {
    const double f = 0.3 + 0.1 * static_cast<double>(p);
    y[p] = 0.7 - 0.05 * static_cast<double>(p);
    y[points + p] = 0.2 + 0.11 * static_cast<double>(p);
    y[2 * points + p] = f;
    for (std::size_t v = 3; v < variables; ++v)
      y[v * points + p] = f * natural[v - 3] * (1 + 0.02 * static_cast<double>(p));
    for (std::size_t i = 0; i < 4; ++i) stretches[i * points + p] = stretches_of(p)[i];
  }
  const auto at = [&](const std::vector<double>& state, const std::vector<double>& lengths) {
    std::vector<double> rate(state.size());
    law.rate(day, state, lengths, rate);
    return rate;
  };
  const std::vector<double> here = at(y, stretches);
  for (std::size_t p = 0; p < points; ++p)
    for (std::size_t by = 0; by < variables + 4; ++by) {
      std::vector<Dual> state(variables);
      std::array<Dual, 4> lengths;
      for (std::size_t v = 0; v < variables; ++v) state[v] = {y[v * points + p], v == by ? 1.0 : 0.0};
      for (std::size_t i = 0; i < 4; ++i) lengths[i] = {stretches[i * points + p], variables + i == by ? 1.0 : 0.0};
      const std::vector<Dual> exact = rates(spec, state, lengths);
      const double step = 1e-5;
      std::array<std::vector<double>, 2> beside;
      for (const std::size_t side : {0, 1}) {
        std::vector<double> moved_state = y, moved_lengths = stretches;
        (by < variables ? moved_state[by * points + p] : moved_lengths[(by - variables) * points + p]) +=
            side == 0 ? -step : step;
        beside[side] = at(moved_state, moved_lengths);
      }
      double largest = 0, value_scale = 0;
      for (const Dual& r : exact) largest = std::max(largest, std::abs(r.d)), value_scale += std::abs(r.v);
      for (std::size_t v = 0; v < variables; ++v) {
        INFO("point " << p << ", rate of " << v << " by " << by);
        CHECK(std::abs(here[v * points + p] - exact[v].v) <= value_rounding * value_scale);
        CHECK(std::abs((beside[1][v * points + p] - beside[0][v * points + p]) / (2 * step) - exact[v].d) <=
              difference_error * (largest + value_scale));
      }
    }
}

}  // namespace

TEST_CASE("rates_of_fibre_remodelling_have_the_derivatives_of_dual_numbers", "[contraction][dual]") {
  rates_have_the_derivatives_of<FibreRemodelling>(
      spec_of(ContractionKind::fibre_remodelling), 7, {0.93, 0.97, 0.9, 1.01},
      [](const auto& spec, const auto& y, const auto& stretch) { return fibre_rates(spec, y, stretch); });
}

TEST_CASE("rates_of_active_lock_in_have_the_derivatives_of_dual_numbers", "[contraction][dual]") {
  rates_have_the_derivatives_of<ActiveLockIn>(
      spec_of(ContractionKind::active_lock_in), 6, {0.95, 0.03, 0.87},
      [](const auto& spec, const auto& y, const auto& stretch) { return lock_in_rates(spec, y, stretch); });
}
