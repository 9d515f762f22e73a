// SPDX-License-Identifier: BSD-3-Clause
// Opening areas of several eyes over time, to the last digit: what every compiler has to agree on (test_compilers.py).
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "capsim/simulation.hpp"

namespace {

using namespace capsim;

std::vector<std::pair<std::string, Scenario>> eyes() {
  Scenario plain;
  plain.mesh = MeshSpec::coarse();
  plain.duration_days = 180;
  std::vector<std::pair<std::string, Scenario>> all{{"default", plain}};
  Scenario& weak = all.emplace_back("weak_zonule", plain).second;
  weak.zonule.strength = 0.3;
  weak.zonule.strength_by_hour = {{4, 0.0}, {5, 0.2}};
  Scenario& ring = all.emplace_back("ring_and_cuts", plain).second;
  ring.tension_ring.emplace();
  ring.events = {{30, RelaxingCuts{{12, 4, 8}, 0.75}}};
  Scenario& fung = all.emplace_back("fung", plain).second;
  fung.capsule.law = CapsuleLaw::fung;
  Scenario& lock_in = all.emplace_back("lock_in", plain).second;
  lock_in.contraction.law = ContractionKind::active_lock_in;
  Scenario& empty = all.emplace_back("without_lens", plain).second;
  empty.lens.reset();
  return all;
}

}  // namespace

int main() {
  for (const auto& [name, eye] : eyes()) {
    const History history = simulate(eye);
    if (history.status() != Status::completed) {
      std::fprintf(stderr, "%s: %s\n", name.c_str(), history.message().c_str());
      return 1;
    }
    for (std::size_t row = 0; row < history.rows(); ++row)
      std::printf("%s %.17g %.17g\n", name.c_str(), history.day()[row], history.value("opening_area_mm2", row));
  }
}
