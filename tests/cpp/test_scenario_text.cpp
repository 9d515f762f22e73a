// SPDX-License-Identifier: BSD-3-Clause
// A scenario as JSON text: round trip, strictness, and that no text does harm.
#include <catch2/catch.hpp>
#include <clocale>
#include <cstdio>
#include <fstream>

#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

const std::string head = R"("format": "capsim-scenario", "version": 1)";

std::string scenario_text(const std::string& members) { return "{" + head + ", " + members + "}"; }

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

struct Refusal {
  std::string members;
  std::string path;
  std::string mention;
};

/// Exactly one violation, at its path, mentioning what it should.
void check_refused(const std::string& text, const std::string& path, const std::string& mention) {
  const auto found = violations_in(text);
  INFO("text: " << text.substr(0, 300) << "\nexpected " << path << " mentioning '" << mention << "'; found:\n"
                << lines_of(found));
  REQUIRE(found.size() == 1);
  CHECK(found[0].path == path);
  CHECK(has(found[0].to_string(), mention));
}

}  // namespace

TEST_CASE("format_and_version_alone_give_the_defaults", "[scenario]") {
  CHECK(Scenario::from_json("{" + head + "}") == Scenario{});
}

TEST_CASE("written_and_read_again_every_scenario_is_equal", "[scenario]") {
  const unsigned start = Catch::rngSeed() != 0 ? Catch::rngSeed() : 20240607u;
  INFO("random numbers start at " << start << " (--rng-seed)");
  RandomScenarios random(start);
  for (int k = 0; k < 300; ++k) {
    const Scenario s = random.next();
    INFO("scenario " << k << ":\n" << s.to_json());
    REQUIRE(lines_of(s.violations()) == "");
    CHECK(Scenario::from_json(s.to_json()) == s);
    CHECK(Scenario::from_json(s.to_json(-1)) == s);
    CHECK(Scenario::from_json("\xEF\xBB\xBF" + s.to_json(0)) == s);
    CHECK(Scenario::from_json(s.to_json()).to_json() == s.to_json());
    const Scenario turned = rotated(s, 12);
    CHECK(turned.opening.outline_mm == s.opening.outline_mm);
  }
}

TEST_CASE("every_field_of_every_section_survives_the_round_trip", "[scenario]") {
  // Nudges each number of the text in turn: a field that reader or writer forgot comes back unchanged.
  const Scenario s = full_scenario();
  const json flat = json_of(s).flatten();
  int nudged = 0;
  for (const auto& [pointer, value] : flat.items()) {
    if (!value.is_number() || pointer == "/version") continue;
    json changed = json_of(s);
    json& field = changed[json::json_pointer(pointer)];
    if (pointer == "/mesh/order")
      field = 1;
    else if (pointer == "/lens/haptics")
      field = 3;
    else if (pointer == "/mesh/around")
      field = 52;
    else if (value.is_number_integer())
      field = value.get<int>() == 0                                    ? json(0.125)
              : value.get<int>() == 1 && !has(pointer, "haptic_force") ? json(0.875)
                                                                       : json(value.get<int>() - 1);
    else
      field = value.get<double>() * 0.9375;
    if (has(pointer, "overall") || has(pointer, "free_diameter")) field = value.get<double>() + 0.25;
    INFO(pointer << " = " << field.dump());
    REQUIRE(lines_of(violations_in(changed.dump())) == "");
    const Scenario read = Scenario::from_json(changed.dump());
    CHECK_FALSE(read == s);
    CHECK(json::parse(read.to_json()) == changed);
    ++nudged;
  }
  CHECK(nudged > 60);
}

TEST_CASE("absent_and_null_parts_mean_what_the_contract_says", "[scenario]") {
  CHECK_FALSE(Scenario::from_json(scenario_text(R"("tension_ring": null)")).tension_ring);
  CHECK(Scenario::from_json(scenario_text(R"("tension_ring": {})")).tension_ring == TensionRingSpec{});
  CHECK(Scenario::from_json("{" + head + "}").lens == LensSpec{});
  CHECK_FALSE(Scenario::from_json(scenario_text(R"("lens": null)")).lens);
  CHECK_FALSE(
      Scenario::from_json(scenario_text(R"("contraction": {"band_width_mm": null})")).contraction.band_width_mm);
  CHECK(Scenario::from_json(scenario_text(R"("eye": null)")).eye == Eye::unspecified);
  CHECK(Scenario::from_json(scenario_text(R"("eye": "left")")).eye == Eye::left);
  CHECK(Scenario::from_json(scenario_text(R"("mesh": {"level": "fine"})")).mesh == MeshSpec::fine());
  CHECK(Scenario::from_json(scenario_text(R"("mesh": {"around": 24})")).mesh == MeshSpec{24, 6, 2});
  CHECK(Scenario::from_json(scenario_text(R"("mesh": {"around": 24.0})")).mesh.around == 24);
}

TEST_CASE("each_flaw_of_a_text_is_refused_with_its_path", "[scenario]") {
  const std::vector<Refusal> refusals{
      // keys
      {R"("bag": {"equator_diametr_mm": 10})", "bag.equator_diametr_mm", "did you mean \"equator_diameter_mm\"?"},
      {R"("opening": {"diameter": 5})", "opening.diameter", "did you mean \"diameter_mm\"?"},
      {R"("opening": {"centre_mm": [0, 0]})", "opening.centre_mm", "did you mean \"center_mm\"?"},
      {R"("capsule": {"modulus_kpa": 830})", "capsule.modulus_kpa", "did you mean \"modulus_kPa\"?"},
      {R"("pull_mN": 60)", "pull_mN", "it belongs in \"zonule\""},
      {R"("lens": {"diameter_mm": 6})", "lens.diameter_mm", "did you mean \"optic_diameter_mm\"?"},
      {R"("zonule": {"xyzzy": 1})", "zonule.xyzzy", "known here: stiffness_mN_per_mm"},
      {R"("zonule": {"two words": 1})", R"(zonule["two words"])", "one of the known keys"},
      {R"("zonule": {"": 1})", R"(zonule[""])", "one of the known keys"},
      {R"("events": [{"day": 1, "relaxing_cuts": {"hour": [3]}}])", "events[0].relaxing_cuts.hour",
       "did you mean \"hours\"?"},
      {R"("zonule": {"pull_mN": 50, "pull_mN": 60})", "zonule.pull_mN", "given only once"},
      {R"("name": "a", "name": "a")", "name", "given only once"},
      {R"("zonule": {"strength_by_hour": {"4": 0, "4": 1}})", "zonule.strength_by_hour.4", "given only once"},
      {R"("version": 1)", "version", "given only once"},
      // numbers that are none
      {R"("zonule": {"pull_mN": NaN})", "zonule.pull_mN", "= NaN: must be a finite number"},
      {R"("zonule": {"pull_mN": -Infinity})", "zonule.pull_mN", "= -Infinity: must be a finite number"},
      {R"("zonule": {"pull_mN": nan})", "zonule.pull_mN", "= nan: must be a finite number"},
      {R"("zonule": {"pull_mN": inf})", "zonule.pull_mN", "= inf: must be a finite number"},
      {R"("zonule": {"pull_mN": 1e999})", "zonule.pull_mN", "= 1e999: must be a finite number"},
      {R"("zonule": {"pull_mN": -1e999})", "zonule.pull_mN", "= -1e999: must be a finite number"},
      {R"("opening": {"center_mm": [0, NaN]})", "opening.center_mm[1]", "finite"},
      {R"("mesh": {"radial": 1e999})", "mesh.radial", "finite"},
      {"\"zonule\": {\"pull_mN\": 1" + std::string(400, '0') + "}", "zonule.pull_mN", "finite"},
      // types
      {R"("name": 3)", "name", "= 3: must be a text"},
      {R"("duration_days": "365")", "duration_days", "write the number without quotes"},
      {R"("duration_days": true)", "duration_days", "= true: must be a number"},
      {R"("duration_days": null)", "duration_days", "leave the key out"},
      {R"("duration_days": [365])", "duration_days", "= a list of 1: must be a number"},
      {R"("bag": 10.3)", "bag", "must be an object"},
      {R"("bag": null)", "bag", "leave the key out"},
      {R"("lens": false)", "lens", "must be an object or null"},
      {R"("mesh": {"around": 48.5})", "mesh.around", "= 48.5: must be a whole number (use 49?)"},
      {R"("mesh": {"around": 99999999999999999999})", "mesh.around", "<= 384"},
      {R"("opening": {"center_mm": [0, 0, 0]})", "opening.center_mm", "a pair of numbers"},
      {R"("opening": {"center_mm": ["0", 0]})", "opening.center_mm[0]", "without quotes"},
      {R"("opening": {"outline_mm": {"x": 1}})", "opening.outline_mm", "a list of [x, y] points"},
      {R"("zonule": {"strength_by_hour": [1, 1]})", "zonule.strength_by_hour", "an object like"},
      {R"("zonule": {"strength_by_hour": {"0": 1}})", "zonule.strength_by_hour.0", R"("1" to "12")"},
      {R"("zonule": {"strength_by_hour": {"13": 1}})", "zonule.strength_by_hour.13", R"("1" to "12")"},
      {R"("zonule": {"strength_by_hour": {"03": 1}})", "zonule.strength_by_hour.03", R"("1" to "12")"},
      {R"("zonule": {"strength_by_hour": {"4.5": 1}})", R"(zonule.strength_by_hour["4.5"])", R"("1" to "12")"},
      {R"("zonule": {"strength_by_hour": {"4": "weak"}})", "zonule.strength_by_hour.4", "must be a number"},
      {R"("zonule": {"failure_elongation_mm": "none"})", "zonule.failure_elongation_mm", "a number or null"},
      // words
      {R"("eye": "OD")", "eye", "did you mean \"right\"?"},
      {R"("eye": "OS")", "eye", "did you mean \"left\"?"},
      {R"("eye": 1)", "eye", R"("right" or "left")"},
      {R"("capsule": {"law": "neohookean"})", "capsule.law", "did you mean \"neo_hookean\"?"},
      {R"("opening": {"measured_under": "stressfree"})", "opening.measured_under", "did you mean \"stress_free\"?"},
      {R"("mesh": {"level": "medium"})", "mesh.level", R"("coarse" or "standard" or "fine")"},
      {R"("mesh": {"level": "Fine"})", "mesh.level", "did you mean \"fine\"?"},
      {R"("mesh": {"level": "fine", "radial": 6})", "mesh.radial", "left out next to \"level\""},
      // events
      {R"("events": {})", "events", "a list of events"},
      {R"("events": [3])", "events[0]", "one action"},
      {R"("events": [{"day": 1}])", "events[0]", "an event without an action"},
      {R"("events": [{"relaxing_cuts": {"hours": [3]}}])", "events[0].day", "is missing"},
      {R"("events": [{"day": 1, "relaxing_cuts": {"hours": [3]}, "zonule_damage": {"strength_by_hour": {"3": 0}}}])",
       "events[0]", "relaxing_cuts and zonule_damage"},
      {R"("events": [{"day": 1, "relaxing_cuts": {}}])", "events[0].relaxing_cuts.hours", "1 and <= 24 hours"},
      {R"("events": [{"day": 1, "zonule_damage": {}}])", "events[0].zonule_damage.strength_by_hour",
       "1 and <= 12 hours"},
  };
  for (const Refusal& refusal : refusals) check_refused(scenario_text(refusal.members), refusal.path, refusal.mention);
}

TEST_CASE("format_and_version_are_required_and_known", "[scenario]") {
  check_refused(R"({"version": 1})", "format", "is missing");
  check_refused(R"({"format": "capsim-scenario"})", "version", "is missing");
  check_refused(R"({"format": "capsim-result", "version": 1})", "format", "not a scenario file");
  check_refused(R"({"format": "capsim-scenario", "version": 2})", "version", "newer version");
  check_refused(R"({"format": "capsim-scenario", "version": 1.5})", "version", "newer version");
  check_refused(R"({"format": "capsim-scenario", "version": "1"})", "version", "must be 1");
  CHECK(violations_in("{}").size() == 2);
}

TEST_CASE("all_flaws_of_a_text_are_reported_at_once", "[scenario]") {
  const auto found = violations_in(R"({"format": "capsim-scenario", "version": 2, "xyzzy": 3,
      "bag": {"equator_diameter_mm": NaN}, "opening": {"diameter_mm": 5100, "axis_hour": 1e999},
      "zonule": {"pull_mN": 60, "pull_mN": 70}, "mesh": {"around": 48.5}, "events": [{"day": 400, "relaxing_cuts": {"hours": [0]}}]})");
  std::vector<std::string> paths;
  for (const Violation& violation : found) paths.push_back(violation.path);
  std::sort(paths.begin(), paths.end());
  CHECK(paths == std::vector<std::string>{"bag.equator_diameter_mm", "events[0].day",
                                          "events[0].relaxing_cuts.hours[0]", "mesh.around", "opening.axis_hour",
                                          "opening.diameter_mm", "version", "xyzzy", "zonule.pull_mN"});
}

TEST_CASE("a_syntax_error_gives_line_and_column", "[scenario]") {
  check_refused("{" + head + ",\n  \"bag\": {\"equator_diameter_mm\": x}}", "bag.equator_diameter_mm",
                "line 2, column 34:");
  check_refused("{" + head + ",\n}", "scenario", "line 2, column 1:");
  check_refused("{" + head + "} {}", "scenario", "line 1, column 45:");
  check_refused("{" + head + ", \"name\": \"\xC3\xA4\xC3\xB6\" \"x\"}", "scenario", "line 1, column 58:");
  check_refused("{" + head + ", // a remark\n\"eye\": \"left\"}", "scenario", "line 1, column 45:");
  check_refused("{" + head + ", \"name\": \"open", "name", "the end of the text");
  check_refused("{" + head + ", \"duration_days\": 1,5}", "scenario", "valid JSON");
  check_refused("{" + head + ", \"duration_days\": 0x10}", "scenario", "valid JSON");
  check_refused("{" + head + ", \"duration_days\": +5}", "duration_days", "valid JSON");
}

TEST_CASE("a_text_that_can_not_be_a_scenario_is_refused", "[scenario]") {
  check_refused("", "scenario", "an empty text");
  check_refused(" \n\t", "scenario", "an empty text");
  check_refused("\xEF\xBB\xBF", "scenario", "an empty text");
  check_refused("null", "scenario", "a JSON object");
  check_refused("[]", "scenario", "a JSON object");
  check_refused("eye.json", "scenario", "from_file");
  check_refused("{" + head + ", \"name\": \"\xff\"}", "scenario", "line 1, column 54: not a character");
  check_refused("{" + head + ", \"name\": \"\xED\xA0\x80\"}", "scenario", "UTF-8");  // half a surrogate pair
  check_refused("{" + head + ", \"name\": \"\\ud800\"}", "name", "valid JSON");
  check_refused("{" + head + "}" + std::string(1, '\0') + "{}", "scenario", "zero byte");
  check_refused(std::string(5u << 20, ' '), "scenario", "at most 4194304 bytes");
}

TEST_CASE("deep_nesting_does_not_crash", "[scenario]") {
  check_refused(std::string(2'000'000, '['), "scenario", "nested at most 32 deep");
  std::string deep;
  for (int k = 0; k < 200'000; ++k) deep += "{\"a\":";
  check_refused(deep, "scenario", "nested at most 32 deep");
}

TEST_CASE("many_flaws_take_little_time_and_make_a_short_text", "[scenario]") {
  std::string members = "\"k0\": 1";
  for (int k = 1; k < 5000; ++k) members += ", \"k" + std::to_string(k) + "\": NaN";
  CHECK_FALSE(violations_in(scenario_text(members)).empty());
  const auto found = violations_in(scenario_text("\"" + std::string(3u << 20, 'k') + "\": 1"));
  REQUIRE(found.size() == 1);
  CHECK(found[0].path.size() < 200);
  CHECK(std::string(ScenarioError(found).what()).size() < 1000);
}

TEST_CASE("the_host_locale_does_not_matter", "[scenario]") {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  bool comma = false;
  for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "de_DE", "fr_FR.UTF-8", "fr_FR.utf8"})
    if (!comma && std::setlocale(LC_ALL, name) != nullptr) comma = *std::localeconv()->decimal_point == ',';
  if (!comma) WARN("no locale with a decimal comma is installed: tested in the locale " << before);
  const Scenario s = full_scenario();
  const std::string text = s.to_json();
  const bool equal = Scenario::from_json(text) == s;
  const auto found = violations_in(scenario_text(R"("opening": {"diameter_mm": 5150.5})"));
  std::setlocale(LC_ALL, before.c_str());
  CHECK(text == s.to_json());
  CHECK(equal);
  REQUIRE(found.size() == 1);
  CHECK(found[0].value == "5150.5");
  CHECK(found[0].hint == "looks like micrometres: 5.151 mm?");
}

TEST_CASE("a_file_is_read_or_refused_by_name", "[scenario]") {
  const std::string path = "scenario with space.json";
  std::ofstream(path, std::ios::binary) << full_scenario().to_json();
  CHECK(Scenario::from_file(path) == full_scenario());
  std::remove(path.c_str());
  std::string message;
  try {
    (void)Scenario::from_file(path);
  } catch (const ScenarioError& error) {
    message = error.what();
  }
  CHECK(has(message, "\"scenario with space.json\": must be a file that can be opened"));
  CHECK_THROWS_AS(Scenario::from_file("."), ScenarioError);
}

TEST_CASE("a_damaged_text_is_read_or_refused_and_nothing_else", "[scenario]") {
  const unsigned start = Catch::rngSeed() != 0 ? Catch::rngSeed() : 20240608u;
  INFO("random numbers start at " << start << " (--rng-seed)");
  RandomScenarios random(start);
  int refused = 0;
  int read = 0;
  for (int k = 0; k < 4000; ++k) {
    std::string text = full_scenario(k % 2 == 0).to_json(k % 3 == 0 ? 2 : -1);
    for (int flips = 1 + random.below(4); flips > 0; --flips) {
      const auto place = static_cast<std::size_t>(random.below(static_cast<int>(text.size())));
      switch (random.below(4)) {
        case 0:
          text[place] = static_cast<char>(random.below(256));
          break;
        case 1:
          text.erase(place, static_cast<std::size_t>(1 + random.below(20)));
          break;
        case 2:
          text.insert(place, 1, "{}[]\",:0123456789.eE-NI"[random.below(23)]);
          break;
        default:
          text[place] = "0123456789.-eE"[random.below(14)];
      }
    }
    try {
      const Scenario s = Scenario::from_json(text);
      ++read;
      CHECK(Scenario::from_json(s.to_json()) == s);
    } catch (const ScenarioError& error) {
      ++refused;
      INFO(error.what());
      REQUIRE_FALSE(error.violations().empty());
      for (const Violation& violation : error.violations()) CHECK_FALSE(violation.path.empty());
      CHECK_NOTHROW(json(error.what()).dump());  // the message itself is valid UTF-8
    }
  }
  CHECK(refused > 1000);
  CHECK(read > 10);
}
