// SPDX-License-Identifier: BSD-3-Clause
// How close derivatives of a run come to a converged reference: the twelve eyes, tight tolerances.
//
//   benchmark_sensitivity_accuracy [days] [first] [last] [smooth]     150 days of eyes 0 to 11 by default
//
// smooth: the same eyes with a capsule that withstands compression in full and tissue without a matrix, so that nothing
// wrinkles.
//
// The reference is Richardson's extrapolation of central differences of whole runs, at three steps that halve: the
// last two extrapolations tell how well the reference knows itself. A derivative is told relative to its own size;
// where a parameter does nearly nothing (an outcome changes by less than a thousandth of itself when the parameter
// doubles), relative to that thousandth. Near a kink: the next slack bundle, wrinkle or contact on a row is nearer than
// the largest step of the differences, or the run went through kinks. Counts are told for near and away.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "scenario/scenario_number.hpp"
#include "twelve_eyes.hpp"

namespace {

using capsim::Scenario;

struct Parameter {
  const char* path;
  double share;  // of its value: the largest step of the differences
};
constexpr std::array<Parameter, 5> parameters{{{"contraction.signal_days", 2e-3},
                                               {"contraction.tissue_per_day", 2e-3},
                                               {"capsule.modulus_kPa", 4e-3},
                                               {"zonule.pull_mN", 2e-3},
                                               {"opening.diameter_mm", 1e-3}}};
constexpr std::array<const char*, 3> names{"opening_area_mm2", "zonule_load_total_mN", "equator_diameter_mm"};
constexpr double hardly = 1e-3;  // of an outcome, for a parameter that doubles

struct Count {
  int all = 0, close = 0, unsure = 0;  // unsure: the reference itself
};
std::array<Count, 3> counts;  // away from kinks, kinks passed alone, a kink near on a row

/// Both extrapolations of an outcome, the better one last.
std::array<double, 2> extrapolated(const std::array<std::array<double, 2>, 3>& sides, double largest_step) {
  std::array<double, 3> central{};
  for (std::size_t k = 0; k < 3; ++k) central[k] = (sides[k][1] - sides[k][0]) / (2 * largest_step / (1 << k));
  const double coarse = (4 * central[1] - central[0]) / 3, fine = (4 * central[2] - central[1]) / 3;
  return {fine, (16 * fine - coarse) / 15};
}

void report(const capsim::NamedEye& eye, double days, bool smooth) {
  Scenario scenario = eye.scenario;
  scenario.mesh = {12, 2, 2};
  scenario.duration_days = days;
  scenario.output_every_days = days;
  scenario.events.erase(std::remove_if(scenario.events.begin(), scenario.events.end(),
                                       [&](const capsim::Event& event) { return event.day > days; }),
                        scenario.events.end());
  scenario.numerics.time_tolerance = 1e-9;
  scenario.numerics.force_tolerance = 1e-11;
  scenario.numerics.max_steps = 1'000'000;
  scenario.numerics.max_work = 1e9;
  if (smooth) {
    scenario.capsule.compression_fraction = 1;
    scenario.contraction.matrix_modulus_kPa = 0;
  }
  std::vector<std::string> paths;
  for (const Parameter& p : parameters)
    if (capsim::number_at(scenario, p.path).value != nullptr) paths.emplace_back(p.path);
  const capsim::Sensitivities found = capsim::sensitivities(scenario, paths);
  const capsim::KinkCounts& passed = found.kinks_passed;
  const bool through = passed.slack + passed.wrinkle + passed.contact > 0;
  std::printf("%-16s passed: slack %ld wrinkle %ld contact %ld\n", eye.name.c_str(), passed.slack, passed.wrinkle,
              passed.contact);
  if (!found.message.empty()) std::printf("%s: %s\n", eye.name.c_str(), found.message.c_str());
  for (std::size_t p = 0; p < paths.size(); ++p) {
    const double value = *capsim::number_at(scenario, paths[p]).value;
    const double share = std::find_if(parameters.begin(), parameters.end(), [&](const Parameter& of) {
                           return paths[p] == of.path;
                         })->share;
    std::array<std::array<std::array<double, 2>, 3>, names.size()> sides{};
    for (std::size_t k = 0; k < 3; ++k)
      for (const std::size_t side : {0, 1}) {
        Scenario moved = scenario;
        *capsim::number_at(moved, paths[p]).value = value * (1 + (side == 0 ? -share : share) / (1 << k));
        const capsim::Outcomes outcomes = capsim::outcomes(capsim::simulate(moved));
        for (std::size_t i = 0; i < names.size(); ++i) sides[i][k][side] = outcomes[names[i]];
      }
    for (std::size_t i = 0; i < names.size(); ++i) {
      const std::array<double, 2> reference = extrapolated(sides[i], share * value);
      std::size_t o = 0;
      while (found.outcomes.values[o].name != names[i]) ++o;
      const double here = found.by_outcome[o * paths.size() + p];
      const double scale = std::max(std::abs(reference[1]), hardly * std::abs(found.outcomes.values[o].value / value));
      const capsim::SensitivityParameter& told = found.parameters[p];
      const double off = std::abs(here - reference[1]) / scale, unsure = std::abs(reference[1] - reference[0]) / scale;
      const double nearest = std::min({told.nearest_slack, told.nearest_wrinkle, told.nearest_contact});
      Count& count = counts[nearest < share * value ? 2 : through ? 1 : 0];
      ++count.all;
      if (off <= 1e-5) ++count.close;
      if (unsure > 1e-5) ++count.unsure;
      std::printf("%-16s %-28s %-22s %14.7g  off %.1e  reference %.1e  slack %.1e wrinkle %.1e contact %.1e\n",
                  eye.name.c_str(), paths[p].c_str(), names[i], here, off, unsure, told.nearest_slack / value,
                  told.nearest_wrinkle / value, told.nearest_contact / value);
      std::fflush(stdout);
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const double days = argc > 1 ? std::atof(argv[1]) : 150;
  const std::vector<capsim::NamedEye> eyes = capsim::twelve_eyes();
  const std::size_t first = argc > 2 ? static_cast<std::size_t>(std::atoi(argv[2])) : 0,
                    last = argc > 3 ? static_cast<std::size_t>(std::atoi(argv[3])) : eyes.size() - 1;
  for (std::size_t k = first; k <= last && k < eyes.size(); ++k) report(eyes[k], days, argc > 4);
  const char* const kinds[3] = {"away from kinks", "kinks passed", "a kink near on a row"};
  for (std::size_t k = 0; k < 3; ++k)
    std::printf("%-22s %d of %d within 1e-5, %d references not sure of it\n", kinds[k], counts[k].close, counts[k].all,
                counts[k].unsure);
}
