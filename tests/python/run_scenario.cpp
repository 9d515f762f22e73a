// SPDX-License-Identifier: BSD-3-Clause
/// @file  A C++ program of its own: runs the scenario in a JSON file and saves the result, for comparison with Python.
#include <cstdio>
#include <exception>
#include <fstream>
#include <iterator>
#include <string>

#include "capsim/results_file.hpp"
#include "capsim/simulation.hpp"

int main(int count, char** arguments) {
  if (count != 3) {
    std::fprintf(stderr, "usage: capsim_run_scenario scenario.json result.h5\n");
    return 2;
  }
  try {
    std::ifstream file(arguments[1]);
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    const capsim::History history = capsim::simulate(capsim::Scenario::from_json(text));
    capsim::save(history, arguments[2]);
    return history.status() == capsim::Status::completed ? 0 : 1;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
