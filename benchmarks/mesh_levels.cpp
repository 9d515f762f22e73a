// SPDX-License-Identifier: BSD-3-Clause
/// What a mesh level costs in accuracy: the demonstration's plans on the coarse, standard and fine
/// mesh, area on the last day against the fine one. Usage: benchmark_mesh_levels SCENARIO.json ...

#include <cstdio>

#include "capsim/simulation.hpp"

int main(int count, char** paths) {
  using namespace capsim;
  std::printf("%-40s %8s %12s %10s %8s\n", "scenario", "mesh", "area mm2", "to fine", "wall s");
  for (int i = 1; i < count; ++i) {
    Scenario scenario = Scenario::from_file(paths[i]);
    scenario.output_every_days = 90;
    double fine = 0;
    for (const MeshSpec& mesh : {MeshSpec::fine(), MeshSpec::standard(), MeshSpec::coarse()}) {
      scenario.mesh = mesh;
      const History history = simulate(scenario);
      if (history.rows() == 0) {
        std::printf("%-40s %s\n", scenario.name.c_str(), history.message().c_str());
        continue;
      }
      const double area = history.opening_area_mm2().back();
      if (mesh == MeshSpec::fine()) fine = area;
      std::printf("%-40s %4dx%-3d %12.4f %+9.2f%% %8.2f  %s\n", scenario.name.c_str(), mesh.around, mesh.radial, area,
                  100 * (area / fine - 1), history.diagnostics().wall_seconds, to_string(history.status()).data());
    }
  }
}
