// SPDX-License-Identifier: BSD-3-Clause
// The C interface: fields of a scenario by their path, listed, set, fetched, refused.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <functional>
#include <set>

#include "c_handles.hpp"
#include "capsim/scenario_schema.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

std::vector<capsim_field> all_fields() {
  std::vector<capsim_field> fields;
  for (std::size_t k = 0; k < capsim_field_count(); ++k) {
    capsim_field field{};
    field.struct_size = sizeof field;
    REQUIRE(capsim_field_at(k, &field) == CAPSIM_OK);
    fields.push_back(field);
  }
  return fields;
}

}  // namespace

TEST_CASE("c_field_table_lists_every_key_of_the_scenario_and_no_other", "[c_interface]") {
  json root = json_of(full_scenario());
  std::set<std::string> keys;
  const std::function<void(const json&, const std::string&)> collect = [&](const json& value, const std::string& path) {
    for (const auto& [key, member] : value.items()) {
      const std::string here = path.empty() ? key : path + '.' + key;
      if (here == "events") {
        for (const json& event : member) collect(event, "events[]");
        continue;
      }
      if (!member.is_object() || member.empty() || key.find("by_hour") != std::string::npos)
        keys.insert(here);
      else
        collect(member, here);
    }
  };
  root["events"].push_back({{"day", 1}, {"tension_ring", root["tension_ring"]}});
  collect(root, "");
  keys.erase("format");
  keys.erase("version");
  keys.insert({"lens", "tension_ring"});  // sections that may be null are fields too
  std::set<std::string> listed;
  for (const capsim_field& field : all_fields()) CHECK(listed.insert(field.path).second);
  CHECK(listed == keys);
}

TEST_CASE("c_setter_changes_its_field_and_nothing_else", "[c_interface]") {
  int changed = 0;
  for (const capsim_field& field : all_fields()) {
    const ScenarioHandle s = scenario_of(full_scenario());
    std::string path = field.path;
    if (path.rfind("events[]", 0) == 0) {
      const bool is_ring = path.find("tension_ring") != std::string::npos;
      if (is_ring) REQUIRE(capsim_scenario_add_tension_ring(s.get(), 5) == CAPSIM_OK);
      const bool is_change = path.find("contraction_change") != std::string::npos;
      const char* item = path.find("zonule_damage") != std::string::npos ? "[0]"
                         : is_change                                     ? "[2]"
                         : is_ring                                       ? "[3]"
                                                                         : "[1]";
      path.replace(6, 2, item);
    }
    const json before = json_in(s);
    json wanted = before;
    INFO(path);
    const double inside = 0.29 * field.low + 0.71 * field.high;
    switch (field.kind) {
      case CAPSIM_FIELD_NUMBER:
        REQUIRE(capsim_scenario_set_number(s.get(), path.c_str(), inside) == CAPSIM_OK);
        at_path(wanted, path) = inside;
        break;
      case CAPSIM_FIELD_INTEGER:
        REQUIRE(capsim_scenario_set_integer(s.get(), path.c_str(), 17) == CAPSIM_OK);
        at_path(wanted, path) = 17;
        break;
      case CAPSIM_FIELD_TEXT:
        REQUIRE(capsim_scenario_set_text(s.get(), path.c_str(), "\xC3\xA4") == CAPSIM_OK);
        at_path(wanted, path) = "\xC3\xA4";
        break;
      case CAPSIM_FIELD_CHOICE: {
        std::size_t index = 0;
        while (std::string(all_fields()[index].path) != field.path) ++index;
        const char* last = nullptr;
        for (std::size_t k = 0; const char* word = capsim_field_choice(index, k); ++k)
          if (at_path(wanted, path) != word) last = word;
        REQUIRE(last != nullptr);
        REQUIRE(capsim_scenario_set_text(s.get(), path.c_str(), last) == CAPSIM_OK);
        at_path(wanted, path) = last;
        break;
      }
      case CAPSIM_FIELD_NUMBERS:
      case CAPSIM_FIELD_POINT: {
        const double values[2] = {1.5, 2.5};
        REQUIRE(capsim_scenario_set_numbers(s.get(), path.c_str(), values, 2) == CAPSIM_OK);
        at_path(wanted, path) = {1.5, 2.5};
        break;
      }
      case CAPSIM_FIELD_POINTS: {
        const double values[4] = {1, 2, 3, 4};
        REQUIRE(capsim_scenario_set_numbers(s.get(), path.c_str(), values, 4) == CAPSIM_OK);
        at_path(wanted, path) = {{1, 2}, {3, 4}};
        break;
      }
      case CAPSIM_FIELD_KNOTS: {
        const double values[4] = {0, 14, 1, 7};
        REQUIRE(capsim_scenario_set_numbers(s.get(), path.c_str(), values, 4) == CAPSIM_OK);
        at_path(wanted, path) = {{{"radius_ratio", 0}, {"thickness_um", 14}},
                                 {{"radius_ratio", 1}, {"thickness_um", 7}}};
        break;
      }
      case CAPSIM_FIELD_BY_HOUR:
        REQUIRE(capsim_scenario_set_number(s.get(), (path + ".7").c_str(), 0.125) == CAPSIM_OK);
        at_path(wanted, path)["7"] = 0.125;
        break;
      case CAPSIM_FIELD_SECTION:
        REQUIRE(capsim_scenario_set_null(s.get(), path.c_str()) == CAPSIM_OK);
        at_path(wanted, path) = nullptr;
        break;
      default:
        FAIL("a kind of field that this test does not know");
    }
    CHECK(json_in(s) == wanted);
    CHECK(json_in(s) != before);
    CHECK(error_of(s).empty());
    ++changed;
  }
  CHECK(changed > 80);
}

TEST_CASE("c_getter_returns_what_the_json_text_says", "[c_interface]") {
  const ScenarioHandle s = scenario_of(full_scenario());
  const json root = json_in(s);
  int read = 0;
  for (const capsim_field& field : all_fields()) {
    const std::string path = field.path;
    if (path.rfind("events[]", 0) == 0) continue;
    json copy = root;
    const json wanted = at_path(copy, path);
    INFO(path);
    double number = -1;
    if (field.kind == CAPSIM_FIELD_NUMBER) {
      const auto status = capsim_scenario_get_number(s.get(), path.c_str(), &number);
      CHECK(status == (wanted.is_null() ? CAPSIM_IS_NULL : CAPSIM_OK));
      if (!wanted.is_null()) CHECK(number == wanted.get<double>());
      if (field.has_default && path.rfind("tension_ring", 0) != 0) CHECK(field.default_value == wanted.get<double>());
    } else if (field.kind == CAPSIM_FIELD_INTEGER) {
      std::int64_t whole = -1;
      CHECK(capsim_scenario_get_integer(s.get(), path.c_str(), &whole) == CAPSIM_OK);
      CHECK(whole == wanted.get<std::int64_t>());
      CHECK(field.default_value == static_cast<double>(whole));
    } else if (field.kind == CAPSIM_FIELD_TEXT || field.kind == CAPSIM_FIELD_CHOICE) {
      CHECK(text_by([&](auto... to) { return capsim_scenario_get_text(s.get(), path.c_str(), to...); }) == wanted);
    } else {
      continue;
    }
    ++read;
  }
  CHECK(read > 60);
  const char* hours = "events[1].relaxing_cuts.hours";
  const auto fetch = [&](auto... to) { return capsim_scenario_get_numbers(s.get(), hours, to...); };
  CHECK(numbers_by(fetch) == std::vector<double>{12, 3, 6, 9});
  double number = 0;
  CHECK(capsim_scenario_get_number(s.get(), "events[1].relaxing_cuts.hours[2]", &number) == CAPSIM_OK);
  CHECK(number == 6);
  CHECK(capsim_scenario_get_number(s.get(), "events[0].zonule_damage.strength_by_hour.4", &number) == CAPSIM_OK);
  CHECK(number == 0.25);
  CHECK(capsim_scenario_get_number(s.get(), "zonule.strength_by_hour.4", &number) == CAPSIM_NOT_FOUND);
}

TEST_CASE("c_field_limits_are_those_that_are_enforced", "[c_interface]") {
  int compared = 0;
  for (const capsim_field& field : all_fields()) {
    if (field.kind != CAPSIM_FIELD_NUMBER && field.kind != CAPSIM_FIELD_INTEGER) continue;
    const std::string path = field.path;
    if (path.rfind("events[]", 0) == 0) continue;
    const auto is_refused = [&](double value) {
      const ScenarioHandle s = scenario_of(full_scenario());
      REQUIRE(capsim_scenario_set_number(s.get(), path.c_str(), value) == CAPSIM_OK);
      capsim_scenario_check(s.get());
      for (std::size_t k = 0; k < capsim_scenario_violation_count(s.get()); ++k) {
        const auto part = [&](capsim_violation_part which) {
          return text_by([&](auto... to) { return capsim_scenario_violation(s.get(), k, which, to...); });
        };
        if (part(CAPSIM_VIOLATION_PATH) == path && part(CAPSIM_VIOLATION_LIMIT).find('>') != std::string::npos &&
            part(CAPSIM_VIOLATION_LIMIT).find("<=") != std::string::npos)
          return true;
      }
      return false;
    };
    INFO(path);
    const double step = field.kind == CAPSIM_FIELD_INTEGER ? 1 : 1e-9 * std::abs(field.high);
    CHECK(field.has_limits == 1);
    CHECK(is_refused(field.high + step));
    CHECK(is_refused(field.low) == (field.low_is_outside == 1));
    if (!field.may_be_zero) CHECK(is_refused(field.low - step));
    ++compared;
  }
  CHECK(compared > 60);
}

TEST_CASE("c_refused_setting_leaves_the_scenario_as_it_was_and_says_why", "[c_interface]") {
  const ScenarioHandle s = new_scenario();
  const std::string before = json_text(s);
  struct Try {
    capsim_status status;
    const char* path;
    const char* word_in_error;
  };
  const double three[3] = {1, 2, 3};
  for (const Try& attempt :
       {Try{CAPSIM_UNKNOWN_FIELD, "opening.diamter_mm", "did you mean \"diameter_mm\"?"},
        Try{CAPSIM_UNKNOWN_FIELD, "opning.diameter_mm", "did you mean \"opening\"?"},
        Try{CAPSIM_UNKNOWN_FIELD, "bag.events", "one of the known fields"},
        Try{CAPSIM_UNKNOWN_FIELD, "", "one of the known fields"},
        Try{CAPSIM_UNKNOWN_FIELD, "opening..diameter_mm", "one of the known fields"},
        Try{CAPSIM_UNKNOWN_FIELD, "opening.diameter_mm.x", "there is nothing inside it"},
        Try{CAPSIM_UNKNOWN_FIELD, "opening.diameter_mm[0]", "there is nothing inside it"},
        Try{CAPSIM_UNKNOWN_FIELD, "zonule.strength_by_hour.13", "a whole clock hour"},
        Try{CAPSIM_UNKNOWN_FIELD, "opening.center_mm[x]", "an item, as in [0]"},
        Try{CAPSIM_UNKNOWN_FIELD, "opening.center_mm[1", "an item, as in [0]"},
        Try{CAPSIM_UNKNOWN_FIELD, "tension_ring.gap_hours", "did you mean \"gap_hour\"?"},
        Try{CAPSIM_NOT_FOUND, "opening.center_mm[2]", "one of 2 numbers"},
        Try{CAPSIM_NOT_FOUND, "events[0].day", "one of 0 events"}, Try{CAPSIM_WRONG_TYPE, "name", "a text"},
        Try{CAPSIM_WRONG_TYPE, "capsule.law", "\"neo_hookean\" or \"fung\""},
        Try{CAPSIM_WRONG_TYPE, "opening.center_mm", "two numbers"}, Try{CAPSIM_WRONG_TYPE, "opening", "a section"},
        Try{CAPSIM_WRONG_TYPE, "lens.haptics", "a whole number"},
        Try{CAPSIM_WRONG_TYPE, "events", "functions of their own"}}) {
    INFO(attempt.path);
    CHECK(capsim_scenario_set_number(s.get(), attempt.path, 2.5) == attempt.status);
    CHECK_THAT(error_of(s), Catch::Contains(attempt.word_in_error));
    CHECK(capsim_scenario_violation_count(s.get()) == 1);
    CHECK(json_text(s) == before);
  }
  CHECK(capsim_scenario_set_text(s.get(), "tension_ring.gap_hour", "noon") == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_text(s.get(), "eye", "rihgt") == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_numbers(s.get(), "opening.center_mm", three, 3) == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_numbers(s.get(), "opening.outline_mm", three, 3) == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_null(s.get(), "opening") == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_null(s.get(), "bag.equator_diameter_mm") == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_set_integer(s.get(), "lens.haptics", INT64_MAX) == CAPSIM_WRONG_TYPE);
  CHECK(capsim_scenario_read_json(s.get(), "{", 1) == CAPSIM_INVALID_SCENARIO);
  CHECK(capsim_scenario_read_file(s.get(), "/no/such/file.json") == CAPSIM_INVALID_SCENARIO);
  CHECK(capsim_scenario_remove_event(s.get(), 0) == CAPSIM_NOT_FOUND);
  CHECK(json_text(s) == before);
}

TEST_CASE("c_sections_and_fields_go_to_null_and_back", "[c_interface]") {
  const ScenarioHandle s = new_scenario();
  const json fresh = json_in(s);
  double number = 0;
  CHECK(capsim_scenario_get_number(s.get(), "tension_ring.gap_hour", &number) == CAPSIM_IS_NULL);
  CHECK(json_in(s) == fresh);  // asking changes nothing
  CHECK(capsim_scenario_set_present(s.get(), "tension_ring") == CAPSIM_OK);
  CHECK(capsim_scenario_get_number(s.get(), "tension_ring.gap_hour", &number) == CAPSIM_OK);
  CHECK(number == TensionRingSpec{}.gap_hour);
  CHECK(capsim_scenario_set_null(s.get(), "tension_ring") == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "tension_ring.gap_hour", 7) == CAPSIM_OK);
  CHECK(json_in(s)["tension_ring"]["gap_hour"] == 7);
  CHECK(json_in(s)["tension_ring"]["free_diameter_mm"] == TensionRingSpec{}.free_diameter_mm);
  CHECK(capsim_scenario_set_default(s.get(), "tension_ring") == CAPSIM_OK);
  CHECK(capsim_scenario_set_null(s.get(), "lens") == CAPSIM_OK);
  CHECK(json_in(s)["lens"].is_null());
  CHECK(capsim_scenario_set_default(s.get(), "lens") == CAPSIM_OK);
  CHECK(capsim_scenario_set_null(s.get(), "contraction.band_width_mm") == CAPSIM_OK);
  CHECK(json_in(s)["contraction"]["band_width_mm"].is_null());
  CHECK(capsim_scenario_set_default(s.get(), "contraction.band_width_mm") == CAPSIM_OK);
  CHECK(capsim_scenario_set_text(s.get(), "eye", "left") == CAPSIM_OK);
  CHECK(capsim_scenario_set_default(s.get(), "eye") == CAPSIM_OK);
  CHECK(capsim_scenario_set_text(s.get(), "capsule.law", "fung") == CAPSIM_OK);
  CHECK(capsim_scenario_set_default(s.get(), "capsule.law") == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "zonule.strength_by_hour.4", 0.5) == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "zonule.strength_by_hour.5", 0.5) == CAPSIM_OK);
  CHECK(capsim_scenario_set_default(s.get(), "zonule.strength_by_hour.4") == CAPSIM_OK);
  CHECK(json_in(s)["zonule"]["strength_by_hour"] == json{{"5", 0.5}});
  CHECK(capsim_scenario_set_default(s.get(), "zonule") == CAPSIM_OK);
  CHECK(json_in(s) == fresh);
}

TEST_CASE("c_events_are_added_changed_and_removed", "[c_interface]") {
  const ScenarioHandle s = new_scenario();
  const double hours[2] = {12, 6.5};
  const std::int32_t damaged[2] = {4, 5};
  const double strengths[2] = {0.2, 0};
  CHECK(capsim_scenario_add_relaxing_cuts(s.get(), 90, hours, 2, 0.75) == CAPSIM_OK);
  CHECK(capsim_scenario_add_zonule_damage(s.get(), 30, damaged, strengths, 2) == CAPSIM_OK);
  CHECK(capsim_scenario_add_tension_ring(s.get(), 60) == CAPSIM_OK);
  CHECK(capsim_scenario_event_count(s.get()) == 3);
  CHECK(capsim_scenario_set_number(s.get(), "events[2].tension_ring.gap_hour", 3) == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "events[0].day", 120) == CAPSIM_OK);
  Scenario wanted;
  TensionRingSpec ring;
  ring.gap_hour = 3;
  wanted.events.resize(3);
  wanted.events[0].day = 120;
  wanted.events[0].action = RelaxingCuts{{12, 6.5}, 0.75};
  wanted.events[1].day = 30;
  wanted.events[1].action = ZonuleDamage{{{4, 0.2}, {5, 0}}};
  wanted.events[2].day = 60;
  wanted.events[2].action = ring;
  CHECK(Scenario::from_json(json_text(s)) == wanted);
  CHECK(capsim_scenario_set_number(s.get(), "events[0].tension_ring.gap_hour", 3) == CAPSIM_IS_NULL);
  CHECK(capsim_scenario_remove_event(s.get(), 1) == CAPSIM_OK);
  wanted.events.erase(wanted.events.begin() + 1);
  CHECK(Scenario::from_json(json_text(s)) == wanted);
  CHECK(capsim_scenario_mirror(s.get()) == CAPSIM_OK);
  CHECK(Scenario::from_json(json_text(s)) == mirrored(wanted));
  CHECK(capsim_scenario_rotate(s.get(), 2) == CAPSIM_OK);
  CHECK(Scenario::from_json(json_text(s)) == rotated(mirrored(wanted), 2));
  const ScenarioHandle copy(capsim_scenario_copy(s.get()));
  CHECK(json_text(copy) == json_text(s));
  CHECK(capsim_scenario_set_default(s.get(), "events") == CAPSIM_OK);
  CHECK(capsim_scenario_event_count(s.get()) == 0);
  CHECK(capsim_scenario_event_count(copy.get()) == 2);
}

TEST_CASE("c_violations_are_readable_one_by_one", "[c_interface]") {
  Scenario wrong;
  wrong.opening.diameter_mm = -1;
  wrong.duration_days = NAN;
  wrong.zonule.strength = 30;
  const ScenarioHandle s = new_scenario();
  CHECK(capsim_scenario_set_number(s.get(), "opening.diameter_mm", -1) == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "duration_days", NAN) == CAPSIM_OK);
  CHECK(capsim_scenario_set_number(s.get(), "zonule.strength", 30) == CAPSIM_OK);
  const HistoryHandle h = new_history();
  CHECK(capsim_scenario_check(s.get()) == CAPSIM_INVALID_SCENARIO);
  CHECK(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_INVALID_SCENARIO);
  const std::vector<Violation> wanted = wrong.violations();
  REQUIRE(wanted.size() == 3);
  REQUIRE(capsim_scenario_violation_count(s.get()) == 3);
  REQUIRE(capsim_history_violation_count(h.get()) == 3);
  for (std::size_t k = 0; k < 3; ++k) {
    const auto part = [&](capsim_violation_part which) {
      const std::string one = text_by([&](auto... to) { return capsim_scenario_violation(s.get(), k, which, to...); });
      CHECK(one == text_by([&](auto... to) { return capsim_history_violation(h.get(), k, which, to...); }));
      return one;
    };
    CHECK(part(CAPSIM_VIOLATION_PATH) == wanted[k].path);
    CHECK(part(CAPSIM_VIOLATION_VALUE) == wanted[k].value);
    CHECK(part(CAPSIM_VIOLATION_LIMIT) == wanted[k].limit);
    CHECK(part(CAPSIM_VIOLATION_HINT) == wanted[k].hint);
    CHECK(part(CAPSIM_VIOLATION_LINE) == wanted[k].to_string());
  }
  char text[8];
  CHECK(capsim_scenario_violation(s.get(), 3, CAPSIM_VIOLATION_PATH, text, sizeof text, nullptr) == CAPSIM_NOT_FOUND);
  CHECK(capsim_scenario_violation(s.get(), 0, 99, text, sizeof text, nullptr) == CAPSIM_BAD_ARGUMENT);
  // The next call starts afresh.
  CHECK(capsim_scenario_set_number(s.get(), "opening.diameter_mm", 5) == CAPSIM_OK);
  CHECK(capsim_scenario_violation_count(s.get()) == 0);
  CHECK(error_of(s).empty());
}

TEST_CASE("c_schema_is_that_of_the_library", "[c_interface]") {
  CHECK(text_by([](auto... to) { return capsim_scenario_schema(to...); }) == scenario_schema());
}
