// SPDX-License-Identifier: BSD-3-Clause
// What must hold for every eye and every leaf, tried on random ones. The seed is printed with a failure;
// CAPSIM_SEED=<number> tries others and CAPSIM_EXAMPLES=<number> more. See also tests/python/test_properties.py.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <random>
#include <string>

#include "capsim/backing.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "comparison.hpp"
#include "cut_annulus.hpp"
#include "run/bag_parts.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// Random numbers by name of the test, the same on every run.
class Chance {
 public:
  Chance()
      : seed_(std::getenv("CAPSIM_SEED") != nullptr ? std::stoul(std::getenv("CAPSIM_SEED")) : 20240), random_(seed_) {}
  [[nodiscard]] unsigned long seed() const noexcept { return seed_; }
  double between(double low, double high) { return low + (high - low) * (random_() / 4294967296.0); }
  int whole(int low, int high) { return low + static_cast<int>(random_() % static_cast<unsigned>(high - low + 1)); }

 private:
  unsigned long seed_;
  std::mt19937 random_;
};

/// How many random cases: CAPSIM_EXAMPLES=<number> for more than usual.
int trials(int usual) {
  const char* asked = std::getenv("CAPSIM_EXAMPLES");
  return asked != nullptr ? std::stoi(asked) : usual;
}

Scenario random_eye(Chance& chance) {
  Scenario eye;
  eye.mesh = MeshSpec::coarse();
  eye.opening.diameter_mm = chance.between(4, 5.6);
  eye.opening.measured_under = MeasuredUnder::full_strength_zonule;  // some gaps have no rest state of their own
  eye.opening.center_mm = {chance.between(-0.3, 0.3), chance.between(-0.3, 0.3)};
  eye.capsule.modulus_kPa = chance.between(400, 2500);
  eye.zonule.stiffness_mN_per_mm = chance.between(60, 300);
  eye.zonule.pull_mN = std::min(chance.between(15, 110), 0.8 * eye.zonule.stiffness_mN_per_mm);
  eye.zonule.strength = chance.between(0.1, 1);
  for (int k = chance.whole(0, 4); k > 0; --k)
    eye.zonule.strength_by_hour[chance.whole(1, 12)] = chance.between(0, 0.5);
  if (chance.whole(0, 1) == 1) eye.zonule.attachment = ZonuleAttachment::split;
  eye.lens->axis_hour = chance.whole(1, 12);
  eye.lens->haptics = chance.whole(2, 4);
  eye.lens->haptic_force_mN = chance.between(0, 3);
  if (chance.whole(0, 2) > 0) {
    eye.tension_ring.emplace();
    eye.tension_ring->gap_hour = chance.whole(1, 12);
    eye.tension_ring->free_diameter_mm = chance.between(11.5, 13);
  }
  return eye;
}

}  // namespace

TEST_CASE("what_zonule_ring_and_haptics_do_to_a_bag_at_rest_balances", "[properties][evidence][equilibrium]") {
  // The leaves and the tissue are all bag: what acts on it from outside must have no resultant and no
  // moment. A billionth of all these forces together is what a balance of every node to 1e-10 of the largest
  // force leaves at most in a sum over some thousand nodes.
  constexpr double of_all_forces = 1e-9;
  Chance chance;
  INFO("CAPSIM_SEED=" << chance.seed());
  const int eyes = trials(12);
  for (int k = 0; k < eyes; ++k) {
    const Model model(random_eye(chance));
    const Scenario& scenario = model.scenario();
    CAPTURE(k, scenario.to_json());
    const auto anterior = model.make_anterior_leaf();
    const auto posterior = model.make_posterior_leaf();
    const auto tissue = model.make_fibrous_tissue();
    const auto zonule = model.make_zonule(scenario.zonule);
    const auto backing = make_backing(model.mesh(), model.rest_full_strength());
    const auto lens = model.make_lens();
    const auto ring = scenario.tension_ring ? model.make_tension_ring(*scenario.tension_ring) : nullptr;
    if (tissue) {
      for (double& f : tissue->fields().fraction) f = chance.between(0, 1);
      for (auto& natural : tissue->fields().natural)
        for (double& v : natural) v = chance.between(0.8, 1.1);
    }
    std::vector<Part*> parts;
    for (Part* part :
         {static_cast<Part*>(anterior.get()), static_cast<Part*>(posterior.get()), static_cast<Part*>(tissue.get()),
          static_cast<Part*>(zonule.get()), static_cast<Part*>(backing.get()), static_cast<Part*>(lens.get()),
          static_cast<Part*>(ring.get())})
      if (part != nullptr) parts.push_back(part);
    std::vector<double> x = model.rest_as_stated();
    x.insert(x.end(), {0.0, 0.0, 0.0});
    if (ring) {
      const auto wire = ring_positions(*scenario.tension_ring, model.ring_segments(),
                                       model.anatomical_equator_radius_mm() - 0.02, {0, 0});
      x.insert(x.end(), wire.begin(), wire.end());
      ring->hold_where_it_lies(x);
    }
    Equilibrium equilibrium;
    equilibrium.set_system(parts, model.dof_map({}, true, ring != nullptr));
    equilibrium.settings().tolerance_mN = 1e-10 * model.force_scale_mN();
    const EquilibriumReport report = equilibrium.solve(x);
    CAPTURE(report.residual_mN, report.iterations);
    REQUIRE(report.converged());

    std::vector<double> g(x.size(), 0.0);
    double all = 0;
    for (Part* part : {static_cast<Part*>(zonule.get()), static_cast<Part*>(backing.get()),
                       static_cast<Part*>(lens.get()), static_cast<Part*>(ring.get())}) {
      if (part == nullptr) continue;
      std::vector<double> own(x.size(), 0.0);
      part->gradient(x, own);
      for (std::size_t i = 0; i < x.size(); ++i) g[i] += own[i];
      for (int i = 0; i < model.lens_coordinate(); i += 2)
        all += std::hypot(own[static_cast<std::size_t>(i)], own[static_cast<std::size_t>(i) + 1]);
    }
    double fx = 0, fy = 0, moment = 0;
    for (std::size_t i = 0; i < static_cast<std::size_t>(model.lens_coordinate()); i += 2) {
      fx += g[i];
      fy += g[i + 1];
      moment += x[i] * g[i + 1] - x[i + 1] * g[i];
    }
    CAPTURE(all, fx, fy, moment);
    CHECK(all > 1);
    CHECK(std::hypot(fx, fy) <= of_all_forces * all);
    CHECK(std::abs(moment) <= of_all_forces * all * model.anatomical_equator_radius_mm());
  }
  note_property(
      "what_zonule_ring_and_haptics_do_to_a_bag_at_rest_balances",
      "forces of zonule, ring, haptics and vitreous bed balance to 1e-9 of their sum, and so do their moments", eyes,
      chance.seed());
}

TEST_CASE("isotropic_contraction_opens_the_hole_beyond_the_stiffness_that_the_closed_form_names",
          "[properties][evidence]") {
  // Linear annulus, contracting alike in all directions, springs k per edge length: the hole neither
  // opens nor closes at k = E h / ((1 + nu) b), whatever its size.
  constexpr double strain = -1e-5, near = 0.002;
  Chance chance;
  INFO("CAPSIM_SEED=" << chance.seed());
  const int leaves = trials(8);
  for (int trial = 0; trial < leaves; ++trial) {
    const double modulus = chance.between(200, 3000), poisson = chance.between(0.2, 0.49),
                 h = chance.between(0.005, 0.03), b = chance.between(4, 6), a = b * chance.between(0.25, 0.6);
    const double neutral = modulus * h / ((1 + poisson) * b);
    CAPTURE(trial, modulus, poisson, h, a, b, neutral);
    const auto rim_moves = [&](double stiffness) {
      CutAnnulus leaf({a, {0, 0}, b, h}, hookean(modulus, poisson), {}, {0.1 * (b - a), 0.1 * (b - a), 0, pi / 24});
      leaf.grow([](double) { return std::array<double, 2>{1 + strain, 1 + strain}; });
      // Springs that would go slack don't: they are stretched by many times the movement beforehand,
      // which pulls the rim outward by as much with and without contraction.
      leaf.hang([stiffness](double) { return stiffness; }, b + 1, 1 - 1e-4);
      leaf.solve_small({});
      CutAnnulus before({a, {0, 0}, b, h}, hookean(modulus, poisson), {}, {0.1 * (b - a), 0.1 * (b - a), 0, pi / 24});
      before.hang([stiffness](double) { return stiffness; }, b + 1, 1 - 1e-4);
      before.solve_small({});
      return (leaf.position(leaf.rim_node(0))[0] - before.position(before.rim_node(0))[0]) / (-strain * a);
    };
    const double softer = rim_moves(neutral * (1 - near)), firmer = rim_moves(neutral * (1 + near));
    CAPTURE(softer, firmer);
    CHECK(softer < 0);
    CHECK(firmer > 0);
    CHECK(rim_moves(0.3 * neutral) < softer);
    CHECK(rim_moves(5 * neutral) > firmer);
  }
  note_property("isotropic_contraction_opens_the_hole_beyond_the_stiffness_that_the_closed_form_names",
                "isotropic contraction closes the hole just below, and opens it just above, a support of E h / ((1 + "
                "nu) b), to 0.2 %",
                leaves, chance.seed());
}
