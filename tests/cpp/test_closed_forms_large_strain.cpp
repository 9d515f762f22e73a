// SPDX-License-Identifier: BSD-3-Clause
// The neo-Hookean annulus at large strain: stretched at its edge, and shrunk by growth against a
// support. The expected values come from shooting solutions and from other solvers (evidence file).
#include <catch2/catch.hpp>
#include <cmath>

#include "comparison.hpp"
#include "loaded_annulus.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

AnnulusShape shape_of(const VerificationCase& with) {
  AnnulusShape shape;
  shape.inner_mm = with.input("a_mm");
  shape.outer_mm = with.input("b_mm");
  shape.around = 96;
  shape.layers = 12;
  shape.lines = growing_radii(shape.inner_mm, shape.outer_mm, shape.layers);
  return shape;
}

void check_growth(const VerificationCase& with, const AnnulusShape& shape, Loads loads) {
  INFO(with.source());
  loads.foundation = with.input("kl_mN_per_mm2");
  const LoadedAnnulus annulus(shape, neo_hookean(with.input("mu_kPa")), with.input("h_mm"));
  const Solved solved = annulus.solve(loads);
  REQUIRE(solved.converged);
  const double rim = annulus.mean_radius(solved.x, false), outer = annulus.mean_radius(solved.x, true);
  const Limit limit = within(with.tolerance("abs"));
  compare(with, "radius of the rim", "mm", rim, with.expected("r_a_mm"), limit);
  compare(with, "radius of the equator", "mm", outer, with.expected("r_b_mm"), limit);
  const double area_ratio = rim * rim / (shape.inner_mm * shape.inner_mm);
  compare(with, "share of the area left", "", area_ratio, with.expected("area_ratio"),
          relative_to_expected(2 * with.tolerance("abs") / rim));
}

}  // namespace

TEST_CASE("opening_of_a_stretched_neo_hookean_annulus_follows_the_shooting_solution",
          "[closed_forms][evidence][capsule]") {
  for (const double stretch : {1.02, 1.10}) {  // the cases' names say by how much
    const VerificationCase with(stretch < 1.05 ? "NH-DISP-1.02" : "NH-DISP-1.10");
    INFO(with.source());
    const AnnulusShape shape = shape_of(with);
    const double h = 0.015;  // any: forces are per thickness here
    const LoadedAnnulus annulus(shape, neo_hookean(with.input("mu_kPa")), h);
    Loads loads;
    loads.hold_outer_at = stretch;
    for (const double& r : annulus.mesh().reference()) loads.start.push_back(stretch * r);
    const Solved solved = annulus.solve(loads);
    REQUIRE(solved.converged);
    compare(with, "radius of the rim", "mm", annulus.mean_radius(solved.x, false), with.expected("r_a_mm"),
            within(with.tolerance("abs")));
    const double stress = solved.outer_force_mN / (2 * pi * shape.outer_mm * h);
    compare(with, "stress at the equator", "kPa", stress, with.expected("P_r_b_kPa"),
            relative_to_expected(with.tolerance("rel")));
  }
}

TEST_CASE("a_taut_leaf_does_not_know_its_compressive_fraction", "[closed_forms][evidence][capsule]") {
  const VerificationCase with("NH-DISP-1.10");
  const AnnulusShape shape = shape_of(with);
  Membrane membrane = neo_hookean(with.input("mu_kPa"));
  membrane.compression_fraction = 0;
  const LoadedAnnulus annulus(shape, membrane, 0.015);
  Loads loads;
  loads.hold_outer_at = 1.10;
  for (const double& r : annulus.mesh().reference()) loads.start.push_back(1.10 * r);
  const Solved solved = annulus.solve(loads);
  REQUIRE(solved.converged);
  // The tension field may only act where the full law is compressive: nowhere, so the same answer.
  compare(with, "radius of the rim, with the tension field", "mm", annulus.mean_radius(solved.x, false),
          with.expected("r_a_mm"), within(with.tolerance("abs")));
}

TEST_CASE("isotropic_shrinkage_draws_bag_and_opening_together", "[closed_forms][evidence][capsule]") {
  for (const std::string& id : VerificationCase::all("NH-GROW-ISO-")) {
    const VerificationCase with(id);
    const double g = with.input("g");
    Loads loads;
    loads.growth = [g](double) { return std::array{g, g}; };
    check_growth(with, shape_of(with), loads);
  }
}

TEST_CASE("hoop_shrinkage_closes_the_opening_more_than_the_bag", "[closed_forms][evidence][capsule]") {
  for (const std::string& id : VerificationCase::all("NH-GROW-HOOP-")) {
    const VerificationCase with(id);
    const double g = with.input("g_theta");
    Loads loads;
    loads.growth = [g](double) { return std::array{g, 1.0}; };
    check_growth(with, shape_of(with), loads);
  }
}

TEST_CASE("a_band_that_shrinks_at_the_rim_closes_the_opening_against_the_support",
          "[closed_forms][evidence][capsule]") {
  for (const std::string& id : VerificationCase::all("NH-GROW-BAND-")) {
    const VerificationCase with(id);
    const double a = with.input("a_mm");
    Loads loads;  // depth and width of the band stand in the case's description
    loads.growth = [a](double r) { return std::array{1 - 0.3 * std::exp(-(r - a) / 0.6), 1.0}; };
    check_growth(with, shape_of(with), loads);
  }
}
