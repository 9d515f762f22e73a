// SPDX-License-Identifier: BSD-3-Clause
// Derivatives by dual numbers, which have no step and no noise: stresses are those of the energies, moduli those of the
// stresses, for every density of leaf and tissue and every law of a membrane.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <vector>

#include "capsim/fibre_remodelling.hpp"
#include "capsim/model.hpp"
#include "dual_number.hpp"
#include "parts/leaf_density.hpp"
#include "parts/tissue_density.hpp"
#include "scenario_samples.hpp"

using namespace capsim;
using namespace capsim::test;
using Numbers = std::vector<double>;

namespace {

/// Some hundred operations, of which some cancel, over the largest modulus or stress of the point.
constexpr double rounding = 1e-12;

// Taut, wrinkled, slack and turned; with shear, and without equal stretches, where a principal frame has no derivative.
const std::array<std::array<double, 4>, 6> deformations{{{1.10, 0.03, -0.02, 1.05},
                                                         {1.15, 0.01, 0.04, 0.80},
                                                         {0.90, 0.02, -0.05, 0.84},
                                                         {0.30, -1.02, 0.98, 0.25},
                                                         {1.02, 0.35, 0.10, 1.20},
                                                         {0.97, -0.20, 0.15, 0.99}}};

Numbers spread(std::size_t n, double mean, double by) {
  Numbers v(n);
  for (std::size_t i = 0; i < n; ++i) v[i] = mean + by * std::sin(1.7 * static_cast<double>(i));
  return v;
}

template <class Density>
void derivatives_are_those_of_dual_numbers(const Density& density, std::size_t points) {
  for (std::size_t p = 0; p < points; p += 7)
    for (const auto& f : deformations) {
      Tensor p_of_f;
      density.stress(surface::OnePoint{p}, tensor(f), p_of_f);
      const double stress[4] = {p_of_f.xx, p_of_f.xy, p_of_f.yx, p_of_f.yy};
      Moduli<double> moduli;
      density.tangent(surface::OnePoint{p}, tensor(f), Curvature::exact, moduli);
      double largest = 0, largest_modulus = 0;
      for (int i = 0; i < 4; ++i) largest = std::max(largest, std::abs(stress[i]));
      for (const double a : moduli.value) largest_modulus = std::max(largest_modulus, std::abs(a));
      for (int j = 0; j < 4; ++j) {
        const auto entry = [&](int i) { return Dual(f[static_cast<std::size_t>(i)], i == j ? 1.0 : 0.0); };
        const TensorOf<Dual> moved{entry(0), entry(1), entry(2), entry(3)};
        TensorOf<Dual> by_moved;
        const Dual energy = density.energy(DualPoint{p}, moved);
        density.stress(DualPoint{p}, moved, by_moved);
        const Dual moved_stress[4] = {by_moved.xx, by_moved.xy, by_moved.yx, by_moved.yy};
        CHECK(std::abs(energy.d - stress[j]) <= rounding * (largest + largest_modulus));
        for (int i = 0; i < 4; ++i) CHECK(std::abs(moved_stress[i].d - moduli(i, j)) <= rounding * largest_modulus);
      }
    }
}

template <class Response>
void response_is_consistent(const Response& response, double l1, double l2) {
  using membrane_law::Derivatives;
  const auto r = response.template operator()<Derivatives::second>(l1, l2);
  const auto by1 = response.template operator()<Derivatives::first>(Dual(l1, 1), Dual(l2));
  const auto by2 = response.template operator()<Derivatives::first>(Dual(l1), Dual(l2, 1));
  const double scale = rounding * (std::abs(r.w11) + std::abs(r.w22) + std::abs(r.w12) + std::abs(r.w1));
  CHECK(std::abs(by1.w.d - r.w1) <= scale);
  CHECK(std::abs(by2.w.d - r.w2) <= scale);
  CHECK(std::abs(by1.w1.d - r.w11) <= scale);
  CHECK(std::abs(by2.w1.d - r.w12) <= scale);
  CHECK(std::abs(by1.w2.d - r.w12) <= scale);
  CHECK(std::abs(by2.w2.d - r.w22) <= scale);
  CHECK(std::abs((r.w1 - r.w2) - r.flip * 0.5 * (l1 - l2)) <= scale);
}

}  // namespace

TEST_CASE("membrane_laws_have_the_derivatives_of_dual_numbers", "[parts][dual]") {
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung}) {
    Membrane m;
    m.law = law;
    for (const auto& [l1, l2] : {std::pair{1.2, 1.05}, {1.1, 0.8}, {0.95, 0.9}, {1.3, 0.6}}) {
      response_is_consistent([&]<membrane_law::Derivatives order, class T>(
                                 const T& a, const T& b) { return membrane_law::full<order>(m, a, b); },
                             l1, l2);
      response_is_consistent([&]<membrane_law::Derivatives order, class T>(
                                 const T& a, const T& b) { return membrane_law::blended<order>(m, a, b); },
                             l1, l2);
    }
  }
}

TEST_CASE("what_cells_shorten_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  for (const double stretch : {0.5, 0.87, 0.9, 0.93, 1.4}) {
    const PulledLength<double> at(stretch, 0.9);
    const PulledLength<Dual> moved(Dual(stretch, 1), 0.9);
    CHECK(moved.length.d == Approx(at.slope).epsilon(rounding).margin(rounding));
    CHECK(moved.slope.d == Approx(at.bend).epsilon(1e-10).margin(rounding));  // 1 - above / root cancels
  }
}

TEST_CASE("leaves_have_the_derivatives_of_dual_numbers", "[parts][dual]") {
  constexpr std::size_t points = 29;
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung})
    for (const bool grown : {false, true}) {
      Membrane membrane;
      membrane.law = law;
      const Numbers thickness = spread(points, 0.015, 0.003);
      Numbers growth = spread(4 * points, 0, 0.05);
      for (std::size_t i = 0; i < growth.size(); ++i) growth[i] += i % 4 == 0 || i % 4 == 3 ? 1 : 0;
      derivatives_are_those_of_dual_numbers(LeafDensity{membrane, thickness.data(), grown ? growth.data() : nullptr},
                                            points);
    }
}

TEST_CASE("tissue_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  Scenario s = quick_run();
  s.mesh = {12, 2, 2};
  const Model model(s);
  const std::unique_ptr<FibrousTissue> made = model.make_fibrous_tissue(nullptr);
  REQUIRE(made != nullptr);
  for (const bool sheet : {false, true})
    for (const bool active : {false, true}) {
      const TissueMaterial material{0.05, {3, 1, 1, 1}, 20, sheet ? 200.0 : 0.0};
      FibrousTissue tissue(made->patch(), made->first_element(), made->last_element(), made->hoop(), material);
      FibrousTissue::Fields& fields = tissue.fields();
      const std::size_t n = tissue.points();
      fields.fraction = spread(n, 0.5, 0.3);
      for (auto& v : fields.natural) v = spread(n, 0.97, 0.05);
      if (active) {
        for (auto& v : fields.active) v = spread(n, 0.1, 0.05);
        fields.stall = 0.9;
      }
      if (sheet) {
        fields.natural_sheet[0] = spread(n, 0.95, 0.04);
        fields.natural_sheet[1] = spread(n, 0.0, 0.03);
        fields.natural_sheet[2] = spread(n, 0.9, 0.05);
      }
      derivatives_are_those_of_dual_numbers(TissueDensity{tissue, tissue.fields(), 0}, n);
    }
}
