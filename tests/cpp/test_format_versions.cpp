// SPDX-License-Identifier: BSD-3-Clause
// Files of every format version that was published are read; others are refused with what to do.
// tests/evidence/formats holds a file of each version, as that version wrote it (the result:
// save(sample::history(), ...)). They are never written anew.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "capsim/results_file.hpp"
#include "capsim/simulation.hpp"
#include "capsim/version.hpp"
#include "run/checkpoint.hpp"
#include "sample_history.hpp"

using namespace capsim;
using Catch::EndsWith;
using nlohmann::json;

namespace {

const std::string formats = std::string(CAPSIM_EVIDENCE_DIR) + "/formats/";

std::string bytes_of_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  REQUIRE(file.good());
  return {std::istreambuf_iterator<char>(file), {}};
}

/// What is said about the version of the scenario of version 1 with another value there.
std::string scenario_refusal(const json& version) {
  json scenario = json::parse(bytes_of_file(formats + "scenario_version_1.json"));
  scenario["version"] = version;
  if (version.is_null()) scenario.erase("version");
  try {
    (void)Scenario::from_json(scenario.dump());
  } catch (const ScenarioError& error) {
    REQUIRE(error.violations().size() == 1);
    return error.violations()[0].to_string();
  }
  return "not refused";
}

Scenario quick_eye() {
  Scenario s;
  s.mesh = MeshSpec::coarse();
  s.duration_days = 4;
  s.output_every_days = 2;
  return s;
}

std::string restore_refusal(const std::shared_ptr<const Model>& model, const std::string& bytes,
                            SimulationExtras extras = {}) {
  try {
    (void)Simulation::restore(model, bytes, std::move(extras));
  } catch (const Error& error) {
    return error.what();
  }
  return "not refused";
}

/// A checkpoint with other contents, sealed as if it had been written so.
std::string edited(const std::string& checkpoint, const json& changes) {
  json content = json::from_cbor(unsealed(checkpoint));
  for (const auto& [key, value] : changes.items()) {
    const json::json_pointer place(key);
    if (value.is_null())
      content.at(place.parent_pointer()).erase(place.back());
    else
      content.at(place) = value;
  }
  const std::vector<std::uint8_t> bytes = json::to_cbor(content);
  return sealed({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, 5, version());
}

#if CAPSIM_HAS_RESULTS_FILE
/// What a file of the sample says, whatever version wrote it.
void check_as_written(const History& old) {
  const std::vector<Series> wanted = sample::series();
  REQUIRE(old.all_series().size() == wanted.size());
  for (std::size_t k = 0; k < wanted.size(); ++k) {
    CHECK(old.all_series()[k].name == wanted[k].name);
    CHECK(old.all_series()[k].unit == wanted[k].unit);
    CHECK(old.all_series()[k].columns == wanted[k].columns);
    CHECK(old.all_series()[k].values == wanted[k].values);
  }
  CHECK(old.version() == "0.1.0");
  CHECK(old.status() == Status::completed);
  CHECK(old.message() == "Reached the last day.");
  REQUIRE(old.cuts().size() == 1);
  CHECK(old.cuts()[0].length_on_day_mm == 0.8125);
  CHECK(old.diagnostics().newton_iterations == 9007199254740993);
  CHECK(old.diagnostics().wall_seconds == 0.75);
  // The scenario is kept with all its values, so that later defaults do not change what was run.
  CHECK(old.scenario().name == sample::scenario().name);
  CHECK(old.scenario().events == sample::scenario().events);
  CHECK(old.scenario().zonule.strength_by_hour == sample::scenario().zonule.strength_by_hour);
  CHECK(old.scenario().zonule.pull_mN == 22.1);
}
#endif

}  // namespace

TEST_CASE("scenario_of_format_version_1_means_what_it_meant", "[formats][scenario]") {
  const Scenario s = Scenario::from_file(formats + "scenario_version_1.json");
  CHECK(s.name == "a file of format version 1");
  CHECK(s.eye == Eye::left);
  CHECK(s.duration_days == 61.5);
  CHECK(s.output_every_days == 15);
  CHECK(s.bag.equator_diameter_mm == 10.1);
  CHECK(s.opening.diameter_mm == 5.1);
  CHECK(s.opening.center_mm == Point{0.1, -0.2});
  CHECK(s.capsule.law == CapsuleLaw::fung);
  CHECK(s.capsule.modulus_kPa == 800);
  CHECK(s.capsule.anterior_thickness_um == 13);
  CHECK(s.capsule.posterior_thickness_um == 4);
  CHECK(s.capsule.compression_fraction == 0.07);
  CHECK(s.zonule.stiffness_mN_per_mm == 120);
  CHECK(s.zonule.pull_mN == 33);
  CHECK(s.zonule.strength == 0.9);
  CHECK(s.zonule.strength_by_hour == ByHour{{4, 0.2}, {5, 0.0}});
  CHECK(s.zonule.ciliary_ring_diameter_mm == 12.2);
  REQUIRE(s.tension_ring);
  CHECK(s.tension_ring->free_diameter_mm == 12.5);
  CHECK(s.tension_ring->wire_diameter_mm == 0.21);
  CHECK(s.tension_ring->gap_hour == 11);
  REQUIRE(s.lens);
  CHECK(s.lens->optic_diameter_mm == 5.9);
  CHECK(s.lens->haptics == 2);
  CHECK(s.lens->axis_hour == 2);
  CHECK(s.lens->haptic_force_mN == 0.8);
  CHECK(s.contraction.cells_left == 0.95);
  CHECK(s.contraction.cells_left_by_hour == ByHour{{12, 0.7}});
  CHECK(s.contraction.chronic_signal == 0.1);
  CHECK(s.contraction.fibre_modulus_kPa == 280);
  CHECK(s.contraction.band_width_mm == 0.4);
  REQUIRE(s.events.size() == 1);
  CHECK(s.events[0] == Event{30, RelaxingCuts{{12, 6}, 0.5}});
  CHECK(s.mesh.around == 24);
  CHECK(s.mesh.radial == 4);
}

TEST_CASE("scenario_of_another_format_version_is_refused_with_what_to_do", "[formats][scenario]") {
  CHECK(scenario_refusal(1) == "not refused");
  CHECK(scenario_refusal(2) ==
        "version = 2: must be 1 (written by a newer version of capsim: update capsim to read it)");
  CHECK(scenario_refusal(0) ==
        "version = 0: must be 1 (there is none before 1: see that the fields are those of the schema, then write 1)");
  CHECK(scenario_refusal(nullptr) == "version is missing: must be 1 (add \"version\": 1)");
  CHECK(scenario_refusal("1") == "version = \"1\": must be 1 (write the number 1)");
}

#if CAPSIM_HAS_RESULTS_FILE
TEST_CASE("result_files_of_format_versions_1_and_2_are_read", "[formats][results_file]") {
  for (const char* file : {"result_version_1.h5", "result_version_2.h5"}) {
    INFO(file);
    check_as_written(load(formats + file));
  }
}
#endif

TEST_CASE("checkpoint_of_another_version_is_refused_with_what_to_do", "[formats][stepping]") {
  const auto model = std::make_shared<const Model>(quick_eye());
  Simulation simulation(model);
  REQUIRE(simulation.advance_to(2) == Advance::reached);
  const std::string checkpoint = simulation.checkpoint(), here(version());
  CHECK(restore_refusal(model, checkpoint) == "not refused");
  CHECK(restore_refusal(model, edited(checkpoint, {})) == "not refused");
  const std::string what_to_do =
      "; a checkpoint is read by the version that wrote it: use that one, or run the scenario again";
  const auto of_version = [&](int format, const char* by) {
    return restore_refusal(model, sealed("whatever it wrote", format, by));
  };
  CHECK(of_version(4, "0.0.9") ==
        "checkpoint: written by capsim 0.0.9 in format 4, and this is capsim " + here + " with format 5" + what_to_do);
  CHECK(of_version(7, "9.0.0") ==
        "checkpoint: written by capsim 9.0.0 in format 7, and this is capsim " + here + " with format 5" + what_to_do);
  const std::string again = ": go on from another checkpoint, or run the scenario again";
  CHECK(restore_refusal(model, "capsim-other" + checkpoint.substr(17)) ==
        "checkpoint: these bytes are not a checkpoint" + again);
  CHECK(restore_refusal(model, "") == "checkpoint: these bytes are not a checkpoint" + again);
  for (const char* key : {"/scenario", "/law", "/cut_lines", "/series", "/state/positions", "/state/tissue",
                          "/state/diagnostics", "/state/ring", "/state/cuts"})
    CHECK_THAT(restore_refusal(model, edited(checkpoint, {{key, nullptr}})),
               Catch::StartsWith("checkpoint: the bytes are damaged or not a checkpoint (") && EndsWith(again));
  CHECK_THAT(restore_refusal(model, edited(checkpoint, {{"/state/status", "fine"}})), EndsWith(again));
  const std::string as_it_was = "build the model as it was, and pass the same law";
  for (const json& impossible :
       {json{{"/state/day", -1}}, json{{"/state/day", 1e9}}, json{{"/state/next_event", 99}},
        json{{"/state/next_step_days", 0}}, json{{"/state/positions", {1, 2}}}, json{{"/state/cuts", {{5, 0.5, 1}}}},
        json{{"/state/failed_bundles", {1}}}, json{{"/state/steps", {{1, {1, 1}}}}}})
    CHECK_THAT(restore_refusal(model, edited(checkpoint, impossible)), EndsWith(as_it_was));
  for (const std::size_t kept : {std::size_t{0}, std::size_t{1}, checkpoint.size() / 3, checkpoint.size() - 1})
    CHECK_THAT(restore_refusal(model, checkpoint.substr(0, kept)), EndsWith(again));
}

TEST_CASE("a_flipped_bit_anywhere_in_a_checkpoint_is_noticed", "[formats][stepping]") {
  const auto model = std::make_shared<const Model>(quick_eye());
  Simulation simulation(model);
  REQUIRE(simulation.advance_to(2) == Advance::reached);
  const std::string checkpoint = simulation.checkpoint();
  std::size_t believed = 0, tried = 0;
  // Every bit of the first line and the first values, and a thousand further ones over all bytes.
  const std::size_t stride = checkpoint.size() * 8 / 1000 + 1;
  for (std::size_t bit = 0; bit < checkpoint.size() * 8; bit += bit < 8 * 200 ? 1 : stride) {
    std::string damaged = checkpoint;
    damaged[bit / 8] = static_cast<char>(damaged[bit / 8] ^ (1 << bit % 8));
    ++tried;
    try {
      (void)from_bytes(damaged);
      ++believed;
    } catch (const CheckpointError&) {
    }
  }
  CHECK(tried > 2500);
  CHECK(believed == 0);
}

TEST_CASE("checkpoint_of_another_eye_or_law_is_refused_with_what_to_do", "[formats][stepping]") {
  const auto model = std::make_shared<const Model>(quick_eye());
  Simulation simulation(model);
  const std::string checkpoint = simulation.checkpoint();
  Scenario other = quick_eye();
  other.opening.diameter_mm += 0.1;
  CHECK_THAT(restore_refusal(std::make_shared<const Model>(other), checkpoint),
             EndsWith("build the model from the scenario it was made with"));
  CHECK_THAT(
      restore_refusal(std::make_shared<const Model>(quick_eye(), std::vector<RelaxingCuts>{{{12}, 0.5}}), checkpoint),
      EndsWith("build the model as it was, and pass the same law"));
  struct Renamed : FibreRemodelling {
    using FibreRemodelling::FibreRemodelling;
    std::string_view name() const noexcept override { return "the host's own"; }
  };
  SimulationExtras extras;
  extras.law = std::make_shared<const Renamed>(quick_eye().contraction);
  CHECK_THAT(restore_refusal(model, checkpoint, extras), EndsWith("build the model as it was, and pass the same law"));
}
