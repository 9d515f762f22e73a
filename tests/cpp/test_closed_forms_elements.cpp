// SPDX-License-Identifier: BSD-3-Clause
// The elements themselves: patch test on distorted meshes, Cook's membrane, and the order with which
// the opening converges.
#include <catch2/catch.hpp>
#include <cmath>

#include "capsim/equilibrium.hpp"
#include "capsim/opening.hpp"
#include "comparison.hpp"
#include "dead_load.hpp"
#include "loaded_annulus.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

using Matrix = std::array<double, 4>;  // 11 12 21 22

std::vector<double> mapped(const std::vector<double>& reference, const Matrix& f) {
  std::vector<double> x(reference.size());
  for (std::size_t i = 0; i < x.size(); i += 2) {
    x[i] = f[0] * reference[i] + f[1] * reference[i + 1];
    x[i + 1] = f[2] * reference[i] + f[3] * reference[i + 1];
  }
  return x;
}

/// First Piola-Kirchhoff stress [kPa] of an element's point, by the principal stretches and the
/// polar decomposition: P = R (w1 N1 N1 + w2 N2 N2).
Matrix stress_kPa(const Membrane& membrane, const Matrix& f) {
  const double c11 = f[0] * f[0] + f[2] * f[2], c12 = f[0] * f[1] + f[2] * f[3], c22 = f[1] * f[1] + f[3] * f[3];
  const double angle = 0.5 * std::atan2(2 * c12, c11 - c22), c = std::cos(angle), s = std::sin(angle);
  const auto [l1, l2] = principal_stretches(f);
  const StretchResponse w = membrane.blended(l1, l2);
  const double n[2][2] = {{c, s}, {-s, c}}, force[2] = {w.w1 / l1, w.w2 / l2};
  Matrix p{};
  for (int k = 0; k < 2; ++k)
    for (int i = 0; i < 2; ++i)
      for (int j = 0; j < 2; ++j) p[2 * i + j] += force[k] * (f[2 * i] * n[k][0] + f[2 * i + 1] * n[k][1]) * n[k][j];
  return p;
}

/// An off-centre opening: no two elements alike, none a parallelogram.
AnnulusShape distorted(int order, int posterior_layers) {
  AnnulusShape shape;
  shape.around = 12;
  shape.layers = 3;
  shape.order = order;
  shape.posterior_layers = posterior_layers;
  shape.inner_center_mm = {0.7, -0.4};
  return shape;
}

}  // namespace

TEST_CASE("a_uniform_deformation_is_in_equilibrium_on_any_mesh", "[closed_forms][evidence][mesh][capsule]") {
  // Irons' patch test at large strain: the edges are moved by one matrix, the inside must follow.
  const int order = GENERATE(1, 2);
  const CapsuleLaw law = GENERATE(CapsuleLaw::neo_hookean, CapsuleLaw::fung);
  const Mesh mesh = annulus(distorted(order, 1));
  Membrane membrane;
  membrane.law = law;
  membrane.compression_fraction = 1;
  Leaf anterior = anterior_leaf(mesh, membrane, 0.014), posterior = posterior_leaf(mesh, membrane, 0.005);
  const Matrix f{1.15, 0.08, -0.05, 1.08};
  const std::vector<double> exact = mapped(mesh.reference(), f);
  std::vector<double> x = exact;
  std::vector<int> dof = all_free(mesh);
  for (int c = 0; c < mesh.columns(); ++c)
    for (const int node : {mesh.node(0, c), mesh.node(mesh.rows() - 1, c)})
      for (const int d : {0, 1}) dof[static_cast<std::size_t>(2 * node + d)] = -1;
  for (std::size_t i = 0; i < x.size(); ++i)
    if (dof[i] >= 0) x[i] += 0.02 * std::sin(static_cast<double>(7 * i));  // disturbed inside
  renumber(dof);
  Equilibrium equilibrium;
  equilibrium.set_system({&anterior, &posterior}, dof);
  equilibrium.settings().tolerance_mN = 1e-12;
  REQUIRE(equilibrium.solve(x).converged());
  double worst = 0;
  for (std::size_t i = 0; i < x.size(); ++i) worst = std::max(worst, std::abs(x[i] - exact[i]));
  const VerificationCase patch("PATCH");
  compare(patch,
          std::string("largest distance from a uniform deformation, ") +
              (law == CapsuleLaw::fung ? "exponential" : "neo-Hookean") + " law, " +
              std::to_string(order == 2 ? 8 : 4) + " nodes",
          "mm", worst, 0, within(patch.tolerance() * 5));  // relative to the bag's radius
  const Matrix wanted = stress_kPa(membrane, f);
  for (int e = 0; e < mesh.anterior().elements(); ++e)
    for (int q = 0; q < mesh.anterior().points_per_element; ++q) {
      const Matrix p = stress_kPa(membrane, deformation_gradient(mesh.anterior(), x, e, q));
      for (int k = 0; k < 4; ++k) CHECK(std::abs(p[k] - wanted[k]) <= 1e-9 * std::abs(wanted[0]));
    }
}

TEST_CASE("stress_of_a_small_uniform_strain_is_hookes", "[closed_forms][evidence][capsule]") {
  const VerificationCase with("PATCH");
  const auto strain = with.expected_list("eps"), stress = with.expected_list("sigma_kPa");
  const Membrane membrane = hookean(with.input("E_kPa"), with.input("nu"));
  // The case's displacement gradient (1, 2; -1, 3) times 1e-3, scaled down and back twice and extrapolated.
  const double u[4] = {1e-3, 2e-3, -1e-3, 3e-3};
  CHECK(strain[0] == u[0]);
  CHECK(strain[1] == u[3]);
  CHECK(strain[2] == Approx(0.5 * (u[1] + u[2])));
  const auto at = [&](double s) {
    Matrix p = stress_kPa(membrane, {1 + s * u[0], s * u[1], s * u[2], 1 + s * u[3]});
    for (double& v : p) v /= s;
    return p;
  };
  const Matrix whole = at(1e-2), half = at(0.5e-2);
  const double found[3] = {2 * half[0] - whole[0], 2 * half[3] - whole[3], 2 * half[1] - whole[1]};
  constexpr double printed_digits = 1e-6;
  const char* names[3] = {"stress along x", "stress along y", "shear stress"};
  for (int k = 0; k < 3; ++k)
    compare(with, names[k], "kPa", found[k], stress[static_cast<std::size_t>(k)], relative_to_expected(printed_digits));
}

TEST_CASE("a_finite_rotation_stresses_nothing", "[closed_forms][evidence][capsule]") {
  const int order = GENERATE(1, 2);
  const VerificationCase with("PATCH");
  const double angle = 37 * pi / 180;  // stated in the case's description
  const Mesh mesh = annulus(distorted(order, 1));
  const std::vector<double> x =
      mapped(mesh.reference(), {std::cos(angle), -std::sin(angle), std::sin(angle), std::cos(angle)});
  double worst = 0;
  for (const Membrane& membrane :
       {hookean(with.input("E_kPa"), with.input("nu")), neo_hookean(with.input("E_kPa") / 3)})
    for (const Leaf& leaf : {anterior_leaf(mesh, membrane, 1), posterior_leaf(mesh, membrane, 1)}) {
      std::vector<double> g(x.size(), 0.0);
      CHECK(std::abs(leaf.gradient(x, g)) <= 1e-10);
      for (const double force : g) worst = std::max(worst, std::abs(force));
    }
  compare(with, "largest force after a turn of 37 degrees, " + std::to_string(order == 2 ? 8 : 4) + " nodes", "mN",
          worst, 0, within(with.tolerance() * with.input("E_kPa")));
}

TEST_CASE("cooks_membrane_bends_as_published", "[closed_forms][evidence][capsule]") {
  const VerificationCase with("COOK");
  // A plain grid of the library's 8-node element, laid on the tapered panel by hand.
  constexpr int n = 32, side = 2 * n + 1;
  std::vector<int> grid(side * side, -1);
  std::vector<double> reference;
  for (int i = 0; i < side; ++i)
    for (int j = 0; j < side; ++j) {
      if (i % 2 == 1 && j % 2 == 1) continue;
      grid[static_cast<std::size_t>(i * side + j)] = static_cast<int>(reference.size() / 2);
      const double s = i / (2.0 * n), t = j / (2.0 * n);
      reference.push_back(48 * s);
      reference.push_back((1 - t) * 44 * s + t * (44 + 16 * s));
    }
  const auto at = [&](int i, int j) { return grid[static_cast<std::size_t>(i * side + j)]; };
  AnnulusShape any;
  any.around = 4;
  any.layers = 1;
  Patch patch = annulus(any).anterior();  // for its shape functions
  patch.nodes.clear();
  for (int i = 0; i < 2 * n; i += 2)
    for (int j = 0; j < 2 * n; j += 2)
      patch.nodes.insert(patch.nodes.end(), {at(i, j), at(i + 2, j), at(i + 2, j + 2), at(i, j + 2), at(i + 1, j),
                                             at(i + 2, j + 1), at(i + 1, j + 2), at(i, j + 1)});
  REQUIRE(patch.measure(reference));
  Leaf panel("panel", hookean(with.input("E"), with.input("nu")),
             {{&patch, std::vector<double>(static_cast<std::size_t>(patch.points()), 1.0), {}}});
  std::vector<int> dof(reference.size(), 0);
  for (int j = 0; j < side; ++j)
    if (const int node = at(0, j); node >= 0)
      dof[static_cast<std::size_t>(2 * node)] = dof[static_cast<std::size_t>(2 * node + 1)] = -1;
  renumber(dof);
  const auto height = [&](double shear) {  // of the middle of the right edge, per unit of shear
    std::vector<DeadLoad::Force> forces;
    for (int j = 0; j < side; ++j) {  // Simpson: the consistent load of a quadratic edge
      const double share = (j % 2 == 1 ? 4.0 : j == 0 || j == side - 1 ? 1.0 : 2.0) / (6 * n);
      forces.push_back({2 * at(2 * n, j), {0, shear * share}, {0, 0}});
    }
    DeadLoad load(forces);
    Equilibrium equilibrium;
    equilibrium.set_system({&panel, &load}, dof);
    std::vector<double> x = reference;
    equilibrium.settings().tolerance_mN = 1e-7 * equilibrium.residual(x);
    const bool converged = equilibrium.solve(x).converged();
    const std::size_t middle = static_cast<std::size_t>(2 * at(2 * n, n) + 1);
    return converged ? (x[middle] - reference[middle]) / shear : NAN;
  };
  constexpr double small = 1e-3;  // strains of 1e-4
  const double v = 2 * height(0.5 * small) - height(small);
  compare(with, "middle of the edge moves", "", v, with.expected("v_mid"), relative_to_expected(with.tolerance()));
}

TEST_CASE("the_opening_converges_at_the_order_of_its_elements", "[closed_forms][evidence][mesh]") {
  const VerificationCase lame("LAME-PULL-SPRING"), rates("RATES-LAME");
  const double a = lame.input("a_mm"), b = lame.input("b_mm"), nu = lame.input("nu");
  Loads loads;
  loads.foundation = lame.input("kl_mN_per_mm2");
  loads.pull = lame.input("p0_mN_per_mm");
  // Lame's field A r + B / r through both expected displacements.
  const double ua = lame.expected("u_a_mm"), ub = lame.expected("u_b_mm");
  const double field_b = (ua - ub * a / b) / (1 / a - a / (b * b)), field_a = (ua - field_b / a) / a;
  for (const int order : {1, 2}) {
    std::vector<double> at_rim, area, mean_square, energy;
    for (const double n : rates.inputs("n")) {
      AnnulusShape shape;
      shape.inner_mm = a;
      shape.outer_mm = b;
      shape.layers = static_cast<int>(n);
      shape.around = 8 * shape.layers;  // 2 n per quarter
      shape.order = order;
      const LoadedAnnulus annulus(shape, hookean(lame.input("E_kPa"), lame.input("nu")), lame.input("h_mm"));
      const auto u = annulus.linear_displacement(loads);
      REQUIRE_FALSE(u.empty());
      at_rim.push_back(std::abs(annulus.radial(u, 0, false) - ua));
      // Area that the opening gains, against that of two circles.
      std::vector<Point> rim;
      for (int c = 0; c < annulus.mesh().columns(); ++c) {
        const std::size_t i = 2 * static_cast<std::size_t>(annulus.mesh().node(0, c));
        rim.push_back({annulus.mesh().reference()[i] + u[i], annulus.mesh().reference()[i + 1] + u[i + 1]});
      }
      area.push_back(std::abs(measure_opening(rim, order, false).area_mm2 - pi * (a + ua) * (a + ua)));
      double sum = 0, weight = 0, strain = 0;
      const Patch& patch = annulus.mesh().anterior();
      for (int e = 0; e < patch.elements(); ++e)
        for (int q = 0; q < patch.points_per_element; ++q) {
          const Point p = patch.at(annulus.mesh().reference(), e, q), v = patch.at(u, e, q);
          const double r = std::hypot(p[0], p[1]), exact = (field_a * r + field_b / r) / r;
          const double w = patch.weights[static_cast<std::size_t>(e) * patch.points_per_element + q];
          sum += w * (std::pow(v[0] - exact * p[0], 2) + std::pow(v[1] - exact * p[1], 2));
          weight += w;
          // Strain of the error e: twice its energy density is E / (1 - nu^2) of what is summed here.
          const Matrix g = deformation_gradient(patch, u, e, q);  // of a displacement: its gradient
          const double slope = -2 * field_b / std::pow(r, 4);     // of u_r / r, over r
          const double xx = g[0] - exact - slope * p[0] * p[0], yy = g[3] - exact - slope * p[1] * p[1],
                       xy = 0.5 * (g[1] + g[2]) - slope * p[0] * p[1];
          strain += w * (xx * xx + yy * yy + 2 * nu * xx * yy + 2 * (1 - nu) * xy * xy);
        }
      mean_square.push_back(std::sqrt(sum / weight));
      energy.push_back(std::sqrt(strain));
    }
    const auto observed = [](const std::vector<double>& error) {
      const std::size_t last = error.size() - 2;  // the last but one pair: the last touches the printed digits
      return std::log2(error[last - 1] / error[last]);
    };
    // Orders p + 1 for the field, p for its strains, 2 p for a functional of it such as the rim's place.
    const std::string nodes = order == 2 ? "8 nodes" : "4 nodes";
    const auto report = [&](const char* quantity, const std::vector<double>& error, double least) {
      compare(
          {"order", "uncut annulus, " + nodes, rates.cross_check(), quantity, "", observed(error), least, at_least()});
    };
    report("order of the displacement field", mean_square, order == 2 ? rates.tolerance(">=") : 1.9);
    report("order of its energy", energy, order == 2 ? rates.tolerance("(L2),") : 0.95);
    report("order of the rim's place", at_rim, order == 2 ? rates.tolerance("(energy),") : 1.9);
    report("order of the opening's area", area, order == 2 ? rates.tolerance("(energy),") : 1.9);
    if (order == 2) {
      compare(rates, "order of the displacement field", "", observed(mean_square), rates.tolerance(">="), at_least());
      compare(rates, "order of its energy", "", observed(energy), rates.tolerance("(L2),"), at_least());
      compare(rates, "order of the rim's place", "", observed(at_rim), rates.tolerance("(energy),"), at_least());
    }
  }
}
