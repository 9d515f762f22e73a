// SPDX-License-Identifier: BSD-3-Clause
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <set>

#include "capsim/error.hpp"
#include "capsim/history.hpp"
#include "sample_history.hpp"

using namespace capsim;

namespace {

/// The sample's series after `change`, which should no longer make a history.
template <class Change>
std::vector<Series> changed(Change change) {
  std::vector<Series> series = sample::series();
  change(series);
  return series;
}

}  // namespace

TEST_CASE("history_gives_back_what_it_was_assembled_from", "[history]") {
  const History history = sample::history();
  CHECK(history.rows() == sample::rows);
  CHECK(history.status() == Status::completed);
  CHECK(history.message() == "Reached the last day.");
  CHECK(history.version() == "0.1.0");
  CHECK(history.scenario() == sample::scenario());
  CHECK(history.diagnostics().right_hand_sides == 90);
  REQUIRE(history.cuts().size() == 1);
  CHECK(history.cuts()[0].length_on_day_mm == 0.8125);
  CHECK(history.opening_area_mm2()[2] == 20.25);
  CHECK(history.value("lens_center_mm", 3, 1) == .06);
  CHECK(history.series("lens_center_mm").unit == "mm");
}

TEST_CASE("history_without_rows_is_allowed", "[history]") {
  const History history = sample::history_of({{"day", "day", "", 1, {}}, {"event_side", "1", "", 1, {}}});
  CHECK(history.rows() == 0);
  CHECK(history.day().empty());
  CHECK_THROWS_AS(history.row_at(0), ArgumentError);
}

TEST_CASE("history_knows_which_series_it_has", "[history]") {
  const History history = sample::history();
  CHECK(history.has("day"));
  CHECK_FALSE(history.has("days"));
  CHECK_THROWS_AS(history.series("days"), ArgumentError);
  CHECK_THROWS_WITH(history.series("dya"), Catch::Contains("did you mean \"day\"?"));
  CHECK_THROWS_WITH(history.series("days"), Catch::Contains("days"));
}

TEST_CASE("value_outside_the_rows_or_columns_is_refused", "[history]") {
  const History history = sample::history();
  CHECK_THROWS_AS(history.value("day", sample::rows), ArgumentError);
  CHECK_THROWS_AS(history.value("day", 0, 1), ArgumentError);
  CHECK_THROWS_AS(history.value("lens_center_mm", 0, 2), ArgumentError);
}

TEST_CASE("outline_is_the_points_of_its_row", "[history]") {
  const History history = sample::history();
  const std::vector<Point> last = history.outline_mm(4);
  REQUIRE(last.size() == 3);
  CHECK(last[0] == Point{4, 5});
  CHECK(last[1] == Point{6, 7});
  CHECK(last[2] == Point{8, 9});
  CHECK(history.outline_mm(0)[1] == Point{0, 3});
  CHECK_THROWS_AS(history.outline_mm(5), ArgumentError);
}

TEST_CASE("row_at_is_the_first_row_at_or_after_the_day", "[history]") {
  const History history = sample::history();
  CHECK(history.row_at(-1) == 0);
  CHECK(history.row_at(0) == 0);
  CHECK(history.row_at(0.1) == 2);
  CHECK(history.row_at(30.1) == 3);
  CHECK(history.row_at(60) == 3);
  CHECK(history.row_at(60.5) == 4);
}

TEST_CASE("row_at_takes_the_after_side_of_an_event_day", "[history]") {
  const History history = sample::history();
  const std::size_t row = history.row_at(30);
  CHECK(history.value("event_side", row) == static_cast<int>(EventSide::after));
}

TEST_CASE("row_at_beyond_the_end_is_the_last_row", "[history]") {
  const History history = sample::history();
  CHECK(history.row_at(1e6) == 4);
  CHECK(history.row_at(std::numeric_limits<double>::infinity()) == 4);
  CHECK_THROWS_AS(history.row_at(std::nan("")), ArgumentError);
}

TEST_CASE("row_at_forgives_the_rounding_of_a_day", "[history]") {
  const History history = sample::history();
  CHECK(history.row_at(std::nextafter(60.0, 61.0)) == 3);
  CHECK(history.row_at(std::nextafter(30.0, 31.0)) == 2);
}

TEST_CASE("series_that_disagree_in_rows_are_refused", "[history]") {
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[2].values.pop_back(); })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[3].values.push_back(1); })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[3].columns = 5; })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[3].columns = 0; })), InternalError);
}

TEST_CASE("series_of_no_columns_is_allowed", "[history]") {
  const History history = sample::history_of(changed([](auto& s) { s.push_back({"cut_gape_mm", "mm", "", 0, {}}); }));
  CHECK(history.has("cut_gape_mm"));
  CHECK_THROWS_AS(history.value("cut_gape_mm", 0), ArgumentError);
}

TEST_CASE("series_without_a_name_of_their_own_are_refused", "[history]") {
  CHECK_THROWS_WITH(sample::history_of(changed([](auto& s) { s[3].name = "opening_area_mm2"; })),
                    Catch::Contains("twice"));
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[3].name.clear(); })), InternalError);
}

TEST_CASE("day_and_event_side_lead_the_series", "[history]") {
  CHECK_THROWS_AS(sample::history_of({}), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { std::swap(s[0], s[2]); })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s.erase(s.begin() + 1); })), InternalError);
}

TEST_CASE("days_never_run_backwards", "[history]") {
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[0].values[3] = 29; })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[0].values[3] = std::nan(""); })), InternalError);
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) { s[1].values[3] = 0.5; })), InternalError);
}

TEST_CASE("outline_of_half_points_is_refused", "[history]") {
  CHECK_THROWS_AS(sample::history_of(changed([](auto& s) {
                    s[4].columns = 3;
                    s[4].values.resize(15);
                  })),
                  InternalError);
}

TEST_CASE("every_status_has_a_name_of_its_own", "[history]") {
  std::set<std::string_view> names;
  for (const Status status : {Status::completed, Status::cancelled, Status::no_equilibrium, Status::folded_element,
                              Status::too_many_steps, Status::non_finite})
    names.insert(to_string(status));
  CHECK(names == std::set<std::string_view>{"completed", "cancelled", "no_equilibrium", "folded_element",
                                            "too_many_steps", "non_finite"});
}
