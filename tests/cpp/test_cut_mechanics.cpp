// SPDX-License-Identifier: BSD-3-Clause
// Radial cuts on a bare leaf: shape after the cut, energy released at the tips, and how fast both
// converge. Inputs, expected values and tolerances come from the evidence file.
//
// What a cut tip allows (measured by the last test below, one cut of 1 mm, quadratic elements):
// near a tip displacements go with the square root of the distance, so on even meshes the area and
// the energy release rate converge with order 1 in the element size, whatever the elements' degree:
// at 0.25 mm the cut's effect on the area is 0.2 % off and the release rate 1.2 %. Elements that shrink
// towards the tip, the smallest with the square of the growth rate, restore order 2: with 340 elements the
// graded mesh is as good as the even one with 3500.
#include <catch2/catch.hpp>
#include <cmath>

#include "comparison.hpp"
#include "cut_annulus.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// Small enough for Hooke's law, large enough that the digits of the positions do.
constexpr double small = 1e-4;
/// Force balance [mN] of the large-strain cases, whose edge carries 10 to 40 mN.
constexpr double balance_mN = 1e-7;

std::vector<RadialCut> even_cuts(int count, double length) {
  std::vector<RadialCut> cuts;
  for (int k = 0; k < count; ++k) cuts.push_back({2 * pi * k / count, length});
  return cuts;
}

/// Elements of 0.015 mm at the tips.
constexpr Fineness fine_at_tips{0.2, 0.015, 0.25, 0.1};

double relative(double value, double expected) { return std::abs(value / expected - 1); }

/// Places of a lip of the first cut and of the rim midway between two cuts against the case's.
void check_rim(const VerificationCase& worked, const CutAnnulus& leaf, Limit limit) {
  const Point lip = leaf.position(leaf.rim_node(0)), midway = leaf.position(leaf.rim_node(pi / 4));
  const auto expected_lip = worked.expected_list("lip_xy_mm");
  compare(worked, "lip, along the cut", "mm", lip[0], expected_lip[0], limit);
  compare(worked, "lip, across the cut", "mm", lip[1], expected_lip[1], limit);
  compare(worked, "radius of the rim midway", "mm", std::hypot(midway[0], midway[1]),
          worked.expected("rim_midway_radius_mm"), limit);
}

/// The leaf of the contracted-rim cases, on springs, before any cut.
std::unique_ptr<CutAnnulus> contracted_rim(double kl, double length, const Fineness& fineness) {
  auto leaf = std::make_unique<CutAnnulus>(LeafShape{}, neo_hookean(1000.0 / 3), even_cuts(4, length), fineness);
  leaf->grow([](double r) { return std::array<double, 2>{1, 1 - 0.3 * std::exp(-(r - 2.5) / 0.6)}; });
  leaf->hang([kl](double) { return kl; }, 6, 1);
  return leaf;
}

/// F = K / (S sqrt(pi c)) of `count` cuts of length `c` at a hole of radius 1 under remote tension, with G = K^2/E.
double intensity_factor(int count, bool uniaxial, double c, const Fineness& fineness) {
  constexpr double modulus = 1000, thickness = 0.015, far = 60, remote = 0.1 * small * modulus;
  CutAnnulus sheet({1, {0, 0}, far, thickness}, hookean(modulus, 0.47), even_cuts(count, c), fineness);
  sheet.load([&](double angle) {  // uniaxial tension is normal to the first cut
    return Point{uniaxial ? 0 : remote * thickness * std::cos(angle), remote * thickness * std::sin(angle)};
  });
  sheet.pin();
  sheet.solve_small(sheet.all_open());
  const double g = sheet.tip_release_mN(0) / thickness;
  return std::sqrt(g * modulus) / (remote * std::sqrt(pi * c));
}

/// Elements of `share` of the cut's length at the tips of a hole's cuts.
Fineness at_hole(double c, double share, double growth) { return {1e9, share * c, growth, pi / 10}; }

}  // namespace

TEST_CASE("four_cuts_of_a_contracted_rim_open_to_the_worked_shape", "[cuts][evidence]") {
  for (const std::string& id : VerificationCase::all("CUT4-BAND")) {
    const VerificationCase worked(id);
    CAPTURE(id, worked.source());
    const auto leaf = contracted_rim(worked.input("kl_mN_per_mm2"), worked.input("L_mm"), fine_at_tips);
    leaf->solve(leaf->all_closed(), balance_mN);
    const Limit limit = relative_to_expected(worked.tolerance("full"));
    compare(worked, "area before the cuts", "mm2", leaf->opening().area_mm2, worked.input("uncut_area_mm2"), limit);
    leaf->solve(leaf->all_open(), balance_mN);
    const OpeningShape shape = leaf->opening();
    CHECK_FALSE(shape.lips_cross);
    compare(worked, "area with the slits", "mm2", shape.area_mm2, worked.expected("full_area_mm2"), limit);
    compare(worked, "area within the rim's arcs", "mm2", leaf->arc_area_mm2(), worked.expected("arc_area_mm2"), limit);
    check_rim(worked, *leaf, within(worked.tolerance("lip")));
  }
}

TEST_CASE("four_cuts_of_a_pulled_leaf_open_to_the_worked_shape", "[cuts][evidence]") {
  for (const std::string& id : VerificationCase::all("CUT4-NH-DISP")) {
    const VerificationCase worked(id);
    CAPTURE(id, worked.source());
    const double b = worked.input("b_mm");
    CutAnnulus leaf({worked.input("a_mm"), {0, 0}, b, 0.015}, neo_hookean(worked.input("mu_kPa")),
                    even_cuts(4, worked.input("L_mm")), fine_at_tips);
    leaf.hold(1.10 * b);
    leaf.solve(leaf.all_open(), balance_mN);
    const Limit limit = relative_to_expected(worked.tolerance("areas"));
    compare(worked, "area with the slits", "mm2", leaf.opening().area_mm2, worked.expected("full_area_mm2"), limit);
    compare(worked, "area within the rim's arcs", "mm2", leaf.arc_area_mm2(), worked.expected("arc_area_mm2"), limit);
    check_rim(worked, leaf, within(worked.tolerance("lip")));
  }
}

TEST_CASE("four_cuts_of_a_linear_leaf_release_the_worked_energy", "[cuts][evidence]") {
  const VerificationCase worked("CUT4-LIN-G");
  CAPTURE(worked.source());
  const double a = worked.input("a_mm"), b = worked.input("b_mm"), h = worked.input("h_mm");
  CutAnnulus leaf({a, {0, 0}, b, h}, hookean(worked.input("E_kPa"), worked.input("nu")),
                  even_cuts(4, worked.input("L_mm")), fine_at_tips);
  leaf.hold(b + small * worked.input("u_b_mm"));
  leaf.pin();
  leaf.solve_small(leaf.all_closed());
  const Limit energy = relative_to_expected(worked.tolerance("U")),
              release = relative_to_expected(worked.tolerance("G")),
              place = relative_to_expected(worked.tolerance("lip"));
  compare(worked, "energy before the cuts", "mN mm", leaf.energy_mNmm() / (small * small), worked.expected("U_uncut"),
          energy);
  leaf.solve_small(leaf.all_open());
  compare(worked, "energy with the cuts", "mN mm", leaf.energy_mNmm() / (small * small),
          worked.expected("U_total_uJ_1e-6J=mN*mm"), energy);
  for (std::size_t k = 0; k < 4; ++k)
    compare(worked, "energy release rate, tip " + std::to_string(k + 1), "mN/mm",
            leaf.tip_release_mN(k) / h / (small * small), worked.expected("G_per_tip_mN_per_mm"), release);
  const Point lip = leaf.position(leaf.rim_node(0)), midway = leaf.position(leaf.rim_node(pi / 4));
  compare(worked, "lip moves along the cut", "mm", (lip[0] - a) / small, worked.expected("lip_ur_mm"), place);
  compare(worked, "lip moves across the cut", "mm", lip[1] / small, worked.expected("lip_ut_mm"), place);
  compare(worked, "rim midway moves", "mm", (std::hypot(midway[0], midway[1]) - a) / small,
          worked.expected("mid_ur_mm"), place);
}

TEST_CASE("cuts_at_a_hole_have_the_stress_intensity_of_the_integral_equation", "[cuts][evidence]") {
  for (const std::string& id : VerificationCase::all("SIF-HOLE")) {
    const VerificationCase worked(id);
    const bool uniaxial = id.find("uni") != std::string::npos;
    const int count = id.back() - '0';
    const auto lengths = worked.inputs("c_over_R"), expected = worked.expected_list("F");
    for (std::size_t i = 0; i < lengths.size(); ++i) {
      compare(worked, "F at c/R = " + Catch::StringMaker<double>::convert(lengths[i]).substr(0, 3), "",
              intensity_factor(count, uniaxial, lengths[i], at_hole(lengths[i], 0.03, 0.4)), expected[i],
              relative_to_expected(worked.tolerance("F")));
    }
  }
}

TEST_CASE("a_very_short_cut_at_a_hole_is_an_edge_crack_under_the_rim_stress", "[cuts][evidence]") {
  const VerificationCase worked("SIF-LIMIT");
  CAPTURE(worked.source());
  for (const bool uniaxial : {false, true}) {
    // Two short lengths, extended to none by a straight line: leaves an error of the second order in c/R.
    constexpr double c = 0.002;
    const double half = intensity_factor(1, uniaxial, c / 2, at_hole(c / 2, 0.02, 0.3)),
                 whole = intensity_factor(1, uniaxial, c, at_hole(c, 0.02, 0.3));
    CAPTURE(uniaxial, half, whole);
    compare(worked, uniaxial ? "F, single pull" : "F, pulled all round", "", 2 * half - whole,
            worked.expected(uniaxial ? "F_uni" : "F_bi"), relative_to_expected(worked.tolerance()));
  }
}

TEST_CASE("energy_release_of_cuts_at_a_hole_is_the_worked_example", "[cuts][evidence]") {
  const VerificationCase worked("SIF-G-EXAMPLE");
  CAPTURE(worked.source());
  const double s = worked.input("S_kPa"), r = worked.input("R_mm"), c = worked.input("c_mm"), e = worked.input("E_kPa");
  for (const int count : {1, 2, 4}) {
    const double f = intensity_factor(count, false, c / r, at_hole(c / r, 0.03, 0.4));
    const double k = f * s * std::sqrt(pi * c);
    const std::string name = "n" + std::to_string(count),
                      cuts = ", " + std::to_string(count) + (count == 1 ? " cut" : " cuts");
    const Limit limit = relative_to_expected(worked.tolerance());
    compare(worked, "stress intensity" + cuts, "kPa sqrt(mm)", k, worked.expected("K_kPa_sqrt_mm", name), limit);
    compare(worked, "energy release rate" + cuts, "mN/mm", k * k / e, worked.expected("G_mN_per_mm", name), limit);
  }
}

TEST_CASE("energy_release_is_the_energy_lost_per_length_at_large_strain", "[cuts]") {
  // Two leaves whose cuts differ by 0.04 mm, on meshes of their own: good for some 0.1 % of the slope.
  constexpr double tolerance = 0.005;
  const auto slope = [](auto&& energy, double length) {
    return (energy(length - 0.02) - energy(length + 0.02)) / 0.04 / 4;
  };
  double release = 0;
  SECTION("in a pulled leaf") {
    const auto energy = [&](double length) {
      CutAnnulus leaf({}, neo_hookean(1000.0 / 3), even_cuts(4, length), fine_at_tips);
      leaf.hold(5.5);
      leaf.solve(leaf.all_open(), balance_mN);
      release = leaf.tip_release_mN(0);
      return leaf.energy_mNmm();
    };
    const double lost = slope(energy, 0.5);
    energy(0.5);
    CHECK(relative(release, lost) < tolerance);
  }
  SECTION("in a band whose contraction fades away from the rim, so that the tip meets another leaf as it grows") {
    for (const double length : {0.5, 1.0}) {
      const auto energy = [&](double l) {
        const auto leaf = contracted_rim(3.0, l, fine_at_tips);
        leaf->solve(leaf->all_open(), balance_mN);
        release = leaf->tip_release_mN(0);
        return leaf->energy_mNmm();
      };
      const double lost = slope(energy, length);
      energy(length);
      CAPTURE(length);
      CHECK(relative(release, lost) < tolerance);
    }
  }
}

TEST_CASE("a_cut_that_is_not_made_changes_nothing", "[cuts]") {
  const auto leaf = contracted_rim(0.5, 1.0, {0.25, 0.1, 0.3, 0.2});
  const auto same = std::make_unique<CutAnnulus>(LeafShape{}, neo_hookean(1000.0 / 3), std::vector<RadialCut>{},
                                                 Fineness{0.1, 0.1, 0, 0.05});
  same->grow([](double r) { return std::array<double, 2>{1, 1 - 0.3 * std::exp(-(r - 2.5) / 0.6)}; });
  same->hang([](double) { return 0.5; }, 6, 1);
  leaf->solve(leaf->all_closed(), balance_mN);
  same->solve(same->all_closed(), balance_mN);
  for (std::size_t k = 0; k < 4; ++k)
    for (const auto& [a, b] : leaf->mesh().lip_nodes(static_cast<int>(k), leaf->cut_layers(k)))
      CHECK(leaf->position(a) == leaf->position(b));
  // The meshes differ: their own errors are about 1e-6.
  CHECK(relative(leaf->opening().area_mm2, same->opening().area_mm2) < 1e-5);
}

TEST_CASE("a_cut_tip_allows_first_order_and_grading_restores_the_second", "[cuts][convergence][evidence]") {
  struct Measured {
    double area_change, release;
  };
  const auto measure = [](const Fineness& fineness) {
    CutAnnulus leaf({}, hookean(1000, 0.47), {{0, 1.0}}, fineness);
    const double before = leaf.opening().area_mm2;
    leaf.hold(5 + 0.1 * small);
    leaf.pin();
    leaf.solve_small(leaf.all_open());
    return Measured{(leaf.opening().area_mm2 - before) / small, leaf.tip_release_mN(0) / (small * small)};
  };
  // Smallest element with the fourth power of the growth rate: the errors of this mesh are about 1e-5.
  const auto graded = [](double g, double finest) { return Fineness{2 * g, finest, g, 0.5 * g}; };
  const Measured limit = measure(graded(0.25, 0.25 * std::pow(0.25, 4)));
  const auto even = [](double size) { return Fineness{size, size, 0, size / 3.5}; };

  std::vector<Measured> even_error, graded_error;
  for (const double size : {0.5, 0.25, 0.125}) {
    const Measured m = measure(even(size));
    even_error.push_back({std::abs(m.area_change - limit.area_change), std::abs(m.release - limit.release)});
  }
  for (const double g : {0.8, 0.4}) {
    const Measured m = measure(graded(g, 0.5 * g * g));
    graded_error.push_back({std::abs(m.area_change - limit.area_change), std::abs(m.release - limit.release)});
  }
  const auto order = [](double coarse, double fine) { return std::log2(coarse / fine); };
  const double even_area = order(even_error[1].area_change, even_error[2].area_change),
               even_release = order(even_error[1].release, even_error[2].release),
               graded_area = order(graded_error[0].area_change, graded_error[1].area_change),
               graded_release = order(graded_error[0].release, graded_error[1].release);
  CAPTURE(limit.area_change, limit.release, even_error[1].area_change, even_error[1].release);
  CAPTURE(even_area, even_release, graded_area, graded_release);
  const std::string root = "theory: displacements go with the square root of the distance from a tip";
  const auto report = [](const std::string& what, const std::string& source, const char* quantity, double order,
                         double expected,
                         Limit limit) { compare({"order", what, source, quantity, "", order, expected, limit}); };
  const std::string even_mesh = "one cut, even mesh", graded_mesh = "one cut, mesh graded towards the tip";
  report(even_mesh, root, "order of the area that the cut gives", even_area, 1, within(0.1));
  report(even_mesh, root, "order of the energy release rate", even_release, 1, within(0.2));
  report(graded_mesh, "smallest element with the square of the growth rate", "order of the area that the cut gives",
         graded_area, 1.8, at_least());
  report(graded_mesh, "smallest element with the square of the growth rate", "order of the energy release rate",
         graded_release, 1.8, at_least());
  CHECK(graded_error[1].area_change < even_error[2].area_change);
}
