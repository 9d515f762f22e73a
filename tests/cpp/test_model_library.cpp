// SPDX-License-Identifier: BSD-3-Clause
// What models share changes no digit, and is found again exactly when nothing that determines it has changed.
#include "capsim/model_library.hpp"

#include <catch2/catch.hpp>
#include <thread>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "solve/system_pattern.hpp"

using namespace capsim;

namespace {

Scenario eye() {
  Scenario s;
  s.mesh = {16, 3, 2};
  s.zonule.strength = 0.4;
  s.duration_days = 30;
  return s;
}

std::vector<double> course(const Scenario& s, const std::shared_ptr<ModelLibrary>& library) {
  const History h = simulate(s, {}, library);
  REQUIRE(h.status() == Status::completed);
  const auto area = h.opening_area_mm2();
  return {area.begin(), area.end()};
}

}  // namespace

TEST_CASE("a_model_with_a_library_has_the_digits_of_one_without", "[model][library]") {
  const auto library = std::make_shared<ModelLibrary>();
  Scenario s = eye(), other = eye();
  other.opening.diameter_mm = 4.9;
  const std::vector<double> alone = course(s, nullptr);
  (void)course(other, library);  // leaves its pattern and shape behind
  CHECK(course(s, library) == alone);
  CHECK(course(s, library) == alone);
  CHECK(library->shapes_found() == 1);
  CHECK(library->shapes_searched() == 2);
}

TEST_CASE("a_shape_is_found_again_when_nothing_that_determines_it_has_changed", "[model][library]") {
  const auto library = std::make_shared<ModelLibrary>();
  const auto build = [&](const Scenario& s) { (void)Model(s, {}, false, library); };
  build(eye());
  SECTION("contraction, law, damage, duration, time tolerance, adhesion and creep of lens and ring") {
    Scenario s = eye();
    s.lens->adhesion_kPa_per_mm = 3;
    s.lens->relaxed_fraction = 0.2;
    s.contraction.fibre_modulus_kPa = 900;  // in the force scale of the eye
    s.contraction.cells_left = 0.3;
    s.contraction.law = ContractionKind::active_lock_in;
    s.events.push_back({3, ZonuleDamage{{{3, 0.0}}}});
    s.duration_days = 99;
    s.numerics.time_tolerance = 1e-5;
    s.zonule.failure_elongation_mm = 2;
    build(s);
    CHECK(library->shapes_searched() == 1);
    CHECK(library->shapes_found() == 1);
  }
  SECTION("lens and ring, where the opening is stated without them") {
    Scenario bare = eye();
    bare.opening.measured_under = MeasuredUnder::own_zonule;
    build(bare);
    bare.lens->haptic_force_mN = 0.4;
    bare.tension_ring = TensionRingSpec{};
    build(bare);
    CHECK(library->shapes_searched() == 2);
    CHECK(library->shapes_found() == 1);
  }
  SECTION("each of what determines it") {
    std::vector<Scenario> changed(11, eye());
    changed[0].bag.equator_diameter_mm = 10.4;
    changed[1].opening.diameter_mm = 5.2;
    changed[2].opening.center_mm = {0.1, 0};
    changed[3].capsule.modulus_kPa = 900;
    changed[4].zonule.pull_mN = 20;
    changed[5].zonule.strength_by_hour[4] = 0.1;
    changed[6].mesh.around = 20;
    changed[7].numerics.force_tolerance = 1e-7;
    changed[8].contraction.contact_diameter_mm = 5.9;  // a mesh line lies on the edge
    changed[9].lens->haptic_force_mN = 0.4;
    changed[10].tension_ring = TensionRingSpec{};
    for (const Scenario& s : changed) build(s);
    CHECK(library->shapes_searched() == 12);
    CHECK(library->shapes_found() == 0);
  }
}

TEST_CASE("a_library_holds_no_more_shapes_than_it_was_told", "[model][library]") {
  const auto library = std::make_shared<ModelLibrary>(2);
  std::size_t most = 0;
  for (int i = 0; i < 6; ++i) {
    Scenario s = eye();
    s.opening.diameter_mm = 5 + 0.05 * i;
    (void)Model(s, {}, false, library);
    CHECK(library->shapes_held() <= 2);
    if (i == 2) most = library->memory_bytes();
  }
  CHECK(library->memory_bytes() <= most);
}

TEST_CASE("threads_that_share_a_library_get_the_digits_of_one_thread", "[model][library][thread]") {
  std::vector<Scenario> eyes;
  for (int i = 0; i < 6; ++i) {
    eyes.push_back(eye());
    eyes.back().opening.diameter_mm = 5 + 0.1 * (i % 3);
    eyes.back().contraction.cells_left = i < 3 ? 1.0 : 0.5;
  }
  std::vector<std::vector<double>> alone, together(eyes.size());
  for (const Scenario& s : eyes) alone.push_back(course(s, nullptr));
  const auto library = std::make_shared<ModelLibrary>();
  std::vector<std::thread> threads;
  for (std::size_t t = 0; t < 3; ++t)
    threads.emplace_back([&, t] {
      for (std::size_t i = t; i < eyes.size(); i += 3) {
        const History h = simulate(eyes[i], {}, library);
        const auto area = h.opening_area_mm2();
        together[i].assign(area.begin(), area.end());
      }
    });
  for (std::thread& thread : threads) thread.join();
  for (std::size_t i = 0; i < eyes.size(); ++i) CHECK(together[i] == alone[i]);
}

TEST_CASE("a_pattern_is_found_again_only_for_the_same_couplings", "[library]") {
  PatternStore store;
  SystemCouplings couplings;
  couplings.cliques.add(std::vector<int>{0, 1, 2});
  couplings.cliques.add(std::vector<int>{2, 3});
  couplings.part_cliques = {0};
  couplings.dof = {0, 1, 2, 3};
  couplings.dofs = 4;
  const auto first = store.pattern_of(couplings);
  CHECK(store.pattern_of(couplings) == first);
  SystemCouplings fixed = couplings;
  fixed.dof = {0, -1, 1, 2};
  fixed.dofs = 3;
  CHECK(store.pattern_of(fixed) != first);
  SystemCouplings parts = couplings;
  parts.part_cliques = {0, 1};
  CHECK(store.pattern_of(parts) != first);
  for (int n = 5; n < 60; ++n) {
    SystemCouplings more;
    for (int i = 0; i < n; ++i) {
      more.cliques.add(std::vector<int>{i});
      more.dof.push_back(i);
    }
    more.part_cliques = {0};
    more.dofs = n;
    CHECK(store.pattern_of(more)->row_indices().size() == static_cast<std::size_t>(n));
    CHECK(store.size() <= PatternStore::most_held);
  }
}
