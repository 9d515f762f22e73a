// SPDX-License-Identifier: BSD-3-Clause
// All parts of one eye together, built by the model: what holds for the sum holds for the answer.
#include <catch2/catch.hpp>
#include <cmath>

#include "capsim/backing.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "part_checks.hpp"
#include "run/bag_parts.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// An eye with everything in it: weak sector, lens with a bond, ring with an eyelet, fibrous tissue.
Scenario full_eye() {
  Scenario scenario;
  scenario.mesh = MeshSpec::coarse();
  scenario.opening.center_mm = {0.2, -0.1};
  scenario.zonule.strength_by_hour = {{3, 0.2}, {4, 0.0}};
  scenario.lens->adhesion_kPa_per_mm = 0.5;
  scenario.tension_ring.emplace();
  scenario.tension_ring->gap_hour = 10;
  scenario.tension_ring->eyelet_hour = 4;
  return scenario;
}

struct WholeEye {
  explicit WholeEye(const Model& model) : model(model) {
    const Scenario& scenario = model.scenario();
    tissue = model.make_fibrous_tissue();
    tissue->fields().fraction.assign(tissue->points(), 0.6);
    for (auto& natural : tissue->fields().natural) natural.assign(tissue->points(), 0.9);
    lens = model.make_lens();
    ring = model.make_tension_ring(*scenario.tension_ring);
    anterior = model.make_anterior_leaf();
    posterior = model.make_posterior_leaf();
    zonule = model.make_zonule(scenario.zonule);
    backing = make_backing(model.mesh(), model.rest_full_strength());
    parts = {anterior.get(), posterior.get(), zonule.get(), backing.get(), tissue.get(), lens.get(), ring.get()};

    x = model.rest_as_stated();
    x.insert(x.end(), {0.0, 0.0, 0.0});
    const auto wire = ring_positions(*scenario.tension_ring, model.ring_segments(),
                                     model.anatomical_equator_radius_mm() - 0.02, {0, 0});
    x.insert(x.end(), wire.begin(), wire.end());
    ring->hold_where_it_lies(x);
  }
  [[nodiscard]] EquilibriumReport settle() {
    const std::vector<int> closed(model.mesh().plan().cuts.size(), 0);
    equilibrium.set_system(parts, model.dof_map(closed, true, true));
    equilibrium.settings().tolerance_mN = 1e-9 * model.force_scale_mN();
    return equilibrium.solve(x);
  }
  [[nodiscard]] double energy() const {
    double sum = 0;
    for (const Part* part : parts) sum += part->energy(x);
    return sum;
  }
  [[nodiscard]] Vector gradient() const {
    Vector g(x.size(), 0.0);
    for (const Part* part : parts) part->gradient(x, g);
    return g;
  }
  void move(double angle, Point shift) {
    for (Part* part : parts) part->move_anchors(angle, shift);
    x = moved_eye(x, model.lens_coordinate() + 2, angle, shift, angle);
  }

  const Model& model;
  std::unique_ptr<Leaf> anterior, posterior;
  std::unique_ptr<Zonule> zonule;
  std::unique_ptr<Backing> backing;
  std::unique_ptr<FibrousTissue> tissue;
  std::unique_ptr<Lens> lens;
  std::unique_ptr<TensionRing> ring;
  std::vector<Part*> parts;
  Equilibrium equilibrium;
  Vector x;
};

}  // namespace

TEST_CASE("rigid_motion_of_the_whole_eye_changes_nothing", "[parts][equilibrium]") {
  const Model model(full_eye());
  WholeEye still(model);
  REQUIRE(still.settle().converged());
  CHECK(still.ring->push_mN(still.x) > 1);  // the ring is at work, as are haptics, fibres and zonule
  CHECK(still.lens->push_mN(still.x) > 0.5);
  CHECK(still.zonule->radial_pull_mN(still.x, {0, 0}) > 1);
  const double energy = still.energy();
  for (const double angle : {0.4, -2.0}) {
    const Point shift{1.5, -0.7};
    // The same eye, moved after it has come to rest: energy, balance and loads are the same.
    WholeEye eye(model);
    eye.x = still.x;
    eye.ring->hold_where_it_lies(eye.x);
    const double before = eye.energy();
    Vector g = moved_eye(eye.gradient(), model.lens_coordinate() + 2, angle, {0, 0}, 0);
    eye.move(angle, shift);
    CHECK(std::abs(eye.energy() - before) <= rigid_tolerance * before);
    const Vector turned = eye.gradient();
    CHECK((as_eigen(turned) - as_eigen(g)).cwiseAbs().maxCoeff() <= rigid_tolerance * model.force_scale_mN());
    CHECK(eye.ring->push_mN(eye.x) == Approx(still.ring->push_mN(still.x)).epsilon(rigid_tolerance));
    CHECK(eye.lens->push_mN(eye.x) == Approx(still.lens->push_mN(still.x)).epsilon(rigid_tolerance));
    // Moved before it comes to rest: it comes to rest at the same shape.
    WholeEye moving(model);
    moving.move(angle, shift);
    REQUIRE(moving.settle().converged());
    CHECK(moving.energy() == Approx(energy).epsilon(1e-9));  // of the balance, second order in what is left of it
    const Vector expected = moved_eye(still.x, model.lens_coordinate() + 2, angle, shift, angle);
    // The softest motion, the lens' turn against its haptics, has a stiffness of about 1e-2 mN.
    CHECK((as_eigen(moving.x) - as_eigen(expected)).cwiseAbs().maxCoeff() <= 1e-5);
  }
}

TEST_CASE("forces_between_the_parts_of_the_eye_balance", "[parts][equilibrium]") {
  // Parts without anchors pull on the eye with no net force and no net moment.
  const Model model(full_eye());
  WholeEye eye(model);
  std::mt19937 random(17);
  std::uniform_real_distribution<double> spread(-0.003, 0.003);
  for (double& v : eye.x) v += spread(random);
  const int turn = model.lens_coordinate() + 2;
  for (const Part* part : {static_cast<const Part*>(eye.anterior.get()), static_cast<const Part*>(eye.posterior.get()),
                           static_cast<const Part*>(eye.tissue.get()), static_cast<const Part*>(eye.lens.get())}) {
    INFO(part->name());
    const Vector g = gradient_of(*part, eye.x);
    double fx = 0, fy = 0, moment = 0;
    for (std::size_t i = 0; i + 1 < g.size();) {
      if (static_cast<int>(i) == turn) {
        moment += g[i++];
        continue;
      }
      fx += g[i];
      fy += g[i + 1];
      moment += eye.x[i] * g[i + 1] - eye.x[i + 1] * g[i];
      i += 2;
    }
    const double largest = largest_of(g);
    CHECK(largest > 1e-3);
    CHECK(std::abs(fx) <= 1e-11 * largest);
    CHECK(std::abs(fy) <= 1e-11 * largest);
    CHECK(std::abs(moment) <= 1e-11 * largest);
  }
}

TEST_CASE("what_the_zonule_pulls_is_what_the_bag_holds", "[parts][equilibrium]") {
  // At rest without a ring's eyelet the zonule and the backing together pull with no net force.
  Scenario scenario = full_eye();
  scenario.tension_ring->eyelet_hour.reset();
  const Model model(scenario);
  WholeEye eye(model);
  REQUIRE(eye.settle().converged());
  Vector g(eye.x.size(), 0.0);
  eye.zonule->gradient(eye.x, g);
  eye.backing->gradient(eye.x, g);
  double fx = 0, fy = 0;
  for (std::size_t i = 0; i < static_cast<std::size_t>(model.lens_coordinate()); i += 2) fx += g[i], fy += g[i + 1];
  const double pull = eye.zonule->radial_pull_mN(eye.x, {0, 0});
  CHECK(pull > 1);
  CHECK(std::hypot(fx, fy) <= 1e-6 * pull);
  // A sector without zonule carries nothing.
  const auto load = eye.zonule->load_by_hour_mN(eye.x);
  CHECK(load[4] <= rounding * pull);  // the sector of a bundle may overlap it by a rounding
  for (const std::size_t hour : {0u, 1u, 6u, 9u, 11u}) CHECK(load[hour] > 0.01);
}
