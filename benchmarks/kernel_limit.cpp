// SPDX-License-Identifier: BSD-3-Clause
// A year of follow-up beside what its kernels alone would take, and how both grow with the mesh.
//
//   benchmark_kernel_limit [--rounds 9] [--json] [--growth]
//
// The limit is the set-up and then nothing but 81 equilibria (27 at the ends of steps, and a row a week) of two
// evaluations of all forces and one solve each, and three factorizations. The set-up, the search for the unloaded
// shape included, is the same on both sides; the second ratio leaves it out on both. Processor time of one thread, the
// least of the rounds; a round measures all kinds once, in turn, so that a machine which others use slows all alike.
//   --growth   meshes from 24x4 to 192x24 instead, with the exponents of time and memory in the number of unknowns
//   --json     a line of JSON for each row instead of a table
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <memory>
#include <string>
#include <vector>

#include "eye_at_rest.hpp"
#include "processor_time.hpp"
#include "twelve_eyes.hpp"

namespace {

using namespace capsim;

constexpr int equilibria = 81, factorizations = 3;

struct Row {
  std::string eye, mesh;
  int dofs = 0;
  std::size_t bytes = 0;
  Least year, set_up, forces, renewal, solve;
  double area_mm2 = 0;
  long equilibria = 0, factorizations = 0, iterations = 0;

  [[nodiscard]] double kernels_ms() const {
    return ::equilibria * (2 * forces.value() + solve.value()) + ::factorizations * renewal.value();
  }
  [[nodiscard]] double limit_ms() const { return kernels_ms() + set_up.value(); }
  [[nodiscard]] double run_ms() const { return year.value() - set_up.value(); }
};

void measure(const Scenario& eye, int rounds, Row& row) {
  Simulation finished(std::make_shared<const Model>(eye));
  if (finished.advance_to(eye.duration_days) != Advance::reached) {
    std::fprintf(stderr, "%s: %s\n", row.eye.c_str(), finished.message().c_str());
    std::exit(1);
  }
  const History history = finished.history();
  row.area_mm2 = history.opening_area_mm2().back();
  row.equilibria = history.diagnostics().equilibria;
  row.factorizations = history.diagnostics().factorizations;
  row.iterations = history.diagnostics().newton_iterations;
  EyeAtRest rest(finished);
  row.dofs = rest.dofs();
  row.bytes = finished.memory_bytes();
  for (int round = 0; round < rounds; ++round) {
    row.set_up.see(each_ms(1, [&] { const Model model(eye); }));
    row.year.see(each_ms(1, [&] { (void)simulate(eye); }));
    row.forces.see(each_ms(20, [&] { rest.forces(); }));
    row.renewal.see(each_ms(5, [&] { (void)rest.renew(); }));
    row.solve.see(each_ms(20, [&] { rest.solve(); }));
  }
}

void print(const Row& r, bool json) {
  if (json)
    std::printf(
        "{\"eye\": \"%s\", \"mesh\": \"%s\", \"dofs\": %d, \"bytes\": %zu, \"year_ms\": %.4f, \"set_up_ms\": %.4f, "
        "\"limit_ms\": %.4f, \"kernels_ms\": %.4f, \"forces_ms\": %.5f, \"renewal_ms\": %.5f, \"solve_ms\": %.5f, "
        "\"area_mm2\": %.9f}\n",
        r.eye.c_str(), r.mesh.c_str(), r.dofs, r.bytes, r.year.value(), r.set_up.value(), r.limit_ms(), r.kernels_ms(),
        r.forces.value(), r.renewal.value(), r.solve.value(), r.area_mm2);
  else
    std::printf("%-14s %-8s %6d %9.2f %9.2f %6.2f %9.2f %9.2f %6.2f %7ld %7ld %7ld\n", r.eye.c_str(), r.mesh.c_str(),
                r.dofs, r.year.value(), r.limit_ms(), r.year.value() / r.limit_ms(), r.run_ms(), r.kernels_ms(),
                r.run_ms() / r.kernels_ms(), r.equilibria, r.iterations, r.factorizations);
  std::fflush(stdout);
}

/// The slope of a straight line through logarithms, by least squares.
double exponent(const std::vector<double>& x, const std::vector<double>& y) {
  double mx = 0, my = 0, xx = 0, xy = 0;
  const auto n = static_cast<double>(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) mx += std::log(x[i]) / n, my += std::log(y[i]) / n;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double dx = std::log(x[i]) - mx;
    xx += dx * dx;
    xy += dx * (std::log(y[i]) - my);
  }
  return xy / xx;
}

void growth(int rounds) {
  std::printf("%-8s %8s %10s %10s %11s %9s %10s\n", "mesh", "unknowns", "year ms", "forces ms", "renewal ms",
              "solve ms", "memory kB");
  std::vector<double> unknowns, year, forces, renewal, solve, memory;
  for (const auto& [around, radial] : {std::pair{24, 4}, {48, 6}, {48, 8}, {96, 12}, {192, 24}}) {
    Scenario eye;
    eye.mesh.around = around;
    eye.mesh.radial = radial;
    Row r;
    measure(eye, around > 96 ? 2 : rounds, r);
    std::printf("%3dx%-4d %8d %10.1f %10.4f %11.4f %9.4f %10.0f\n", around, radial, r.dofs, r.year.value(),
                r.forces.value(), r.renewal.value(), r.solve.value(), static_cast<double>(r.bytes) / 1024);
    std::fflush(stdout);
    unknowns.push_back(r.dofs);
    year.push_back(r.year.value());
    forces.push_back(r.forces.value());
    renewal.push_back(r.renewal.value());
    solve.push_back(r.solve.value());
    memory.push_back(static_cast<double>(r.bytes));
  }
  std::printf("%-8s %8s %10.2f %10.2f %11.2f %9.2f %10.2f\n", "exponent", "", exponent(unknowns, year),
              exponent(unknowns, forces), exponent(unknowns, renewal), exponent(unknowns, solve),
              exponent(unknowns, memory));
}

void seven_eyes(int rounds, bool json) {
  if (!json)
    std::printf("%-14s %-8s %6s %9s %9s %6s %9s %9s %6s %7s %7s %7s\n", "eye", "mesh", "dofs", "year ms", "limit ms",
                "ratio", "run ms", "kernels", "ratio", "equil.", "Newton", "factor.");
  for (const auto& [mesh, spec] : {std::pair{"coarse", MeshSpec::coarse()}, {"standard", MeshSpec::standard()}})
    for (auto& [name, scenario] : twelve_eyes()) {
      bool is_one_of_the_seven = false;
      for (const char* one : {"default", "weak", "sector", "ring", "cuts", "ring_and_cuts", "lock_in"})
        is_one_of_the_seven |= name == one;
      if (!is_one_of_the_seven) continue;
      scenario.mesh = spec;
      Row row;
      row.eye = name;
      row.mesh = mesh;
      measure(scenario, rounds, row);
      print(row, json);
    }
}

}  // namespace

int main(int argc, char** argv) {
  int rounds = 9;
  bool json = false, grow = false;
  for (int i = 1; i < argc; ++i) {
    if (std::strcmp(argv[i], "--json") == 0)
      json = true;
    else if (std::strcmp(argv[i], "--growth") == 0)
      grow = true;
    else if (std::strcmp(argv[i], "--rounds") == 0 && i + 1 < argc)
      rounds = std::max(1, std::atoi(argv[++i]));
    else {
      std::fprintf(stderr, "unknown option or missing value: %s (see the head of kernel_limit.cpp)\n", argv[i]);
      return 2;
    }
  }
  if (grow)
    growth(rounds);
  else
    seven_eyes(rounds, json);
}
