// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Scenarios for tests: one that has every part, and random ones that have any.

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim::test {

/// A short run on the coarse mesh, with a cut.
inline Scenario quick_run() {
  Scenario scenario;
  scenario.name = "quick";
  scenario.duration_days = 20;
  scenario.output_every_days = 10;
  scenario.mesh = MeshSpec::coarse();
  scenario.events.push_back({15, RelaxingCuts{{12, 6}, 0.5}});
  return scenario;
}

/// A valid scenario with an event of each kind; `inserted_ring`: the ring comes with an event.
inline Scenario full_scenario(bool inserted_ring = false) {
  Scenario s;
  s.name = "every part";
  s.eye = Eye::left;
  s.events.push_back({30, ZonuleDamage{{{4, 0.25}}}});
  s.events.push_back({90, RelaxingCuts{{12, 3, 6, 9}, 0.75}});
  ContractionChange flare;
  flare.chronic_signal = 0.3;
  flare.activation_per_day = 0.2;
  flare.laying_stretch = 1.3;
  s.events.push_back({100, flare});
  if (inserted_ring)
    s.events.push_back({120, TensionRingSpec{}});
  else
    s.tension_ring = TensionRingSpec{};
  return s;
}

inline nlohmann::json json_of(const Scenario& scenario) { return nlohmann::json::parse(scenario.to_json()); }

/// The value at a path like `events[1].relaxing_cuts.hours[0]`; created when absent.
inline nlohmann::json& at_path(nlohmann::json& root, const std::string& path) {
  std::string pointer = "/" + path;
  std::replace(pointer.begin(), pointer.end(), '.', '/');
  std::replace(pointer.begin(), pointer.end(), '[', '/');
  pointer.erase(std::remove(pointer.begin(), pointer.end(), ']'), pointer.end());
  return root[nlohmann::json::json_pointer(pointer)];
}

inline std::vector<Violation> violations_in(const std::string& text) {
  try {
    (void)Scenario::from_json(text);
  } catch (const ScenarioError& error) {
    return error.violations();
  }
  return {};
}

inline std::string lines_of(const std::vector<Violation>& violations) {
  std::string text;
  for (const Violation& violation : violations) text += violation.to_string() + '\n';
  return text;
}

/// Valid scenarios with every field away from its default more often than not.
class RandomScenarios {
 public:
  explicit RandomScenarios(unsigned start) : engine_(start) {}

  Scenario next() {
    Scenario s;
    s.name = std::vector<std::string>{"", "plain", "quotes \" and \\", "\xC3\xA4\xE2\x86\x92\xF0\x9F\x91\x81",
                                      "tab\t and\nline"}[below(5)];
    s.eye = pick({Eye::unspecified, Eye::right, Eye::left});
    s.duration_days = number(100, 900);
    s.output_every_days = number(0.5, 2000);
    s.bag.equator_diameter_mm = number(9.5, 10.9);
    s.opening = opening();
    s.capsule.law = pick({CapsuleLaw::neo_hookean, CapsuleLaw::fung});
    s.capsule.modulus_kPa = number(200, 3000);
    s.capsule.fung_a2 = number(-2.8, 2.8);
    if (coin())
      s.capsule.anterior_thickness_profile = {{0, number(8, 16)}, {number(0.2, 0.7), number(8, 16)}, {1, number(5, 9)}};
    s.capsule.posterior_thickness_um = coin() ? 0 : number(3, 9);
    s.zonule.stiffness_mN_per_mm = number(120, 300);
    const double thinnest_mm = 8e-3;  // of the anterior leaf where it is thickest
    s.zonule.pull_mN = std::min(number(0, 60), 0.9 * pi * s.bag.equator_diameter_mm * s.capsule.modulus_kPa / 3 *
                                                   thinnest_mm);  // it is carried
    s.zonule.strength = number(0, 1);
    s.zonule.strength_by_hour = by_hour();
    s.zonule.interpolation = pick({HourInterpolation::stepwise, HourInterpolation::smooth});
    s.zonule.attachment = pick({ZonuleAttachment::equator, ZonuleAttachment::split});
    s.zonule.anterior_inset_mm = number(0.2, 0.8);
    if (coin()) s.zonule.failure_elongation_mm = number(1, 5);
    if (coin()) s.tension_ring = ring();
    if (coin()) s.lens.reset();
    if (s.lens) s.lens->haptics = 2 + below(3);
    if (s.lens) s.lens->axis_hour = hour();
    s.contraction.cells_left_by_hour = by_hour();
    s.contraction.chronic_signal = number(0, 0.4);
    s.contraction.fibre_modulus_kPa = number(0, 900);
    s.contraction.band_width_mm = coin() ? std::optional<double>(number(0.3, 3)) : std::nullopt;
    if (coin()) s.contraction.contact_diameter_mm = number(4, 8);
    s.events.push_back({number(0, 100), ZonuleDamage{{{1 + below(12), number(0, 1)}}}});
    if (coin())
      s.events.push_back(
          {number(0, 100), RelaxingCuts{{number(0.1, 2), number(3, 5), number(6, 11.5)}, number(0.1, 0.6)}});
    if (coin() && !s.tension_ring) s.events.push_back({number(0, 100), ring()});
    if (coin()) s.events.push_back({number(0, 100), change()});
    s.mesh = {12 + 4 * below(90), 2 + below(60), 1 + below(2)};
    s.numerics.time_tolerance = number(1e-7, 1e-2);
    s.numerics.force_tolerance = number(1e-9, 1e-4);
    s.numerics.max_steps = 1 + below(100000);
    s.numerics.max_work = number(100, 1e6);
    return s;
  }

  double number(double low, double high) { return std::uniform_real_distribution<>(low, high)(engine_); }
  int below(int count) { return std::uniform_int_distribution<>(0, count - 1)(engine_); }

 private:
  bool coin() { return below(2) == 0; }
  double hour() { return number(0.01, 12); }
  template <class T>
  T pick(std::initializer_list<T> values) {
    return values.begin()[below(static_cast<int>(values.size()))];
  }
  ContractionChange change() {
    ContractionChange c;
    c.deactivation_per_day = number(0, 0.2);
    if (coin()) c.laying_stretch = number(1, 1.4);
    if (coin()) c.chronic_signal = number(0, 1);
    return c;
  }
  ByHour by_hour() {
    ByHour values;
    for (int k = below(5); k > 0; --k) values[1 + below(12)] = number(0, 1);
    return values;
  }
  TensionRingSpec ring() {
    TensionRingSpec ring;
    ring.free_diameter_mm = number(11.5, 14.5);
    ring.gap_hour = hour();
    if (coin()) ring.eyelet_hour = ring.gap_hour > 6 ? ring.gap_hour - 6 : ring.gap_hour + 6;
    return ring;
  }
  OpeningSpec opening() {
    OpeningSpec opening;
    opening.diameter_mm = number(3, 6.5);
    opening.axis_hour = hour();
    opening.center_mm = {number(-0.2, 0.2), number(-0.2, 0.2)};
    opening.measured_under = pick({MeasuredUnder::end_of_surgery, MeasuredUnder::own_zonule,
                                   MeasuredUnder::full_strength_zonule, MeasuredUnder::stress_free});
    if (coin()) opening.diameters_mm = {number(3, 6.5), number(3, 6.5)};
    if (coin())
      for (int k = 0; k < 24; ++k) {
        const double radius = number(2.3, 2.7);
        opening.outline_mm.push_back({radius * std::cos(pi * k / 12), radius * std::sin(pi * k / 12)});
      }
    return opening;
  }

  std::mt19937 engine_;
};

}  // namespace capsim::test
