// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Handles of the C interface for tests: destroyed by themselves, texts and numbers fetched.

#include <bit>
#include <catch2/catch.hpp>
#include <cstdint>
#include <memory>
#include <nlohmann/json.hpp>
#include <span>
#include <string>
#include <vector>

#include "capsim.h"
#include "capsim/scenario.hpp"

namespace capsim::test {

/// Destroys each handle with its own function.
struct Destroy {
  void operator()(capsim_scenario* handle) const { capsim_scenario_destroy(handle); }
  void operator()(capsim_simulation* handle) const { capsim_simulation_destroy(handle); }
  void operator()(capsim_history* handle) const { capsim_history_destroy(handle); }
  void operator()(capsim_population* handle) const { capsim_population_destroy(handle); }
  void operator()(capsim_study* handle) const { capsim_study_destroy(handle); }
  void operator()(capsim_sensitivities* handle) const { capsim_sensitivities_destroy(handle); }
};
using ScenarioHandle = std::unique_ptr<capsim_scenario, Destroy>;
using SimulationHandle = std::unique_ptr<capsim_simulation, Destroy>;
using HistoryHandle = std::unique_ptr<capsim_history, Destroy>;
using PopulationHandle = std::unique_ptr<capsim_population, Destroy>;
using StudyHandle = std::unique_ptr<capsim_study, Destroy>;
using SensitivitiesHandle = std::unique_ptr<capsim_sensitivities, Destroy>;

inline ScenarioHandle new_scenario() { return ScenarioHandle(capsim_scenario_create()); }
inline HistoryHandle new_history() { return HistoryHandle(capsim_history_create()); }

/// A text by the rule of sizes: ask, make room, fetch.
template <class Fetch>
std::string text_by(Fetch fetch) {
  std::size_t needed = 0;
  REQUIRE(fetch(nullptr, std::size_t{0}, &needed) == CAPSIM_OK);
  std::string text(needed, '?');
  REQUIRE(fetch(text.data(), text.size(), nullptr) == CAPSIM_OK);
  REQUIRE(text.back() == '\0');
  text.pop_back();
  return text;
}
template <class Fetch>
std::vector<double> numbers_by(Fetch fetch) {
  std::size_t needed = 0;
  REQUIRE(fetch(nullptr, std::size_t{0}, &needed) == CAPSIM_OK);
  std::vector<double> values(needed + 1, -77);  // one more, so that an overrun shows
  REQUIRE(fetch(values.data(), needed, &needed) == CAPSIM_OK);
  REQUIRE(values.back() == -77);
  values.pop_back();
  return values;
}

inline std::string error_of(const ScenarioHandle& s) {
  return text_by([&](auto... to) { return capsim_scenario_error(s.get(), to...); });
}
inline std::string error_of(const HistoryHandle& h) {
  return text_by([&](auto... to) { return capsim_history_error(h.get(), to...); });
}
inline std::string error_of(const SimulationHandle& s) {
  return text_by([&](auto... to) { return capsim_simulation_error(s.get(), to...); });
}
inline std::string json_text(const ScenarioHandle& s) {
  return text_by([&](auto... to) { return capsim_scenario_write_json(s.get(), -1, to...); });
}
inline nlohmann::json json_in(const ScenarioHandle& s) { return nlohmann::json::parse(json_text(s)); }

inline ScenarioHandle scenario_of(const Scenario& scenario) {
  ScenarioHandle s = new_scenario();
  const std::string text = scenario.to_json();
  REQUIRE(capsim_scenario_read_json(s.get(), text.data(), text.size()) == CAPSIM_OK);
  return s;
}

/// Bits, so that NaN equals NaN and 0 differs from -0.
inline std::vector<std::uint64_t> bits(std::span<const double> values) {
  std::vector<std::uint64_t> out;
  for (const double value : values) out.push_back(std::bit_cast<std::uint64_t>(value));
  return out;
}

inline std::vector<std::uint64_t> areas_of(const HistoryHandle& h) {
  return bits(numbers_by([&](auto... to) { return capsim_history_values(h.get(), "opening_area_mm2", to...); }));
}

/// The default eye on the coarse mesh, for some weeks.
inline Scenario short_eye(double days = 20) {
  Scenario scenario;
  scenario.duration_days = days;
  scenario.output_every_days = 10;
  scenario.mesh = MeshSpec::coarse();
  return scenario;
}

}  // namespace capsim::test
