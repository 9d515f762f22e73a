// SPDX-License-Identifier: BSD-3-Clause
// What one year of follow-up costs, from the scenario to the history, on one thread.
//
//   benchmark_whole_run [repetitions]     default 5; the median is printed
//
// Rows: the default eye, the same with a row a day, one with relaxing cuts, one with a tension ring, and one whose
// leaves fuse outside the optic, on three meshes. Columns: wall time; how many steps, equilibria, Newton iterations and
// factorizations it took; and the shares of time in element loops, factorizations and solves.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include "capsim/simulation.hpp"

namespace {

using NamedScenario = std::pair<std::string, capsim::Scenario>;

std::vector<NamedScenario> scenarios() {
  capsim::Scenario plain;

  capsim::Scenario cut = plain;
  cut.zonule.strength = 0.3;
  cut.contraction.chronic_signal = 0.2;
  cut.events.push_back({90, capsim::RelaxingCuts{{12, 3, 6, 9}, 0.75}});

  capsim::Scenario ring = plain;
  ring.zonule.strength_by_hour = {{4, 0.2}, {5, 0.0}};
  ring.tension_ring = capsim::TensionRingSpec{};

  capsim::Scenario daily = plain;
  daily.output_every_days = 1;

  capsim::Scenario fused = plain;
  fused.contraction.band_width_mm = 0.2;
  fused.contraction.cells_beyond_contact = 1;
  fused.contraction.fibre_modulus_kPa = 191;
  fused.bag_tissue.fibre_modulus_kPa = 225;
  fused.bag_tissue.bond_kPa_per_mm = 20;
  fused.bag_tissue.haptic_bond_mN_per_mm = 5;

  return {{"default", plain},
          {"daily rows", daily},
          {"relaxing cuts", cut},
          {"tension ring", ring},
          {"fused leaves", fused}};
}

/// The run with the median wall time.
capsim::History median_run(const capsim::Scenario& scenario, int repetitions) {
  std::vector<capsim::History> runs;
  for (int i = 0; i < repetitions; ++i) runs.push_back(capsim::simulate(scenario));
  const auto middle = runs.begin() + repetitions / 2;
  std::nth_element(runs.begin(), middle, runs.end(), [](const auto& a, const auto& b) {
    return a.diagnostics().wall_seconds < b.diagnostics().wall_seconds;
  });
  return *middle;
}

void print_row(const std::string& name, const capsim::History& run) {
  const capsim::Diagnostics& d = run.diagnostics();
  const double share = d.wall_seconds > 0 ? 100 / d.wall_seconds : 0;
  const std::string mesh =
      std::to_string(run.scenario().mesh.around) + "x" + std::to_string(run.scenario().mesh.radial);
  std::printf("%-14s %7s %9.1f %6ld %7ld %7ld %7ld %7.0f %7.0f %7.0f  %s\n", name.c_str(), mesh.c_str(),
              1000 * d.wall_seconds, d.steps, d.equilibria, d.newton_iterations, d.factorizations,
              share * d.seconds_elements, share * d.seconds_factor, share * d.seconds_solve,
              std::string(capsim::to_string(run.status())).c_str());
}

}  // namespace

int main(int argc, char* argv[]) {
  const int repetitions = argc > 1 ? std::max(1, std::atoi(argv[1])) : 5;
  std::printf("%-14s %7s %9s %6s %7s %7s %7s %7s %7s %7s  %s\n", "scenario", "mesh", "wall ms", "steps", "equil.",
              "Newton", "factor.", "elem. %", "fact. %", "solve %", "status");
  for (auto [name, scenario] : scenarios()) {
    for (const capsim::MeshSpec mesh :
         {capsim::MeshSpec::coarse(), capsim::MeshSpec::standard(), capsim::MeshSpec::fine()}) {
      scenario.mesh = mesh;
      print_row(name, median_run(scenario, repetitions));
      std::fflush(stdout);
    }
  }
  return 0;
}
