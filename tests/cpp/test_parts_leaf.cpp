// SPDX-License-Identifier: BSD-3-Clause
// Leaves against what part.hpp demands: taut, wrinkled, slack, mixed, with growth, folded.
#include <limits>

#include "capsim/capsule.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// How many Gauss points of the anterior leaf are slack, wrinkled, taut.
std::array<int, 3> tally(const Mesh& mesh, const Membrane& membrane, const Vector& x) {
  std::array<int, 3> count{};
  const Patch& patch = mesh.anterior();
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      const auto l = principal_stretches(deformation_gradient(patch, x, e, q));
      ++count[static_cast<std::size_t>(taut_state(membrane, l[0], l[1]))];
    }
  return count;
}

Membrane membrane_of(CapsuleLaw law, double compression) {
  Membrane membrane;
  membrane.law = law;
  membrane.compression_fraction = compression;
  return membrane;
}

std::vector<double> random_growth(std::size_t points, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> spread(-0.1, 0.1);
  std::vector<double> growth;
  for (std::size_t p = 0; p < points; ++p)
    for (const double g : {0.95, 0.0, 0.0, 1.05}) growth.push_back(g + spread(random));
  return growth;
}

}  // namespace

TEST_CASE("leaf_derivatives_agree_with_differences_taut_wrinkled_and_slack", "[parts][capsule]") {
  const int order = GENERATE(1, 2);
  const CapsuleLaw law = GENERATE(CapsuleLaw::neo_hookean, CapsuleLaw::fung);
  const double compression = GENERATE(0.0, 0.05, 1.0);
  const bool grown = GENERATE(false, true);
  const Mesh mesh = annulus(of_order(order));
  const Membrane membrane = membrane_of(law, compression);
  Leaf leaf = anterior_leaf(mesh, membrane, 0.014);
  if (grown) leaf.regions().front().growth = random_growth(leaf.regions().front().thickness_mm.size(), 3);
  for (const State& state : states) {
    INFO("order " << order << ", law " << static_cast<int>(law) << ", compression " << compression << ", grown "
                  << grown << ", " << state.name);
    const Vector x = stretched(mesh, state.sx, state.sy, state.noise, 11);
    CheckOptions options;
    options.force_scale_mN = 1e-3;
    check_part(leaf, x, options);
  }
}

TEST_CASE("the_states_used_for_the_leaf_are_what_they_are_called", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung}) {
    const Membrane membrane = membrane_of(law, 0);
    std::vector<std::array<int, 3>> counts;
    for (const State& state : states)
      counts.push_back(tally(mesh, membrane, stretched(mesh, state.sx, state.sy, state.noise, 11)));
    const int all = mesh.anterior().points();
    CHECK(counts[0][static_cast<std::size_t>(TautState::taut)] == all);
    CHECK(counts[1][static_cast<std::size_t>(TautState::wrinkled)] == all);
    CHECK(counts[2][static_cast<std::size_t>(TautState::slack)] == all);
    for (const int count : counts[3]) CHECK(count >= all / 12);
  }
}

TEST_CASE("posterior_disc_derivatives_agree_with_differences", "[parts][capsule]") {
  const int order = GENERATE(1, 2);
  const CapsuleLaw law = GENERATE(CapsuleLaw::neo_hookean, CapsuleLaw::fung);
  const Mesh mesh = annulus(of_order(order));
  Leaf leaf = posterior_leaf(mesh, membrane_of(law, 0.05), 0.005);
  CheckOptions options;
  options.force_scale_mN = 1e-3;
  for (const State& state : states) {
    INFO("order " << order << ", " << state.name);
    check_part(leaf, stretched(mesh, state.sx, state.sy, state.noise, 12), options);
  }
}

TEST_CASE("a_folded_element_has_infinite_energy_and_no_finite_gradient", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  Vector x = mesh.reference();
  const std::size_t node = 2 * static_cast<std::size_t>(mesh.node(2, 2));
  x[node] *= -1;
  x[node + 1] *= -1;
  Vector g(x.size(), 0.0);
  for (const double compression : {0.0, 0.05}) {
    const Leaf leaf = anterior_leaf(mesh, membrane_of(CapsuleLaw::neo_hookean, compression), 0.014);
    CHECK(leaf.energy(x) == std::numeric_limits<double>::infinity());
    CHECK(leaf.gradient(x, g) == std::numeric_limits<double>::infinity());
  }
}

TEST_CASE("a_slack_leaf_carries_nothing_and_a_wrinkled_one_nothing_across_its_wrinkles", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung}) {
    Leaf leaf = anterior_leaf(mesh, membrane_of(law, 0), 0.014);
    const Vector slack = stretched(mesh, 0.85, 0.9, 0.02, 11);
    CHECK(leaf.energy(slack) == 0);
    CHECK(as_eigen(gradient_of(leaf, slack)).cwiseAbs().maxCoeff() == 0);
    CHECK(hessian_of(leaf, slack, Curvature::exact).cwiseAbs().maxCoeff() == 0);
    // Pulled along x only: the wrinkles run along x, and no node feels a force along y.
    Vector x = mesh.reference();
    for (std::size_t i = 0; i < x.size(); ++i) x[i] *= i % 2 == 0 ? 1.3 : 0.7;
    const Vector g = gradient_of(leaf, x);
    double along = 0, across = 0;
    for (std::size_t i = 0; i < g.size(); ++i)
      (i % 2 == 0 ? along : across) = std::max(i % 2 == 0 ? along : across, std::abs(g[i]));
    CHECK(along > 0.5);
    CHECK(across <= rounding * along);
  }
}
