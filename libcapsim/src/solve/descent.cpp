// SPDX-License-Identifier: BSD-3-Clause
// The search for rest: down along quasi-Newton steps, in load steps where that fails, and off saddles.
#include <algorithm>
#include <cmath>

#include "solve/equilibrium_impl.hpp"
#include "solve/vector_sums.hpp"

namespace capsim {
namespace {

// Near a saddle the positive variant creeps: it knows nothing of the direction that softens. From so many of its
// factorizations in one solve on, the exact Hessian with the least shift that makes it positive comes first.
constexpr int creeping = 6;
constexpr int most_saddles = 4;       // left in one solve
constexpr double step_off_mm = 0.02;  // the first try of a step off a saddle; halved while it leads uphill
constexpr int least_step_off = 10;    // halvings
// A descent that is not at rest after so many iterations has a long way to go, a strong ring in a soft bag, say. Steps
// at the cap that bring what they promise get longer, every step has its own factorization, and the descent may take
// more iterations as long as it falls or is nearly there: load steps would begin again at the start.
constexpr int long_way = 20;
constexpr double longer = 1.5, longest_steps = 10, promised = 0.5;
constexpr int more_iterations = 3;
constexpr double still_falling = 0.01, nearly_there = 0.01;  // of all that it has fallen; of the force at its start

bool final(EquilibriumEnd end) { return end == EquilibriumEnd::too_much_work || end == EquilibriumEnd::interrupted; }

}  // namespace

struct Equilibrium::Impl::Descent {
  EquilibriumReport report;
  double energy = 0, norm = 0;
  bool fresh = false, tried_fresh_here = false;  // whether the factor is of this place, or was refused here
  int projected_here = 0;
  double cap_mm = 0, first_energy = 0, first_norm = 0;
  double mark = 0;  // the energy some iterations ago
  bool falls = true;

  [[nodiscard]] bool on_a_long_way() const { return report.iterations >= long_way; }

  EquilibriumReport ended(EquilibriumEnd end, const Part* by = nullptr) {
    report.end = end;
    report.not_finite = by;
    return report;
  }
};

bool Equilibrium::Impl::spent() const {
  const double work = counts.work();
  return work - work_at_start > settings.max_work || work > settings.all_work;
}

bool Equilibrium::Impl::stopped(EquilibriumReport& report) const {
  if (spent())
    report.end = EquilibriumEnd::too_much_work;
  else if (go_on && !go_on())
    report.end = EquilibriumEnd::interrupted;
  else
    return false;
  return true;
}

EquilibriumReport Equilibrium::Impl::direct(std::span<double> x) {
  Descent at;
  in_a_row = pass_over = 0;
  factor.let_rough_serve(true);
  at.cap_mm = settings.step_cap_mm;
  at.energy = at.report.energy = at.first_energy = at.mark = evaluate(x, g);
  at.first_norm = largest_magnitude(g);
  if (!(at.energy < infinite))
    return at.ended(std::isnan(at.energy) ? EquilibriumEnd::not_finite : EquilibriumEnd::folded, not_finite);
  for (;; ++at.report.iterations) {
    if (at_rest_or_out_of_means(x, at)) return at.report;
    if (!have_factor && !renew_factor(x, at)) return at.ended(EquilibriumEnd::not_finite);
    const double longest = find_step();
    if (!(longest < infinite)) {
      have_factor = false;
      if (at.fresh && !factor.leave_rough()) return at.ended(EquilibriumEnd::not_finite);
      continue;
    }
    Tried tried;
    if (search_along_step(x, longest, at, tried)) continue;
    if ((at.fresh || at.tried_fresh_here) && !factor.leave_rough()) {
      // Stalled at the rounding of the energy: accept when the forces are nearly balanced.
      if (at.norm <= 10 * settings.tolerance_mN) return at.ended(EquilibriumEnd::converged);
      if (tried.ever_finite) return at.ended(EquilibriumEnd::line_search_stalled);
      return at.ended(tried.ever_undefined ? EquilibriumEnd::not_finite : EquilibriumEnd::folded, not_finite);
    }
    have_factor = false;
    at.tried_fresh_here = true;
  }
}

bool Equilibrium::Impl::at_rest_or_out_of_means(std::span<const double> x, Descent& at) {
  at.norm = at.report.residual_mN = largest_magnitude(g);
  at.report.energy = at.energy;
  if (at.norm <= settings.tolerance_mN) return true;
  if (!(at.norm < infinite)) {
    at.report.not_finite = part_without_force(x);
    at.report.end = EquilibriumEnd::not_finite;
  } else if (!goes_on(at))
    at.report.end = EquilibriumEnd::too_many_iterations;
  else
    return stopped(at.report);
  return true;
}

bool Equilibrium::Impl::goes_on(Descent& at) const {
  const int iterations = at.report.iterations;
  if (at.on_a_long_way() && iterations % long_way == 0) {
    at.falls = at.mark - at.energy > still_falling * (at.first_energy - at.energy);
    at.mark = at.energy;
  }
  if (iterations < settings.max_iterations) return true;
  return iterations < more_iterations * settings.max_iterations && (at.falls || at.norm < nearly_there * at.first_norm);
}

bool Equilibrium::Impl::renew_factor(std::span<double> x, Descent& at) {
  const long projected_before = counts.projected;
  if (at.on_a_long_way()) factor.let_rough_serve(false);
  if (!renew(x, at.projected_here >= creeping, at.norm < nearly_there * at.first_norm)) return false;
  at.fresh = true;
  if (counts.projected > projected_before) ++at.projected_here;
  return true;
}

double Equilibrium::Impl::find_step() {
  const auto begin = Clock::now();
  for (std::size_t i = 0; i < g.size(); ++i) step[i] = -g[i];
  factor.solve_taught(step);
  counts.seconds_solve += since(begin);
  return largest_magnitude(step);
}

bool Equilibrium::Impl::search_along_step(std::span<double> x, double longest, Descent& at, Tried& tried) {
  double scale = longest > at.cap_mm ? at.cap_mm / longest : 1;
  const bool capped = scale < 1;
  const double slope = dot_product(g, step);
  const double noise =
      1e-13 * (std::abs(at.energy) + std::abs(slope)) + 1e-3 * settings.tolerance_mN * settings.tolerance_mN;
  for (int halving = 0; halving < 12; ++halving, scale *= 0.5) {
    go_along(x, scale, step, trial);
    const double e = evaluate(trial, trial_g);
    tried.ever_undefined = tried.ever_undefined || std::isnan(e);
    if (!(e < infinite)) continue;
    tried.ever_finite = true;
    const double n = largest_magnitude(trial_g);
    if (e <= at.energy + 1e-4 * scale * slope + noise || (n < 0.7 * at.norm && e <= at.energy + 100 * noise)) {
      take_step(x, scale, n / at.norm, n);
      if (at.on_a_long_way()) lengthen(at, halving > 0, capped && at.energy - e > -promised * scale * slope);
      at.energy = e;
      at.fresh = at.tried_fresh_here = false;
      return true;
    }
    if (!at.fresh && halving >= 1) return false;  // a new factorization is the better remedy
  }
  return false;
}

void Equilibrium::Impl::lengthen(Descent& at, bool too_long, bool good) {
  have_factor = false;
  if (too_long)
    at.cap_mm = std::max(settings.step_cap_mm, at.cap_mm / longer);
  else if (good)
    at.cap_mm = std::min(longest_steps * settings.step_cap_mm, longer * at.cap_mm);
}

void Equilibrium::Impl::take_step(std::span<double> x, double scale, double rate, double norm) {
  // At this rate, would more chord steps be needed than a new factorization costs?
  const double left = std::log(settings.tolerance_mN / norm) / std::log(std::min(rate, 0.999));
  const bool slow = norm > settings.tolerance_mN && left > settings.chord_steps_worth;
  factor.learn(step, scale, g, trial_g);
  std::copy(trial.begin(), trial.end(), x.begin());
  std::swap(g, trial_g);
  if (slow) have_factor = false;
}

EquilibriumReport Equilibrium::Impl::stepwise(std::span<double> x) {
  loaded = false;
  evaluate(x, g);
  first_load = g;
  std::copy(x.begin(), x.end(), start.begin());
  EquilibriumReport total;
  std::copy(x.begin(), x.end(), here.begin());
  double s = 0, ds = 0.125;
  while (s < 1) {
    const double target = std::min(s + ds, 1.0);
    loaded = target < 1;
    for (std::size_t i = 0; i < load.size(); ++i) load[i] = (1 - target) * first_load[i];
    std::copy(here.begin(), here.end(), x.begin());
    have_factor = false;
    const EquilibriumReport one = direct(x);
    total.iterations = std::max(total.iterations, one.iterations);
    ++total.load_steps;
    if (one.converged()) {
      s = target;
      std::copy(x.begin(), x.end(), here.begin());
      total.energy = one.energy;
      total.residual_mN = one.residual_mN;
      ds = std::min(2 * ds, 0.5);
      continue;
    }
    ds *= 0.5;
    if (final(one.end) || ds < 1.0 / 256 || total.load_steps > 48) {
      total.end = one.end;
      total.not_finite = one.not_finite;
      total.residual_mN = one.residual_mN;
      break;
    }
  }
  loaded = false;
  return total;
}

EquilibriumReport Equilibrium::Impl::balanced(std::span<double> x) {
  std::copy(x.begin(), x.end(), origin.begin());
  EquilibriumReport report = direct(x);
  if (report.converged() || final(report.end)) return report;
  // Forces that are no numbers at the start can't be taken off step by step.
  if (report.end == EquilibriumEnd::not_finite && report.iterations == 0 && report.not_finite != nullptr) return report;
  std::copy(origin.begin(), origin.end(), x.begin());
  have_factor = false;
  if (report.end == EquilibriumEnd::folded && !(report.energy < infinite)) return report;  // no load mends the start
  const int iterations = report.iterations;
  report = stepwise(x);
  report.iterations += iterations;
  return report;
}

EquilibriumReport Equilibrium::Impl::stable(std::span<double> x) {
  EquilibriumReport report = balanced(x);
  int iterations = report.iterations, load_steps = report.load_steps, left = 0;
  while (report.converged() && !(have_factor && factor_is_exact) && !spent()) {
    find_pattern(x);
    assemble(x, Curvature::exact);
    have_factor = factor_is_exact = factorize(settings.shift_mN_per_mm);
    if (have_factor) {
      report.least_pivot_mN_per_mm = factor.least_pivot();
      break;
    }
    if (left == most_saddles || !step_off(x, report.energy)) break;  // flat, or as low as it gets
    ++left;
    have_factor = false;
    report = balanced(x);
    iterations += report.iterations;
    load_steps += report.load_steps;
  }
  report.iterations = iterations;
  report.load_steps = load_steps;
  report.saddles_left = left;
  return report;
}

bool Equilibrium::Impl::step_off(std::span<double> x, double energy) {
  near_shift = least_shift;
  if (!factorize_shifted()) return false;
  // Inverse iteration on the shifted Hessian; the start has a part in every direction.
  for (std::size_t i = 0; i < direction.size(); ++i) direction[i] = 1 + 0.5 * std::sin(static_cast<double>(7 * i + 1));
  for (int k = 0; k < 4; ++k) {
    factor.solve(direction);
    const double most = largest_magnitude(direction);
    if (!(most > 0 && most < infinite)) return false;
    for (double& v : direction) v /= most;
  }
  if (!(assembly.curvature_along(direction) < 0)) return false;
  std::copy(x.begin(), x.end(), here.begin());
  double length = step_off_mm;
  for (int halving = 0; halving < least_step_off; ++halving, length *= 0.5)
    for (const double side : {1.0, -1.0}) {
      go_along(here, side * length, direction, x);
      if (evaluate(x, trial_g) < energy) return true;
    }
  std::copy(here.begin(), here.end(), x.begin());
  return false;
}

}  // namespace capsim
