// SPDX-License-Identifier: BSD-3-Clause
// The checker of parts, checked: every kind of mistake a part can make shows in its own number.
#include "capsim/error.hpp"
#include "part_checks.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// A spring between two nodes and the origin, whose mistakes can be switched on.
struct FaultySpring : Part {
  double gradient_error = 0, hessian_error = 0, asymmetry = 0, fixed_in_space = 0;
  bool forget_coupling = false, forget_sign = false, overwrite = false, deny = false;
  std::string_view name() const noexcept override { return "spring"; }
  std::unique_ptr<Part> clone() const override { return std::make_unique<FaultySpring>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    const int all[4] = {0, 1, 2, 3}, half[2] = {0, 1};
    forget_coupling ? cliques.add(half) : cliques.add(all);
  }
  bool couplings_hold(std::span<const double>) const override { return !deny; }
  double energy(std::span<const double> x) const override {
    const double dx = x[2] - x[0], dy = x[3] - x[1];
    return 0.5 * (dx * dx + dy * dy) + 0.5 * fixed_in_space * x[0] * x[0];
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    if (overwrite) std::fill(g.begin(), g.end(), 0.0);
    for (std::size_t d = 0; d < 2; ++d) {
      g[d] -= (1 + gradient_error) * (x[2 + d] - x[d]);
      g[2 + d] += x[2 + d] - x[d];
    }
    g[0] += fixed_in_space * x[0];
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature curvature, Tangent& tangent) const override {
    const double k = 1 + fixed_in_space + hessian_error, s = forget_sign && curvature == Curvature::positive ? 1 : -1;
    const double full[16] = {k, 0, -1, 0, 0, -s, 0, s, -1 + asymmetry, 0, 1, 0, 0, s, 0, -s}, half[4] = {k, 0, 0, 1};
    tangent.add(0, forget_coupling ? half : full);
  }
};

}  // namespace

TEST_CASE("the_checker_tells_every_kind_of_mistake_apart", "[parts][tests]") {
  const Vector x{0.1, 0.2, 0.8, 0.6};
  const double fault = 10 * derivative_tolerance;
  FaultySpring right, gradient, hessian, asymmetric, anchored, uncoupled, indefinite, overwriting, denying;
  check_part(right, x);
  gradient.gradient_error = fault;
  CHECK(measure_part(gradient, x).gradient > derivative_tolerance);
  hessian.hessian_error = fault;
  CHECK(measure_part(hessian, x).hessian > derivative_tolerance);
  CHECK(measure_part(hessian, x).gradient < derivative_tolerance);
  asymmetric.asymmetry = fault;
  CHECK(measure_part(asymmetric, x).asymmetry > rounding);
  anchored.fixed_in_space = fault;  // pulled to a place that does not move with the eye
  CHECK(measure_part(anchored, x).moved_energy > rigid_tolerance);
  CHECK(measure_part(anchored, x).moved_forces > rigid_tolerance);
  uncoupled.forget_coupling = true;
  CHECK(measure_part(uncoupled, x).outside > derivative_tolerance);
  indefinite.forget_sign = true;
  CHECK(measure_part(indefinite, x).negative > rounding);
  overwriting.overwrite = true;
  CHECK(measure_part(overwriting, x).adding > rounding);
  denying.deny = true;
  CHECK(measure_part(denying, x).couplings_lost);
  // Each says what is wrong, and the sound one nothing.
  CHECK(measure_part(right, x).faults().empty());
  for (FaultySpring* faulty :
       {&gradient, &hessian, &asymmetric, &anchored, &uncoupled, &indefinite, &overwriting, &denying})
    CHECK_FALSE(measure_part(*faulty, x).faults().empty());
  CHECK_THAT(measure_part(gradient, x).faults().front(),
             Catch::StartsWith("the gradient is not the derivative of the energy (relative error "));
}

TEST_CASE("the_checker_refuses_a_place_where_there_is_nothing_to_check", "[parts][tests]") {
  struct Folded : FaultySpring {
    double energy(std::span<const double>) const override { return INFINITY; }
  } folded;
  CHECK_THROWS_AS(measure_part(folded, Vector{0, 0, 1, 1}), ArgumentError);
  struct TooMany : FaultySpring {
    void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
      const double none[16] = {};
      tangent.add(1, none);  // couplings() reports one clique, number 0
    }
  } too_many;
  CHECK_THROWS_AS(measure_part(too_many, Vector{0, 0, 1, 1}), ArgumentError);
}
