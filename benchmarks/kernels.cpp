// SPDX-License-Identifier: BSD-3-Clause
// What a run does over and over, each by itself, and how it grows with the mesh (Google Benchmark).
//
//   benchmark_kernels [--benchmark_filter=...] [--benchmark_repetitions=...]
//
// The eye is the default one after a year. N is the number of unknowns; the last lines of a kind give the exponent that
// fits best among the library's few (N, N log N, N^2), and how well.
#include <benchmark/benchmark.h>

#include <map>
#include <memory>
#include <utility>

#include "eye_at_rest.hpp"

namespace {

using namespace capsim;

/// The eye on a mesh, made once for all that is measured there.
EyeAtRest& eye_on(int around, int radial) {
  static std::map<std::pair<int, int>, std::unique_ptr<EyeAtRest>> eyes;
  std::unique_ptr<EyeAtRest>& eye = eyes[{around, radial}];
  if (!eye) {
    Scenario scenario;
    scenario.mesh.around = around;
    scenario.mesh.radial = radial;
    Simulation simulation(std::make_shared<const Model>(scenario));
    simulation.advance_to(scenario.duration_days);
    eye = std::make_unique<EyeAtRest>(std::move(simulation));
  }
  return *eye;
}

template <class Work>
void measure(benchmark::State& state, Work&& work) {
  EyeAtRest& eye = eye_on(static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  for ([[maybe_unused]] const auto _ : state) work(eye);
  state.SetComplexityN(eye.dofs());
  state.counters["unknowns"] = eye.dofs();
}

void forces(benchmark::State& state) {
  measure(state, [](EyeAtRest& eye) { benchmark::DoNotOptimize(eye.forces()); });
}
void stiffness_and_factorization(benchmark::State& state) {
  measure(state, [](EyeAtRest& eye) { benchmark::DoNotOptimize(eye.renew()); });
}
void solve(benchmark::State& state) {
  measure(state, [](EyeAtRest& eye) { eye.solve(); });
}

void meshes(benchmark::internal::Benchmark* kernel) {
  for (const auto& [around, radial] : {std::pair{24, 4}, {48, 6}, {48, 8}, {96, 12}}) kernel->Args({around, radial});
  kernel->Complexity()->Unit(benchmark::kMicrosecond);
}
BENCHMARK(forces)->Apply(meshes);
BENCHMARK(stiffness_and_factorization)->Apply(meshes);
BENCHMARK(solve)->Apply(meshes);

}  // namespace

BENCHMARK_MAIN();
