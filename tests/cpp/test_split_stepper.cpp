// SPDX-License-Identifier: BSD-3-Clause
// Steps that integrate the tissue between equilibria: order, error estimate, and what must never pass for an answer.
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "../../benchmarks/twelve_eyes.hpp"
#include "capsim/simulation.hpp"
#include "solve/split_stepper.hpp"

using namespace capsim;

namespace {

// y' = -l with l = y^2 "at rest": y = 1 / (1 + t), a closed form.
const SplitStepper::Rate rate = [](double, const std::vector<double>&, const std::vector<double>& l,
                                   std::vector<double>& dydt) { dydt[0] = -l[0]; };
const SplitStepper::Rest rest = [](double, const std::vector<double>& y, std::vector<double>& l) {
  l = {y[0] * y[0]};
  return true;
};
double exact(double t) { return 1 / (1 + t); }

struct Course {
  int steps = 0;
  double error = 0;      // largest true error at the ends of the steps
  double estimated = 0;  // sum of the estimates
};

Course course(double tolerance, double last) {
  SplitStepper stepper(tolerance, 100);
  stepper.start(0, {1}, {1}, 0.01);
  Course c;
  while (stepper.day() < last) {
    REQUIRE(stepper.step(last, rate, rest) == SplitStepper::Outcome::accepted);
    ++c.steps;
    c.error = std::max(c.error, std::abs(stepper.state()[0] - exact(stepper.day())));
    c.estimated += stepper.error() * tolerance * (1 + stepper.state()[0]);
  }
  CHECK(stepper.day() == last);
  return c;
}

}  // namespace

TEST_CASE("split_steps_are_of_fourth_order", "[simulation][time]") {
  // Error against the number of steps over three decades of the tolerance; the order of steps chosen by their error is
  // the slope of one against the other. Half an order is left for the start, where fewer equilibria are known.
  const Course rough = course(1e-5, 20), fine = course(1e-8, 20);
  const double order =
      std::log(rough.error / fine.error) / std::log(static_cast<double>(fine.steps) / static_cast<double>(rough.steps));
  INFO(rough.steps << " steps, error " << rough.error << "; " << fine.steps << " steps, error " << fine.error);
  CHECK(order > 3.5);
}

TEST_CASE("the_estimates_of_split_steps_bound_their_error", "[simulation][time]") {
  for (const double tolerance : {1e-4, 1e-6, 1e-8}) {
    const Course c = course(tolerance, 20);
    INFO("tolerance " << tolerance << ", error " << c.error << ", estimated " << c.estimated);
    CHECK(c.error < c.estimated);
  }
}

TEST_CASE("a_state_inside_a_split_step_is_as_good_as_at_its_end", "[simulation][time]") {
  SplitStepper stepper(1e-6, 100);
  stepper.start(0, {1}, {1}, 0.01);
  std::vector<double> y;
  while (stepper.day() < 10) {
    REQUIRE(stepper.step(10, rate, rest) == SplitStepper::Outcome::accepted);
    for (const double share : {0.2, 0.5, 0.9}) {
      const double day = stepper.previous_day() + share * (stepper.day() - stepper.previous_day());
      stepper.state_at(day, rate, y);
      CHECK(std::abs(y[0] - exact(day)) < 20e-6);  // the tolerance, over as many steps
    }
  }
}

TEST_CASE("a_stepper_that_goes_on_elsewhere_takes_the_same_steps", "[simulation][time]") {
  SplitStepper one(1e-6, 100), other(1e-6, 100);
  one.start(0, {1}, {1}, 0.01);
  while (one.day() < 2) REQUIRE(one.step(2, rate, rest) == SplitStepper::Outcome::accepted);
  other.resume(one.day(), one.state(), one.trail(), one.next_step());
  while (one.day() < 9) {
    REQUIRE(one.step(9, rate, rest) == SplitStepper::Outcome::accepted);
    REQUIRE(other.step(9, rate, rest) == SplitStepper::Outcome::accepted);
    CHECK(one.day() == other.day());
    CHECK(one.state()[0] == other.state()[0]);
  }
}

TEST_CASE("what_breaks_after_a_day_stops_split_steps_there_and_says_how", "[simulation][time]") {
  const auto run = [](const SplitStepper::Rate& r, const SplitStepper::Rest& s) {
    SplitStepper stepper(1e-6, 10);
    stepper.start(0, {1}, {1}, 0.5);
    SplitStepper::Outcome outcome = SplitStepper::Outcome::accepted;
    while (outcome == SplitStepper::Outcome::accepted && stepper.day() < 5) outcome = stepper.step(5, r, s);
    CHECK(stepper.day() <= 1 + 1e-5);
    CHECK(std::isfinite(stepper.state()[0]));
    return outcome;
  };
  const SplitStepper::Rate nan_after_one = [](double day, const auto&, const auto&, auto& dydt) {
    dydt[0] = day > 1 ? NAN : 1;
  };
  const SplitStepper::Rest none_after_one = [](double day, const auto& y, auto& l) {
    l = {y[0]};
    return day <= 1;
  };
  // Stretches that jump wherever they are asked for after day 1: no step is short enough.
  double sign = 1;
  const SplitStepper::Rest wild_after_one = [&](double day, const auto&, auto& l) {
    sign = -sign;
    l = {day > 1 ? sign * 1e9 : 1};
    return true;
  };
  // A rate that jumps, too: the state is a number as long as there is one.
  const SplitStepper::Rate jumping_after_one = [&](double day, const auto&, const auto&, auto& dydt) {
    sign = -sign;
    dydt[0] = day > 1 ? sign * 1e9 : 1;
  };
  CHECK(run(nan_after_one, rest) == SplitStepper::Outcome::non_finite);
  CHECK(run(jumping_after_one, rest) == SplitStepper::Outcome::step_too_small);
  CHECK(run(rate, none_after_one) == SplitStepper::Outcome::no_rest);
  CHECK(run(rate, wild_after_one) == SplitStepper::Outcome::step_too_small);
}

TEST_CASE("default_tolerances_keep_the_area_of_every_eye_to_a_ten_thousandth", "[simulation][time]") {
  // Against steps that are tighter by a factor of a hundred. The tolerance of the tissue's state is 1e-4; the area
  // follows it by less, since tissue pulls on one zone of the leaf only.
  constexpr double of_the_area = 0.5e-4;
  for (const NamedEye& eye : twelve_eyes()) {
    Scenario scenario = eye.scenario, tight = eye.scenario;
    scenario.mesh = tight.mesh = MeshSpec::coarse();
    tight.numerics.time_tolerance = 1e-6;
    tight.numerics.force_tolerance = 1e-8;
    const History history = simulate(scenario), reference = simulate(tight);
    REQUIRE(history.rows() == reference.rows());
    double largest = 0;
    for (std::size_t row = 0; row < history.rows(); ++row)
      largest = std::max(largest, std::abs(history.opening_area_mm2()[row] / reference.opening_area_mm2()[row] - 1));
    INFO(eye.name << ": " << history.message() << ", largest difference " << largest);
    CHECK(largest < of_the_area);
  }
}
