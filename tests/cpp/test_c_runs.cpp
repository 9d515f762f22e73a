// SPDX-License-Identifier: BSD-3-Clause
// The C interface: runs give the numbers of the C++ library; progress, cancelling, threads, files.
#include <unistd.h>

#include <bit>
#include <catch2/catch.hpp>
#include <cstring>
#include <filesystem>
#include <stdexcept>
#include <thread>

#include "c_handles.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;

TEST_CASE("c_run_gives_the_numbers_of_the_cpp_library_bit_for_bit", "[c_interface]") {
  const History wanted = simulate(quick_run());
  const Outcomes wanted_outcomes = outcomes(wanted);
  const ScenarioHandle s = scenario_of(quick_run());
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
  CHECK(Scenario::from_json(json_text(back)) == quick_run());
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
  const ScenarioHandle s = scenario_of(quick_run());
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
  const ScenarioHandle s = scenario_of(quick_run());
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
  const ScenarioHandle s = scenario_of(quick_run());
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

#ifdef CAPSIM_EXPECTED_RESULTS_FILE
TEST_CASE("c_history_survives_its_file", "[c_interface]") {
  REQUIRE(capsim_has_results_file() == 1);
  const std::string path =
      (std::filesystem::temp_directory_path() / ("capsim c interface " + std::to_string(::getpid()) + ".h5")).string();
  const ScenarioHandle s = scenario_of(quick_run());
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
#else
TEST_CASE("c_library_without_hdf5_says_so_when_a_file_is_asked_for", "[c_interface]") {
  REQUIRE(capsim_has_results_file() == 0);
  const ScenarioHandle s = scenario_of(quick_run());
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulate(s.get(), nullptr, h.get()) == CAPSIM_OK);
  CHECK(capsim_history_save(h.get(), "/tmp/never written") == CAPSIM_NOT_BUILT);
  CHECK_THAT(error_of(h), Catch::Contains("HDF5"));
  CHECK(capsim_history_rows(h.get()) > 0);
  CHECK(capsim_history_load(h.get(), "/tmp/never read") == CAPSIM_NOT_BUILT);
}
#endif
