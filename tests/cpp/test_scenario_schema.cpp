// SPDX-License-Identifier: BSD-3-Clause
// The scenario's JSON Schema says what the reader does, and the file in libcapsim/doc is that schema.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <limits>
#include <sstream>

#include "capsim/scenario_schema.hpp"
#include "scenario/field_unit.hpp"
#include "scenario_samples.hpp"
#include "schema_check.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

const std::string schema_path = std::string(CAPSIM_SOURCE_DIR) + "/libcapsim/doc/scenario.schema.json";

json schema() { return json::parse(scenario_schema()); }
SchemaCheck checker() { return SchemaCheck(schema()); }

std::string text_of(const std::string& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

std::string all_lines(const std::vector<std::string>& complaints) {
  std::string text;
  for (const std::string& line : complaints) text += line + '\n';
  return text;
}

/// The limit that the reader states for the value at exactly `path`, or empty when it accepts it.
std::string stated_limit(const json& root, const std::string& path) {
  for (const Violation& v : violations_in(root.dump()))
    if (v.path == path) return v.limit;
  return {};
}

/// Paths of all single values of a scenario.
void collect_leaves(const json& value, const std::string& path, std::vector<std::string>& leaves) {
  if (value.is_object())
    for (const auto& [key, member] : value.items())
      collect_leaves(member, path.empty() ? key : path + '.' + key, leaves);
  else if (value.is_array() && !value.empty())
    for (std::size_t k = 0; k < value.size(); ++k)
      collect_leaves(value[k], path + '[' + std::to_string(k) + ']', leaves);
  else
    leaves.push_back(path);
}

/// A scenario in which every list and every optional number has something in it.
json crowded_scenario() {
  json root = json_of(full_scenario());
  root["opening"]["diameters_mm"] = {5.0, 5.2};
  root["opening"]["outline_mm"] = json::array();
  for (int k = 0; k < 12; ++k)
    root["opening"]["outline_mm"].push_back({2.5 * std::cos(pi * k / 6), 2.5 * std::sin(pi * k / 6)});
  root["capsule"]["anterior_thickness_profile"] = {{{"radius_ratio", 0}, {"thickness_um", 14}},
                                                   {{"radius_ratio", 1}, {"thickness_um", 7}}};
  root["zonule"]["strength_by_hour"] = {{"4", 0.5}};
  root["zonule"]["failure_elongation_mm"] = 3.8;
  root["contraction"]["cells_left_by_hour"] = {{"12", 0.5}};
  root["contraction"]["contact_diameter_mm"] = 6;
  root["tension_ring"]["eyelet_hour"] = 6;
  return root;
}

}  // namespace

TEST_CASE("schema_in_the_documentation_is_the_one_of_the_code", "[scenario_schema]") {
  INFO("after a change of a field, write it anew: capsim_tests write_scenario_schema");
  CHECK(text_of(schema_path) == scenario_schema());
}

// Not a test: run by its name, it writes the file that the test above compares.
TEST_CASE("write_scenario_schema", "[.]") {
  std::ofstream(schema_path, std::ios::binary) << scenario_schema();
  REQUIRE(text_of(schema_path) == scenario_schema());
}

TEST_CASE("every_scenario_that_is_accepted_fits_the_schema", "[scenario_schema]") {
  const SchemaCheck check = checker();
  RandomScenarios random(7);
  std::vector<json> accepted{{{"format", "capsim-scenario"}, {"version", 1}},
                             {{"format", "capsim-scenario"}, {"version", 1}, {"mesh", {{"level", "fine"}}}},
                             json_of(Scenario{}),
                             json_of(full_scenario()),
                             json_of(full_scenario(true)),
                             crowded_scenario()};
  for (int k = 0; k < 100; ++k) {
    const Scenario scenario = random.next();
    if (scenario.violations().empty()) accepted.push_back(json_of(scenario));
  }
  CHECK(accepted.size() > 50);  // or the random ones are no test
  for (const json& root : accepted) {
    REQUIRE(violations_in(root.dump()).empty());
    INFO(root.dump(1));
    CHECK(all_lines(check.complaints(root)).empty());
  }
}

TEST_CASE("schema_and_reader_agree_on_the_value_of_every_field", "[scenario_schema]") {
  const SchemaCheck check = checker();
  const json base = crowded_scenario();
  REQUIRE(violations_in(base.dump()).empty());
  std::vector<std::string> leaves;
  collect_leaves(base, "", leaves);
  CHECK(leaves.size() > 100);
  const std::vector<json> values{-1e9,    -1,   0,        1e-12,         0.3,           1, 2, 4, 12, 13, 100, 1e4,
                                 nullptr, true, "a word", json::array(), json::object()};
  int both_refuse = 0;
  for (const std::string& path : leaves) {
    json root = base;
    at_path(root, path) = 1e300;
    const std::string own_limit = stated_limit(root, path);
    for (const json& value : values) {
      at_path(root, path) = value;
      const bool schema_refuses = !check.fits(root);
      const std::string limit = stated_limit(root, path);
      // A number inside its own limits may still not fit the others: not the schema's business.
      const bool reader_refuses = !limit.empty() && (!value.is_number() || limit == own_limit);
      INFO(path << " = " << value.dump() << ": " << limit);
      if (reader_refuses) CHECK(schema_refuses);
      if (schema_refuses) CHECK_FALSE(violations_in(root.dump()).empty());
      both_refuse += schema_refuses && reader_refuses;
    }
  }
  CHECK(both_refuse > 500);
}

TEST_CASE("limits_in_the_schema_are_those_that_are_enforced", "[scenario_schema]") {
  const SchemaCheck check = checker();
  const json base = crowded_scenario();
  std::vector<std::string> leaves;
  collect_leaves(base, "", leaves);
  int compared = 0;
  for (const std::string& path : leaves) {
    json root = base;
    if (!at_path(root, path).is_number() || path == "version") continue;
    // The limit that the reader states, `0, or >= 0.5 and <= 100`, and values on and beside its ends.
    at_path(root, path) = 1e300;
    const std::string limit = stated_limit(root, path);
    INFO(path << ": " << limit);
    double low = 0;
    double high = 0;
    const auto interval = limit.find('>');
    REQUIRE(interval != std::string::npos);
    const bool open = limit[interval + 1] != '=';
    REQUIRE(std::sscanf(limit.c_str() + interval + (open ? 1 : 2), "%lf and <= %lf", &low, &high) == 2);
    const auto fits = [&](double value) {
      at_path(root, path) = value;
      return check.fits(root);
    };
    const bool whole = path.rfind("mesh.", 0) == 0 || path == "lens.haptics" || path == "numerics.max_steps";
    const double beside = whole ? 1 : 1e-9 * std::max(1.0, std::abs(high));
    CHECK(fits(high));
    CHECK_FALSE(fits(high + beside));
    CHECK(fits(low) == !open);
    if (!(limit.rfind("0, or", 0) == 0 && low - beside == 0)) CHECK_FALSE(fits(low - beside));
    if (limit.rfind("0, or", 0) == 0) CHECK(fits(0));
    ++compared;
  }
  CHECK(compared > 80);
}

TEST_CASE("schema_refuses_unknown_keys_and_events_without_one_action", "[scenario_schema]") {
  const SchemaCheck check = checker();
  const json base = crowded_scenario();
  for (const char* section :
       {"", "bag.", "opening.", "capsule.", "zonule.", "tension_ring.", "lens.", "contraction.", "mesh.", "numerics.",
        "events[0].", "events[1].relaxing_cuts.", "zonule.strength_by_hour."}) {
    json root = base;
    at_path(root, std::string(section) + "no_such_key") = 1;
    INFO(section);
    CHECK_FALSE(check.fits(root));
    CHECK_FALSE(violations_in(root.dump()).empty());
  }
  json two = base;
  two["events"][0]["relaxing_cuts"] = {{"hours", {1}}};
  CHECK_FALSE(check.fits(two));
  json none = base;
  none["events"][0] = {{"day", 3}};
  CHECK_FALSE(check.fits(none));
}

TEST_CASE("unit_of_a_field_is_that_of_the_parameter_table", "[scenario_schema]") {
  std::istringstream page(text_of(std::string(CAPSIM_SOURCE_DIR) + "/libcapsim/doc/parameters.md"));
  int compared = 0;
  for (std::string line; std::getline(page, line);) {
    if (line.rfind("| `", 0) != 0) continue;
    std::vector<std::string> cells;
    std::istringstream stream(line);
    for (std::string cell; std::getline(stream, cell, '|');) cells.push_back(cell);
    const std::string path = cells.at(1).substr(2, cells.at(1).rfind('`') - 2);
    const std::string unit = cells.at(3).size() < 3 ? "" : cells.at(3).substr(1, cells.at(3).size() - 2);
    if (unit.empty()) continue;  // words, counts and sections
    INFO(path);
    CHECK(field_unit(path.substr(path.rfind('.') + 1)) == unit);
    ++compared;
  }
  CHECK(compared > 60);
}
