// SPDX-License-Identifier: BSD-3-Clause
// What derivatives of a year cost: processor time of 10 and of 40 parameters over that of a plain run, medians of five.
//
//   benchmark_sensitivity_cost [coarse|standard]     both for outcomes alone; 40 with a series on every row as well
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <string>
#include <utility>
#include <vector>

#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "twelve_eyes.hpp"

namespace {

double seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

template <class Work>
double median_seconds(const Work& work) {
  std::vector<double> times;
  for (int i = 0; i < 5; ++i) {
    const double start = seconds();
    work();
    times.push_back(seconds() - start);
  }
  std::sort(times.begin(), times.end());
  return times[times.size() / 2];
}

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
  const std::vector<std::string> ten(forty.begin(), forty.begin() + 10);
  std::printf("%-16s %10s %10s %10s %10s\n", "eye", "plain ms", "10 param", "40 param", "40, series");
  for (auto& [name, scenario] : capsim::twelve_eyes()) {
    scenario.mesh = standard ? capsim::MeshSpec::standard() : capsim::MeshSpec::coarse();
    const double plain = median_seconds([&, &s = scenario] { static_cast<void>(capsim::simulate(s)); });
    const auto ratio = [&, &s = scenario](const std::vector<std::string>& paths, std::vector<std::string> series) {
      capsim::SensitivityOptions options;
      options.series = std::move(series);
      return median_seconds([&] { static_cast<void>(capsim::sensitivities(s, paths, options)); }) / plain;
    };
    std::printf("%-16s %10.1f %10.2f %10.2f %10.2f\n", name.c_str(), 1e3 * plain, ratio(ten, {}), ratio(forty, {}),
                ratio(forty, {"opening_area_mm2"}));
    std::fflush(stdout);
  }
}
