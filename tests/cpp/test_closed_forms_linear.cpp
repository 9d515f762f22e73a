// SPDX-License-Identifier: BSD-3-Clause
// The annulus of linear elasticity: Lame, Kirsch, Michell, and uniform, zoned and banded active
// stress against an elastic support. The leaf is the library's exponential law, which is Hooke's law
// of plane stress at small strain. Inputs, expected values and tolerances come from the evidence file.
#include <catch2/catch.hpp>
#include <cmath>

#include "comparison.hpp"
#include "loaded_annulus.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// Resolution at which the elements' own error falls below the closed forms' printed digits.
AnnulusShape converged(const VerificationCase& with) {
  AnnulusShape shape;
  shape.inner_mm = with.input("a_mm");
  shape.outer_mm = with.input("b_mm");
  shape.around = 128;
  shape.layers = 16;
  shape.lines = growing_radii(shape.inner_mm, shape.outer_mm, shape.layers);
  return shape;
}

AnnulusShape default_mesh(const VerificationCase& with) {
  AnnulusShape shape = converged(with);
  shape.around = MeshSpec::standard().around;
  shape.layers = MeshSpec::standard().radial;
  shape.lines.clear();
  return shape;
}

LoadedAnnulus body(const VerificationCase& with, const AnnulusShape& shape) {
  return {shape, hookean(with.input("E_kPa"), with.input("nu")), with.input("h_mm")};
}

Loads radial_pull(double per_mm) {
  Loads loads;
  loads.traction = [per_mm](double angle) { return Point{per_mm * std::cos(angle), per_mm * std::sin(angle)}; };
  return loads;
}

/// Sets the support of a case: none, springs, or a clamp when its stiffness is infinite.
void support(const VerificationCase& with, Loads& loads) {
  const double kl = with.input("kl_mN_per_mm2");
  if (std::isinf(kl))
    loads.hold_outer_at = 1;
  else
    loads.foundation = kl;
}

const std::string rim_moves = "rim moves", equator_moves = "equator moves";

/// Radial displacements of both edges against the case's.
void check_edges(const VerificationCase& with, const LoadedAnnulus& annulus, const std::vector<double>& u, Limit limit,
                 const std::string& where = "") {
  compare(with, rim_moves + where, "mm", annulus.radial(u, 0, false), with.expected("u_a_mm"), limit);
  compare(with, equator_moves + where, "mm", annulus.radial(u, 0, true), with.expected("u_b_mm"), limit);
}

/// Hoop stress of the leaf at the rim [kPa], from the three rows of Gauss points of the first element.
double rim_hoop_stress_kPa(const Mesh& mesh, const Membrane& membrane, const std::vector<double>& x) {
  double radius[3], stress[3];
  for (int row = 0; row < 3; ++row) {
    const int point = 3 * row + 1;  // on the element's middle line
    const Point p = mesh.anterior().at(mesh.reference(), 0, point);
    radius[row] = std::hypot(p[0], p[1]);
    const auto f = deformation_gradient(mesh.anterior(), x, 0, point);
    const double tx = -p[1] / radius[row], ty = p[0] / radius[row];
    const double hoop = std::hypot(f[0] * tx + f[1] * ty, f[2] * tx + f[3] * ty);
    const auto [l1, l2] = principal_stretches(f);
    const StretchResponse w = membrane.full(l1, l2);
    stress[row] = std::abs(hoop - l1) < std::abs(hoop - l2) ? w.w1 : w.w2;
  }
  const double rim = std::hypot(mesh.reference()[0], mesh.reference()[1]);
  double at_rim = 0;
  for (int i = 0; i < 3; ++i) {  // Lagrange
    double share = 1;
    for (int j = 0; j < 3; ++j)
      if (j != i) share *= (rim - radius[j]) / (radius[i] - radius[j]);
    at_rim += share * stress[i];
  }
  return at_rim;
}

}  // namespace

TEST_CASE("opening_of_a_pulled_annulus_is_lames", "[closed_forms][evidence][capsule]") {
  const VerificationCase lame("LAME-PULL-FREE");
  INFO(lame.source());
  const Loads loads = radial_pull(lame.input("p0_mN_per_mm"));
  const LoadedAnnulus fine = body(lame, converged(lame));
  const auto u = fine.linear_displacement(loads);
  REQUIRE_FALSE(u.empty());
  check_edges(lame, fine, u, relative_to_expected(lame.tolerance("rel")));
  const LoadedAnnulus standard = body(lame, default_mesh(lame));
  const auto v = standard.linear_displacement(loads);
  check_edges(lame, standard, v, relative_to_expected(lame.tolerance("converged),")), ", standard mesh");
}

TEST_CASE("zonule_shares_the_pull_with_the_leaf_as_lame_says", "[closed_forms][evidence][capsule][zonule]") {
  const VerificationCase lame("LAME-PULL-SPRING");
  INFO(lame.source());
  Loads loads;
  loads.foundation = lame.input("kl_mN_per_mm2");
  loads.pull = lame.input("p0_mN_per_mm");
  const LoadedAnnulus fine = body(lame, converged(lame));
  const auto u = fine.linear_displacement(loads);
  REQUIRE_FALSE(u.empty());
  check_edges(lame, fine, u, relative_to_expected(lame.tolerance("rel")));
  const double traction = (loads.pull - loads.foundation * fine.radial(u, 0, true)) / lame.input("h_mm");
  compare(lame, "radial stress at the equator", "kPa", traction, lame.expected("sigma_r_b_kPa"),
          relative_to_expected(lame.tolerance("rel")));
}

TEST_CASE("isotropic_active_stress_closes_the_opening_until_the_support_is_too_stiff",
          "[closed_forms][evidence][fibrosis]") {
  for (const std::string& id : VerificationCase::all("ACT-ISO-")) {
    const VerificationCase with(id);
    INFO(with.source());
    const double tension = with.input("sigma_a_kPa") * with.input("h_mm");
    Loads loads;
    loads.active = [tension](double) { return std::array{tension, tension}; };
    support(with, loads);
    const LoadedAnnulus annulus = body(with, converged(with));
    const auto u = annulus.linear_displacement(loads);
    REQUIRE_FALSE(u.empty());
    check_edges(with, annulus, u, within(with.tolerance("abs")));
  }
}

TEST_CASE("hoop_active_stress_always_closes_the_opening", "[closed_forms][evidence][fibrosis]") {
  for (const std::string& id : VerificationCase::all("ACT-HOOP-")) {
    const VerificationCase with(id);
    INFO(with.source());
    const double tension = with.input("s_theta_kPa") * with.input("h_mm");
    Loads loads;
    loads.active = [tension](double) { return std::array{tension, 0.0}; };
    support(with, loads);
    const LoadedAnnulus annulus = body(with, converged(with));
    const auto u = annulus.linear_displacement(loads);
    REQUIRE_FALSE(u.empty());
    CHECK(annulus.radial(u, 0, false) < 0);
    check_edges(with, annulus, u, within(with.tolerance("abs")));
  }
}

TEST_CASE("active_stress_in_an_inner_zone_only", "[closed_forms][evidence][fibrosis]") {
  const VerificationCase with("ACT-2ZONE");
  INFO(with.source());
  const double tension = with.input("sigma_a_kPa") * with.input("h_mm"), edge = with.input("c_mm");
  AnnulusShape shape = converged(with);
  const int inside = shape.layers / 2;  // a mesh line on the zone's edge
  shape.lines = growing_radii(shape.inner_mm, edge, inside);
  const auto outside = growing_radii(edge, shape.outer_mm, shape.layers - inside);
  shape.lines.insert(shape.lines.end(), outside.begin() + 1, outside.end());
  Loads loads;
  loads.active = [=](double r) { return r < edge ? std::array{tension, tension} : std::array{0.0, 0.0}; };
  support(with, loads);
  const LoadedAnnulus annulus = body(with, shape);
  const auto u = annulus.linear_displacement(loads);
  REQUIRE_FALSE(u.empty());
  check_edges(with, annulus, u, within(with.tolerance("abs")));
}

TEST_CASE("active_stress_that_fades_from_the_rim", "[closed_forms][evidence][fibrosis]") {
  for (const std::string& id : VerificationCase::all("ACT-BAND-")) {
    const VerificationCase with(id);
    const double a = with.input("a_mm"), width = with.input("w_mm"), h = with.input("h_mm");
    constexpr double at_rim_kPa = 20;  // stated in the case's description
    const auto tension = [=](double r) { return at_rim_kPa * h * std::exp(-(r - a) / width); };
    AnnulusShape shape = converged(with);
    shape.lines.assign(1, a);  // layers that grow with the fading of the band
    for (int k = 1; k <= shape.layers; ++k) {
      const double share = static_cast<double>(k) / shape.layers;
      shape.lines.push_back(a + (shape.outer_mm - a) * (0.2 * share + 0.8 * share * share));
    }
    for (const bool hoop_only : {true, false}) {
      INFO(with.source() << ", hoop only " << hoop_only);
      const std::string kind = hoop_only ? "hoop_" : "iso_";
      Loads loads;
      loads.active = [&](double r) { return std::array{tension(r), hoop_only ? 0.0 : tension(r)}; };
      support(with, loads);
      const LoadedAnnulus annulus = body(with, shape);
      const auto u = annulus.linear_displacement(loads);
      REQUIRE_FALSE(u.empty());
      const std::string active = hoop_only ? ", hoop stress only" : ", isotropic stress";
      compare(with, rim_moves + active, "mm", annulus.radial(u, 0, false), with.expected(kind + "u_a_mm"),
              within(with.tolerance("abs")));
      compare(with, equator_moves + active, "mm", annulus.radial(u, 0, true), with.expected(kind + "u_b_mm"),
              relative_to_expected(with.tolerance("others")));
      // The leaf is compressed and the tissue pulls: what the rim carries is their sum.
      constexpr double small = 1e-2;
      const Solved solved = annulus.solve(loads, small);
      REQUIRE(solved.converged);
      const double leaf =
          rim_hoop_stress_kPa(annulus.mesh(), hookean(with.input("E_kPa"), with.input("nu")), solved.x) / small;
      compare(with, "hoop stress at the rim" + active, "kPa", leaf + at_rim_kPa,
              with.expected(kind + "rim_total_hoop_stress_kPa"), relative_to_expected(with.tolerance("others")));
    }
  }
}

TEST_CASE("a_hole_in_a_wide_sheet_opens_as_kirsch_says", "[closed_forms][evidence][capsule]") {
  const VerificationCase with("HOLE-SHEET");
  INFO(with.source());
  const double a = with.input("a_mm"), e = with.input("E_kPa"), stress = with.input("S_kPa"), h = 0.015;
  // The sheet is cut out at 4 a and loaded there by the tractions that Kirsch's field has there, so
  // that the answer is that of the infinite sheet.
  AnnulusShape shape;
  shape.inner_mm = a;
  shape.outer_mm = 4 * a;
  shape.around = 48;
  shape.layers = 10;
  shape.lines = growing_radii(a, shape.outer_mm, shape.layers);
  const LoadedAnnulus sheet(shape, hookean(e, 0.47), h);
  const double k2 = 1.0 / 16, k4 = k2 * k2;
  const auto biaxial = sheet.linear_displacement(radial_pull(stress * h * (1 - k2)));
  REQUIRE_FALSE(biaxial.empty());
  const Limit limit = relative_to_expected(with.tolerance());
  compare(with, "rim moves, pulled all round", "mm", sheet.radial(biaxial, 0, false), with.expected("u_eqbi_mm"),
          limit);
  compare(with, "stress concentration, pulled all round", "", sheet.radial(biaxial, 0, false) / a * e / stress, 2,
          limit);

  Loads loads;
  loads.traction = [=](double angle) {
    const double normal = 0.5 * stress * h * (1 - k2 + (1 - 4 * k2 + 3 * k4) * std::cos(2 * angle));
    const double shear = -0.5 * stress * h * (1 + 2 * k2 - 3 * k4) * std::sin(2 * angle);
    return Point{normal * std::cos(angle) - shear * std::sin(angle),
                 normal * std::sin(angle) + shear * std::cos(angle)};
  };
  const auto uniaxial = sheet.linear_displacement(loads);
  REQUIRE_FALSE(uniaxial.empty());
  const double mean = sheet.radial(uniaxial, 0, false), second = sheet.radial(uniaxial, 2, false);
  compare(with, "rim moves along a single pull", "mm", mean + second, with.expected("u_uni_0_mm"), limit);
  compare(with, "rim moves square to a single pull", "mm", mean - second, with.expected("u_uni_90_mm"), limit);
  // Hoop strain on the rim, square to the pull: u_r/a + (du_t/dangle)/a; the free rim carries hoop stress
  // only.
  const double hoop_strain = (mean - second - 2 * sheet.hoop(uniaxial, 2, false)) / a;
  compare(with, "stress concentration, single pull", "", hoop_strain * e / stress, 3, limit);
}

TEST_CASE("harmonic_compliances_of_the_annulus_are_michells", "[closed_forms][evidence][capsule]") {
  const VerificationCase with("FOURIER-COMP");
  INFO(with.source());
  AnnulusShape shape = converged(with);
  shape.around = 160;
  shape.layers = 20;
  shape.lines = growing_radii(shape.inner_mm, shape.outer_mm, shape.layers);
  const LoadedAnnulus annulus = body(with, shape);
  const double per_mm = 1 * with.input("h_mm");  // 1 kPa
  for (const int n : {2, 3, 4}) {
    Loads loads;
    loads.mirror_axes = n % 2 == 0 ? 2 : 1;
    loads.traction = [=](double angle) {
      return Point{per_mm * std::cos(n * angle) * std::cos(angle), per_mm * std::cos(n * angle) * std::sin(angle)};
    };
    const auto u = annulus.linear_displacement(loads);
    REQUIRE_FALSE(u.empty());
    const auto expected = with.expected_list("n" + std::to_string(n));
    const Limit limit = within(expected[0] * with.tolerance("rel"));  // of the largest of the four
    const std::string wave = ", wave " + std::to_string(n);
    compare(with, "equator, radial" + wave, "mm", annulus.radial(u, n, true), expected[0], limit);
    compare(with, "equator, hoop" + wave, "mm", annulus.hoop(u, n, true), expected[1], limit);
    compare(with, "rim, radial" + wave, "mm", annulus.radial(u, n, false), expected[2], limit);
    compare(with, "rim, hoop" + wave, "mm", annulus.hoop(u, n, false), expected[3], limit);
  }
}

TEST_CASE("an_uneven_zonule_shifts_and_ovalises_the_opening", "[closed_forms][evidence][fibrosis][zonule]") {
  for (const std::string id : {"FOURIER-COS1", "FOURIER-COS2", "FOURIER-MIXED"}) {
    const VerificationCase with(id);
    INFO(with.source());
    const bool first = id != "FOURIER-COS2", second = id != "FOURIER-COS1";
    const double e1 = first ? with.input("e1") : 0, e2 = second ? with.input("e2") : 0;
    const double tension = with.input("sigma_a_kPa") * with.input("h_mm");
    Loads loads;
    loads.active = [tension](double) { return std::array{tension, tension}; };
    loads.foundation = with.input("k0_mN_per_mm2");
    loads.foundation_factor = [=](double angle) { return 1 + e1 * std::cos(angle) + e2 * std::cos(2 * angle); };
    loads.mirror_axes = first ? 1 : 2;
    const LoadedAnnulus annulus = body(with, converged(with));
    const auto u = annulus.linear_displacement(loads);
    REQUIRE_FALSE(u.empty());
    const Limit limit = within(with.tolerance("abs"));
    for (const bool outer : {false, true}) {
      const std::string name = outer ? "u_b" : "u_a", edge = outer ? "equator, wave " : "rim, wave ";
      if (with.has_expected(name)) {
        const auto expected = with.expected_list(name);
        for (int n = 0; n < static_cast<int>(expected.size()); ++n)
          compare(with, edge + std::to_string(n), "mm", annulus.radial(u, n, outer),
                  expected[static_cast<std::size_t>(n)], limit);
      }
      if (with.has_expected(name + "_n0_n2")) {
        const auto expected = with.expected_list(name + "_n0_n2");
        compare(with, edge + "0", "mm", annulus.radial(u, 0, outer), expected[0], limit);
        compare(with, edge + "2", "mm", annulus.radial(u, 2, outer), expected[1], limit);
      }
    }
  }
}
