// SPDX-License-Identifier: BSD-3-Clause
// Sums and magnitudes of long vectors.
#include "solve/vector_sums.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

using namespace capsim;

TEST_CASE("a_dot_product_has_every_term_once", "[vector_sums]") {
  std::mt19937 random(2);
  std::normal_distribution<double> normal;
  for (const std::size_t n : {0, 1, 3, 4, 15, 16, 17, 100, 869}) {
    std::vector<double> a(n), b(n);
    long double sum = 0, size = 0;
    for (std::size_t i = 0; i < n; ++i) {
      a[i] = normal(random);
      b[i] = normal(random);
      const long double term = static_cast<long double>(a[i]) * b[i];
      sum += term;
      size += std::abs(term);
    }
    CHECK(std::abs(static_cast<double>(dot_product(a, b) - sum)) <= 1e-15 * static_cast<double>(size));
  }
}

TEST_CASE("the_largest_magnitude_is_found_wherever_it_is", "[vector_sums]") {
  CHECK(largest_magnitude({}) == 0);
  for (const std::size_t n : {1, 3, 4, 7, 30})
    for (std::size_t at = 0; at < n; ++at) {
      std::vector<double> v(n, 0.25);
      v[0] = -0.0;
      v[at] = -3.5;
      CHECK(largest_magnitude(v) == 3.5);
    }
}

TEST_CASE("the_smallest_number_has_a_magnitude", "[vector_sums]") {
  constexpr double smallest = std::numeric_limits<double>::denorm_min();
  CHECK(largest_magnitude(std::vector<double>{0.0, -smallest, 0.0}) == smallest);
}

TEST_CASE("a_vector_with_a_number_that_is_not_finite_has_an_infinite_magnitude", "[vector_sums]") {
  constexpr double infinite = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
  for (const double bad : {infinite, -infinite, nan, -nan, std::numeric_limits<double>::signaling_NaN()})
    for (std::size_t at = 0; at < 11; ++at) {
      std::vector<double> v(11, 1e300);
      v[at] = bad;
      CHECK(largest_magnitude(v) == infinite);
    }
}
