// SPDX-License-Identifier: BSD-3-Clause
// The equilibrium solver: it finds the minimum from bad starts, knows when there is none, and then
// leaves everything as it was.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "annulus.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/zonule.hpp"
#include "dead_load.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// A leaf in its zonule, both as the library's defaults have them.
struct Bag {
  explicit Bag(AnnulusShape shape = coarse(), double compression = 0.05)
      : mesh(annulus(shape)),
        leaf(anterior_leaf(mesh, membrane(compression), 0.014)),
        zonule(zonule_bundles(mesh, mesh.reference(), ZonuleSpec{}, shape.outer_mm)),
        x(mesh.reference()) {
    equilibrium.set_system({&leaf, &zonule}, all_free(mesh));
    equilibrium.settings().tolerance_mN = tolerance;
  }
  static AnnulusShape coarse() {
    AnnulusShape shape;
    shape.around = 24;
    shape.layers = 4;
    return shape;
  }
  static Membrane membrane(double compression) {
    Membrane m{CapsuleSpec{}};
    m.compression_fraction = compression;
    return m;
  }
  static constexpr double tolerance = 1e-8;  // mN; forces are of order 1
  Mesh mesh;
  Leaf leaf;
  Zonule zonule;
  Equilibrium equilibrium;
  std::vector<double> x;
};

double furthest(const std::vector<double>& a, const std::vector<double>& b) {
  double most = 0;
  for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(a[i] - b[i]));
  return most;
}

}  // namespace

TEST_CASE("at_equilibrium_forces_vanish_and_every_small_move_costs_energy", "[equilibrium]") {
  Bag bag;
  const EquilibriumReport report = bag.equilibrium.solve(bag.x);
  REQUIRE(report.converged());
  CHECK(report.residual_mN <= 10 * Bag::tolerance);
  CHECK(bag.equilibrium.residual(bag.x) == Approx(report.residual_mN).margin(Bag::tolerance));
  const auto energy = [&](const std::vector<double>& x) { return bag.leaf.energy(x) + bag.zonule.energy(x); };
  CHECK(report.energy == Approx(energy(bag.x)).epsilon(1e-12));
  std::mt19937 random(3);
  std::normal_distribution<double> normal;
  for (int k = 0; k < 20; ++k) {
    std::vector<double> moved = bag.x;
    for (double& v : moved) v += 1e-3 * normal(random);
    CHECK(energy(moved) > energy(bag.x));
  }
}

TEST_CASE("a_far_start_leads_to_the_same_minimum", "[equilibrium]") {
  Bag bag;
  REQUIRE(bag.equilibrium.solve(bag.x).converged());
  std::mt19937 random(5);
  std::uniform_real_distribution<double> spread(-0.08, 0.08);
  for (const double scale : {0.8, 1.0, 1.3}) {  // slack, mixed, overstretched; noise makes the Hessian indefinite
    Bag other;
    for (double& v : other.x) v = scale * v + spread(random);
    const EquilibriumReport report = other.equilibrium.solve(other.x);
    INFO("scale " << scale << ", iterations " << report.iterations << ", load steps " << report.load_steps);
    REQUIRE(report.converged());
    CHECK(furthest(other.x, bag.x) <= 1e-6);  // tolerance over the softest stiffness
  }
}

TEST_CASE("the_answer_does_not_depend_on_what_was_solved_before", "[equilibrium]") {
  Bag fresh;
  REQUIRE(fresh.equilibrium.solve(fresh.x).converged());
  Bag used;  // keeps a factorization from elsewhere
  std::vector<double> elsewhere = used.mesh.reference();
  for (double& v : elsewhere) v *= 1.2;
  REQUIRE(used.equilibrium.solve(elsewhere).converged());
  REQUIRE(used.equilibrium.solve(used.x).converged());
  CHECK(furthest(used.x, fresh.x) <= 1e-7);
  const EquilibriumReport again = used.equilibrium.solve(used.x);
  CHECK(again.converged());
  CHECK(again.iterations <= 1);  // already there
}

TEST_CASE("when_nothing_balances_the_load_it_says_so_and_moves_nothing", "[equilibrium]") {
  // A leaf without zonule pulled sideways as a whole: there is no equilibrium to be found.
  Bag bag;
  DeadLoad load = equator_traction(bag.mesh, [](double) { return Point{1.0, 0.0}; });
  bag.equilibrium.set_system({&bag.leaf, &load}, all_free(bag.mesh));
  const std::vector<double> before = bag.x;
  const EquilibriumReport report = bag.equilibrium.solve(bag.x);
  CHECK_FALSE(report.converged());
  CHECK(report.residual_mN > Bag::tolerance);
  CHECK(bag.x == before);
}

TEST_CASE("a_start_with_a_folded_element_is_reported_as_folded", "[equilibrium]") {
  Bag bag;
  const std::size_t node = 2 * static_cast<std::size_t>(bag.mesh.node(4, 10));
  bag.x[node] *= -1;
  bag.x[node + 1] *= -1;
  const std::vector<double> before = bag.x;
  const EquilibriumReport report = bag.equilibrium.solve(bag.x);
  CHECK(report.end == EquilibriumEnd::folded);
  CHECK(bag.x == before);
}

TEST_CASE("a_start_that_is_no_number_is_not_mistaken_for_an_answer", "[equilibrium]") {
  Bag bag;
  bag.x[20] = std::numeric_limits<double>::quiet_NaN();
  CHECK_FALSE(bag.equilibrium.solve(bag.x).converged());
  Bag infinite;
  infinite.x[20] = std::numeric_limits<double>::infinity();
  CHECK_FALSE(infinite.equilibrium.solve(infinite.x).converged());
}

TEST_CASE("tied_lips_of_a_closed_cut_change_nothing", "[equilibrium][cuts]") {
  Bag whole;
  REQUIRE(whole.equilibrium.solve(whole.x).converged());
  AnnulusShape shape = Bag::coarse();
  shape.cuts = {{5, 2}};
  Bag cut(shape);
  std::vector<int> dof(cut.x.size(), 0);
  const auto lips = cut.mesh.lip_nodes(0, 2);
  for (const auto& pair : lips)
    for (const int d : {0, 1}) dof[static_cast<std::size_t>(2 * pair[1] + d)] = -1;
  renumber(dof);
  for (const auto& pair : lips)
    for (const int d : {0, 1})
      dof[static_cast<std::size_t>(2 * pair[1] + d)] = dof[static_cast<std::size_t>(2 * pair[0] + d)];
  cut.equilibrium.set_system({&cut.leaf, &cut.zonule}, dof);
  cut.equilibrium.settings().tolerance_mN = Bag::tolerance;
  CHECK(cut.equilibrium.dofs() == 2 * whole.mesh.nodes());
  REQUIRE(cut.equilibrium.solve(cut.x).converged());
  for (int r = 0; r < whole.mesh.rows(); ++r)
    for (int c = 0; c < whole.mesh.columns(); ++c) {
      if (whole.mesh.node(r, c) < 0) continue;
      for (const int lip : {0, 1})
        for (const int d : {0, 1})
          CHECK(std::abs(cut.x[static_cast<std::size_t>(2 * cut.mesh.node(r, c, lip) + d)] -
                         whole.x[static_cast<std::size_t>(2 * whole.mesh.node(r, c) + d)]) <= 1e-7);
    }
  // Opened, the leaf gives way: energy falls, and the lips part.
  cut.equilibrium.set_system({&cut.leaf, &cut.zonule}, all_free(cut.mesh));
  const double closed = cut.leaf.energy(cut.x) + cut.zonule.energy(cut.x);
  const EquilibriumReport open = cut.equilibrium.solve(cut.x);
  REQUIRE(open.converged());
  CHECK(open.energy < closed);
  const std::size_t a = 2 * static_cast<std::size_t>(lips[0][0]), b = 2 * static_cast<std::size_t>(lips[0][1]);
  CHECK(std::hypot(cut.x[a] - cut.x[b], cut.x[a + 1] - cut.x[b + 1]) > 0.1);
}

TEST_CASE("fixed_coordinates_stay_where_they_are", "[equilibrium]") {
  Bag bag;
  std::vector<int> dof = all_free(bag.mesh);
  const int node = bag.mesh.node(0, 0);
  dof[static_cast<std::size_t>(2 * node)] = -1;
  renumber(dof);
  bag.equilibrium.set_system({&bag.leaf, &bag.zonule}, dof);
  const double held = bag.x[static_cast<std::size_t>(2 * node)] += 0.05;
  REQUIRE(bag.equilibrium.solve(bag.x).converged());
  CHECK(bag.x[static_cast<std::size_t>(2 * node)] == held);
}
