// SPDX-License-Identifier: BSD-3-Clause
// What a user of the library writes first: one coarse, short run, one wrong scenario, and one
// result saved and read back. Each consumer project builds this file in its own way.
#include <capsim/results_file.hpp>
#include <capsim/simulation.hpp>
#include <capsim/version.hpp>

#include <cmath>
#include <cstdio>

#ifdef CONSUMER_EXPECTS_NO_RESULTS_FILE
static_assert(CAPSIM_HAS_RESULTS_FILE == 0);
#endif
static_assert(CAPSIM_VERSION_NUMBER >= 100);

namespace {

int failures = 0;

void check(bool holds, const char* statement) {
  std::printf("%s: %s\n", holds ? "ok" : "NOT OK", statement);
  if (!holds) ++failures;
}

capsim::Scenario short_scenario() {
  capsim::Scenario scenario;
  scenario.name = "consumer";
  scenario.duration_days = 30;
  scenario.output_every_days = 15;
  scenario.lens.reset();
  scenario.mesh = capsim::MeshSpec::coarse();
  return scenario;
}

bool wrong_input_is_refused() {
  capsim::Scenario scenario = short_scenario();
  scenario.opening.diameter_mm = -1;
  try {
    (void)capsim::simulate(scenario);
  } catch (const capsim::ScenarioError& error) {
    return !error.violations().empty() && error.violations()[0].path == "opening.diameter_mm";
  }
  return false;
}

}  // namespace

int main(int argc, char* argv[]) {
  const capsim::Scenario scenario = short_scenario();
  const capsim::History history = capsim::simulate(scenario);

  check(capsim::version() == CONSUMER_EXPECTED_VERSION, "the library has the package's version");
  check(history.status() == capsim::Status::completed, "the run completes");
  check(history.day().front() == 0 && history.day().back() == 30, "first and last day are kept");

  // At the end of surgery the opening is the stated circle; 1 % leaves room for a coarse mesh.
  const double stated = capsim::pi / 4 * std::pow(scenario.opening.diameter_mm, 2);
  const double first = history.opening_area_mm2().front();
  const double last = history.opening_area_mm2().back();
  std::printf("opening area: stated %.4f, first %.4f, last %.4f mm2\n", stated, first, last);
  check(std::abs(first / stated - 1) < 0.01, "the first area is that of the stated opening");
  check(last < first && last > 0.1 * first, "the opening shrinks, and does not vanish");
  check(wrong_input_is_refused(), "a negative diameter is refused by its path");

#if CAPSIM_HAS_RESULTS_FILE
  if (argc > 1) {
    capsim::save(history, argv[1]);
    const capsim::History back = capsim::load(argv[1]);
    check(back.opening_area_mm2().back() == last, "a saved result reads back unchanged");
  }
#else
  (void)argc, (void)argv;
#endif
  return failures == 0 ? 0 : 1;
}
