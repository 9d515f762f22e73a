// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// Twelve invented eyes that between them use every part, both contraction laws and every kind of event.
// Benchmarks and records compare versions of the library on them.
#include <functional>
#include <string>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim {

struct NamedEye {
  std::string name;
  Scenario scenario;
};

/// The twelve eyes, each over one year with weekly rows, on the default mesh.
inline std::vector<NamedEye> twelve_eyes() {
  std::vector<NamedEye> eyes;
  const auto eye = [&](const char* name, const std::function<void(Scenario&)>& change) {
    eyes.push_back({name, {}});
    change(eyes.back().scenario);
  };
  const Event four_cuts{90, RelaxingCuts{{12, 3, 6, 9}, 0.75}};
  eye("default", [](Scenario&) {});
  eye("weak", [](Scenario& s) {
    s.zonule.strength = 0.15;
    s.contraction.chronic_signal = 0.2;
    s.opening.diameter_mm = 4.5;
  });
  eye("sector", [](Scenario& s) { s.zonule.strength_by_hour = {{3, 0.2}, {4, 0.0}, {5, 0.2}}; });
  eye("ring", [](Scenario& s) {
    s.zonule.strength_by_hour = {{4, 0.2}, {5, 0.0}};
    s.tension_ring = TensionRingSpec{};
  });
  eye("cuts", [&](Scenario& s) {
    s.zonule.strength = 0.3;
    s.contraction.chronic_signal = 0.2;
    s.events.push_back(four_cuts);
  });
  eye("ring_and_cuts", [&](Scenario& s) {
    s.zonule.strength_by_hour = {{4, 0.2}, {5, 0.0}};
    s.tension_ring = TensionRingSpec{};
    s.contraction.chronic_signal = 0.2;
    s.events.push_back(four_cuts);
  });
  eye("no_lens", [](Scenario& s) { s.lens.reset(); });
  eye("split_zonule", [](Scenario& s) {
    s.zonule.strength = 0.5;
    s.zonule.attachment = ZonuleAttachment::split;
  });
  eye("oval_off_centre", [](Scenario& s) {
    s.opening.diameters_mm = {5.4, 4.8};
    s.opening.axis_hour = 2;
    s.opening.center_mm = {0.3, -0.2};
    s.contraction.cells_left_by_hour = {{6, 0.2}, {7, 0.2}};
  });
  eye("events", [](Scenario& s) {
    s.zonule.strength = 0.6;
    s.events.push_back({30, ZonuleDamage{{{5, 0.2}, {6, 0.0}}}});
    s.events.push_back({60, TensionRingSpec{}});
    s.events.push_back({120, RelaxingCuts{{12, 4, 8}, 0.5}});
  });
  eye("lock_in", [](Scenario& s) { s.contraction.law = ContractionKind::active_lock_in; });
  eye("lock_in_cuts", [&](Scenario& s) {
    s.contraction.law = ContractionKind::active_lock_in;
    s.zonule.strength = 0.3;
    s.contraction.chronic_signal = 0.2;
    s.events.push_back(four_cuts);
  });
  return eyes;
}

}  // namespace capsim
