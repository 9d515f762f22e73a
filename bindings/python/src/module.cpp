// SPDX-License-Identifier: BSD-3-Clause
#include "bindings.hpp"
#include "capsim/version.hpp"

PYBIND11_MODULE(_core, module) {
  using namespace capsim::python;
  module.doc() = "The compiled part of capsim; use the package capsim instead.";
  module.attr("version") = pybind11::str(std::string(capsim::version()));
  module.attr("build") = pybind11::str(std::string(capsim::build()));
  module.attr("commit") = pybind11::str(std::string(capsim::commit()));
  bind_errors(module);
  bind_scenario(module);
  bind_history(module);
  bind_outcomes(module);
  bind_population(module);
  bind_sensitivities(module);
  bind_simulation(module);
  bind_study(module);
  bind_stepping(module);
  bind_sweep_rows(module);
}
