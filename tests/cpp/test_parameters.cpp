// SPDX-License-Identifier: BSD-3-Clause
// The page libcapsim/doc/parameters.md says what the code does.
#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <sstream>

#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

struct TableRow {
  std::string default_text;
  std::string allowed;
};

/// Rows of doc/parameters.md that start with a path.
std::map<std::string, TableRow> parameter_table() {
  std::ifstream file(std::string(CAPSIM_SOURCE_DIR) + "/libcapsim/doc/parameters.md");
  std::map<std::string, TableRow> rows;
  for (std::string line; std::getline(file, line);) {
    if (line.rfind("| `", 0) != 0) continue;
    std::vector<std::string> cells;
    std::istringstream stream(line);
    for (std::string cell; std::getline(stream, cell, '|');) {
      const auto first = cell.find_first_not_of(' ');
      cells.push_back(first == std::string::npos ? "" : cell.substr(first, cell.find_last_not_of(' ') - first + 1));
    }
    REQUIRE(cells.size() >= 6);
    const std::string path = cells[1].substr(1, cells[1].size() - 2);
    INFO(path);
    CHECK(rows.count(path) == 0);
    rows[path] = {cells[2], cells[4]};
    if (cells[2] != "required") CHECK_FALSE(cells[5].empty());  // every default has its mark
  }
  return rows;
}

/// The default in a table cell; `1/60` is a quotient.
json default_value(const std::string& text) {
  if (const auto slash = text.find('/'); slash != std::string::npos)
    return std::stod(text.substr(0, slash)) / std::stod(text.substr(slash + 1));
  return json::parse(text);
}

void collect_fields(const json& value, const std::string& path, std::map<std::string, json>& fields) {
  if (!value.is_object() || value.empty()) {
    fields[path] = value;
    return;
  }
  for (const auto& [key, member] : value.items()) collect_fields(member, path.empty() ? key : path + '.' + key, fields);
}

/// A value of the same shape with an impossible number in it, and where that number is.
std::pair<json, std::string> impossible(const std::string& path, const json& shape) {
  const json huge = 1e300;
  if (path.find("by_hour") != std::string::npos) return {{{"4", huge}}, path + ".4"};
  if (path == "opening.outline_mm") return {{{0, huge}}, path + "[0][1]"};
  if (path == "opening.diameters_mm" || path == "opening.center_mm") return {{huge, 5}, path + "[0]"};
  if (shape.is_array()) return {json::array({huge}), path + "[0]"};
  return {huge, path};
}

}  // namespace

TEST_CASE("parameter_table_matches_the_defaults", "[scenario]") {
  Scenario with_ring;
  with_ring.tension_ring = TensionRingSpec{};
  std::map<std::string, json> fields;
  collect_fields(json_of(with_ring), "", fields);
  fields.erase("format");
  fields.erase("version");
  fields["tension_ring"] = json_of(Scenario{})["tension_ring"];
  fields["events[].relaxing_cuts.length_mm"] = RelaxingCuts{}.length_mm;
  Scenario with_change;
  with_change.events.push_back({0, ContractionChange{}});
  const json changed = json_of(with_change)["events"][0]["contraction_change"];
  for (const auto& [key, value] : changed.items()) fields["events[].contraction_change." + key] = value;
  const auto rows = parameter_table();
  for (const auto& [path, value] : fields) {
    INFO(path);
    REQUIRE(rows.count(path) == 1);
    CHECK(default_value(rows.at(path).default_text) == value);
  }
  for (const auto& [path, row] : rows) {
    INFO(path);
    CHECK((fields.count(path) == 1 || row.default_text == "required"));
  }
}

TEST_CASE("parameter_table_matches_the_enforced_limits", "[scenario]") {
  Scenario s = full_scenario();
  int compared = 0;
  for (const auto& [row_path, row] : parameter_table()) {
    if (row.allowed.find(">") == std::string::npos) continue;  // words, not a range
    std::string path = row_path;
    if (const auto list = path.find("[]"); list != std::string::npos)
      path.replace(list, 2,
                   path.find("zonule_damage") != std::string::npos        ? "[0]"
                   : path.find("contraction_change") != std::string::npos ? "[2]"
                                                                          : "[1]");
    json root = json_of(s);
    const auto [value, where] = impossible(path, at_path(root, path));
    at_path(root, path) = value;
    std::string limit = "not refused";
    for (const Violation& violation : violations_in(root.dump()))
      if (violation.path == where) limit = violation.limit;
    INFO(path);
    CHECK(limit == row.allowed);
    ++compared;
  }
  CHECK(compared > 60);
}
