// SPDX-License-Identifier: BSD-3-Clause
#include "run/checkpoint.hpp"

#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

#include "capsim/version.hpp"

namespace capsim {
namespace {

using Json = nlohmann::json;
constexpr const char* format = "capsim-checkpoint";
constexpr int format_version = 2;
constexpr const char* advice = ": go on from another checkpoint, or run the scenario again";

// A scenario that holds the changed parts: its own reader and writer keep every field.
Scenario carrier(const Checkpoint& c) {
  Scenario s = Scenario::from_json(c.scenario);
  s.events.clear();
  s.zonule = c.zonule;
  s.tension_ring = c.ring;
  return s;
}

}  // namespace

std::string to_bytes(const Checkpoint& c) {
  Json j{{"format", format},
         {"format_version", format_version},
         {"version", c.version},
         {"scenario", c.scenario},
         {"now", carrier(c).to_json(-1)},
         {"law", c.law},
         {"day", c.day},
         {"next_step", c.next_step},
         {"x", c.x},
         {"y", c.y},
         {"equilibria", c.equilibria},
         {"open_layers", c.open_layers},
         {"next_event", c.next_event},
         {"failed", std::vector<int>(c.failed.begin(), c.failed.end())},
         {"status", static_cast<int>(c.status)},
         {"message", c.message},
         {"ring_day", c.ring_day},
         {"held_span", c.held_span},
         {"held_place", c.held_place},
         {"residual", c.residual_mN},
         {"energy", c.energy}};
  for (const CutRecord& cut : c.cuts) j["cuts"].push_back({cut.hour, cut.length_mm, cut.length_on_day_mm, cut.day});
  for (const DiagnosticField& field : diagnostic_fields()) {
    Json& value = j["diagnostics"][std::string(field.name)];
    if (field.count != nullptr)
      value = c.diagnostics.*field.count;
    else
      value = c.diagnostics.*field.number;
  }
  for (const Series& s : c.series)
    j["series"].push_back({{"name", s.name},
                           {"unit", s.unit},
                           {"description", s.description},
                           {"columns", s.columns},
                           {"axis", to_string(s.axis)},
                           {"values", s.values}});
  const std::vector<std::uint8_t> bytes = Json::to_cbor(j);
  return {bytes.begin(), bytes.end()};
}

Checkpoint from_bytes(const std::string& bytes) {
  try {
    const Json j = Json::from_cbor(bytes);
    if (!j.is_object() || !j.contains("format") || j.at("format") != format)
      throw std::invalid_argument(std::string("checkpoint: these bytes are not a checkpoint") + advice);
    Checkpoint c;
    j.at("version").get_to(c.version);
    // Whatever another version wrote is not looked at: the same state would not go on in the same way.
    if (const int found = j.value("format_version", 0); c.version != version() || found != format_version)
      throw std::invalid_argument(
          "checkpoint: written by capsim " + c.version + " in format " + std::to_string(found) +
          ", and this is capsim " + std::string(version()) + " with format " + std::to_string(format_version) +
          "; a checkpoint is read by the version that wrote it: use that one, or run the scenario again");
    j.at("scenario").get_to(c.scenario);
    j.at("law").get_to(c.law);
    const Scenario now = Scenario::from_json(j.at("now").get<std::string>());
    c.zonule = now.zonule;
    c.ring = now.tension_ring;
    j.at("day").get_to(c.day);
    j.at("next_step").get_to(c.next_step);
    j.at("x").get_to(c.x);
    j.at("y").get_to(c.y);
    j.at("equilibria").get_to(c.equilibria);
    j.at("open_layers").get_to(c.open_layers);
    j.at("next_event").get_to(c.next_event);
    for (const int v : j.at("failed").get<std::vector<int>>()) c.failed.push_back(static_cast<char>(v));
    c.status = static_cast<Status>(j.at("status").get<int>());
    j.at("message").get_to(c.message);
    j.at("ring_day").get_to(c.ring_day);
    j.at("held_span").get_to(c.held_span);
    j.at("held_place").get_to(c.held_place);
    j.at("residual").get_to(c.residual_mN);
    j.at("energy").get_to(c.energy);
    if (j.contains("cuts"))
      for (const Json& cut : j.at("cuts")) c.cuts.push_back({cut[0], cut[1], cut[2], cut[3]});
    for (const DiagnosticField& field : diagnostic_fields()) {
      const Json& value = j.at("diagnostics").at(std::string(field.name));
      if (field.count != nullptr)
        value.get_to(c.diagnostics.*field.count);
      else
        value.get_to(c.diagnostics.*field.number);
    }
    for (const Json& s : j.at("series"))
      c.series.push_back({s.at("name"), s.at("unit"), s.at("description"), s.at("columns"),
                          s.at("values").get<std::vector<double>>(), axis_named(s.at("axis").get<std::string>())});
    return c;
  } catch (const Json::exception& error) {
    throw std::invalid_argument(std::string("checkpoint: the bytes are damaged or not a checkpoint (") + error.what() +
                                ")" + advice);
  } catch (const ScenarioError& error) {
    throw std::invalid_argument(std::string("checkpoint: the bytes are damaged (") + error.what() + ")" + advice);
  }
}

}  // namespace capsim
