// SPDX-License-Identifier: BSD-3-Clause
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "capsim/frame.hpp"

using namespace capsim;

namespace {

// A few roundings of numbers of size 12 or 2 pi.
constexpr double rounding = 1e-13;
// Hours this close to 12 are read as 12 (frame.cpp), so the round trip is only this good there.
constexpr double hour_rounding = 1e-9;

}  // namespace

TEST_CASE("clock_hours_run_clockwise_from_the_top_as_the_examiner_sees_them", "[frame]") {
  const auto at = [](double hour) { return Point{std::cos(angle_of_hour(hour)), std::sin(angle_of_hour(hour))}; };
  CHECK(at(12)[1] == Approx(1));
  CHECK(at(3)[0] == Approx(1));
  CHECK(at(6)[1] == Approx(-1));
  CHECK(at(9)[0] == Approx(-1));
  CHECK(at(1.5)[0] == Approx(at(1.5)[1]));
}

TEST_CASE("hour_of_angle_inverts_angle_of_hour_on_the_whole_clock", "[frame]") {
  for (int k = 1; k <= 480; ++k) {
    const double hour = k / 40.0;
    for (const int turns : {-3, 0, 2}) {
      INFO("hour " << hour << ", turns " << turns);
      CHECK(std::abs(hour_of_angle(angle_of_hour(hour) + 2 * pi * turns) - hour) < hour_rounding);
    }
  }
}

TEST_CASE("twelve_o_clock_is_never_zero", "[frame]") {
  CHECK(hour_of_angle(pi / 2) == 12);
  for (const double hour : {-24.0, -12.0, 0.0, 12.0, 24.0, 1200.0}) CHECK(hour_of_angle(angle_of_hour(hour)) == 12);
  CHECK(hour_of_angle(std::nextafter(pi / 2, 4)) == 12);
  CHECK(hour_of_angle(std::nextafter(pi / 2, 0)) == 12);
  for (int k = -1000; k < 1000; ++k) {
    const double hour = hour_of_angle(0.01 * k);
    CHECK(hour > 0);
    CHECK(hour <= 12);
  }
}

TEST_CASE("an_angle_that_is_no_number_gives_no_hour", "[frame]") {
  CHECK(std::isnan(hour_of_angle(std::numeric_limits<double>::quiet_NaN())));
  CHECK(std::isnan(hour_of_angle(std::numeric_limits<double>::infinity())));
}

TEST_CASE("angle_difference_is_the_short_way_round", "[frame]") {
  CHECK(angle_difference(0.1, 2 * pi - 0.1) == Approx(0.2));
  CHECK(angle_difference(2 * pi - 0.1, 0.1) == Approx(-0.2));
  CHECK(angle_difference(7, 7) == 0);
  for (int a = -50; a <= 50; ++a)
    for (int b = -50; b <= 50; b += 7) {
      const double difference = angle_difference(0.3 * a, 0.3 * b);
      CHECK(difference > -pi);
      CHECK(difference <= pi);
      const double turns = (0.3 * a - 0.3 * b - difference) / (2 * pi);
      CHECK(std::abs(turns - std::round(turns)) < rounding);
    }
}

TEST_CASE("half_a_turn_apart_is_plus_pi_either_way", "[frame]") {
  CHECK(angle_difference(pi, 0) == pi);
  CHECK(angle_difference(0, pi) == pi);
}

TEST_CASE("a_point_moves_counter_clockwise_then_shifts", "[frame]") {
  const Point p = moved({1, 0}, pi / 2, {10, 20});
  CHECK(std::abs(p[0] - 10) < rounding);
  CHECK(std::abs(p[1] - 21) < rounding);
}

TEST_CASE("three_o_clock_is_nasal_in_the_right_eye_and_temporal_in_the_left", "[frame]") {
  CHECK(side_in_words({1, 0}, Eye::right) == "nasal");
  CHECK(side_in_words({1, 0}, Eye::left) == "temporal");
  CHECK(side_in_words({-1, 0}, Eye::right) == "temporal");
  CHECK(side_in_words({-1, 0}, Eye::left) == "nasal");
  CHECK(side_in_words({1, 0}, Eye::unspecified) == "right");
  CHECK(side_in_words({-1, 0}, Eye::unspecified) == "left");
}

TEST_CASE("a_direction_between_two_has_both_words", "[frame]") {
  CHECK(side_in_words({0, 2}, Eye::right) == "superior");
  CHECK(side_in_words({0.1, -2}, Eye::right) == "inferior");
  CHECK(side_in_words({1, 1}, Eye::right) == "superior nasal");
  CHECK(side_in_words({-1, -1}, Eye::right) == "inferior temporal");
  CHECK(side_in_words({-1, 1}, Eye::unspecified) == "superior left");
  CHECK(side_in_words({0, 0}, Eye::left) == "central");
}

TEST_CASE("mirror_twins_have_the_same_words", "[frame]") {
  for (int k = 0; k < 48; ++k) {
    const double angle = 2 * pi * (k + 0.25) / 48;
    const Point here{std::cos(angle), std::sin(angle)};
    CHECK(side_in_words(here, Eye::right) == side_in_words({-here[0], here[1]}, Eye::left));
  }
}
