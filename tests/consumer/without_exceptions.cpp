// SPDX-License-Identifier: BSD-3-Clause
// A host in C++ that is compiled without exceptions and run-time types, and with everything hidden, uses the C
// interface.
#include <capsim.h>

#include <cmath>
#include <cstdio>
#include <memory>

int main() {
  const std::unique_ptr<capsim_scenario, void (*)(capsim_scenario*)> eye(capsim_scenario_create(),
                                                                         &capsim_scenario_destroy);
  const std::unique_ptr<capsim_history, void (*)(capsim_history*)> history(capsim_history_create(),
                                                                           &capsim_history_destroy);
  // An exception inside the library is a status here.
  if (capsim_scenario_set_number(eye.get(), "opening.diameter_mm", -5) != CAPSIM_OK ||
      capsim_simulate(eye.get(), nullptr, history.get()) != CAPSIM_INVALID_SCENARIO)
    return 1;
  double area = std::nan("");
  if (capsim_scenario_set_number(eye.get(), "opening.diameter_mm", 5) != CAPSIM_OK ||
      capsim_scenario_set_number(eye.get(), "duration_days", 1) != CAPSIM_OK ||
      capsim_scenario_set_integer(eye.get(), "mesh.around", 24) != CAPSIM_OK ||
      capsim_simulate(eye.get(), nullptr, history.get()) != CAPSIM_OK ||
      capsim_history_outcome_value(history.get(), "opening_area_mm2", &area) != CAPSIM_OK)
    return 1;
  std::printf("%.17g\n", area);
  return area > 10 && area < 25 ? 0 : 1;
}
