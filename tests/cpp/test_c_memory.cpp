// SPDX-License-Identifier: BSD-3-Clause
// The C interface: the caller's buffers and structs, null wherever it can be given, and lack of memory.
#include <catch2/catch.hpp>
#include <cstring>
#include <set>

#include "c_handles.hpp"
#include "capsim/outcomes.hpp"
#include "failing_allocation.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;

TEST_CASE("c_buffer_one_too_small_is_left_alone_and_the_size_is_told", "[c_interface]") {
  const ScenarioHandle s = scenario_of(quick_run());
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
  const ScenarioHandle s = scenario_of(quick_run());
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

TEST_CASE("c_lack_of_memory_anywhere_is_a_status", "[c_interface]") {
  Scenario tiny = quick_run();  // it is run some hundred times
  tiny.duration_days = tiny.output_every_days = 1;
  tiny.mesh = {24, 2, 1};
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
      const bool told = read == CAPSIM_OUT_OF_MEMORY || set == CAPSIM_OUT_OF_MEMORY || check == CAPSIM_OUT_OF_MEMORY ||
                        run == CAPSIM_OUT_OF_MEMORY;
      INFO("allocation " << which << ": " << read << ' ' << set << ' ' << check << ' ' << run);
      CHECK(told);
      ++failures;
    }
    which += 1 + which / 3;  // every one of the first, then ever fewer of the many
  }
  CHECK(failures > 15);
}
