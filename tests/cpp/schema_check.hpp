// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A small checker for JSON Schema: the keywords that the scenario's schema uses, and no others.
///
/// Written from the published meaning of each keyword, not from the code that writes the schema. A
/// keyword it does not know is a complaint, so that none can be written and never be checked.

#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <string>
#include <vector>

namespace capsim::test {

class SchemaCheck {
 public:
  explicit SchemaCheck(nlohmann::json schema) : root_(std::move(schema)) {}

  /// What is wrong with `value`, one line each; empty when it fits.
  [[nodiscard]] std::vector<std::string> complaints(const nlohmann::json& value) const {
    std::vector<std::string> found;
    check(root_, value, "", found);
    return found;
  }
  [[nodiscard]] bool fits(const nlohmann::json& value) const { return complaints(value).empty(); }

 private:
  using Json = nlohmann::json;
  using Found = std::vector<std::string>;

  void check(const Json& schema, const Json& value, const std::string& path, Found& found) const {
    for (const auto& [keyword, wanted] : schema.items()) check_keyword(keyword, wanted, schema, value, path, found);
  }

  void check_keyword(const std::string& keyword, const Json& wanted, const Json& schema, const Json& value,
                     const std::string& path, Found& found) const {
    static const std::set<std::string> annotations{"$schema", "$id",    "$defs",      "title",
                                                   "default", "x-unit", "description"};
    const auto require = [&](bool holds) {
      if (!holds) found.push_back(path + ": " + keyword + " " + wanted.dump());
    };
    const auto fits_one = [&](const Json& one) {
      Found inside;
      check(one, value, path, inside);
      return inside.empty();
    };
    if (annotations.count(keyword) > 0) return;
    if (keyword == "type")
      require(wanted.is_array()
                  ? std::any_of(wanted.begin(), wanted.end(), [&](const Json& type) { return is_of(type, value); })
                  : is_of(wanted, value));
    else if (keyword == "const")
      require(value == wanted);
    else if (keyword == "enum")
      require(std::find(wanted.begin(), wanted.end(), value) != wanted.end());
    else if (keyword == "minimum")
      require(!value.is_number() || value.get<double>() >= wanted.get<double>());
    else if (keyword == "exclusiveMinimum")
      require(!value.is_number() || value.get<double>() > wanted.get<double>());
    else if (keyword == "maximum")
      require(!value.is_number() || value.get<double>() <= wanted.get<double>());
    else if (keyword == "maxLength")
      require(!value.is_string() || characters(value) <= wanted.get<std::size_t>());
    else if (keyword == "minItems")
      require(!value.is_array() || value.size() >= wanted.get<std::size_t>());
    else if (keyword == "maxItems")
      require(!value.is_array() || value.size() <= wanted.get<std::size_t>());
    else if (keyword == "minProperties")
      require(!value.is_object() || value.size() >= wanted.get<std::size_t>());
    else if (keyword == "required")
      require(!value.is_object() ||
              std::all_of(wanted.begin(), wanted.end(), [&](const Json& key) { return value.contains(key); }));
    else if (keyword == "anyOf")
      require(std::any_of(wanted.begin(), wanted.end(), fits_one));
    else if (keyword == "oneOf")
      require(std::count_if(wanted.begin(), wanted.end(), fits_one) == 1);
    else if (keyword == "$ref")
      check(root_.at(Json::json_pointer(wanted.get<std::string>().substr(1))), value, path, found);
    else if (keyword == "items") {
      if (value.is_array())
        for (std::size_t k = 0; k < value.size(); ++k)
          check(wanted, value[k], path + "[" + std::to_string(k) + "]", found);
    } else if (keyword == "properties") {
      if (value.is_object())
        for (const auto& [key, member] : wanted.items())
          if (value.contains(key)) check(member, value[key], path + "." + key, found);
    } else if (keyword == "patternProperties") {
      if (value.is_object())
        for (const auto& [key, member] : value.items())
          for (const auto& [pattern, inner] : wanted.items())
            if (std::regex_search(key, std::regex(pattern))) check(inner, member, path + "." + key, found);
    } else if (keyword == "additionalProperties") {
      if (value.is_object())
        for (const auto& [key, member] : value.items())
          if (!is_named(schema, key)) require(false);
      if (wanted != false) found.push_back(path + ": additionalProperties is only known as false");
    } else {
      found.push_back(path + ": unknown keyword " + keyword);
    }
  }

  static bool is_of(const Json& type, const Json& value) {
    if (type == "number") return value.is_number();
    if (type == "integer")
      return value.is_number_integer() ||
             (value.is_number_float() && value.get<double>() == std::trunc(value.get<double>()));
    if (type == "string") return value.is_string();
    if (type == "array") return value.is_array();
    if (type == "object") return value.is_object();
    if (type == "null") return value.is_null();
    return type == "boolean" && value.is_boolean();
  }

  static bool is_named(const Json& schema, const std::string& key) {
    if (schema.contains("properties") && schema["properties"].contains(key)) return true;
    if (schema.contains("patternProperties"))
      for (const auto& [pattern, inner] : schema["patternProperties"].items())
        if (std::regex_search(key, std::regex(pattern))) return true;
    return false;
  }

  static std::size_t characters(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
  }

  Json root_;
};

}  // namespace capsim::test
