// SPDX-License-Identifier: BSD-3-Clause
// Where an equilibrium starts from, and what its iterations have learnt of the stiffness.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "solve/secant_pairs.hpp"
#include "solve/trail.hpp"

using namespace capsim;

namespace {

constexpr double rounding = 1e-12;  // relative

double cubic(double t) { return 1 + t * (0.3 + t * (-0.02 + 0.001 * t)); }
double quadratic(double t) { return 1 + t * (0.3 - 0.02 * t); }

template <class Course>
Trail trail_of(const Course& course, std::initializer_list<double> days) {
  Trail trail;
  for (const double day : days) {
    const std::array<double, 1> x{course(day)};
    if (day == *days.begin())
      trail.restart(day, x);
    else
      trail.push(day, x);
  }
  return trail;
}

double after(const Trail& trail, double day) {
  std::array<double, 1> x{};
  trail.extrapolate(day, x);
  return x[0];
}

double inside(const Trail& trail, double day) {
  std::array<double, 1> x{};
  trail.between(day, x);
  return x[0];
}

// A stiffness with a mode three times as soft and one as stiff again as what was factorized.
const std::vector<double> stiffness{1.0, 30.0, 200.0}, factorized{3.0, 30.0, 100.0};

std::vector<double> force(const std::vector<double>& x) {
  std::vector<double> g(x);
  for (std::size_t i = 0; i < x.size(); ++i) g[i] *= stiffness[i];
  return g;
}

void solve(std::vector<double>& v) {
  for (std::size_t i = 0; i < v.size(); ++i) v[i] /= factorized[i];
}

/// Largest force that is left after so many whole steps, with what they teach or without.
double left_after(int steps, bool learning) {
  SecantPairs pairs;
  pairs.reserve(3);
  std::vector<double> x{1, -1, 0.5}, g = force(x);
  for (int k = 0; k < steps; ++k) {
    std::vector<double> step(3);
    for (std::size_t i = 0; i < 3; ++i) step[i] = -g[i];
    pairs.apply_inverse(step, solve);
    for (std::size_t i = 0; i < 3; ++i) x[i] += step[i];
    const std::vector<double> next = force(x);
    if (learning) pairs.add(step, 1, g, next);
    g = next;
  }
  return std::max({std::abs(g[0]), std::abs(g[1]), std::abs(g[2])});
}

}  // namespace

TEST_CASE("a_smooth_course_is_met_after_its_last_point_and_between_the_ends_of_a_step", "[solve][time]") {
  CHECK(after(trail_of(quadratic, {0, 2, 4}), 6) == Approx(quadratic(6)).epsilon(rounding));
  CHECK(inside(trail_of(cubic, {0, 1, 3, 6}), 4.5) == Approx(cubic(4.5)).epsilon(rounding));
  Trail trail = trail_of(cubic, {0, 3, 6});
  trail.push_row(4, std::array<double, 1>{cubic(4)});
  CHECK(inside(trail, 5) == Approx(cubic(5)).epsilon(rounding));
}

TEST_CASE("rows_a_day_apart_do_not_move_where_the_next_step_starts", "[solve][time]") {
  // What is left of the force tolerance in a row, 1e-3 here, must not be carried on over the step after it.
  Trail trail = trail_of(quadratic, {0, 10, 20});
  const double without = after(trail, 40);
  for (const double day : {17.0, 18.0, 19.0}) trail.push_row(day, std::array<double, 1>{quadratic(day) + 1e-3});
  CHECK(after(trail, 40) == without);
  CHECK(inside(trail, 19.5) == Approx(quadratic(19.5)).margin(2e-3));
  trail.forget_row();
  CHECK(inside(trail, 19.5) == Approx(quadratic(19.5)).epsilon(rounding));
}

TEST_CASE("a_step_that_was_rejected_is_forgotten", "[solve][time]") {
  Trail trail = trail_of(quadratic, {0, 10, 20});
  trail.push(60, std::array<double, 1>{17.0});
  trail.cut(30);
  CHECK(after(trail, 30) == Approx(quadratic(30)).epsilon(rounding));
}

TEST_CASE("the_inverse_takes_the_latest_change_of_force_to_its_step", "[solve]") {
  SecantPairs pairs;
  pairs.reserve(3);
  const std::vector<double> zero(3, 0.0);
  for (const auto& s : {std::vector<double>{1, 0.2, 0}, std::vector<double>{0.1, -1, 0.3}}) {
    pairs.add(s, 0.5, zero, force(s));  // half the step, and the force of the whole: any pair that does work will do
    std::vector<double> v = force(s);
    pairs.apply_inverse(v, solve);
    for (std::size_t i = 0; i < 3; ++i) CHECK(v[i] == Approx(0.5 * s[i]).margin(rounding));
  }
}

TEST_CASE("the_inverse_stays_symmetric_and_positive", "[solve]") {
  SecantPairs pairs;
  pairs.reserve(3);
  const std::vector<double> zero(3, 0.0);
  for (int k = 0; k < 9; ++k) {  // more than are kept
    const std::vector<double> s{std::cos(k), std::sin(2 * k), std::cos(3 * k)};
    pairs.add(s, 1, zero, force(s));
  }
  std::array<std::vector<double>, 3> column;
  for (std::size_t i = 0; i < 3; ++i) {
    column[i] = std::vector<double>(3, 0.0);
    column[i][i] = 1;
    pairs.apply_inverse(column[i], solve);
    CHECK(column[i][i] > 0);
  }
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < i; ++j) CHECK(column[i][j] == Approx(column[j][i]).margin(rounding));
}

TEST_CASE("a_step_against_the_force_teaches_nothing", "[solve]") {
  SecantPairs pairs;
  pairs.reserve(3);
  const std::vector<double> zero(3, 0.0), s{1, 1, 1}, against{-1, -30, -200};
  pairs.add(s, 1, zero, against);
  std::vector<double> v{1, 1, 1}, plain = v;
  pairs.apply_inverse(v, solve);
  solve(plain);
  CHECK(v == plain);
}

TEST_CASE("what_the_factorization_has_wrong_is_learnt_in_a_few_steps", "[solve]") {
  // Chord steps leave two thirds of the soft mode each, and the stiff one comes back with the other sign for ever.
  constexpr double most = 1e-3;  // of forces of 100 at the start
  CHECK(left_after(8, true) < most);
  CHECK(left_after(8, false) > 1);
}
