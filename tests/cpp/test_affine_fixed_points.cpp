// SPDX-License-Identifier: BSD-3-Clause
// Fixed points of affine maps: what was learned from one serves the next.
#include <catch2/catch.hpp>

#include "solve/affine_fixed_points.hpp"

using namespace capsim;

namespace {

/// r(u) = b + A u with A far from nothing in two directions; iterations until r is nothing beside b.
int rounds_to_rest(AffineFixedPoints& points, const Eigen::VectorXd& b) {
  const Eigen::Index n = b.size();
  Eigen::MatrixXd a = -Eigen::MatrixXd::Identity(n, n);
  a(0, 1) = 0.6;
  a(1, 0) = -0.5;
  a(2, 2) = -0.4;
  Eigen::VectorXd u = Eigen::VectorXd::Zero(n);
  points.begin();
  for (int round = 0; round < 100; ++round) {
    const Eigen::VectorXd r = b + a * u;
    if (r.norm() <= 1e-9 * b.norm()) {
      CHECK((u + a.partialPivLu().solve(b)).norm() <= 1e-8 * b.norm());
      return round;
    }
    u = points.next(u, r);
  }
  FAIL("no fixed point was found");
  return 100;
}

}  // namespace

TEST_CASE("a_fixed_point_is_found_in_fewer_rounds_when_others_of_its_kind_are_known", "[solve]") {
  AffineFixedPoints points;
  Eigen::VectorXd first(8), second(8);
  first << 1, 2, -1, 0.5, 3, -2, 0.1, 1;
  second << -0.3, 1, 4, 2, -1, 0.7, 2, -5;
  const int alone = rounds_to_rest(points, first), after = rounds_to_rest(points, second);
  CHECK(alone <= 6);  // three directions to learn
  CHECK(after <= 2);
  AffineFixedPoints new_ones;
  CHECK(rounds_to_rest(new_ones, second) > after);
}
