// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/scenario_schema.hpp"

#include <array>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "capsim/scenario.hpp"
#include "scenario/field_unit.hpp"
#include "scenario/scenario_fields.hpp"
#include "scenario/scenario_reader.hpp"

namespace capsim {
namespace {

using Json = nlohmann::ordered_json;

/// Whole numbers without a decimal point, as in the scenario's own text.
Json json_number(double value) {
  if (value == static_cast<double>(static_cast<long long>(value))) return static_cast<long long>(value);
  return value;
}

void add_interval(Json& schema, const Limits& limits) {
  schema[limits.low_open ? "exclusiveMinimum" : "minimum"] = json_number(limits.low);
  schema["maximum"] = json_number(limits.high);
}

Json number_within(const Limits& limits) {
  Json schema = {{"type", "number"}};
  if (!limits.or_zero) {
    add_interval(schema, limits);
    return schema;
  }
  Json interval;
  add_interval(interval, limits);
  schema["anyOf"] = Json::array({{{"const", 0}}, interval});
  return schema;
}

void add_count(Json& schema, const Limits& count) {
  Json interval = {{"minItems", json_number(count.low)}, {"maxItems", json_number(count.high)}};
  if (count.or_zero)
    schema["anyOf"] = Json::array({{{"maxItems", 0}}, interval});
  else
    schema.update(interval);
}

Json point_within(const Limits& limits) {
  return {{"type", "array"}, {"items", number_within(limits)}, {"minItems", 2}, {"maxItems", 2}};
}

Json or_null(Json schema) {
  schema["type"] = Json::array({schema["type"], "null"});
  return schema;
}

/// Visitor that describes one object. A field whose default is not allowed is required.
class SchemaWriter {
 public:
  template <class Spec>
  static Json object(const Spec& defaults) {
    SchemaWriter writer;
    fields(writer, defaults);
    return std::move(writer).take();
  }
  static Json scenario() {
    SchemaWriter writer;
    writer.require("format", {{"const", scenario_format}});
    writer.require("version", {{"const", scenario_version}});
    const Scenario defaults;
    fields(writer, defaults);
    return std::move(writer).take();
  }

  void text(const char* key, const std::string& value) {
    add(key, {{"type", "string"}, {"maxLength", json_number(name_bytes.high)}}, value);
  }
  void number(const char* key, double value, Limits limits) {
    Json schema = with_unit(key, number_within(limits));
    if (limits.allow(value))
      add(key, std::move(schema), json_number(value));
    else
      require(key, std::move(schema));
  }
  void number(const char* key, const std::optional<double>& value, Limits limits) {
    add(key, with_unit(key, or_null(number_within(limits))), value ? json_number(*value) : Json());
  }
  void integer(const char* key, int value, Limits limits) {
    Json schema = number_within(limits);
    schema["type"] = "integer";
    add(key, std::move(schema), value);
  }
  template <class Enum>
  void choice(const char* key, Enum value) {
    Json words = Json::array();
    Json given;
    for (const auto& [choice, word] : choice_words(value)) {
      words.push_back(word);
      if (choice == value) given = word;
    }
    if constexpr (std::same_as<Enum, Eye>) words.push_back(nullptr);
    add(key, {{"enum", words}}, given);
  }
  void pair(const char* key, const Point& value, Limits limits) {
    add(key, with_unit(key, point_within(limits)), Json::array({json_number(value[0]), json_number(value[1])}));
  }
  void pair(const char* key, const std::optional<Point>&, Limits limits) {
    add(key, with_unit(key, or_null(point_within(limits))), Json());
  }
  void points(const char* key, const std::vector<Point>&, Limits limits) {
    Json schema = {{"type", "array"}, {"items", point_within(limits)}};
    add_count(schema, outline_points);
    add(key, with_unit(key, std::move(schema)), Json::array());
  }
  void numbers(const char* key, const std::vector<double>&, Limits limits) {
    Json schema = {{"type", "array"}, {"items", number_within(limits)}};
    add_count(schema, cuts_at_once);
    require(key, with_unit(key, std::move(schema)));
  }
  void by_hour(const char* key, const ByHour&, Limits limits) {
    add(key, with_unit(key, hours_within(limits)), Json::object());
  }
  void knots(const char* key, const std::vector<ThicknessKnot>&) {
    Json schema = {{"type", "array"}, {"items", object(ThicknessKnot{})}};
    add_count(schema, profile_knots);
    add(key, std::move(schema), Json::array());
  }
  void events(const char* key, const std::vector<Event>&) {
    add(key, {{"type", "array"}, {"items", event()}, {"maxItems", json_number(event_count.high)}}, Json::array());
  }
  template <class Spec>
  void section(const char* key, const Spec& spec) {
    properties_[key] = object(spec);
  }
  void section(const char* key, const MeshSpec& mesh) {
    Json level = {{"type", "object"},
                  {"properties", {{"level", {{"enum", {"coarse", "standard", "fine"}}}}}},
                  {"required", {"level"}},
                  {"additionalProperties", false}};
    properties_[key] = {{"oneOf", Json::array({object(mesh), level})}};
  }
  template <class Spec>
  void optional_section(const char* key, const std::optional<Spec>& spec) {
    const Json null = {{"type", "null"}};
    properties_[key] = {{"anyOf", Json::array({reference(key), null})}};
    if (!spec) properties_[key]["default"] = nullptr;
  }

 private:
  static Json reference(std::string_view section) { return {{"$ref", "#/$defs/" + std::string(section)}}; }

  static Json with_unit(std::string_view key, Json schema) {
    schema["x-unit"] = field_unit(key);
    return schema;
  }
  static Json hours_within(const Limits& limits) {
    return {{"type", "object"},
            {"patternProperties", {{"^([1-9]|1[0-2])$", number_within(limits)}}},
            {"additionalProperties", false}};
  }

  template <class Spec>
  static Json action(const Spec& spec) {
    return object(spec);
  }
  static Json action(const TensionRingSpec&) { return reference("tension_ring"); }
  static Json action(const ZonuleDamage& spec) {
    Json damage = object(spec);
    Json& hours = damage["properties"]["strength_by_hour"];
    hours.erase("default");
    hours["minProperties"] = json_number(damaged_hours.low);
    damage["required"] = {"strength_by_hour"};
    return damage;
  }

  static Json event() {
    SchemaWriter writer;
    writer.require("day", with_unit("day", number_within(event_days)));
    Json one_of = Json::array();
    each_action([&](std::string_view key, const auto& spec) {
      writer.properties_[std::string(key)] = action(spec);
      one_of.push_back({{"required", {key}}});
    });
    Json schema = std::move(writer).take();
    schema["oneOf"] = std::move(one_of);
    return schema;
  }

  void add(const char* key, Json schema, Json value) {
    schema["default"] = std::move(value);
    properties_[key] = std::move(schema);
  }
  void require(const char* key, Json schema) {
    properties_[key] = std::move(schema);
    required_.push_back(key);
  }
  [[nodiscard]] Json take() && {
    Json schema = {{"type", "object"}, {"properties", std::move(properties_)}};
    if (!required_.empty()) schema["required"] = std::move(required_);
    schema["additionalProperties"] = false;
    return schema;
  }

  Json properties_ = Json::object();
  Json required_ = Json::array();
};

}  // namespace

std::string scenario_schema(int indent) {
  Json schema = {{"$schema", "https://json-schema.org/draft/2020-12/schema"},
                 {"$id", "urn:capsim:scenario:" + std::to_string(scenario_version)},
                 {"title", "capsim scenario, version " + std::to_string(scenario_version)},
                 {"description",
                  "One eye, one operation, one follow-up. For research and teaching, not for treating a patient; "
                  "decisions belong to the licensed clinician and local protocols. Every scenario that capsim accepts "
                  "fits this schema; capsim also checks what must fit together. Units: x-unit."}};
  schema.update(SchemaWriter::scenario());
  schema["$defs"] = {{"tension_ring", SchemaWriter::object(TensionRingSpec{})},
                     {"lens", SchemaWriter::object(LensSpec{})}};
  return schema.dump(indent) + '\n';
}

}  // namespace capsim
