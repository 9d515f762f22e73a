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

/// One coordinate in the energy x^4/4 - x^2/2: a saddle at 0 whose forces balance, minima at 1 and -1.
class DoubleWell : public Part {
 public:
  [[nodiscard]] std::string_view name() const noexcept override { return "double well"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<DoubleWell>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override { cliques.add(std::vector<int>{0}); }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    return 0.25 * x[0] * x[0] * x[0] * x[0] - 0.5 * x[0] * x[0];
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    g[0] += x[0] * x[0] * x[0] - x[0];
    return energy(x);
  }
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override {
    double h = 3 * x[0] * x[0] - 1;
    if (curvature == Curvature::positive) h = std::abs(h);
    tangent.add(0, &h);
  }
};

/// Two coordinates that a stiff spring ties, pulled, and held by a soft one of `held` times its stiffness.
class TiedAndHeld : public Part {
 public:
  explicit TiedAndHeld(double held) : held_(held) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "tied and held"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<TiedAndHeld>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override { cliques.add(std::vector<int>{0, 1}); }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    return 0.5 * (x[0] - x[1]) * (x[0] - x[1]) + held_ * (0.5 * x[0] * x[0] - 0.1 * x[1]);
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    g[0] += (x[0] - x[1]) + held_ * x[0];
    g[1] += (x[1] - x[0]) - 0.1 * held_;
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    const double h[4] = {1 + held_, -1, -1, 1};
    tangent.add(0, h);
  }

 private:
  double held_;
};

}  // namespace

TEST_CASE("what_single_precision_can_not_hold_is_found_at_once_all_the_same", "[equilibrium][rough]") {
  // A float has seven digits: of a spring of 1e-8 beside one of 1 it knows nothing.
  for (const double held : {1e-1, 1e-4, 1e-6, 1e-8}) {
    TiedAndHeld part(held);
    Equilibrium equilibrium;
    equilibrium.settings().tolerance_mN = 1e-4 * held;
    equilibrium.settings().shift_mN_per_mm = 0;
    equilibrium.set_system({&part}, {0, 1});
    std::vector<double> x{0.0, 0.0};
    const EquilibriumReport report = equilibrium.solve(x);
    INFO("held by " << held);
    REQUIRE(report.converged());
    CHECK(x[0] == Approx(0.1).epsilon(1e-3));
    CHECK(report.iterations <= 2);
    CHECK(equilibrium.counts().factorizations == 1);
  }
}

TEST_CASE("degree_of_freedom_that_no_coordinate_has_is_refused", "[equilibrium]") {
  DoubleWell well;
  Equilibrium equilibrium;
  CHECK_THROWS_AS(equilibrium.set_system({&well}, {1}), ArgumentError);
  CHECK_THROWS_WITH(equilibrium.set_system({&well}, {3, -1, 0, 1}), Catch::Contains("freedom 2"));
}

TEST_CASE("balanced_forces_on_a_saddle_are_left_downhill", "[equilibrium][saddle]") {
  DoubleWell well;
  Equilibrium equilibrium;
  equilibrium.set_system({&well}, {0});
  for (const double start : {0.0, 1e-9, -1e-7}) {
    std::vector<double> x{start};
    const EquilibriumReport report = equilibrium.solve(x);
    INFO("from " << start);
    REQUIRE(report.converged());
    CHECK(std::abs(x[0]) == Approx(1).margin(1e-5));  // the tolerance over a stiffness of 2
    equilibrium.forget_factor();
  }
  std::vector<double> x{0.0};
  const EquilibriumReport report = equilibrium.solve(x);
  CHECK(report.saddles_left == 1);
  REQUIRE(equilibrium.factorize_at(x));
  equilibrium.forget_factor();
  CHECK(equilibrium.solve(x).least_pivot_mN_per_mm == Approx(2).epsilon(1e-3));
}

TEST_CASE("a_spent_budget_ends_the_solve_and_moves_nothing", "[equilibrium][work]") {
  Bag bag;
  for (double& v : bag.x) v *= 1.3;
  const std::vector<double> before = bag.x;
  bag.equilibrium.settings().max_work = 2;
  const EquilibriumReport report = bag.equilibrium.solve(bag.x);
  CHECK(report.end == EquilibriumEnd::too_much_work);
  CHECK(bag.x == before);
  CHECK(bag.equilibrium.counts().work() < 2 + 10);  // it ends with the iteration that spent it
  bag.equilibrium.settings().max_work = 500;
  CHECK(bag.equilibrium.solve(bag.x).converged());
  bag.equilibrium.settings().all_work = bag.equilibrium.counts().work();
  std::vector<double> again = before;
  CHECK(bag.equilibrium.solve(again).end == EquilibriumEnd::too_much_work);
}

TEST_CASE("a_watch_that_says_no_or_throws_stops_the_solve_and_moves_nothing", "[equilibrium][work]") {
  Bag bag;
  for (double& v : bag.x) v *= 1.3;
  const std::vector<double> before = bag.x;
  int asked = 0;
  bag.equilibrium.watch([&] { return ++asked < 3; });
  CHECK(bag.equilibrium.solve(bag.x).end == EquilibriumEnd::interrupted);
  CHECK(asked == 3);
  CHECK(bag.x == before);
  bag.equilibrium.watch([]() -> bool { throw std::runtime_error("stop"); });
  CHECK_THROWS_WITH(bag.equilibrium.solve(bag.x), "stop");
  CHECK(bag.x == before);
  bag.equilibrium.watch({});
  CHECK(bag.equilibrium.solve(bag.x).converged());
}

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
  CHECK(report.load_steps == 0);  // no part of the load mends the start
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
