// SPDX-License-Identifier: BSD-3-Clause
// Fingerprints and records of twelve eyes on three meshes: the bits of every series, to show that a change of the
// code is none of the results; and the opening's area row by row, to show how large a change of the results is.
//
//   benchmark_twelve_eyes                     a line for each eye and mesh: fingerprint, area at the end, work
//   benchmark_twelve_eyes --record FOLDER     also writes the areas to FOLDER
//   benchmark_twelve_eyes --against FOLDER    also prints the largest relative difference to the areas recorded there
//   ... --mesh coarse|standard|fine           one mesh only
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <string>
#include <vector>

#include "capsim/simulation.hpp"
#include "twelve_eyes.hpp"

namespace {

// FNV-1a over the bytes of names and values.
class Fingerprint {
 public:
  void add(const void* data, std::size_t bytes) {
    const auto* p = static_cast<const unsigned char*>(data);
    for (std::size_t i = 0; i < bytes; ++i) hash_ = (hash_ ^ p[i]) * 1099511628211ULL;
  }
  [[nodiscard]] std::uint64_t value() const { return hash_; }

 private:
  std::uint64_t hash_ = 14695981039346656037ULL;
};

std::uint64_t fingerprint(const capsim::History& history) {
  Fingerprint f;
  for (const capsim::Series& series : history.all_series()) {
    f.add(series.name.data(), series.name.size());
    f.add(series.values.data(), series.values.size() * sizeof(double));
  }
  return f.value();
}

void record(const std::string& path, const capsim::History& history) {
  std::ofstream out(path);
  out.precision(17);
  for (std::size_t row = 0; row < history.rows(); ++row)
    out << history.day()[row] << ' ' << history.value("event_side", row) << ' ' << history.opening_area_mm2()[row]
        << '\n';
}

// Largest relative difference of the area over the rows, or NaN when the rows differ.
double difference(const std::string& path, const capsim::History& history) {
  std::ifstream in(path);
  double largest = 0, day = 0, side = 0, area = 0;
  std::size_t row = 0;
  for (; in >> day >> side >> area; ++row) {
    if (row >= history.rows() || std::abs(history.day()[row] - day) > 1e-6 || history.value("event_side", row) != side)
      return NAN;
    largest = std::max(largest, std::abs(history.opening_area_mm2()[row] / area - 1));
  }
  return row == history.rows() ? largest : NAN;
}

}  // namespace

int main(int argc, char** argv) {
  for (int i = 1; i < argc; i += 2) {
    const std::string name = argv[i];
    if ((name == "--record" || name == "--against" || name == "--mesh") && i + 1 < argc) continue;
    std::fprintf(stderr, "unknown option or missing value: %s (see the head of twelve_eyes.cpp)\n", argv[i]);
    return 2;
  }
  const auto option = [&](const char* name) -> std::string {
    for (int i = 1; i + 1 < argc; ++i)
      if (std::strcmp(argv[i], name) == 0) return argv[i + 1];
    return "";
  };
  const std::string to = option("--record"), from = option("--against"), only = option("--mesh");
  const std::pair<const char*, capsim::MeshSpec> meshes[] = {{"coarse", capsim::MeshSpec::coarse()},
                                                             {"standard", capsim::MeshSpec::standard()},
                                                             {"fine", capsim::MeshSpec::fine()}};
  std::printf("%-16s %-8s %-16s %14s %10s %9s %s\n", "eye", "mesh", "fingerprint", "last area mm2", "equilibria",
              "factors", from.empty() ? "status" : "largest difference of the area");
  double worst = 0;
  for (const auto& [mesh, spec] : meshes) {
    if (!only.empty() && only != mesh) continue;
    for (auto& [name, scenario] : capsim::twelve_eyes()) {
      scenario.mesh = spec;
      const capsim::History history = capsim::simulate(scenario);
      const auto& d = history.diagnostics();
      std::printf("%-16s %-8s %016llx %14.9f %10ld %9ld ", name.c_str(), mesh,
                  static_cast<unsigned long long>(fingerprint(history)), history.opening_area_mm2().back(),
                  d.equilibria, d.factorizations);
      const std::string file = "/" + name + "-" + mesh + ".txt";
      if (from.empty()) {
        std::printf("%s\n", std::string(capsim::to_string(history.status())).c_str());
      } else {
        const double here = difference(from + file, history);
        worst = std::isnan(here) ? here : std::max(worst, here);
        std::printf("%.2e\n", here);
      }
      if (!to.empty()) record(to + file, history);
    }
  }
  if (!from.empty()) std::printf("largest of all: %.2e\n", worst);
}
