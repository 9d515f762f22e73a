// SPDX-License-Identifier: BSD-3-Clause
// The capsule's two laws in principal stretches: derivatives, closed forms of uniaxial and biaxial
// pulls, the tension field as the envelope of the full law, and the thickness profile.
#include <catch2/catch.hpp>
#include <cmath>

#include "capsim/capsule.hpp"
#include "part_checks.hpp"
#include "verification_case.hpp"

using namespace capsim;
using capsim::checks::difference;

namespace {

Membrane membrane_of(CapsuleLaw law, double compression = 0.05) {
  Membrane membrane{CapsuleSpec{}};
  membrane.law = law;
  membrane.compression_fraction = compression;
  return membrane;
}

const CapsuleLaw laws[] = {CapsuleLaw::neo_hookean, CapsuleLaw::fung};

struct Stretches {
  double l1, l2;
};
const Stretches taut[] = {{1.001, 1.0}, {1.1, 1.05}, {1.2, 0.97}, {1.4, 1.4}, {1.05, 0.99}};
const Stretches wrinkled[] = {{1.01, 0.9}, {1.1, 0.8}, {1.3, 0.6}, {1.2, 0.2}};
const Stretches slack[] = {{0.999, 0.99}, {0.9, 0.7}, {0.6, 0.3}};

/// Differences over 1e-4 of fourth order in a law of length scale 1.
constexpr double step = 1e-4, derivative_tolerance = 1e-8;

}  // namespace

TEST_CASE("stresses_and_moduli_of_a_law_are_derivatives_of_its_energy", "[capsule]") {
  for (const CapsuleLaw law : laws)
    for (const double compression : {0.0, 0.05, 1.0}) {
      const Membrane m = membrane_of(law, compression);
      const auto check = [&](auto&& response, Stretches s) {
        INFO("law " << static_cast<int>(law) << ", compression " << compression << ", stretches " << s.l1 << " "
                    << s.l2);
        const StretchResponse w = response(s.l1, s.l2);
        const double scale = derivative_tolerance * (m.small_strain_modulus_kPa() + std::abs(w.w11) + std::abs(w.w22));
        CHECK(std::abs(w.w1 - difference(step, [&](double d) { return response(s.l1 + d, s.l2).w; })) <= scale);
        CHECK(std::abs(w.w2 - difference(step, [&](double d) { return response(s.l1, s.l2 + d).w; })) <= scale);
        CHECK(std::abs(w.w11 - difference(step, [&](double d) { return response(s.l1 + d, s.l2).w1; })) <= scale);
        CHECK(std::abs(w.w12 - difference(step, [&](double d) { return response(s.l1, s.l2 + d).w1; })) <= scale);
        CHECK(std::abs(w.w12 - difference(step, [&](double d) { return response(s.l1 + d, s.l2).w2; })) <= scale);
        CHECK(std::abs(w.w22 - difference(step, [&](double d) { return response(s.l1, s.l2 + d).w2; })) <= scale);
      };
      const auto full = [&](double a, double b) { return m.full(a, b); };
      const auto relaxed = [&](double a, double b) { return m.relaxed(a, b); };
      const auto blended = [&](double a, double b) { return m.blended(a, b); };
      for (const auto& group : {std::vector<Stretches>(std::begin(taut) + 1, std::end(taut)),
                                std::vector<Stretches>(std::begin(wrinkled), std::end(wrinkled)),
                                std::vector<Stretches>(std::begin(slack), std::end(slack))})
        for (const Stretches& s : group) {
          check(full, s);
          check(relaxed, s);
          check(blended, s);
        }
    }
}

TEST_CASE("a_leaf_is_slack_wrinkled_or_taut_as_its_stresses_say", "[capsule]") {
  for (const CapsuleLaw law : laws) {
    const Membrane m = membrane_of(law);
    for (const auto& [l1, l2] : taut) CHECK(taut_state(m, l1, l2) == TautState::taut);
    for (const auto& [l1, l2] : wrinkled) CHECK(taut_state(m, l1, l2) == TautState::wrinkled);
    for (const auto& [l1, l2] : slack) CHECK(taut_state(m, l1, l2) == TautState::slack);
    // Everywhere: taut where both principal stresses of the full law are tensile.
    for (double l1 = 1.002; l1 < 1.5; l1 += 0.013)
      for (double l2 = 0.5; l2 < l1; l2 += 0.017)
        CHECK((taut_state(m, l1, l2) == TautState::taut) == (m.full(l1, l2).w2 >= 0));
  }
}

TEST_CASE("relaxed_energy_is_the_least_energy_over_wrinkling", "[capsule]") {
  // Wrinkles let the leaf be narrower than its material: the energy is the least over wider material.
  for (const CapsuleLaw law : laws) {
    const Membrane m = membrane_of(law);
    for (const auto& group : {std::vector<Stretches>(std::begin(taut), std::end(taut)),
                              std::vector<Stretches>(std::begin(wrinkled), std::end(wrinkled)),
                              std::vector<Stretches>(std::begin(slack), std::end(slack))})
      for (const auto& [l1, l2] : group) {
        double least = m.full(l1, l2).w;
        for (int i = 0; i <= 500; ++i)
          for (int j = 0; j <= 500; ++j) {
            const double a = l1 + (std::max(l1, 1.0) - l1) * i / 500, b = l2 + (std::max(l1, 1.0) - l2) * j / 500;
            if (b <= a) least = std::min(least, m.full(a, b).w);
            if (a == l1 && l1 >= 1 && i > 0) break;
          }
        INFO("law " << static_cast<int>(law) << ", stretches " << l1 << " " << l2);
        // The grid is 1/500 wide, so its least value is up to E/2 (1/1000)^2 too large.
        CHECK(m.relaxed(l1, l2).w <= least + 1e-12);
        CHECK(least - m.relaxed(l1, l2).w <= 2e-6 * m.small_strain_modulus_kPa());
      }
  }
}

TEST_CASE("the_tension_field_joins_its_three_states_without_a_step_in_stress", "[capsule]") {
  for (const CapsuleLaw law : laws) {
    const Membrane m = membrane_of(law, 0);
    const auto close = [&](const StretchResponse& a, const StretchResponse& b) {
      CHECK(std::abs(a.w - b.w) <= 1e-7 * m.small_strain_modulus_kPa());
      CHECK(std::abs(a.w1 - b.w1) <= 1e-5 * m.small_strain_modulus_kPa());
      CHECK(std::abs(a.w2 - b.w2) <= 1e-5 * m.small_strain_modulus_kPa());
    };
    constexpr double d = 1e-6;
    for (const double l1 : {1.05, 1.2, 1.5}) {  // the line between taut and wrinkled
      double low = 0.3, high = l1;
      for (int i = 0; i < 60; ++i)
        (taut_state(m, l1, 0.5 * (low + high)) == TautState::taut ? high : low) = 0.5 * (low + high);
      CHECK(taut_state(m, l1, low - d) == TautState::wrinkled);
      CHECK(taut_state(m, l1, high + d) == TautState::taut);
      close(m.relaxed(l1, low - d), m.relaxed(l1, high + d));
    }
    for (const double l2 : {0.5, 0.9, 0.999}) close(m.relaxed(1 - d, l2), m.relaxed(1 + d, l2));
  }
}

TEST_CASE("a_pull_in_one_direction_follows_the_textbook", "[capsule]") {
  // Treloar / Rivlin: neo-Hookean uniaxial mu (l - 1/l^2), equibiaxial mu (l - 1/l^5).
  const Membrane m = membrane_of(CapsuleLaw::neo_hookean);
  for (const double l : {1.02, 1.2, 1.7}) {
    CHECK(m.relaxed(l, 1 / std::sqrt(l) - 0.05).w1 == Approx(m.mu_kPa * (l - 1 / (l * l))).epsilon(1e-12));
    CHECK(m.full(l, 1 / std::sqrt(l)).w1 == Approx(m.mu_kPa * (l - 1 / (l * l))).epsilon(1e-12));
    CHECK(m.full(l, l).w1 == Approx(m.mu_kPa * (l - std::pow(l, -5))).epsilon(1e-12));
    CHECK(m.full(l, l).w2 == Approx(m.full(l, l).w1).epsilon(1e-14));
  }
}

TEST_CASE("small_strain_moduli_and_poissons_ratio_are_the_stated_ones", "[capsule]") {
  constexpr double strain = 1e-6;
  for (const CapsuleLaw law : laws) {
    const Membrane m = membrane_of(law);
    CHECK(m.relaxed(1 + strain, 0.99).w1 / strain == Approx(m.small_strain_modulus_kPa()).epsilon(1e-4));
    // Where a free edge lies: the other stretch at which the full law carries nothing across.
    const StretchResponse w = m.full(1, 1);
    CHECK(w.w12 / w.w11 == Approx(law == CapsuleLaw::neo_hookean ? 0.5 : m.a2 / m.a1).epsilon(1e-12));
    CHECK(w.w1 == Approx(0).margin(1e-12));
  }
  CHECK(membrane_of(CapsuleLaw::neo_hookean).small_strain_modulus_kPa() == Approx(CapsuleSpec{}.modulus_kPa));
  // Fisher 1969: Poisson's ratio 0.47; secant modulus of the exponential law 0.83 MPa at 10 % (derived).
  const Membrane fung = membrane_of(CapsuleLaw::fung);
  CHECK(fung.a2 / fung.a1 == Approx(0.47).epsilon(0.002));
  CHECK(fung.relaxed(1.1, 0.9).w1 / 0.1 == Approx(830).epsilon(0.005));
}

TEST_CASE("the_compressive_fraction_is_a_share_of_the_full_law", "[capsule]") {
  for (const CapsuleLaw law : laws)
    for (const double compression : {0.0, 0.05, 0.3, 1.0}) {
      const Membrane m = membrane_of(law, compression);
      for (const auto& [l1, l2] : slack) {
        CHECK(m.blended(l1, l2).w1 == Approx(compression * m.full(l1, l2).w1).margin(1e-12));
        CHECK(m.blended(l1, l2).w == Approx(compression * m.full(l1, l2).w).margin(1e-12));
      }
      for (const auto& [l1, l2] : taut) CHECK(m.blended(l1, l2).w == m.full(l1, l2).w);
      for (const auto& [l1, l2] : wrinkled)
        CHECK(m.blended(l1, l2).w2 == Approx(compression * m.full(l1, l2).w2).margin(1e-12));
    }
}

TEST_CASE("a_leaf_that_is_crushed_pushes_back_ever_harder", "[capsule]") {
  // An exponential law in Green-Lagrange strains pushes most at l = 0.45 and gives way below.
  for (const CapsuleLaw law : laws)
    for (const double l1 : {0.9, 1.0, 1.2}) {
      const Membrane m = membrane_of(law);
      double before = m.full(l1, 0.9).w2;
      for (double l2 = 0.85; l2 > 0.02; l2 -= 0.05) {
        INFO("law " << static_cast<int>(law) << ", stretches " << l1 << " " << l2);
        const double push = m.full(l1, l2).w2;
        CHECK(push < before);
        before = push;
      }
      CHECK(m.full(l1, 0.01).w2 < -100 * m.small_strain_modulus_kPa());
    }
}

TEST_CASE("the_exponential_law_is_that_of_green_lagrange_strains_where_it_is_not_crushed", "[capsule]") {
  const Membrane m = membrane_of(CapsuleLaw::fung);
  const auto green = [&](double l1, double l2) {
    const double e1 = (l1 * l1 - 1) / 2, e2 = (l2 * l2 - 1) / 2;
    return 0.5 * m.c_kPa * std::expm1(m.a1 * (e1 * e1 + e2 * e2) + 2 * m.a2 * e1 * e2);
  };
  for (const double l2 : {1.0, 1.1, 1.3}) CHECK(m.full(1.3, l2).w == Approx(green(1.3, l2)).epsilon(1e-13));
  CHECK(m.full(1.1, 0.9).w == Approx(green(1.1, 0.9)).epsilon(2e-3));
  CHECK(m.full(1.0, 0.7).w == Approx(green(1.0, 0.7)).epsilon(0.03));
}

TEST_CASE("principal_stretches_do_not_depend_on_rotation", "[capsule]") {
  const double l1 = 1.3, l2 = 0.8;
  for (const double a : {0.0, 0.4, 2.0})
    for (const double b : {0.0, 0.7, -1.9}) {
      const double ca = std::cos(a), sa = std::sin(a), cb = std::cos(b), sb = std::sin(b);
      // R(a) diag(l1, l2) R(b)
      const auto l = principal_stretches({ca * l1 * cb - sa * l2 * sb, -ca * l1 * sb - sa * l2 * cb,
                                          sa * l1 * cb + ca * l2 * sb, -sa * l1 * sb + ca * l2 * cb});
      CHECK(l[0] == Approx(l1).epsilon(1e-14));
      CHECK(l[1] == Approx(l2).epsilon(1e-14));
    }
  CHECK(principal_stretches({1, 0, 0, -1})[1] <= 0);  // folded
}

TEST_CASE("thickness_follows_its_profile_and_is_constant_without_one", "[capsule]") {
  CapsuleSpec spec;
  for (const double ratio : {0.0, 0.5, 1.0}) CHECK(anterior_thickness_mm(spec, ratio) == Approx(0.014));
  spec.anterior_thickness_profile = {{0, 14.5}, {0.5, 15.5}, {0.65, 16},
                                     {0.8, 12}, {0.9, 9},    {1, 7}};  // Barraquer 2006
  for (const ThicknessKnot& knot : spec.anterior_thickness_profile)
    CHECK(anterior_thickness_mm(spec, knot.radius_ratio) == Approx(1e-3 * knot.thickness_um));
  CHECK(anterior_thickness_mm(spec, 0.725) == Approx(0.014));  // half way from 16 to 12
  CHECK(anterior_thickness_mm(spec, 1.2) == Approx(0.007));    // beyond the last knot it stays
}
