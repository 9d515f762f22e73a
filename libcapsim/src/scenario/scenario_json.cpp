// SPDX-License-Identifier: BSD-3-Clause
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "capsim/scenario.hpp"
#include "scenario/scenario_checks.hpp"
#include "scenario/scenario_fields.hpp"
#include "scenario/scenario_reader.hpp"
#include "text/json_text.hpp"

namespace capsim {
namespace {

using Json = nlohmann::ordered_json;

/// Whole numbers without a decimal point, all others as the shortest text that reads back equal.
Json json_number(double value) {
  constexpr double exact_integers = 9007199254740992.0;  // 2^53
  const bool whole = value == std::trunc(value) && std::abs(value) < exact_integers;
  if (whole && !(value == 0 && std::signbit(value))) return static_cast<std::int64_t>(value);
  return value;
}

/// Visitor that writes one object of the scenario into one JSON object.
class Writer {
 public:
  template <class Spec>
  static Json object(const Spec& spec) {
    Writer writer;
    writer.json_ = Json::object();
    fields(writer, spec);
    return std::move(writer.json_);
  }
  static Json scenario(const Scenario& scenario) {
    Writer writer;
    writer.json_ = {{"format", scenario_format}, {"version", scenario_version}};
    fields(writer, scenario);
    return std::move(writer.json_);
  }

  void text(const char* key, const std::string& value) { json_[key] = value; }
  void number(const char* key, double value, Limits) { json_[key] = json_number(value); }
  void number(const char* key, const std::optional<double>& value, Limits) {
    json_[key] = value ? json_number(*value) : Json();
  }
  void integer(const char* key, int value, Limits) { json_[key] = value; }
  template <class Enum>
  void choice(const char* key, Enum value) {
    Json& word = json_[key] = Json();
    for (const auto& [choice, text] : choice_words(value))
      if (choice == value) word = text;
  }
  void pair(const char* key, const Point& value, Limits) { json_[key] = point(value); }
  void pair(const char* key, const std::optional<Point>& value, Limits) { json_[key] = value ? point(*value) : Json(); }
  void points(const char* key, const std::vector<Point>& values, Limits) {
    Json& list = json_[key] = Json::array();
    for (const Point& value : values) list.push_back(point(value));
  }
  void numbers(const char* key, const std::vector<double>& values, Limits) {
    Json& list = json_[key] = Json::array();
    for (const double value : values) list.push_back(json_number(value));
  }
  void by_hour(const char* key, const ByHour& values, Limits) {
    Json& hours = json_[key] = Json::object();
    for (const auto& [hour, value] : values) hours[std::to_string(hour)] = json_number(value);
  }
  void knots(const char* key, const std::vector<ThicknessKnot>& values) {
    Json& list = json_[key] = Json::array();
    for (const ThicknessKnot& value : values) list.push_back(object(value));
  }
  void events(const char* key, const std::vector<Event>& events) {
    Json& list = json_[key] = Json::array();
    for (const Event& event : events) {
      Json item = {{"day", json_number(event.day)}};
      item[std::string(action_keys[event.action.index()])] =
          std::visit([](const auto& action) { return object(action); }, event.action);
      list.push_back(std::move(item));
    }
  }
  template <class Spec>
  void section(const char* key, const Spec& spec) {
    json_[key] = object(spec);
  }
  template <class Spec>
  void optional_section(const char* key, const std::optional<Spec>& spec) {
    json_[key] = spec ? object(*spec) : Json();
  }

 private:
  static Json point(const Point& value) { return Json::array({json_number(value[0]), json_number(value[1])}); }
  Json json_;
};

[[noreturn]] void refuse_file(const std::string& path, std::string limit, std::string hint) {
  throw ScenarioError({Violation{std::string(whole_scenario), in_quotes(path), std::move(limit), std::move(hint)}});
}

}  // namespace

Scenario Scenario::from_json(std::string_view text) {
  ViolationList found;
  const JsonNode root = parse_json_text(text, found);
  Scenario scenario = read_scenario(root, found);
  check_limits(scenario, found);
  check_consistency(scenario, found);
  if (!found.empty()) throw ScenarioError(found.take());
  return scenario;
}

Scenario Scenario::from_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) refuse_file(path, "a file that can be opened", "does it exist, and may it be read?");
  std::string text(longest_text + 1, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad() || (file.fail() && !file.eof())) refuse_file(path, "a file that can be read", "is it a folder?");
  if (file.gcount() > static_cast<std::streamsize>(longest_text))
    refuse_file(path, "a file of at most " + std::to_string(longest_text) + " bytes", "is this a scenario?");
  text.resize(static_cast<std::size_t>(file.gcount()));
  return from_json(text);
}

std::string Scenario::to_json(int indent) const {
  return Writer::scenario(*this).dump(indent, ' ', false, Json::error_handler_t::replace);
}

}  // namespace capsim
