// SPDX-License-Identifier: BSD-3-Clause
#include "comparison.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>

namespace capsim::checks {

namespace {

using Json = nlohmann::ordered_json;

/// Appends one line to a file of the evidence folder, if there is one.
void append(const char* file, const Json& line) {
  const char* folder = std::getenv("CAPSIM_EVIDENCE_FOLDER");
  if (folder == nullptr) return;
  std::ofstream out(std::string(folder) + "/" + file, std::ios::app);
  out << line.dump() << "\n";
  REQUIRE(out.good());
}

const char* name_of(Limit::Kind kind) {
  switch (kind) {
    case Limit::Kind::relative:
      return "relative";
    case Limit::Kind::absolute:
      return "absolute";
    case Limit::Kind::at_least:
      return "at_least";
  }
  return "";
}

bool holds(const Comparison& c) {
  const double difference = std::abs(c.value - c.expected);
  switch (c.limit.kind) {
    case Limit::Kind::relative:
      return difference <= c.limit.size * std::abs(c.expected);
    case Limit::Kind::absolute:
      return difference <= c.limit.size;
    case Limit::Kind::at_least:
      return c.value >= c.expected;
  }
  return false;
}

}  // namespace

void compare(const Comparison& c) {
  CAPTURE(c.id, c.quantity, c.unit, c.value, c.expected, c.source, name_of(c.limit.kind), c.limit.size, c.miss);
  REQUIRE(std::isfinite(c.value));
  const bool within_limit = holds(c);
  if (c.miss.empty())
    CHECK(within_limit);
  else
    CHECK_FALSE(within_limit);  // a hit now: take the reason away
  append("comparisons.jsonl", {{"table", c.table},
                               {"id", c.id},
                               {"source", c.source},
                               {"quantity", c.quantity},
                               {"unit", c.unit},
                               {"value", c.value},
                               {"expected", c.expected},
                               {"kind", name_of(c.limit.kind)},
                               {"limit", c.limit.size},
                               {"passed", within_limit},
                               {"miss", c.miss}});
}

void compare(const VerificationCase& with, std::string_view quantity, std::string_view unit, double value,
             double expected, Limit limit) {
  compare({"case", with.id(), with.origin(), std::string(quantity), std::string(unit), value, expected, limit});
}

void note_property(std::string_view name, std::string_view statement, int scenarios, unsigned long seed) {
  append("properties.jsonl", {{"name", name}, {"statement", statement}, {"scenarios", scenarios}, {"seed", seed}});
}

}  // namespace capsim::checks
