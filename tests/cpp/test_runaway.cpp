// SPDX-License-Identifier: BSD-3-Clause
//
// The margin to runaway: a closed form through the library's own parts, and what must hold in whole eyes.
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>

#include "annulus.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/runaway.hpp"
#include "capsim/simulation.hpp"
#include "part_checks.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::checks;
using namespace capsim::test;

namespace {

/// Springs from every node to a place of its own; in a round ring the same as radial springs.
struct NodeSprings : Part {
  std::vector<double> anchors, stiffness;  // per coordinate
  std::string_view name() const noexcept override { return "springs"; }
  std::unique_ptr<Part> clone() const override { return std::make_unique<NodeSprings>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    for (int c = 0; c < static_cast<int>(anchors.size()); ++c) cliques.add(std::span<const int>(&c, 1));
  }
  double energy(std::span<const double> x) const override {
    double sum = 0;
    for (std::size_t c = 0; c < anchors.size(); ++c)
      sum += 0.5 * stiffness[c] * (x[c] - anchors[c]) * (x[c] - anchors[c]);
    return sum;
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    for (std::size_t c = 0; c < anchors.size(); ++c) g[c] += stiffness[c] * (x[c] - anchors[c]);
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    for (std::size_t c = 0; c < anchors.size(); ++c) tangent.add(c, &stiffness[c]);
  }
};

double mean_radius(const Mesh& mesh, std::span<const double> x) {
  double sum = 0;
  for (int n = 0; n < mesh.nodes(); ++n)
    sum += std::hypot(x[2 * static_cast<std::size_t>(n)], x[2 * static_cast<std::size_t>(n) + 1]);
  return sum / mesh.nodes();
}

ContractionSpec hoop_only() {
  ContractionSpec spec;
  spec.hoop_weight = 1;
  spec.diagonal_weight = spec.radial_weight = spec.matrix_modulus_kPa = 0;
  return spec;
}

ContractionSpec all_families() {
  ContractionSpec spec;
  spec.diagonal_weight = 0.3;
  spec.radial_weight = 0.1;
  spec.matrix_modulus_kPa = 0;
  return spec;
}

/// Margin of a ring that rests at `present` under its pull, on springs that are slack at `free_radius`.
RunawayMargin margin_of_ring(double present, double free_radius) {
  const double width = 0.01 * present;
  AnnulusShape shape;
  shape.inner_mm = present - width / 2;
  shape.outer_mm = present + width / 2;
  shape.around = 96;
  shape.layers = 1;
  shape.order = 1;
  const Mesh mesh = annulus(shape);
  const int last = static_cast<int>(mesh.anterior().elements());
  FibrousTissue tissue(mesh.anterior(), 0, last, hoop_directions(mesh, 0, last), tissue_material(hoop_only()));
  std::fill(tissue.fields().fraction.begin(), tissue.fields().fraction.end(), 1.0);
  std::fill(tissue.fields().natural[0].begin(), tissue.fields().natural[0].end(), 0.9);
  const Vector& x = mesh.reference();
  SustainedPull pull(mesh.anterior(), tissue, x);
  // Stiffness per node and anchors such that the present shape is at rest, each node on its own ray.
  Vector force(x.size(), 0.0);
  (void)pull.gradient(x, force);
  NodeSprings springs;
  springs.anchors.resize(x.size());
  springs.stiffness.resize(x.size());
  for (std::size_t n = 0; n < x.size(); n += 2) {
    const double r = std::hypot(x[n], x[n + 1]), inward = (force[n] * x[n] + force[n + 1] * x[n + 1]) / r;
    for (std::size_t c = n; c < n + 2; ++c) {
      springs.anchors[c] = x[c] * free_radius / present;
      springs.stiffness[c] = inward / (r * (free_radius / present - 1));
    }
  }
  RunawayEye eye;
  eye.parts = {&springs};
  eye.dof_of_coordinate = all_free(mesh);
  eye.x = x;
  eye.tolerance_mN = 1e-9;
  eye.pulls.push_back(pull);
  eye.opening_area_mm2 = [&](std::span<const double> at) { return std::pow(mean_radius(mesh, at), 2); };
  eye.first_area_mm2 = free_radius * free_radius;
  return find_runaway(eye);
}

RunawayMargin margin_of(const Scenario& s) {
  Simulation eye(std::make_shared<const Model>(s));
  REQUIRE(eye.advance_to(s.duration_days) == Advance::reached);
  return eye.runaway_margin();
}

Scenario pulling_eye(double modulus_kPa, double strength) {
  Scenario s = quick_eye();
  s.duration_days = 180;
  s.contraction.fibre_modulus_kPa = modulus_kPa;
  s.zonule.strength = strength;
  return s;
}

}  // namespace

TEST_CASE("sustained_pull_is_a_sound_part_and_equals_the_fibres_at_its_start", "[parts][runaway]") {
  AnnulusShape shape;
  shape.around = 12;
  shape.layers = 2;
  const Mesh mesh = annulus(shape);
  const int last = static_cast<int>(mesh.anterior().elements());
  FibrousTissue tissue(mesh.anterior(), 0, last, hoop_directions(mesh, 0, last), tissue_material(all_families()));
  for (std::size_t p = 0; p < tissue.points(); ++p) {
    tissue.fields().fraction[p] = 0.2 + 0.6 * static_cast<double>(p) / static_cast<double>(tissue.points());
    for (auto& natural : tissue.fields().natural) natural[p] = 0.85;
  }
  Vector x = mesh.reference();
  for (std::size_t c = 0; c < x.size(); ++c) x[c] *= 1 + 0.05 * std::sin(static_cast<double>(c));
  SustainedPull pull(mesh.anterior(), tissue, x);
  Vector of_fibres(x.size(), 0.0), of_pull(x.size(), 0.0);
  (void)tissue.gradient(x, of_fibres);
  (void)pull.gradient(x, of_pull);
  for (std::size_t c = 0; c < x.size(); ++c) CHECK(of_pull[c] == Approx(of_fibres[c]).margin(1e-12));
  check_part(pull, x);
  pull.set_factor(2.5);
  check_part(pull, x);
  CHECK(pull.sum_mN_mm(x) == Approx(pull.energy(x) / 2.5));
}

TEST_CASE("a_ring_on_radial_springs_tips_at_a_quarter_of_stiffness_times_radius_squared", "[runaway][closed_forms]") {
  // N = K (R0 - R) under the hoop force N; the sustained pull is proportional to N R, at most K R0^2 / 4.
  const double present = 2.0, free_radius = GENERATE(2.4, 3.0, 3.9);
  const RunawayMargin margin = margin_of_ring(present, free_radius);
  const double expected = free_radius * free_radius / (4 * (free_radius - present) * present);
  constexpr double of_the_parabola = 1e-4;  // relative; the place of the top counts to second order only
  CHECK(margin.end == RunawayEnd::tips);
  CHECK(margin.contraction_factor == Approx(expected).epsilon(of_the_parabola));
}

TEST_CASE("an_eye_that_is_past_the_top_already_has_a_margin_of_one", "[runaway]") {
  const RunawayMargin margin = margin_of_ring(1.0, 2.5);  // shortened below half of the free radius
  CHECK(margin.end == RunawayEnd::tips);
  CHECK(margin.contraction_factor == 1);
}

TEST_CASE("more_contraction_or_less_zonule_leave_a_smaller_margin", "[runaway][simulation]") {
  double last = 1e9;
  for (const double modulus : {100.0, 300.0, 900.0}) {
    const double margin = margin_of(pulling_eye(modulus, 1)).contraction_factor;
    CHECK(margin < last);
    CHECK(margin >= 1);
    last = margin;
  }
  last = 1e9;
  for (const double strength : {1.0, 0.3, 0.1}) {
    const double margin = margin_of(pulling_eye(600, strength)).contraction_factor;
    CHECK(margin < last);
    last = margin;
  }
}

TEST_CASE("margin_does_not_depend_on_the_mesh_nor_on_the_mirror", "[runaway][simulation]") {
  Scenario s = pulling_eye(600, 0.3);
  s.eye = Eye::right;
  s.zonule.strength_by_hour = {{4, 0.1}};
  const double coarse = margin_of(s).contraction_factor;
  CHECK(margin_of(mirrored(s)).contraction_factor == Approx(coarse).epsilon(1e-6));
  s.mesh = {48, 6, 2};
  constexpr double of_the_coarse_mesh = 0.02;
  CHECK(margin_of(s).contraction_factor == Approx(coarse).epsilon(of_the_coarse_mesh));
}

TEST_CASE("asking_for_the_margin_leaves_the_simulation_as_it_is", "[runaway][simulation]") {
  const auto model = std::make_shared<const Model>(pulling_eye(600, 0.3));
  Simulation asked(model), other(model);
  asked.advance_to(90);
  other.advance_to(90);
  (void)asked.runaway_margin();
  asked.advance_to(180);
  other.advance_to(180);
  REQUIRE(asked.positions().size() == other.positions().size());
  CHECK(std::equal(asked.positions().begin(), asked.positions().end(), other.positions().begin()));
}

TEST_CASE("outcomes_say_what_a_margin_means", "[runaway][outcomes]") {
  Scenario s = pulling_eye(900, 0.1);
  Simulation eye(std::make_shared<const Model>(s));
  CHECK(eye.runaway_margin().end == RunawayEnd::nothing_pulls);  // day 0
  REQUIRE(eye.advance_to(180) == Advance::reached);
  const RunawayMargin margin = eye.runaway_margin();
  const Outcomes with = outcomes(eye.history(), margin);
  REQUIRE(with.has("runaway_margin"));
  CHECK(with["runaway_margin"] == margin.contraction_factor);
  CHECK_FALSE(outcomes(eye.history()).has("runaway_margin"));
  RunawayMargin near = margin;
  near.contraction_factor = 1.2;
  CHECK(outcomes(eye.history(), near).has_flag("near_runaway"));
  near.contraction_factor = 1.6;
  CHECK_FALSE(outcomes(eye.history(), near).has_flag("near_runaway"));
  near.end = RunawayEnd::not_followed;
  CHECK_FALSE(outcomes(eye.history(), near).has("runaway_margin"));
  CHECK(outcomes(eye.history(), near).has_flag("runaway_not_followed"));
}
