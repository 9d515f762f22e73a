// SPDX-License-Identifier: BSD-3-Clause
#include "run/checkpoint.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "capsim/simulation.hpp"
#include "capsim/version.hpp"

namespace capsim {
namespace {

using Json = nlohmann::json;
constexpr std::string_view format = "capsim-checkpoint";
constexpr int format_version = 5;
const std::string advice = ": go on from another checkpoint, or run the scenario again";

[[noreturn]] void refuse(const std::string& what) { throw CheckpointError("checkpoint: " + what + advice); }

[[noreturn]] void refuse_version(const std::string& written_by, const std::string& in_format) {
  const std::string here(version());
  throw CheckpointError("checkpoint: written by capsim " + written_by + " in format " + in_format +
                        ", and this is capsim " + here + " with format " + std::to_string(format_version) +
                        "; a checkpoint is read by the version that wrote it: use that one, or run the scenario again");
}

// ---- each kind of value ----------------------------------------------------------------------

template <class Value>
void write(Json& j, const Value& value) {
  j = value;
}
template <class Value>
void read(const Json& j, Value& value) {
  j.get_to(value);
}

void write(Json& j, const std::vector<char>& flags) { j = std::vector<int>(flags.begin(), flags.end()); }
void read(const Json& j, std::vector<char>& flags) {
  flags.clear();
  for (const int flag : j.get<std::vector<int>>()) flags.push_back(static_cast<char>(flag != 0));
}

void write(Json& j, Status status) { j = to_string(status); }
void read(const Json& j, Status& status) {
  for (const StatusEntry& entry : statuses())
    if (j == entry.name) {
      status = entry.status;
      return;
    }
  refuse("it has a status that there is not");
}

void write(Json& j, EyeState::Unsettled jump) { j = static_cast<int>(jump); }
void read(const Json& j, EyeState::Unsettled& jump) {
  const int number = j.get<int>();
  if (number < 0 || number > static_cast<int>(EyeState::Unsettled::event)) refuse("it has a jump that there is not");
  jump = static_cast<EyeState::Unsettled>(number);
}

void write(Json& j, const Diagnostics& diagnostics) {
  for (const DiagnosticField& field : diagnostic_fields()) {
    Json& value = j[std::string(field.name)];
    if (field.count != nullptr)
      value = diagnostics.*field.count;
    else
      value = diagnostics.*field.number;
  }
}
void read(const Json& j, Diagnostics& diagnostics) {
  for (const DiagnosticField& field : diagnostic_fields()) {
    const Json& value = j.at(std::string(field.name));
    if (field.count != nullptr)
      value.get_to(diagnostics.*field.count);
    else
      value.get_to(diagnostics.*field.number);
  }
}

void write(Json& j, const StretchTrail& steps) {
  j = Json::array();
  for (std::size_t i = 0; i < steps.count(); ++i) j.push_back({steps[i].day, steps[i].stretches});
}
void read(const Json& j, StretchTrail& steps) {
  if (j.size() > StretchTrail::depth) refuse("it holds more equilibria than there can be");
  steps.clear();
  for (const Json& found : j) steps.push(found.at(0), found.at(1).get<std::vector<double>>());
}

void write(Json& j, const std::vector<EyeState::OpenCut>& cuts) {
  j = Json::array();
  for (const EyeState::OpenCut& cut : cuts) j.push_back({cut.planned, cut.length_on_day_mm, cut.day});
}
void read(const Json& j, std::vector<EyeState::OpenCut>& cuts) {
  cuts.clear();
  for (const Json& cut : j) cuts.push_back({cut.at(0), cut.at(1), cut.at(2)});
}

// A scenario around the ring: its own reader and writer keep every field.
void write(Json& j, const std::optional<EyeState::Ring>& ring) {
  if (!ring) return;
  Scenario carrier;
  carrier.tension_ring = ring->spec;
  j = {carrier.to_json(-1), ring->day, ring->held_span, ring->held_place};
}
void read(const Json& j, std::optional<EyeState::Ring>& ring) {
  ring.reset();
  if (j.is_null()) return;
  const Scenario carrier = Scenario::from_json(j.at(0).get<std::string>());
  ring = {carrier.tension_ring.value_or(TensionRingSpec{}), j.at(1), j.at(2), j.at(3)};
}

// Likewise around what has changed of the contraction; null when nothing has.
void write(Json& j, const ContractionChange& change) {
  if (change == ContractionChange{}) return;
  Scenario carrier;
  carrier.events.push_back({0, change});
  j = carrier.to_json(-1);
}
void read(const Json& j, ContractionChange& change) {
  change = {};
  if (j.is_null()) return;
  const Scenario carrier = Scenario::from_json(j.get<std::string>());
  if (carrier.events.size() != 1 || !std::holds_alternative<ContractionChange>(carrier.events[0].action))
    refuse("it has a change of the contraction that can't be");
  change = std::get<ContractionChange>(carrier.events[0].action);
}

void write(Json& j, const std::vector<Series>& all) {
  for (const Series& s : all)
    j.push_back({{"name", s.name},
                 {"unit", s.unit},
                 {"description", s.description},
                 {"columns", s.columns},
                 {"axis", to_string(s.axis)},
                 {"values", s.values}});
}
void read(const Json& j, std::vector<Series>& all) {
  for (const Json& s : j)
    all.push_back({s.at("name"), s.at("unit"), s.at("description"), s.at("columns"),
                   s.at("values").get<std::vector<double>>(), axis_named(s.at("axis").get<std::string>())});
}

// ---- seal ------------------------------------------------------------------------------------

std::uint64_t hash_of(std::uint64_t hash, std::string_view bytes) {
  for (const char c : bytes) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
  return hash;
}

std::string digits_of(std::string_view start, std::string_view contents) {
  std::array<char, 17> text{};
  std::snprintf(text.data(), text.size(), "%016llx",
                static_cast<unsigned long long>(hash_of(hash_of(0xcbf29ce484222325U, start), contents)));
  return text.data();
}

}  // namespace

std::string sealed(std::string_view contents, int in_format, std::string_view written_by) {
  const std::string start = std::string(format) + ' ' + std::to_string(in_format) + ' ' + std::string(written_by) + ' ';
  return start + digits_of(start, contents) + '\n' + std::string(contents);
}

std::string_view unsealed(std::string_view bytes) {
  const std::size_t end = bytes.substr(0, 100).find('\n');
  std::vector<std::string> words(1);
  for (const char c : bytes.substr(0, end == bytes.npos ? 0 : end)) {
    if (c == ' ')
      words.emplace_back();
    else
      words.back() += c;
  }
  if (words.size() != 4 || words[0] != format) refuse("these bytes are not a checkpoint");
  const std::string_view contents = bytes.substr(end + 1);
  if (words[3] != digits_of(bytes.substr(0, end - words[3].size()), contents))
    refuse("the bytes are damaged: they are not those that were written");
  // Whatever another version wrote is not looked at: the same state would not go on in the same way.
  if (words[2] != version() || words[1] != std::to_string(format_version)) refuse_version(words[2], words[1]);
  return contents;
}

std::string to_bytes(const Checkpoint& c) {
  Json j{{"scenario", c.scenario}, {"law", c.law}, {"cut_lines", c.cut_lines}};
  each_value(c.state, [&j](const char* name, const auto& value) { write(j["state"][name], value); });
  write(j["series"], c.series);
  const std::vector<std::uint8_t> cbor = Json::to_cbor(j);
  return sealed({reinterpret_cast<const char*>(cbor.data()), cbor.size()}, format_version, version());
}

Checkpoint from_bytes(const std::string& bytes) {
  const std::string_view contents = unsealed(bytes);
  try {
    const Json j = Json::from_cbor(contents);
    Checkpoint c;
    j.at("scenario").get_to(c.scenario);
    j.at("law").get_to(c.law);
    j.at("cut_lines").get_to(c.cut_lines);
    each_value(c.state, [state = j.at("state")](const char* name, auto& value) { read(state.at(name), value); });
    read(j.at("series"), c.series);
    return c;
  } catch (const Json::exception& error) {
    refuse(std::string("the bytes are damaged or not a checkpoint (") + error.what() + ")");
  } catch (const ScenarioError& error) {
    refuse(std::string("the bytes are damaged (") + error.what() + ")");
  }
}

}  // namespace capsim
