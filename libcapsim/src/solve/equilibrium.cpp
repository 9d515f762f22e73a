// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/equilibrium.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include "capsim/error.hpp"
#include "solve/assembly.hpp"
#include "solve/kept_factor.hpp"
#include "solve/vector_sums.hpp"

namespace capsim {
namespace {

using Clock = std::chrono::steady_clock;
double since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

constexpr double infinite = std::numeric_limits<double>::infinity();

// Near a saddle the positive variant creeps: it knows nothing of the direction that softens. From so many of its
// factorizations in one solve on, the exact Hessian with the least shift that makes it positive comes first.
constexpr int creeping = 6;
// mN/mm; from a soft turn of the bag to a stiff leaf. The first climb is in steps of shift_ratio; later ones begin at
// what was enough before.
constexpr double least_shift = 1e-5, most_shift = 1e3, shift_ratio = 4;
// An exact Hessian that was not positive is likely not to be so after the next step, either: after k of them in a row,
// and far from rest, so many, up to these, are not tried without the shift.
constexpr int most_passed_over = 4;
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

}  // namespace

struct Equilibrium::Impl {
  EquilibriumSettings settings;
  EquilibriumCounts counts;
  std::vector<Part*> parts;
  std::vector<int> dof;
  int dofs = 0;
  std::shared_ptr<PatternStore> patterns;
  Assembly assembly;
  KeptFactor factor;
  bool have_pattern = false, have_factor = false;
  bool factor_is_exact = false;  // the factor kept is that of an exact Hessian, without more than the settings' shift
  double near_shift = least_shift;  // near a saddle: what was enough last
  int in_a_row = 0, pass_over = 0;  // near a saddle: exact Hessians not positive; those not to be tried without shift
  double work_at_start = 0;         // of this solve
  std::function<bool()> go_on;
  const Part* not_finite = nullptr;  // whose energy ended the last evaluation
  std::vector<double> direction;
  std::vector<double> full, g, step, trial, trial_g, start, load, before, origin, first_load, here;
  bool loaded = false;

  double evaluate(std::span<const double> x, std::vector<double>& reduced) {
    const auto begin = Clock::now();
    ++counts.evaluations;
    std::fill(full.begin(), full.end(), 0.0);
    double energy = 0;
    not_finite = nullptr;
    for (Part* part : parts) {
      energy += part->gradient(x, full);
      if (!(energy < infinite)) {
        not_finite = part;
        break;
      }
    }
    for (std::size_t i = 0; i < reduced.size(); ++i) reduced[i] = full[coordinate_[i]];
    for (const auto& [d, c] : tied_) reduced[d] += full[c];
    if (loaded)
      for (std::size_t i = 0; i < reduced.size(); ++i) {
        energy -= load[i] * (x[coordinate_[i]] - start[coordinate_[i]]);  // tied coordinates move together
        reduced[i] -= load[i];
      }
    counts.seconds_elements += since(begin);
    return energy;
  }
  // The first coordinate of each dof; and the dof and place of every other coordinate that is tied to one.
  std::vector<std::size_t> coordinate_;
  std::vector<std::pair<std::size_t, std::size_t>> tied_;

  /// The first part with a force at x that is not finite.
  const Part* part_without_force(std::span<const double> x) {
    for (Part* part : parts) {
      std::fill(full.begin(), full.end(), 0.0);
      (void)part->gradient(x, full);
      if (!(largest_magnitude(full) < infinite)) return part;
    }
    return nullptr;
  }

  void find_pattern(std::span<const double> x) {
    bool coupled = have_pattern;
    for (Part* part : parts) coupled = coupled && part->couplings_hold(x);
    if (coupled) return;
    const auto begin = Clock::now();
    assembly.analyze(parts, x, dof, dofs, patterns.get());
    factor.attach(assembly.pattern().factor_plan());
    have_pattern = true;
    ++counts.analyses;
    counts.seconds_factor += since(begin);
  }

  bool renew(std::span<const double> x, bool near_saddle, bool near_rest) {
    find_pattern(x);
    assemble(x, Curvature::exact);
    const bool passed_over = near_saddle && !near_rest && pass_over > 0;
    if (passed_over) {
      --pass_over;
    } else if (factorize_for_steps(settings.shift_mN_per_mm)) {
      in_a_row = 0;
      factor_is_exact = true;
      return have_factor = true;
    } else if (near_saddle) {
      pass_over = std::min(++in_a_row, most_passed_over);
    }
    factor_is_exact = false;
    if (near_saddle && factorize_shifted()) return have_factor = true;
    assemble(x, Curvature::positive);
    double shift = settings.shift_mN_per_mm;
    for (int retry = 0; retry < 5; ++retry, shift *= 100) {
      if (retry == 0) ++counts.projected;
      if (factorize_for_steps(shift)) return have_factor = true;
    }
    return have_factor = false;
  }

  void assemble(std::span<const double> x, Curvature curvature) {
    const auto begin = Clock::now();
    assembly.assemble(parts, x, curvature);
    counts.seconds_elements += since(begin);
  }

  bool factorize(double shift) {
    return count_factorization([&] { return factor.factorize(assembly.values(), shift); });
  }
  bool factorize_for_steps(double shift) {
    return count_factorization([&] { return factor.factorize_for_steps(assembly.values(), shift); });
  }
  template <class Factorize>
  bool count_factorization(const Factorize& factorize) {
    const auto begin = Clock::now();
    ++counts.factorizations;
    const bool good = factorize();
    counts.seconds_factor += since(begin);
    return good;
  }

  /// The exact Hessian with about the least shift that makes it positive, which is remembered.
  bool factorize_shifted() {
    for (double shift = std::max(least_shift, near_shift / shift_ratio); shift < most_shift; shift *= shift_ratio)
      if (factorize(shift)) {
        near_shift = shift;
        return true;
      }
    near_shift = most_shift;  // the next search comes down from there instead of climbing all the way again
    return false;
  }

  [[nodiscard]] bool spent() const {
    const double work = counts.work();
    return work - work_at_start > settings.max_work || work > settings.all_work;
  }

  /// Ends the solve when its budget is spent or the watch says no.
  bool stopped(EquilibriumReport& report) const {
    if (spent())
      report.end = EquilibriumEnd::too_much_work;
    else if (go_on && !go_on())
      report.end = EquilibriumEnd::interrupted;
    else
      return false;
    return true;
  }

  static bool final(EquilibriumEnd end) {
    return end == EquilibriumEnd::too_much_work || end == EquilibriumEnd::interrupted;
  }

  /// Where one descent is, and what was tried there.
  struct Descent {
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

  /// The energies along one step.
  struct Tried {
    bool ever_finite = false, ever_undefined = false;
  };

  /// Quasi-Newton steps from x down to rest, with a new factor where steps with the old one get short.
  EquilibriumReport direct(std::span<double> x) {
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

  bool at_rest_or_out_of_means(std::span<const double> x, Descent& at) {
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

  [[nodiscard]] bool goes_on(Descent& at) const {
    const int iterations = at.report.iterations;
    if (at.on_a_long_way() && iterations % long_way == 0) {
      at.falls = at.mark - at.energy > still_falling * (at.first_energy - at.energy);
      at.mark = at.energy;
    }
    if (iterations < settings.max_iterations) return true;
    return iterations < more_iterations * settings.max_iterations &&
           (at.falls || at.norm < nearly_there * at.first_norm);
  }

  bool renew_factor(std::span<double> x, Descent& at) {
    const long projected_before = counts.projected;
    if (at.on_a_long_way()) factor.let_rough_serve(false);
    if (!renew(x, at.projected_here >= creeping, at.norm < nearly_there * at.first_norm)) return false;
    at.fresh = true;
    if (counts.projected > projected_before) ++at.projected_here;
    return true;
  }

  /// The step to where the forces would balance; returns its longest component [mm].
  double find_step() {
    const auto begin = Clock::now();
    for (std::size_t i = 0; i < g.size(); ++i) step[i] = -g[i];
    factor.solve_taught(step);
    counts.seconds_solve += since(begin);
    return largest_magnitude(step);
  }

  /// Goes along the step as far as the energy, or the forces, fall enough; false where they don't.
  bool search_along_step(std::span<double> x, double longest, Descent& at, Tried& tried) {
    double scale = longest > at.cap_mm ? at.cap_mm / longest : 1;
    const bool capped = scale < 1;
    const double slope = dot_product(g, step);
    const double noise =
        1e-13 * (std::abs(at.energy) + std::abs(slope)) + 1e-3 * settings.tolerance_mN * settings.tolerance_mN;
    for (int halving = 0; halving < 12; ++halving, scale *= 0.5) {
      for (std::size_t c = 0; c < x.size(); ++c)
        trial[c] = dof[c] >= 0 ? x[c] + scale * step[static_cast<std::size_t>(dof[c])] : x[c];
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

  void lengthen(Descent& at, bool too_long, bool good) {
    have_factor = false;
    if (too_long)
      at.cap_mm = std::max(settings.step_cap_mm, at.cap_mm / longer);
    else if (good)
      at.cap_mm = std::min(longest_steps * settings.step_cap_mm, longer * at.cap_mm);
  }

  void take_step(std::span<double> x, double scale, double rate, double norm) {
    // At this rate, would more chord steps be needed than a new factorization costs?
    const double left = std::log(settings.tolerance_mN / norm) / std::log(std::min(rate, 0.999));
    const bool slow = norm > settings.tolerance_mN && left > settings.chord_steps_worth;
    factor.learn(step, scale, g, trial_g);
    std::copy(trial.begin(), trial.end(), x.begin());
    std::swap(g, trial_g);
    if (slow) have_factor = false;
  }

  EquilibriumReport stepwise(std::span<double> x) {
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

  /// Directly, or where that fails in load steps.
  EquilibriumReport balanced(std::span<double> x) {
    std::copy(x.begin(), x.end(), origin.begin());
    EquilibriumReport report = direct(x);
    if (report.converged() || final(report.end)) return report;
    // Forces that are no numbers at the start can't be taken off step by step.
    if (report.end == EquilibriumEnd::not_finite && report.iterations == 0 && report.not_finite != nullptr)
      return report;
    std::copy(origin.begin(), origin.end(), x.begin());
    have_factor = false;
    if (report.end == EquilibriumEnd::folded && !(report.energy < infinite)) return report;  // no load mends the start
    const int iterations = report.iterations;
    report = stepwise(x);
    report.iterations += iterations;
    return report;
  }

  /// Balanced, and no saddle as far as the exact Hessian tells.
  EquilibriumReport stable(std::span<double> x) {
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

  /// Moves x along the direction in which the exact Hessian, assembled at x, is most negative; false when there is no
  /// such direction or the energy does not fall along it.
  bool step_off(std::span<double> x, double energy) {
    near_shift = least_shift;
    if (!factorize_shifted()) return false;
    // Inverse iteration on the shifted Hessian; the start has a part in every direction.
    for (std::size_t i = 0; i < direction.size(); ++i)
      direction[i] = 1 + 0.5 * std::sin(static_cast<double>(7 * i + 1));
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
        for (std::size_t c = 0; c < x.size(); ++c)
          x[c] = dof[c] >= 0 ? here[c] + side * length * direction[static_cast<std::size_t>(dof[c])] : here[c];
        if (evaluate(x, trial_g) < energy) return true;
      }
    std::copy(here.begin(), here.end(), x.begin());
    return false;
  }
};

Equilibrium::Equilibrium() : impl_(std::make_unique<Impl>()) {}
Equilibrium::~Equilibrium() = default;
Equilibrium::Equilibrium(Equilibrium&&) noexcept = default;
Equilibrium& Equilibrium::operator=(Equilibrium&&) noexcept = default;

void Equilibrium::set_system(std::vector<Part*> parts, std::vector<int> dof) {
  Impl& m = *impl_;
  for (const Part* part : parts)
    if (part == nullptr) throw ArgumentError("a part of the equilibrium is null");
  m.parts = std::move(parts);
  m.dof = std::move(dof);
  m.dofs = 0;
  for (const int d : m.dof) m.dofs = std::max(m.dofs, d + 1);
  const std::size_t n = m.dof.size(), r = static_cast<std::size_t>(m.dofs);
  m.coordinate_.assign(r, n);  // none yet
  m.tied_.clear();
  for (std::size_t c = 0; c < n; ++c) {
    if (m.dof[c] < 0) continue;
    const std::size_t d = static_cast<std::size_t>(m.dof[c]);
    if (m.coordinate_[d] == n)
      m.coordinate_[d] = c;
    else
      m.tied_.emplace_back(d, c);
  }
  for (std::size_t d = 0; d < r; ++d)
    if (m.coordinate_[d] == n) throw ArgumentError("no coordinate has the degree of freedom " + std::to_string(d));
  for (auto* v : {&m.full, &m.trial, &m.start, &m.before, &m.origin, &m.here}) v->resize(n);
  for (auto* v : {&m.g, &m.step, &m.trial_g, &m.load, &m.first_load, &m.direction}) v->assign(r, 0);
  m.factor.reserve(r);
  m.have_pattern = m.have_factor = false;
}

void Equilibrium::share_patterns(std::shared_ptr<PatternStore> store) noexcept { impl_->patterns = std::move(store); }

EquilibriumSettings& Equilibrium::settings() noexcept { return impl_->settings; }

EquilibriumReport Equilibrium::solve(std::span<double> x) {
  Impl& m = *impl_;
  std::copy(x.begin(), x.end(), m.before.begin());
  m.work_at_start = m.counts.work();
  EquilibriumReport report;
  try {
    if (!m.have_pattern)
      m.find_pattern(x);  // before any part is asked for a number: its cliques tell whether it was made for these
    report = m.stable(x);
  } catch (...) {  // of the watch or a part
    std::copy(m.before.begin(), m.before.end(), x.begin());
    m.have_factor = m.loaded = false;
    throw;
  }
  if (!report.converged()) std::copy(m.before.begin(), m.before.end(), x.begin());
  ++m.counts.equilibria;
  m.counts.iterations += report.iterations;
  m.counts.max_iterations = std::max<long>(m.counts.max_iterations, report.iterations);
  return report;
}

void Equilibrium::watch(std::function<bool()> go_on) { impl_->go_on = std::move(go_on); }

double Equilibrium::residual(std::span<const double> x) {
  impl_->evaluate(x, impl_->g);
  return largest_magnitude(impl_->g);
}

std::span<const double> Equilibrium::forces(std::span<const double> x) {
  impl_->evaluate(x, impl_->trial_g);
  return impl_->trial_g;
}

bool Equilibrium::factorize_at(std::span<const double> x) {
  Impl& m = *impl_;
  m.find_pattern(x);
  m.assembly.assemble(m.parts, x, Curvature::exact);
  ++m.counts.factorizations;
  return m.have_factor = m.factor_is_exact = m.factor.factorize(m.assembly.values(), m.settings.shift_mN_per_mm);
}

void Equilibrium::apply_inverse(std::vector<double>& b) { impl_->factor.solve(b); }

void Equilibrium::apply_inverse_four(std::vector<double>& b) { impl_->factor.solve_four(b); }

void Equilibrium::forget_factor() noexcept {
  impl_->have_factor = false;
  impl_->factor.forget();
}
const EquilibriumCounts& Equilibrium::counts() const noexcept { return impl_->counts; }
std::size_t Equilibrium::memory_bytes() const noexcept {
  const Impl& m = *impl_;
  std::size_t doubles = 0;
  for (const auto* v : {&m.full, &m.g, &m.step, &m.trial, &m.trial_g, &m.start, &m.load, &m.before, &m.origin,
                        &m.first_load, &m.here, &m.direction})
    doubles += v->capacity();
  return doubles * sizeof(double) + m.coordinate_.capacity() * sizeof(std::size_t) +
         m.tied_.capacity() * sizeof(m.tied_[0]) + m.assembly.memory_bytes() + m.factor.memory_bytes();
}
int Equilibrium::dofs() const noexcept { return impl_->dofs; }

}  // namespace capsim
