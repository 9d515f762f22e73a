// SPDX-License-Identifier: BSD-3-Clause
// The adaptive stepper: accuracy, dense output, and what must never be taken for an answer.
#include <catch2/catch.hpp>
#include <cmath>

#include "solve/time_stepper.hpp"

using namespace capsim;

TEST_CASE("the_stepper_keeps_its_tolerance_and_refuses_what_is_not_a_number", "[simulation][time]") {
  const auto decay = [](double, const std::vector<double>& y, std::vector<double>& dydt) {
    dydt[0] = -y[0];
    dydt[1] = y[0];
    return true;
  };
  for (const double tolerance : {1e-4, 1e-7}) {
    TimeStepper stepper(tolerance, 100);
    REQUIRE(stepper.start(0, {1, 0}, decay));
    std::vector<double> between;
    while (stepper.day() < 5) {
      REQUIRE(stepper.step(5, decay) == TimeStepper::Outcome::accepted);
      const double middle = 0.5 * (stepper.previous_day() + stepper.day());
      stepper.interpolate(middle, between);
      CHECK(std::abs(between[0] - std::exp(-middle)) <= 20 * tolerance);
    }
    CHECK(stepper.day() == 5);
    CHECK(std::abs(stepper.state()[0] - std::exp(-5)) <= 20 * tolerance);
    CHECK(stepper.state()[0] + stepper.state()[1] == Approx(1).epsilon(1e-12));
  }
  // A right-hand side that breaks after day 1 stops the run there, whichever way it breaks.
  const auto nan_after_one = [](double day, const std::vector<double>&, std::vector<double>& dydt) {
    dydt.assign(dydt.size(), day > 1 ? NAN : 1);
    return true;
  };
  const auto refused_after_one = [](double day, const std::vector<double>&, std::vector<double>& dydt) {
    dydt.assign(dydt.size(), 1);
    return day <= 1;
  };
  const auto run = [](const TimeStepper::Rate& rate) {
    TimeStepper stepper(1e-6, 10);
    REQUIRE(stepper.start(0, {0}, rate));
    TimeStepper::Outcome outcome = TimeStepper::Outcome::accepted;
    while (outcome == TimeStepper::Outcome::accepted && stepper.day() < 5) outcome = stepper.step(5, rate);
    CHECK(stepper.day() <= 1 + 1e-5);
    CHECK(std::isfinite(stepper.state()[0]));
    return outcome;
  };
  CHECK(run(nan_after_one) == TimeStepper::Outcome::non_finite);
  CHECK(run(refused_after_one) == TimeStepper::Outcome::step_too_small);
  TimeStepper never(1e-6, 10);
  CHECK_FALSE(never.start(0, {NAN}, [](double, const std::vector<double>& y, std::vector<double>& dydt) {
    dydt = y;
    return true;
  }));
}
