// SPDX-License-Identifier: BSD-3-Clause
// Derivatives of runs to which a host adds parts and a law, against differences of such runs.
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "scenario/scenario_number.hpp"

using namespace capsim;

namespace {

Scenario tight_eye() {
  Scenario s;
  s.mesh = {12, 2, 2};
  s.opening.measured_under = MeasuredUnder::own_zonule;
  s.zonule.strength = 0.9;
  s.duration_days = s.output_every_days = 15;
  s.numerics.time_tolerance = 1e-9;
  s.numerics.force_tolerance = 1e-11;
  return s;
}

/// A suture: a stiff spring from a node of the equator to a place outside, whose stiffness hangs on the zonule's pull
/// and whose place on the ciliary ring's diameter.
class Suture : public Part {
 public:
  explicit Suture(const Model& model)
      : node_(2 * model.mesh().equator_nodes()[4]),
        stiffness_(0.02 * model.scenario().zonule.pull_mN),
        place_{0, 0.5 * model.scenario().zonule.ciliary_ring_diameter_mm} {}
  [[nodiscard]] std::string_view name() const noexcept override { return "suture"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<Suture>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    const std::array<int, 2> both{node_, node_ + 1};
    cliques.add(both);
  }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    double total = 0;
    for (const std::size_t d : {0, 1}) total += 0.5 * stiffness_ * away(x, d) * away(x, d);
    return total;
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    for (const std::size_t d : {0, 1}) g[at(d)] += stiffness_ * away(x, d);
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    const double h[4] = {stiffness_, 0, 0, stiffness_};
    tangent.add(0, h);
  }
  void move_anchors(double angle, Point shift) override { place_ = moved(place_, angle, shift); }
  /// d(gradient)/d(pull): the stiffness is proportional to it.
  void add_rate_by_pull(std::span<const double> x, std::span<double> rate) const {
    for (const std::size_t d : {0, 1}) rate[at(d)] += 0.02 * away(x, d);
  }

 private:
  [[nodiscard]] std::size_t at(std::size_t d) const { return static_cast<std::size_t>(node_) + d; }
  [[nodiscard]] double away(std::span<const double> x, std::size_t d) const { return x[at(d)] - place_[d]; }
  int node_;
  double stiffness_;
  Point place_;
};

/// The library's law, slowed down as the host likes by a number of the scenario.
class Slowed : public FibreRemodelling {
 public:
  explicit Slowed(const Scenario& s)
      : FibreRemodelling(s.contraction), share_(1 / (1 + 0.02 * s.contraction.signal_days)) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "slowed"; }
  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override {
    FibreRemodelling::rate(day, y, stretches, dydt);
    for (double& v : dydt) v *= share_;
  }

 private:
  double share_;
};

SimulationExtras host_adds(const Model& model) {
  return {{std::make_shared<const Suture>(model)}, std::make_shared<const Slowed>(model.scenario())};
}

double derivative(const Sensitivities& found, const std::string& outcome, std::size_t parameter) {
  for (std::size_t o = 0; o < found.outcomes.values.size(); ++o)
    if (found.outcomes.values[o].name == outcome) return found.by_outcome[o * found.parameters.size() + parameter];
  FAIL("no outcome " << outcome);
  return NAN;
}

const std::vector<std::string> by{"contraction.signal_days", "zonule.pull_mN", "zonule.ciliary_ring_diameter_mm",
                                  "opening.diameter_mm"};

}  // namespace

TEST_CASE("derivatives_with_parts_and_a_law_of_a_host_are_those_of_differences_of_runs", "[sensitivities][host]") {
  const Scenario s = tight_eye();
  SensitivityOptions options;
  options.extras = host_adds;
  const Sensitivities found = sensitivities(s, by, options);
  REQUIRE(found.message.empty());
  // Without them the eye is another one.
  const Sensitivities bare = sensitivities(s, by);
  CHECK(std::abs(found.outcomes["lens_decentration_mm"] - bare.outcomes["lens_decentration_mm"]) > 0.01);
  // A point of the leaf begins to wrinkle where the opening is 0.5 um larger: differences of runs stay on this side.
  const std::vector<double> steps{0.02, 0.02, 2e-3, 1e-4};
  CHECK(found.parameters[3].nearest_wrinkle > 2 * steps[3]);
  for (std::size_t p = 0; p < by.size(); ++p) {
    const auto at = [&](double change) {
      Scenario there = s;
      *number_at(there, by[p]).value += change;
      const auto model = std::make_shared<const Model>(there);
      Simulation simulation(model, host_adds(*model));
      REQUIRE(simulation.advance_to(there.duration_days) == Advance::reached);
      return outcomes(simulation.history());
    };
    const Outcomes ahead = at(steps[p]), behind = at(-steps[p]), far_ahead = at(2 * steps[p]),
                   far_behind = at(-2 * steps[p]);
    for (const std::string name : {"opening_area_mm2", "zonule_load_total_mN", "lens_decentration_mm"}) {
      const double once = (ahead[name] - behind[name]) / (2 * steps[p]),
                   twice = (far_ahead[name] - far_behind[name]) / (4 * steps[p]), runs = (4 * once - twice) / 3;
      INFO(name << " by " << by[p]);
      Scenario copy = s;
      // Points that begin to wrinkle between rests; of a parameter that does little, a share of outcome over parameter.
      const double share = 5e-5, size = *number_at(copy, by[p]).value;
      CHECK(derivative(found, name, p) ==
            Approx(runs).epsilon(1e-4).margin(share * std::abs(found.outcomes[name]) / size));
    }
  }
}

TEST_CASE("a_part_of_a_host_may_tell_its_own_derivative", "[sensitivities][host]") {
  const Scenario s = tight_eye();
  SensitivityOptions options;
  options.extras = host_adds;
  const Sensitivities differenced = sensitivities(s, by, options);
  int asked = 0, told = 0;
  options.host_force_rate = [&](std::string_view path, std::size_t part, const Part& here, std::span<const double> x,
                                std::span<double> rate) {
    ++asked;
    CHECK(part == 0);
    if (path != "zonule.pull_mN") return false;
    dynamic_cast<const Suture&>(here).add_rate_by_pull(x, rate);
    ++told;
    return true;
  };
  const Sensitivities own = sensitivities(s, by, options);
  CHECK(told > 0);
  CHECK(asked == 4 * told);
  const double differences_leave = 1e-6;
  for (std::size_t p = 0; p < by.size(); ++p)
    for (const std::string name : {"opening_area_mm2", "zonule_load_total_mN"})
      CHECK(derivative(own, name, p) == Approx(derivative(differenced, name, p)).epsilon(differences_leave));
  // What is told counts: half of it gives another derivative, of that parameter alone.
  options.host_force_rate = [&](std::string_view path, std::size_t, const Part& here, std::span<const double> x,
                                std::span<double> rate) {
    if (path != "zonule.pull_mN") return false;
    dynamic_cast<const Suture&>(here).add_rate_by_pull(x, rate);
    for (double& v : rate) v *= 0.5;
    return true;
  };
  const Sensitivities half = sensitivities(s, by, options);
  CHECK(derivative(half, "zonule_load_total_mN", 1) !=
        Approx(derivative(own, "zonule_load_total_mN", 1)).epsilon(1e-4));
  CHECK(derivative(half, "zonule_load_total_mN", 2) == derivative(own, "zonule_load_total_mN", 2));
}

TEST_CASE("extras_that_are_not_the_same_for_every_eye_are_refused", "[sensitivities][host][host_mistakes]") {
  const Scenario s = tight_eye();
  SensitivityOptions options;
  int called = 0;
  options.extras = [&](const Model& model) { return ++called == 1 ? host_adds(model) : SimulationExtras{}; };
  CHECK_THROWS_WITH(sensitivities(s, by, options), Catch::Contains("1 parts for the run and 0"));
  options.extras = [](const Model&) { return SimulationExtras{{nullptr}, nullptr}; };
  CHECK_THROWS_WITH(sensitivities(s, by, options), Catch::Contains("part 0"));
}
