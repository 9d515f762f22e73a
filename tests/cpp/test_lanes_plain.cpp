// SPDX-License-Identifier: BSD-3-Clause
// Lanes on plain arrays, as for a compiler without vectors, do what plain doubles do. They are a type of their own.
#define CAPSIM_PLAIN_LANES
#include <catch2/catch.hpp>
#include <cmath>

#include "parts/membrane_law.hpp"

using namespace capsim;

TEST_CASE("lanes_of_plain_arrays_have_the_bits_of_a_plain_double", "[lanes]") {
  static_assert(std::is_array_v<decltype(Lanes::v)>);
  const double l1[4] = {1.2, 1.1, 0.9, 1.0}, l2[4] = {1.1, 0.8, 0.7, 1.0};  // taut, wrinkled, slack, undeformed
  Membrane exponential;
  exponential.law = CapsuleLaw::fung;
  for (const Membrane& membrane : {Membrane{}, exponential}) {
    const auto four =
        membrane_law::blended<membrane_law::Derivatives::second>(membrane, Lanes::from(l1), Lanes::from(l2));
    for (int lane = 0; lane < 4; ++lane) {
      const StretchResponse one = membrane.blended(l1[lane], l2[lane]);
      CHECK(four.w[lane] == one.w);
      CHECK(four.w1[lane] == one.w1);
      CHECK(four.w22[lane] == one.w22);
      CHECK(four.flip[lane] == one.flip);
    }
  }
  const Lanes a(1.0, 4.0, 9.0, -1.0);
  CHECK(sqrt(a)[1] == 2);
  CHECK(std::isnan(sqrt(a)[3]));
  CHECK(pick(a > Lanes(3.0), a, -a)[0] == -1);
  CHECK(any(a < Lanes(0.0)));
  CHECK(!any(a < Lanes(-1.0)));
  CHECK(larger(a, Lanes(2.0)).sum() == 2 + 4 + 9 + 2);
}
