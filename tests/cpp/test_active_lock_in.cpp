// SPDX-License-Identifier: BSD-3-Clause
// The law of active lock-in: what its tissue stores, what its cells take up, and that nothing is paid out again.
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <random>

#include "capsim/active_lock_in.hpp"
#include "solve/time_stepper.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

ContractionSpec lock_in() {
  ContractionSpec spec;
  spec.law = ContractionKind::active_lock_in;
  spec.active_tension_mN_per_mm = 6;
  spec.lock_in_per_day = 0.1;
  spec.locked_modulus_kPa = 3000;
  spec.matrix_modulus_kPa = 20;
  spec.packing_limit = 0.3;
  return spec;
}

/// The law with cells and tissue that stay as they are.
ContractionSpec frozen_cells() {
  ContractionSpec spec = lock_in();
  spec.regrowth_per_day = spec.activation_per_day = spec.deactivation_per_day = spec.tissue_per_day = 0;
  return spec;
}

/// Stretches of the four families under the right Cauchy-Green tensor `c` = rr, rh, hh.
std::vector<double> families_of(const std::array<double, 3>& c) {
  return {std::sqrt(c[2]), std::sqrt(0.5 * (c[0] + c[2]) + c[1]), std::sqrt(0.5 * (c[0] + c[2]) - c[1]),
          std::sqrt(c[0])};
}

/// Principal stretches `a` and `b`, the first one `angle` away from the radial direction, squared as a tensor.
std::array<double, 3> squared(double a, double b, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {a * a * c * c + b * b * s * s, (a * a - b * b) * c * s, a * a * s * s + b * b * c * c};
}

/// Elastic log strains of one point: half the logarithms of the eigenvalues of Cg^-1 C, the smaller first.
std::array<double, 2> elastic_log_strains(const std::array<double, 3>& c, const std::array<double, 3>& g) {
  Eigen::Matrix2d total, natural;
  total << c[0], c[1], c[1], c[2];
  natural << g[0], g[1], g[1], g[2];
  Eigen::GeneralizedSelfAdjointEigenSolver<Eigen::Matrix2d> pencil(total, natural);
  return {0.5 * std::log(pencil.eigenvalues()[0]), 0.5 * std::log(pencil.eigenvalues()[1])};
}

/// One point of the law, held at a shape; c, m, f and f Cg.
std::vector<double> held(const ContractionSpec& spec, std::vector<double> state, const std::array<double, 3>& shape,
                         double days) {
  const ActiveLockIn law(spec);
  const std::vector<double> stretches = families_of(shape);
  const auto rate = [&](double day, const std::vector<double>& y, std::vector<double>& dydt) {
    law.rate(day, y, stretches, dydt);
    return true;
  };
  TimeStepper stepper(1e-11, 10);
  REQUIRE(stepper.start(0, state, rate));
  while (stepper.day() < days) REQUIRE(stepper.step(days, rate) == TimeStepper::Outcome::accepted);
  return stepper.state();
}

/// Tissue of this law on the inner layer with random natural states.
FibrousTissue locked_tissue(const Mesh& mesh, const ContractionSpec& spec, unsigned seed) {
  const int last = mesh.plan().around;
  FibrousTissue tissue(mesh.anterior(), 0, last, hoop_directions(mesh, 0, last), tissue_material(spec));
  const std::size_t n = tissue.points();
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> share(0, 1);
  std::vector<double> y(6 * n);
  for (std::size_t p = 0; p < n; ++p) {
    y[n + p] = share(random);
    const double f = y[2 * n + p] = 0.1 + 0.9 * share(random);
    const auto g = squared(0.75 + 0.5 * share(random), 0.75 + 0.5 * share(random), 3 * share(random));
    for (std::size_t i = 0; i < 3; ++i) y[(3 + i) * n + p] = f * g[i];
  }
  ActiveLockIn(spec).apply(y, tissue.fields());
  return tissue;
}

// The smooth packing limit adds softness^2 / (4 (v - limit)) to a natural stretch v: 4e-5 at v = 1.
constexpr double packing_corner = 3e-4;

}  // namespace

TEST_CASE("sheet_with_a_natural_state_meets_every_demand_on_a_part", "[parts][fibrosis][lock_in]") {
  const int order = GENERATE(1, 2);
  const double matrix = GENERATE(0.0, 20.0, 3000.0);
  const Mesh mesh = annulus(of_order(order));
  ContractionSpec spec = lock_in();
  spec.matrix_modulus_kPa = matrix;
  spec.active_radial_share = 0.3;
  FibrousTissue tissue = locked_tissue(mesh, spec, 21);
  CheckOptions options;
  options.force_scale_mN = 1e-2;
  for (const State& state : states) {
    INFO("order " << order << ", matrix " << matrix << ", " << state.name);
    check_part(tissue, stretched(mesh, state.sx, state.sy, state.noise, 22), options);
  }
}

TEST_CASE("packed_cells_stall_and_their_energy_stays_smooth", "[parts][fibrosis][lock_in]") {
  const Mesh mesh = annulus(small);
  ContractionSpec spec = lock_in();
  spec.packing_limit = 0.9;  // the corner lies amid the stretches tried
  spec.locked_modulus_kPa = spec.matrix_modulus_kPa = 0;
  FibrousTissue tissue = locked_tissue(mesh, spec, 23);
  CheckOptions options;
  options.force_scale_mN = 1e-2;
  for (const double stretch : {0.8, 0.9, 1.0}) check_part(tissue, stretched(mesh, stretch, stretch, 0.01, 24), options);
  const double full = tissue.fields().active[0][3];
  REQUIRE(full > 0);
  CHECK(tissue.tension_mN_per_mm(3, 0, 1.3) == Approx(full).epsilon(2e-3));
  CHECK(tissue.tension_mN_per_mm(3, 0, 0.9) == Approx(full / 2));
  CHECK(tissue.tension_mN_per_mm(3, 0, 0.7) < 0.01 * full);
}

TEST_CASE("four_family_stretches_hold_the_whole_right_cauchy_green_tensor", "[fibrosis][lock_in]") {
  const Mesh mesh = annulus(small);
  const FibrousTissue tissue = locked_tissue(mesh, lock_in(), 25);
  const Vector x = stretched(mesh, 1.1, 0.8, 0.1, 26);
  const std::size_t n = tissue.points();
  Vector stretches(fibre_families * n);
  tissue.stretches(x, stretches);
  const int per = mesh.anterior().points_per_element;
  for (std::size_t p = 0; p < n; ++p) {
    const auto f = deformation_gradient(mesh.anterior(), x, static_cast<int>(p) / per, static_cast<int>(p) % per);
    Eigen::Matrix2d deformation, frame;
    deformation << f[0], f[1], f[2], f[3];
    const double hx = tissue.hoop()[2 * p], hy = tissue.hoop()[2 * p + 1];
    frame << hy, hx, -hx, hy;  // columns: radial, hoop
    const Eigen::Matrix2d c = frame.transpose() * deformation.transpose() * deformation * frame;
    const auto found = right_cauchy_green(stretches, n, p);
    CHECK(found[0] == Approx(c(0, 0)).margin(rounding));
    CHECK(found[1] == Approx(c(0, 1)).margin(rounding));
    CHECK(found[2] == Approx(c(1, 1)).margin(rounding));
  }
}

TEST_CASE("held_at_a_shorter_shape_the_elastic_log_strain_falls_exponentially", "[fibrosis][lock_in][closed_forms]") {
  // log Ue -> exp(-zeta m t) log Ue, whatever the directions of shape and natural state.
  const ContractionSpec spec = frozen_cells();
  const double m = 0.6, f = 0.8;
  const std::array<double, 3> natural = squared(1.0, 1.1, 0.3), shape = squared(0.7, 0.85, 1.1);
  const std::vector<double> start{0, m, f, f * natural[0], f * natural[1], f * natural[2]};
  const auto at_first = elastic_log_strains(shape, natural);
  REQUIRE(at_first[1] < 0);
  for (const double days : {5.0, 20.0, 60.0}) {
    const std::vector<double> y = held(spec, start, shape, days);
    const auto strain = elastic_log_strains(shape, {y[3] / f, y[4] / f, y[5] / f});
    const double left = std::exp(-spec.lock_in_per_day * m * days);
    for (std::size_t i = 0; i < 2; ++i) CHECK(strain[i] == Approx(left * at_first[i]).margin(packing_corner));
  }
}

TEST_CASE("held_at_a_longer_shape_nothing_is_paid_out", "[fibrosis][lock_in][closed_forms]") {
  const std::array<double, 3> natural = squared(0.8, 0.9, 0.4), shape = squared(1.0, 1.2, 1.0);
  const std::vector<double> start{0, 0.6, 0.8, 0.8 * natural[0], 0.8 * natural[1], 0.8 * natural[2]};
  CHECK(held(frozen_cells(), start, shape, 200) == start);
}

TEST_CASE("resting_cells_lock_nothing_in", "[fibrosis][lock_in]") {
  const std::array<double, 3> natural = squared(1, 1, 0), shape = squared(0.7, 0.8, 0.2);
  const std::vector<double> start{1, 0, 0.8, 0.8 * natural[0], 0, 0.8 * natural[2]};
  CHECK(held(frozen_cells(), start, shape, 200) == start);
}

TEST_CASE("tissue_laid_on_a_shape_fits_it_without_stress", "[fibrosis][lock_in][closed_forms]") {
  const std::array<double, 3> shape = squared(0.8, 1.15, 0.7);
  const std::vector<double> y = held(lock_in(), {0.9, 0, 0, 0, 0, 0}, shape, 60);
  REQUIRE(y[2] > 0.2);
  for (std::size_t i = 0; i < 3; ++i) CHECK(y[3 + i] / y[2] == Approx(shape[i]).margin(packing_corner));
}

TEST_CASE("natural_lengths_only_ever_shorten", "[fibrosis][lock_in]") {
  // Any history of shapes: in every direction the natural length falls or stays.
  std::mt19937 random(31);
  std::uniform_real_distribution<double> stretch(0.6, 1.4), turn(0, 3);
  std::vector<double> y = held(lock_in(), {0.9, 0, 0, 0, 0, 0}, squared(1.05, 1.1, 0), 10);
  for (int k = 0; k < 12; ++k) {
    const std::vector<double> before = y;
    y = held(lock_in(), y, squared(stretch(random), stretch(random), turn(random)), 10);
    Eigen::Matrix2d drop;
    const auto g = [](const std::vector<double>& s, std::size_t i) { return s[3 + i] / s[2]; };
    drop << g(before, 0) - g(y, 0), g(before, 1) - g(y, 1), g(before, 1) - g(y, 1), g(before, 2) - g(y, 2);
    CHECK(Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d>(drop).eigenvalues()[0] > -packing_corner);
  }
}

TEST_CASE("natural_state_is_positive_definite_and_packed_for_any_state", "[fibrosis][lock_in]") {
  // Tries of a time step may hold anything finite.
  const Mesh mesh = annulus(small);
  const ContractionSpec spec = lock_in();
  FibrousTissue tissue(mesh.anterior(), 0, 6, hoop_directions(mesh, 0, 6), tissue_material(spec));
  const std::size_t n = tissue.points();
  const ActiveLockIn law(spec);
  std::mt19937 random(32);
  std::uniform_real_distribution<double> any(-2, 2), stretch(0.05, 2);
  std::vector<double> y(6 * n), dydt(6 * n), stretches(fibre_families * n);
  for (double& v : y) v = any(random);
  for (double& v : stretches) v = stretch(random);
  law.apply(y, tissue.fields());
  law.rate(3, y, stretches, dydt);
  for (const double v : dydt) CHECK(std::isfinite(v));
  for (std::size_t p = 0; p < n; ++p) {
    Eigen::Matrix2d u;
    u << tissue.fields().natural_sheet[0][p], tissue.fields().natural_sheet[1][p], tissue.fields().natural_sheet[1][p],
        tissue.fields().natural_sheet[2][p];
    CHECK(Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d>(u).eigenvalues()[0] >= spec.packing_limit);
    CHECK(tissue.fields().active[0][p] >= 0);
  }
}

TEST_CASE("the_rate_of_a_point_does_not_depend_on_the_points_beside_it", "[fibrosis][lock_in]") {
  // Four points go together and the rest one by one: the same bits, with no tissue, without cells, and shorter or not.
  const ContractionSpec spec = lock_in();
  const ActiveLockIn law(spec);
  constexpr std::size_t n = 7, variables = 6;
  std::mt19937 random(5);
  std::uniform_real_distribution<double> share(0, 1), stretch(0.6, 1.4);
  std::vector<double> y(variables * n), stretches(fibre_families * n), dydt(variables * n);
  for (double& v : y) v = share(random);
  for (double& v : stretches) v = stretch(random);
  for (std::size_t k = 0; k < variables; ++k) y[k * n + 2] = 0;  // nothing there
  y[2 * n + 5] = 0;                                              // cells, and no tissue yet
  law.rate(3, y, stretches, dydt);
  for (std::size_t p = 0; p < n; ++p) {
    std::vector<double> one(variables), l(fibre_families), rate(variables);
    for (std::size_t k = 0; k < variables; ++k) one[k] = y[k * n + p];
    for (std::size_t k = 0; k < fibre_families; ++k) l[k] = stretches[k * n + p];
    law.rate(3, one, l, rate);
    for (std::size_t k = 0; k < variables; ++k) CHECK(rate[k] == dydt[k * n + p]);
  }
}

TEST_CASE("cells_that_meet_no_resistance_let_go_when_told_to", "[fibrosis][lock_in]") {
  const auto active_after = [](double loss, double shape) {
    ContractionSpec spec = lock_in();
    spec.unloaded_deactivation_per_day = loss;
    spec.lock_in_per_day = 0.001;  // so that the tissue keeps what it carries
    spec.matrix_modulus_kPa = 3000;
    std::vector<double> y = held(spec, {1, 0, 0, 0, 0, 0}, squared(1, 1, 0), 40);
    return held(spec, y, squared(1, shape, 0), 20)[1];
  };
  CHECK(active_after(0.1, 0.9) < 0.7 * active_after(0, 0.9));   // the tissue takes the pull itself
  CHECK(active_after(0.1, 1.0) > 0.97 * active_after(0, 1.0));  // the pull is passed on
}
