// SPDX-License-Identifier: BSD-3-Clause
// The C interface says and does what the C++ library does, and lets no exception out.
#include <unistd.h>

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <functional>
#include <set>
#include <span>
#include <stdexcept>
#include <thread>

#include "c_handles.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/scenario_schema.hpp"
#include "capsim/simulation.hpp"
#include "failing_allocation.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using nlohmann::json;

namespace {

/// A short run on the coarse mesh, with a cut.
Scenario quick() {
  Scenario scenario;
  scenario.name = "quick";
  scenario.duration_days = 20;
  scenario.output_every_days = 10;
  scenario.mesh = MeshSpec::coarse();
  scenario.events.push_back({15, RelaxingCuts{{12, 6}, 0.5}});
  return scenario;
}

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

// ---- fields --------------------------------------------------------------------------------------

TEST_CASE("c_field_table_lists_every_key_of_the_scenario_and_no_other", "[c_interface]") {
  json root = json_of(full_scenario());
  std::set<std::string> keys;
  const std::function<void(const json&, const std::string&)> collect = [&](const json& value,
                                                                            const std::string& path) {
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
      const char* item = path.find("zonule_damage") != std::string::npos ? "[0]" : is_ring ? "[2]" : "[1]";
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
      if (field.has_default && path.rfind("tension_ring", 0) != 0)
        CHECK(field.default_value == wanted.get<double>());
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
  for (const Try& attempt : {Try{CAPSIM_UNKNOWN_FIELD, "opening.diamter_mm", "did you mean \"diameter_mm\"?"},
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
                             Try{CAPSIM_NOT_FOUND, "events[0].day", "one of 0 events"},
                             Try{CAPSIM_WRONG_TYPE, "name", "a text"},
                             Try{CAPSIM_WRONG_TYPE, "capsule.law", "\"neo_hookean\" or \"fung\""},
                             Try{CAPSIM_WRONG_TYPE, "opening.center_mm", "two numbers"},
                             Try{CAPSIM_WRONG_TYPE, "opening", "a section"},
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
      const std::string one =
          text_by([&](auto... to) { return capsim_scenario_violation(s.get(), k, which, to...); });
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

// ---- running -------------------------------------------------------------------------------------

TEST_CASE("c_run_gives_the_numbers_of_the_cpp_library_bit_for_bit", "[c_interface]") {
  const History wanted = simulate(quick());
  const Outcomes wanted_outcomes = outcomes(wanted);
  const ScenarioHandle s = scenario_of(quick());
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_OK);
  CHECK(capsim_history_end(h.get()) == CAPSIM_END_COMPLETED);
  CHECK(text_by([&](auto... to) { return capsim_history_message(h.get(), to...); }) == wanted.message());
  CHECK(text_by([&](auto... to) { return capsim_history_version(h.get(), to...); }) == wanted.version());
  REQUIRE(capsim_history_rows(h.get()) == wanted.rows());
  REQUIRE(capsim_history_series_count(h.get()) == wanted.all_series().size());
  for (std::size_t k = 0; k < wanted.all_series().size(); ++k) {
    const Series& series = wanted.all_series()[k];
    const char* name = series.name.c_str();
    INFO(name);
    CHECK(text_by([&](auto... to) { return capsim_history_series_name(h.get(), k, to...); }) == series.name);
    CHECK(text_by([&](auto... to) { return capsim_history_series_unit(h.get(), name, to...); }) == series.unit);
    CHECK(text_by([&](auto... to) { return capsim_history_series_description(h.get(), name, to...); }) ==
          series.description);
    std::size_t columns = 0;
    CHECK(capsim_history_columns(h.get(), name, &columns) == CAPSIM_OK);
    CHECK(columns == series.columns);
    CHECK(bits(numbers_by([&](auto... to) { return capsim_history_values(h.get(), name, to...); })) ==
          bits(series.values));
    double value = 0;
    if (columns > 0) {
      CHECK(capsim_history_value(h.get(), name, 1, columns - 1, &value) == CAPSIM_OK);
      CHECK(std::bit_cast<std::uint64_t>(value) == std::bit_cast<std::uint64_t>(series.values[2 * columns - 1]));
    }
    CHECK(capsim_history_value(h.get(), name, wanted.rows(), 0, &value) == CAPSIM_NOT_FOUND);
    CHECK(capsim_history_value(h.get(), name, 0, columns, &value) == CAPSIM_NOT_FOUND);
  }
  for (std::size_t row = 0; row < wanted.rows(); ++row) {
    std::vector<double> flat;
    for (const Point& point : wanted.outline_mm(row)) flat.insert(flat.end(), point.begin(), point.end());
    CHECK(numbers_by([&](auto... to) { return capsim_history_outline_mm(h.get(), row, to...); }) == flat);
  }
  std::size_t row = 99;
  CHECK(capsim_history_row_at(h.get(), 15, &row) == CAPSIM_OK);
  CHECK(row == wanted.row_at(15));

  REQUIRE(capsim_history_outcome_count(h.get()) == wanted_outcomes.values.size());
  for (std::size_t k = 0; k < wanted_outcomes.values.size(); ++k) {
    const Outcome& outcome = wanted_outcomes.values[k];
    const char* name = outcome.name.c_str();
    CHECK(text_by([&](auto... to) { return capsim_history_outcome_name(h.get(), k, to...); }) == outcome.name);
    CHECK(text_by([&](auto... to) { return capsim_history_outcome_unit(h.get(), name, to...); }) == outcome.unit);
    CHECK(text_by([&](auto... to) { return capsim_history_outcome_description(h.get(), name, to...); }) ==
          outcome.description);
    double value = 0;
    CHECK(capsim_history_outcome_value(h.get(), name, &value) == CAPSIM_OK);
    CHECK(std::bit_cast<std::uint64_t>(value) == std::bit_cast<std::uint64_t>(outcome.value));
  }
  REQUIRE(capsim_history_flag_count(h.get()) == wanted_outcomes.flags.size());
  for (std::size_t k = 0; k < wanted_outcomes.flags.size(); ++k) {
    CHECK(text_by([&](auto... to) { return capsim_history_flag_code(h.get(), k, to...); }) ==
          wanted_outcomes.flags[k].code);
    CHECK(text_by([&](auto... to) { return capsim_history_flag_text(h.get(), k, to...); }) ==
          wanted_outcomes.flags[k].text);
  }
  REQUIRE(capsim_history_caution_count(h.get()) == 2);  // research, and those of relaxing cuts
  CHECK(text_by([&](auto... to) { return capsim_history_caution(h.get(), 0, to...); }) == capsim_research_caution());
  CHECK(text_by([&](auto... to) { return capsim_history_caution(h.get(), 1, to...); }) ==
        capsim_relaxing_cut_caution());

  REQUIRE(capsim_history_cut_count(h.get()) == 2);
  capsim_cut cut{};
  cut.struct_size = sizeof cut;
  REQUIRE(capsim_history_cut(h.get(), 1, &cut) == CAPSIM_OK);
  CHECK(cut.hour == wanted.cuts()[1].hour);
  CHECK(cut.length_on_day_mm == wanted.cuts()[1].length_on_day_mm);
  CHECK(cut.day == 15);
  capsim_diagnostics diagnostics{};
  diagnostics.struct_size = sizeof diagnostics;
  REQUIRE(capsim_history_diagnostics(h.get(), &diagnostics) == CAPSIM_OK);
  CHECK(diagnostics.steps == wanted.diagnostics().steps);
  CHECK(diagnostics.newton_iterations == wanted.diagnostics().newton_iterations);
  CHECK(diagnostics.last_good_day == wanted.diagnostics().last_good_day);
  const ScenarioHandle back = new_scenario();
  CHECK(capsim_history_scenario(h.get(), back.get()) == CAPSIM_OK);
  CHECK(Scenario::from_json(json_text(back)) == quick());
}

TEST_CASE("c_callback_sees_the_days_go_by_and_may_cancel", "[c_interface]") {
  struct Seen {
    std::vector<double> days;
    std::size_t cancel_after;
    std::thread::id thread;
  };
  const auto watch = [](const capsim_progress* now, void* user) -> std::int32_t {
    auto& seen = *static_cast<Seen*>(user);
    CHECK(now->struct_size == sizeof(capsim_progress));
    CHECK(now->duration_days == 20);
    CHECK(now->opening_area_mm2 > 10);
    seen.days.push_back(now->day);
    seen.thread = std::this_thread::get_id();
    return seen.days.size() > seen.cancel_after ? CAPSIM_CANCEL : CAPSIM_CONTINUE;
  };
  const ScenarioHandle s = scenario_of(quick());
  const HistoryHandle h = new_history();
  Seen all{{}, 1000000, {}};
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.progress = watch;
  options.user = &all;
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_OK);
  CHECK(all.days.back() == 20);
  CHECK(all.thread == std::this_thread::get_id());
  CHECK(std::is_sorted(all.days.begin(), all.days.end()));
  capsim_diagnostics diagnostics{};
  diagnostics.struct_size = sizeof diagnostics;
  CHECK(capsim_history_diagnostics(h.get(), &diagnostics) == CAPSIM_OK);
  CHECK(all.days.size() == static_cast<std::size_t>(diagnostics.steps));

  Seen some{{}, 2, {}};
  options.user = &some;
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_NOT_COMPLETED);
  CHECK(some.days.size() == 3);
  CHECK(capsim_history_end(h.get()) == CAPSIM_END_CANCELLED);
  CHECK_THAT(error_of(h), Catch::Contains("cancelled"));
  double last = 0;
  const std::size_t rows = capsim_history_rows(h.get());
  REQUIRE(rows > 0);
  CHECK(capsim_history_value(h.get(), "day", rows - 1, 0, &last) == CAPSIM_OK);
  CHECK(last == some.days.back());
  CHECK(capsim_history_caution_count(h.get()) >= 1);  // also with a partial result
}

TEST_CASE("c_callback_that_throws_gives_a_status_and_an_empty_history", "[c_interface]") {
  const ScenarioHandle s = scenario_of(quick());
  const HistoryHandle h = new_history();
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.progress = [](const capsim_progress*, void*) -> std::int32_t { throw std::runtime_error("no more"); };
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_CALLBACK_FAILED);
  CHECK_THAT(error_of(h), Catch::Contains("no more"));
  CHECK(capsim_history_end(h.get()) == CAPSIM_END_NONE);
  CHECK(capsim_history_rows(h.get()) == 0);
  options.progress = [](const capsim_progress*, void*) -> std::int32_t { throw 7; };
  CHECK(capsim_simulate(s.get(), &options, h.get()) == CAPSIM_CALLBACK_FAILED);
}

TEST_CASE("c_one_scenario_may_be_run_by_several_threads_at_once", "[c_interface]") {
  const ScenarioHandle s = scenario_of(quick());
  std::vector<HistoryHandle> histories(4);
  std::vector<std::thread> threads;
  std::vector<capsim_status> statuses(histories.size());
  for (std::size_t k = 0; k < histories.size(); ++k)
    threads.emplace_back([&, k] {
      histories[k] = new_history();
      statuses[k] = capsim_simulate(s.get(), nullptr, histories[k].get());
    });
  for (std::thread& thread : threads) thread.join();
  const auto areas = [](const HistoryHandle& h) {
    return bits(numbers_by([&](auto... to) { return capsim_history_values(h.get(), "opening_area_mm2", to...); }));
  };
  for (std::size_t k = 0; k < histories.size(); ++k) {
    CHECK(statuses[k] == CAPSIM_OK);
    CHECK(areas(histories[k]) == areas(histories[0]));
  }
}

// ---- memory of the caller ------------------------------------------------------------------------

TEST_CASE("c_buffer_one_too_small_is_left_alone_and_the_size_is_told", "[c_interface]") {
  const ScenarioHandle s = scenario_of(quick());
  const std::string whole = json_text(s);
  std::string text(whole.size() + 1, '?');
  std::size_t needed = 0;
  CHECK(capsim_scenario_write_json(s.get(), -1, text.data(), whole.size(), &needed) == CAPSIM_BUFFER_TOO_SMALL);
  CHECK(needed == whole.size() + 1);
  CHECK(text[0] == '\0');  // an empty text, never half of one
  CHECK(text[1] == '?');
  CHECK(capsim_scenario_write_json(s.get(), -1, text.data(), whole.size() + 1, nullptr) == CAPSIM_OK);
  CHECK(text.c_str() == whole);

  const char* path = "events[0].relaxing_cuts.hours";
  double hours[2] = {-1, -1};
  CHECK(capsim_scenario_get_numbers(s.get(), path, hours, 1, &needed) == CAPSIM_BUFFER_TOO_SMALL);
  CHECK(needed == 2);
  CHECK(hours[0] == -1);
  CHECK(capsim_scenario_get_numbers(s.get(), path, hours, 2, nullptr) == CAPSIM_OK);
  CHECK(hours[1] == 6);
  CHECK(capsim_scenario_get_numbers(s.get(), path, nullptr, 2, &needed) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_scenario_get_numbers(s.get(), path, nullptr, 0, nullptr) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_structs_of_older_and_newer_callers_are_served", "[c_interface]") {
  const ScenarioHandle s = scenario_of(quick());
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_OK);

  struct Newer {
    capsim_cut known;
    double beyond[3];
  } newer{};
  newer.known.struct_size = sizeof newer;
  newer.beyond[0] = 5;
  CHECK(capsim_history_cut(h.get(), 0, &newer.known) == CAPSIM_OK);
  CHECK(newer.known.struct_size == sizeof newer);
  CHECK(newer.known.hour == 12);
  CHECK(newer.beyond[0] == 0);  // not known to this library, hence zero
  capsim_cut short_one{};
  short_one.struct_size = sizeof short_one - 1;
  CHECK(capsim_history_cut(h.get(), 0, &short_one) == CAPSIM_BAD_ARGUMENT);
  short_one.struct_size = 0;
  CHECK(capsim_history_cut(h.get(), 0, &short_one) == CAPSIM_BAD_ARGUMENT);

  struct NewerOptions {
    capsim_run_options known;
    void* beyond;
  } options{};
  options.known.struct_size = sizeof options;
  CHECK(capsim_simulate(s.get(), &options.known, h.get()) == CAPSIM_OK);
  options.beyond = &options;  // asks for what this library can't do
  CHECK(capsim_simulate(s.get(), &options.known, h.get()) == CAPSIM_BAD_ARGUMENT);
  CHECK_FALSE(error_of(h).empty());
}

TEST_CASE("c_functions_survive_null_wherever_it_can_be_given", "[c_interface]") {
  const ScenarioHandle s = new_scenario();
  const HistoryHandle h = new_history();
  double number = 0;
  std::int64_t whole = 0;
  std::size_t size = 0;
  capsim_cut cut{};
  capsim_scenario_destroy(nullptr);
  capsim_history_destroy(nullptr);
  CHECK(capsim_scenario_copy(nullptr) == nullptr);
  const std::vector<capsim_status> refused{
      capsim_scenario_read_json(nullptr, "{}", 2),
      capsim_scenario_read_json(s.get(), nullptr, 2),
      capsim_scenario_read_file(s.get(), nullptr),
      capsim_scenario_write_json(nullptr, 2, nullptr, 0, &size),
      capsim_scenario_set_number(nullptr, "name", 1),
      capsim_scenario_set_number(s.get(), nullptr, 1),
      capsim_scenario_set_integer(s.get(), nullptr, 1),
      capsim_scenario_set_text(s.get(), "name", nullptr),
      capsim_scenario_set_text(s.get(), nullptr, "x"),
      capsim_scenario_set_numbers(s.get(), "opening.outline_mm", nullptr, 2),
      capsim_scenario_set_null(nullptr, "lens"),
      capsim_scenario_set_default(s.get(), nullptr),
      capsim_scenario_set_present(s.get(), nullptr),
      capsim_scenario_get_number(s.get(), "duration_days", nullptr),
      capsim_scenario_get_number(nullptr, "duration_days", &number),
      capsim_scenario_get_number(s.get(), nullptr, &number),
      capsim_scenario_get_integer(nullptr, "lens.haptics", &whole),
      capsim_scenario_get_text(s.get(), nullptr, nullptr, 0, &size),
      capsim_scenario_get_numbers(nullptr, "opening.center_mm", nullptr, 0, &size),
      capsim_scenario_add_relaxing_cuts(s.get(), 1, nullptr, 2, 1),
      capsim_scenario_add_zonule_damage(s.get(), 1, nullptr, &number, 1),
      capsim_scenario_add_tension_ring(nullptr, 1),
      capsim_scenario_remove_event(nullptr, 0),
      capsim_scenario_mirror(nullptr),
      capsim_scenario_rotate(nullptr, 1),
      capsim_scenario_check(nullptr),
      capsim_scenario_error(nullptr, nullptr, 0, &size),
      capsim_scenario_violation(nullptr, 0, CAPSIM_VIOLATION_LINE, nullptr, 0, &size),
      capsim_scenario_schema(nullptr, 0, nullptr),
      capsim_field_at(0, nullptr),
      capsim_simulate(s.get(), nullptr, nullptr),
      capsim_simulate(nullptr, nullptr, h.get()),
      capsim_history_error(nullptr, nullptr, 0, &size),
      capsim_history_message(nullptr, nullptr, 0, &size),
      capsim_history_scenario(h.get(), nullptr),
      capsim_history_row_at(h.get(), 1, nullptr),
      capsim_history_series_unit(h.get(), nullptr, nullptr, 0, &size),
      capsim_history_columns(h.get(), "day", nullptr),
      capsim_history_values(nullptr, "day", nullptr, 0, &size),
      capsim_history_value(h.get(), "day", 0, 0, nullptr),
      capsim_history_outline_mm(nullptr, 0, nullptr, 0, &size),
      capsim_history_cut(nullptr, 0, &cut),
      capsim_history_diagnostics(nullptr, nullptr),
      capsim_history_outcome_value(h.get(), nullptr, &number),
      capsim_history_outcome_value(h.get(), "day", nullptr),
      capsim_history_flag_text(nullptr, 0, nullptr, 0, &size),
      capsim_history_caution(nullptr, 0, nullptr, 0, &size),
      capsim_history_save(nullptr, "x"),
      capsim_history_load(h.get(), nullptr),
      capsim_history_load(nullptr, "x")};
  for (std::size_t k = 0; k < refused.size(); ++k) {
    INFO("call " << k);
    CHECK(refused[k] == CAPSIM_BAD_ARGUMENT);
  }
  // An empty history has nothing to tell.
  CHECK(capsim_history_rows(h.get()) == 0);
  CHECK(capsim_history_rows(nullptr) == 0);
  CHECK(capsim_history_series_count(h.get()) == 0);
  CHECK(capsim_history_outcome_count(nullptr) == 0);
  CHECK(capsim_history_end(nullptr) == CAPSIM_END_NONE);
  CHECK(capsim_history_message(h.get(), nullptr, 0, &size) == CAPSIM_NOT_FOUND);
  CHECK(capsim_history_values(h.get(), "day", nullptr, 0, &size) == CAPSIM_NOT_FOUND);
  CHECK(capsim_history_outcome_value(h.get(), "day", &number) == CAPSIM_NOT_FOUND);
  CHECK(capsim_history_save(h.get(), "/tmp/never written") == CAPSIM_NOT_FOUND);
  CHECK(capsim_field_choice(0, 0) == nullptr);
  CHECK(capsim_field_choice(100000, 0) == nullptr);
}

TEST_CASE("c_texts_of_the_library_are_complete", "[c_interface]") {
  CHECK(capsim_c_api() == CAPSIM_C_API);
  CHECK(std::string(capsim_version()) == CAPSIM_EXPECTED_VERSION);
  CHECK(capsim_research_caution() == std::string(research_caution()));
  CHECK(capsim_relaxing_cut_caution() == std::string(relaxing_cut_caution()));
  std::set<std::string> names;
  for (capsim_status status = CAPSIM_BAD_CHECKPOINT; status <= CAPSIM_NOT_COMPLETED; ++status) {
    names.insert(capsim_status_name(status));
    CHECK(std::string(capsim_status_text(status)).back() == '.');
  }
  CHECK(names.size() == 17);
  CHECK(names.count("unknown status") == 0);
  CHECK(capsim_status_name(-99) == std::string("unknown status"));
  CHECK(capsim_end_name(CAPSIM_END_FOLDED_ELEMENT) == std::string("folded_element"));
  CHECK(capsim_end_name(CAPSIM_END_NONE) == std::string("none"));
  CHECK(capsim_end_name(42) == std::string("none"));
}

// ---- files and failures --------------------------------------------------------------------------

TEST_CASE("c_history_survives_its_file", "[c_interface]") {
  REQUIRE(capsim_has_results_file() == 1);
  const std::string path =
      (std::filesystem::temp_directory_path() / ("capsim c interface " + std::to_string(::getpid()) + ".h5")).string();
  const ScenarioHandle s = scenario_of(quick());
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_OK);
  REQUIRE(capsim_history_save(h.get(), path.c_str()) == CAPSIM_OK);
  const HistoryHandle back = new_history();
  REQUIRE(capsim_history_load(back.get(), path.c_str()) == CAPSIM_OK);
  const auto areas = [](const HistoryHandle& from) {
    return numbers_by([&](auto... to) { return capsim_history_values(from.get(), "opening_area_mm2", to...); });
  };
  CHECK(bits(areas(back)) == bits(areas(h)));
  CHECK(capsim_history_outcome_count(back.get()) == capsim_history_outcome_count(h.get()));
  std::filesystem::remove(path);
  CHECK(capsim_history_load(back.get(), path.c_str()) == CAPSIM_FILE_ERROR);
  CHECK_THAT(error_of(back), Catch::Contains(path));
  CHECK(capsim_history_rows(back.get()) == 0);
  CHECK(capsim_history_save(h.get(), "/no/such/folder/x.h5") == CAPSIM_FILE_ERROR);
  CHECK(capsim_history_rows(h.get()) > 0);
}

TEST_CASE("c_lack_of_memory_anywhere_is_a_status", "[c_interface]") {
  Scenario tiny = quick();  // it is run some hundred times
  tiny.duration_days = tiny.output_every_days = 1;
  tiny.events.clear();
  const std::string text = tiny.to_json();
  std::size_t which = 0;
  int failures = 0;
  bool went_through = false;
  while (!went_through) {
    const ScenarioHandle s = new_scenario();
    const HistoryHandle h = new_history();
    capsim_status read, set, check, run;
    bool failed = false;
    {
      const FailingAllocation trap(which);
      read = capsim_scenario_read_json(s.get(), text.data(), text.size());
      set = capsim_scenario_set_number(s.get(), "contraction.cells_left_by_hour.4", 0.5);
      check = capsim_scenario_check(s.get());
      run = capsim_simulate(s.get(), nullptr, h.get());
      failed = trap.has_failed();
    }
    went_through = !failed;
    if (failed) {
      const bool told = read == CAPSIM_OUT_OF_MEMORY || set == CAPSIM_OUT_OF_MEMORY ||
                        check == CAPSIM_OUT_OF_MEMORY || run == CAPSIM_OUT_OF_MEMORY;
      INFO("allocation " << which << ": " << read << ' ' << set << ' ' << check << ' ' << run);
      CHECK(told);
      ++failures;
    }
    which += 1 + which / 3;  // every one of the first, then ever fewer of the many
  }
  CHECK(failures > 15);
}
