// SPDX-License-Identifier: BSD-3-Clause
// Laws and leaves as a debug build has them. What works on four doubles at a time then calls what an optimizer would
// have put in its place: those calls must hand four doubles over as both sides expect, and give the digits of one.
#include <cstdio>
#include <vector>

#include "capsim/contraction_law.hpp"
#include "capsim/simulation.hpp"

namespace {

using namespace capsim;

bool failed(const char* what) {
  std::fprintf(stderr, "%s\n", what);
  return true;
}

// Rates of 9 points at once, two times four and one, against those of each point alone.
bool rates_differ(ContractionKind law) {
  ContractionSpec spec;
  spec.law = law;
  const auto under = make_contraction_law(spec);
  constexpr std::size_t n = 9;
  const std::size_t variables = under->variables();
  std::vector<double> y(variables * n), cells(n, 1.0), stretches(fibre_families * n), rates(variables * n);
  under->start(cells, y);
  for (std::size_t i = 0; i < y.size(); ++i) y[i] += 0.01 * static_cast<double>(i % 7);
  for (std::size_t i = 0; i < stretches.size(); ++i) stretches[i] = 0.9 + 0.01 * static_cast<double>(i % 13);
  under->rate(5, y, stretches, rates);
  for (std::size_t p = 0; p < n; ++p) {
    std::vector<double> one(variables), seen(fibre_families), rate(variables);
    for (std::size_t v = 0; v < variables; ++v) one[v] = y[v * n + p];
    for (std::size_t f = 0; f < fibre_families; ++f) seen[f] = stretches[f * n + p];
    under->rate(5, one, seen, rate);
    for (std::size_t v = 0; v < variables; ++v)
      if (rate[v] != rates[v * n + p]) return failed("a rate depends on how many points there are");
  }
  return false;
}

bool does_not_run(ContractionKind law, CapsuleLaw capsule) {
  Scenario eye;
  eye.mesh = {24, 2, 2};
  eye.duration_days = 4;
  eye.contraction.law = law;
  eye.capsule.law = capsule;
  const History run = simulate(eye);
  return run.status() != Status::completed && failed(run.message().c_str());
}

}  // namespace

int main() {
  const bool wrong = rates_differ(ContractionKind::fibre_remodelling) ||
                     rates_differ(ContractionKind::active_lock_in) ||
                     does_not_run(ContractionKind::fibre_remodelling, CapsuleLaw::fung) ||
                     does_not_run(ContractionKind::active_lock_in, CapsuleLaw::neo_hookean);
  return wrong ? 1 : 0;
}
