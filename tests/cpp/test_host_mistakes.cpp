// SPDX-License-Identifier: BSD-3-Clause
// What a host does wrong in C++ is a named error or a named reason, never a crash.
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <memory>
#include <utility>

#include "capsim/contraction_law.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "capsim/part.hpp"
#include "capsim/simulation.hpp"

using namespace capsim;

namespace {

Scenario eye() {
  Scenario s;
  s.duration_days = 20;
  s.output_every_days = 10;
  s.mesh = MeshSpec::coarse();
  return s;
}
std::shared_ptr<const Model> model() { return std::make_shared<const Model>(eye()); }

/// A weak spring on one coordinate, which can be wrong in each way that a contract can be broken.
class Spring : public Part {
 public:
  int coordinate = 0;
  std::size_t clique = 0;
  double added_energy = 0, added_force = 0;

  [[nodiscard]] std::string_view name() const noexcept override { return "suture"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<Spring>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override { cliques.add(std::span(&coordinate, 1)); }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    return 0.5 * k * x[at()] * x[at()] + added_energy;
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    g[at()] += k * x[at()] + added_force;
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override { tangent.add(clique, &k); }

 private:
  [[nodiscard]] std::size_t at() const { return static_cast<std::size_t>(coordinate); }
  static constexpr double k = 1e-3;
};

SimulationExtras with(const Spring& spring) {
  SimulationExtras extras;
  extras.parts.push_back(std::make_shared<const Spring>(spring));
  return extras;
}

/// The library's law with a rate that is no number.
class NoRate : public FibreRemodelling {
 public:
  using FibreRemodelling::FibreRemodelling;
  [[nodiscard]] std::string_view name() const noexcept override { return "law of the host"; }
  void rate(double, std::span<const double>, std::span<const double>, std::span<double> dydt) const override {
    std::fill(dydt.begin(), dydt.end(), std::nan(""));
  }
};

/// The same with a first state that is no number.
class NoStart : public FibreRemodelling {
 public:
  using FibreRemodelling::FibreRemodelling;
  [[nodiscard]] std::string_view name() const noexcept override { return "law of the host"; }
  void start(std::span<const double>, std::span<double> y) const override {
    std::fill(y.begin(), y.end(), std::nan(""));
  }
};

}  // namespace

TEST_CASE("null_model_and_null_part_are_refused_by_name", "[host_mistakes]") {
  SimulationExtras extras;
  extras.parts = {std::make_shared<const Spring>(), nullptr};
  const std::shared_ptr<const Model> none;
  CHECK_THROWS_AS(Simulation(none), ArgumentError);
  CHECK_THROWS_WITH(Simulation(none), Catch::Contains("model is null"));
  CHECK_THROWS_WITH(Simulation(model(), extras), Catch::Contains("part 1"));
  CHECK_THROWS_WITH(simulate(eye(), extras), Catch::Contains("part 1"));
  CHECK_THROWS_AS(simulate(none), ArgumentError);
  CHECK_THROWS_AS(Simulation::restore(none, "bytes"), ArgumentError);
  Equilibrium equilibrium;
  CHECK_THROWS_AS(equilibrium.set_system({nullptr}, {0}), ArgumentError);
}

TEST_CASE("simulation_that_was_moved_from_refuses_every_call", "[host_mistakes]") {
  Simulation first(model());
  Simulation second = std::move(first);
  CHECK(second.advance_to(1) == Advance::reached);
  CHECK_THROWS_WITH(first.advance_to(2), Catch::Contains("moved from"));
  CHECK_THROWS_AS(first.apply(ZonuleDamage{}), ArgumentError);
  CHECK_THROWS_AS(first.day(), ArgumentError);
  CHECK_THROWS_AS(first.status(), ArgumentError);
  CHECK_THROWS_AS(first.message(), ArgumentError);
  CHECK_THROWS_AS(first.model(), ArgumentError);
  CHECK_THROWS_AS(first.opening_area_mm2(), ArgumentError);
  CHECK_THROWS_AS(first.runaway_margin(), ArgumentError);
  CHECK_THROWS_AS(first.positions(), ArgumentError);
  CHECK_THROWS_AS(first.tissue_state(), ArgumentError);
  CHECK_THROWS_AS(first.history(), ArgumentError);
  CHECK_THROWS_AS(first.checkpoint(), ArgumentError);
  CHECK_THROWS_AS(first.memory_bytes(), ArgumentError);
  CHECK_THROWS_AS(Simulation(first), ArgumentError);
  first = second;  // and lives again
  CHECK(first.day() == 1);
}

TEST_CASE("part_made_for_another_mesh_is_refused_by_name", "[host_mistakes]") {
  Spring spring;
  spring.coordinate = 100'000;
  CHECK_THROWS_AS(Simulation(model(), with(spring)), ArgumentError);
  CHECK_THROWS_WITH(Simulation(model(), with(spring)),
                    Catch::Contains("\"suture\"") && Catch::Contains("100000") && Catch::Contains("another mesh"));
  spring.coordinate = -1;
  CHECK_THROWS_WITH(Simulation(model(), with(spring)), Catch::Contains("coordinate -1"));
}

TEST_CASE("hessian_of_a_clique_that_was_not_reported_is_refused_by_name", "[host_mistakes]") {
  Spring spring;
  spring.clique = 1;
  CHECK_THROWS_AS(Simulation(model(), with(spring)), ArgumentError);
  CHECK_THROWS_WITH(Simulation(model(), with(spring)), Catch::Contains("\"suture\"") && Catch::Contains("clique 1"));
}

TEST_CASE("number_of_a_part_that_is_not_finite_names_the_part", "[host_mistakes]") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  CHECK(simulate(eye(), with({})).status() == Status::completed);
  for (const double wrong : {std::nan(""), infinity}) {
    Spring spring;
    spring.added_energy = wrong;
    const Simulation by_energy(model(), with(spring));
    CHECK(by_energy.status() == (std::isnan(wrong) ? Status::non_finite : Status::no_equilibrium));
    CHECK_THAT(by_energy.message(), Catch::Contains("\"suture\""));
    spring.added_energy = 0;
    spring.added_force = wrong;
    const Simulation by_force(model(), with(spring));
    CHECK(by_force.status() == Status::non_finite);
    CHECK_THAT(by_force.message(), Catch::Contains("\"suture\""));
  }
}

TEST_CASE("rate_of_a_law_that_is_not_finite_names_the_law", "[host_mistakes]") {
  SimulationExtras extras;
  extras.law = std::make_shared<const NoRate>(eye().contraction);
  const History run = simulate(eye(), extras);
  CHECK(run.status() == Status::non_finite);
  CHECK_THAT(run.message(), Catch::Contains("\"law of the host\""));
}

TEST_CASE("state_of_a_law_that_is_not_finite_names_the_law", "[host_mistakes]") {
  SimulationExtras extras;
  extras.law = std::make_shared<const NoStart>(eye().contraction);
  const History run = simulate(eye(), extras);
  CHECK(run.status() == Status::non_finite);
  CHECK_THAT(run.message(), Catch::Contains("\"law of the host\""));
}

TEST_CASE("call_that_changes_a_simulation_from_its_own_callback_is_refused", "[host_mistakes]") {
  Simulation simulation(model());
  int refused = 0, calls = 0;
  const Advance how = simulation.advance_to(20, [&](const Progress&) {
    ++calls;
    try {
      simulation.advance_to(30);
    } catch (const ArgumentError& error) {
      if (std::string(error.what()).find("inside advance_to") != std::string::npos) ++refused;
    }
    try {
      (void)simulation.apply(ZonuleDamage{});
    } catch (const ArgumentError&) {
      ++refused;
    }
    try {
      (void)simulation.checkpoint();
    } catch (const ArgumentError&) {
      ++refused;
    }
    return true;
  });
  CHECK(how == Advance::reached);
  CHECK(calls > 0);
  CHECK(refused == 3 * calls);
  // A callback that throws does not leave it at work.
  Simulation other(model());
  CHECK_THROWS_AS(other.advance_to(20, [](const Progress&) -> bool { throw 1; }), int);
  CHECK(other.advance_to(20) == Advance::reached);
}
