// SPDX-License-Identifier: BSD-3-Clause
// What derivatives of a year cost: processor time of 10 and of 40 parameters over that of a plain run, the least of
// repetitions that take turns, so that what others do on the machine touches all alike.
//
//   benchmark_sensitivity_cost [coarse|standard] [turns] [eye]     9 turns by default, all twelve eyes
//
// 10 and 40 for outcomes alone; 40 with a series on every row as well.
#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <utility>
#include <vector>

#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "processor_time.hpp"
#include "twelve_eyes.hpp"

namespace {

const std::vector<std::string> forty{"contraction.signal_days",
                                     "contraction.deactivation_per_day",
                                     "contraction.fibre_modulus_kPa",
                                     "contraction.tissue_per_day",
                                     "zonule.strength_by_hour.4",
                                     "zonule.pull_mN",
                                     "capsule.modulus_kPa",
                                     "opening.diameter_mm",
                                     "contraction.cells_left_by_hour.6",
                                     "contraction.band_width_mm",
                                     "contraction.laying_stretch",
                                     "contraction.remodelling_days",
                                     "contraction.activation_per_day",
                                     "contraction.regrowth_per_day",
                                     "contraction.tissue_thickness_mm",
                                     "contraction.matrix_modulus_kPa",
                                     "zonule.stiffness_mN_per_mm",
                                     "capsule.compression_fraction",
                                     "capsule.anterior_thickness_um",
                                     "capsule.posterior_thickness_um",
                                     "bag.equator_diameter_mm",
                                     "opening.center_mm[0]",
                                     "opening.center_mm[1]",
                                     "zonule.ciliary_ring_diameter_mm",
                                     "zonule.strength_by_hour.1",
                                     "zonule.strength_by_hour.2",
                                     "zonule.strength_by_hour.3",
                                     "zonule.strength_by_hour.5",
                                     "zonule.strength_by_hour.6",
                                     "zonule.strength_by_hour.7",
                                     "zonule.strength_by_hour.8",
                                     "zonule.strength_by_hour.9",
                                     "zonule.strength_by_hour.10",
                                     "zonule.strength_by_hour.11",
                                     "zonule.strength_by_hour.12",
                                     "contraction.cells_left_by_hour.3",
                                     "contraction.cells_left_by_hour.9",
                                     "contraction.hoop_weight",
                                     "contraction.diagonal_weight",
                                     "contraction.packing_limit"};

}  // namespace

int main(int argc, char** argv) {
  const bool standard = argc > 1 && std::strcmp(argv[1], "standard") == 0;
  const int turns = argc > 2 ? std::atoi(argv[2]) : 9;
  const std::string only = argc > 3 ? argv[3] : "";
  const std::vector<std::string> ten(forty.begin(), forty.begin() + 10), none;
  struct Work {
    const std::vector<std::string>* paths;
    std::vector<std::string> series;
  };
  const std::array<Work, 4> works{{{&none, {}}, {&ten, {}}, {&forty, {}}, {&forty, {"opening_area_mm2"}}}};
  std::printf("%-16s %10s %10s %10s %10s\n", "eye", "plain ms", "10 param", "40 param", "40, series");
  for (auto& [name, scenario] : capsim::twelve_eyes()) {
    if (!only.empty() && name != only) continue;
    scenario.mesh = standard ? capsim::MeshSpec::standard() : capsim::MeshSpec::coarse();
    std::array<capsim::Least, 4> least;
    for (int turn = 0; turn < turns; ++turn)
      for (std::size_t w = 0; w < works.size(); ++w) {
        const auto& [paths, series] = works[w];
        capsim::SensitivityOptions options;
        options.series = series;
        // A plain run is short: several in a row, the best of which counts.
        for (int again = paths->empty() ? 4 : 1; again > 0; --again)
          least[w].see(capsim::each_ms(1, [&, &s = scenario] {
            if (paths->empty())
              static_cast<void>(capsim::simulate(s));
            else
              static_cast<void>(capsim::sensitivities(s, *paths, options));
          }));
      }
    const double plain = least[0].value();
    std::printf("%-16s %10.1f %10.2f %10.2f %10.2f\n", name.c_str(), plain, least[1].value() / plain,
                least[2].value() / plain, least[3].value() / plain);
    std::fflush(stdout);
  }
}
