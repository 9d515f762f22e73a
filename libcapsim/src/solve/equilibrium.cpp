// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/equilibrium.hpp"

#include <algorithm>
#include <string>

#include "capsim/error.hpp"
#include "solve/equilibrium_impl.hpp"
#include "solve/vector_sums.hpp"

namespace capsim {
namespace {

// An exact Hessian that was not positive is likely not to be so after the next step, either: after k of them in a row,
// and far from rest, so many, up to these, are not tried without the shift.
constexpr int most_passed_over = 4;

}  // namespace

void Equilibrium::Impl::set_dofs(std::vector<int> dof_of_coordinate) {
  dof = std::move(dof_of_coordinate);
  dofs = 0;
  for (const int d : dof) dofs = std::max(dofs, d + 1);
  const std::size_t n = dof.size(), r = static_cast<std::size_t>(dofs);
  coordinate_.assign(r, n);  // none yet
  tied_.clear();
  for (std::size_t c = 0; c < n; ++c) {
    if (dof[c] < 0) continue;
    const std::size_t d = static_cast<std::size_t>(dof[c]);
    if (coordinate_[d] == n)
      coordinate_[d] = c;
    else
      tied_.emplace_back(d, c);
  }
  for (std::size_t d = 0; d < r; ++d)
    if (coordinate_[d] == n) throw ArgumentError("no coordinate has the degree of freedom " + std::to_string(d));
  for (auto* v : {&full, &trial, &start, &before, &origin, &here}) v->resize(n);
  for (auto* v : {&g, &step, &trial_g, &load, &first_load, &direction}) v->assign(r, 0);
  factor.reserve(r);
  have_pattern = have_factor = false;
}

double Equilibrium::Impl::evaluate(std::span<const double> x, std::vector<double>& reduced) {
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

const Part* Equilibrium::Impl::part_without_force(std::span<const double> x) {
  for (Part* part : parts) {
    std::fill(full.begin(), full.end(), 0.0);
    (void)part->gradient(x, full);
    if (!(largest_magnitude(full) < infinite)) return part;
  }
  return nullptr;
}

void Equilibrium::Impl::find_pattern(std::span<const double> x) {
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

bool Equilibrium::Impl::renew(std::span<const double> x, bool near_saddle, bool near_rest) {
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

void Equilibrium::Impl::assemble(std::span<const double> x, Curvature curvature) {
  const auto begin = Clock::now();
  assembly.assemble(parts, x, curvature);
  counts.seconds_elements += since(begin);
}

bool Equilibrium::Impl::factorize_shifted() {
  for (double shift = std::max(least_shift, near_shift / shift_ratio); shift < most_shift; shift *= shift_ratio)
    if (factorize(shift)) {
      near_shift = shift;
      return true;
    }
  near_shift = most_shift;  // the next search comes down from there instead of climbing all the way again
  return false;
}

Equilibrium::Equilibrium() : impl_(std::make_unique<Impl>()) {}
Equilibrium::~Equilibrium() = default;
Equilibrium::Equilibrium(Equilibrium&&) noexcept = default;
Equilibrium& Equilibrium::operator=(Equilibrium&&) noexcept = default;

void Equilibrium::set_system(std::vector<Part*> parts, std::vector<int> dof) {
  Impl& m = *impl_;
  for (const Part* part : parts)
    if (part == nullptr) throw ArgumentError("a part of the equilibrium is null");
  m.parts = std::move(parts);
  m.set_dofs(std::move(dof));
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
