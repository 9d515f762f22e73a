// SPDX-License-Identifier: BSD-3-Clause
/// How far relief by cuts can be off. Reference: single runs of the same scenarios, made by hand here.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "capsim/error.hpp"
#include "capsim/relief_range.hpp"
#include "capsim/simulation.hpp"

namespace {

using namespace capsim;

Scenario cut_eye(double length_mm = 0.5) {
  Scenario s;
  s.mesh.around = 24;
  s.mesh.radial = 4;
  s.duration_days = 60;
  s.zonule.strength = 0.3;
  s.events.push_back({30, RelaxingCuts{{12, 6}, length_mm}});
  return s;
}

TEST_CASE("range_of_relief_is_that_of_single_runs", "[relief_range]") {
  const Population& eyes = population("age_related_cataract");
  const ReliefRange range = relief_range(cut_eye(), eyes);
  REQUIRE(range.laws == eyes.laws());
  REQUIRE(range.factors == std::vector<double>{0.5, 1, 1.5});
  const ReliefQuantity& back = range["relief_day_30_percent"];
  double low = 1e9, high = -1e9;
  for (std::size_t law = 0; law < range.laws.size(); ++law)
    for (std::size_t k = 0; k < range.factors.size(); ++k) {
      CHECK(range.status[law * 3 + k] == "completed");
      const Scenario one = eyes.under(cut_eye(0.5 * range.factors[k]), range.laws[law]);
      const double value = outcomes(simulate(one))["relief_day_30_percent"];
      CHECK(back.values[law * 3 + k] == value);
      low = std::min(low, value);
      high = std::max(high, value);
    }
  CHECK(back.low() == low);
  CHECK(back.high() == high);
  CHECK(low < high);
}

TEST_CASE("flag_of_a_run_with_cuts_asks_for_the_range_and_then_has_its_numbers", "[relief_range]") {
  const Outcomes bare = outcomes(simulate(cut_eye()));
  REQUIRE(bare.has_flag("relief_range"));
  const ReliefRange range = relief_range(cut_eye());
  const Outcomes told = with_relief_range(bare, range);
  CHECK(told.flags.size() == bare.flags.size());
  const ReliefQuantity& back = range["relief_day_30_percent"];
  char numbers[64];
  std::snprintf(numbers, sizeof numbers, "day 30 give back %.1f to %.1f %%", back.low(), back.high());
  CHECK(told.flags.back().text.find(numbers) != std::string::npos);
  Scenario uncut = cut_eye();
  uncut.events.clear();
  CHECK_FALSE(outcomes(simulate(uncut)).has_flag("relief_range"));
}

TEST_CASE("a_length_that_the_leaf_has_no_room_for_gives_its_reason_and_no_value", "[relief_range]") {
  const Scenario eye = cut_eye(1.6);
  Scenario longer = cut_eye(2.4);
  REQUIRE(eye.violations().empty());
  REQUIRE_FALSE(longer.violations().empty());
  const ReliefRange range = relief_range(eye);
  CHECK(range.status[2].find("length_mm") != std::string::npos);
  CHECK(std::isnan(range["relief_day_30_percent"].values[2]));
  CHECK(std::isfinite(range["relief_day_30_percent"].values[1]));
  CHECK(range.flag().text.find("2 of the 6 runs gave no value") != std::string::npos);
}

TEST_CASE("who_waits_for_a_range_of_relief_is_heard_in_its_runs", "[relief_range][cancel]") {
  int asked = 0;
  const auto at_once = [&asked] { return ++asked < 4; };  // the first run begins with the second question
  const ReliefRange range = relief_range(cut_eye(), at_once);
  CHECK(asked == 4);
  CHECK(range.status == std::vector<std::string>(6, "not run"));
  CHECK(range.quantities.empty());
}

TEST_CASE("relief_without_cuts_or_of_a_wrong_eye_is_refused_before_any_run", "[relief_range]") {
  Scenario eye = cut_eye();
  eye.opening.diameter_mm = -1;
  CHECK_THROWS_AS(relief_range(eye), ScenarioError);
  eye = cut_eye();
  eye.events.clear();
  CHECK_THROWS_AS(relief_range(eye), ArgumentError);
  CHECK_THROWS_AS(relief_range(cut_eye(), [] { return false; })["relief_day_30_percent"], ArgumentError);
}

}  // namespace
