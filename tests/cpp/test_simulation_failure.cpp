// SPDX-License-Identifier: BSD-3-Clause
// Hard, degenerate and impossible eyes: an answer, a status or a named error, and never a NaN.
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "dead_load.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

/// Every number of a run and of its outcomes is finite, whatever the status.
void check_sound(const History& h) {
  INFO(to_string(h.status()) << ": " << h.message());
  for (const Series& series : h.all_series()) {
    bool finite = true;
    for (const double v : series.values) finite = finite && std::isfinite(v);
    INFO(series.name);
    CHECK(finite);
    CHECK(series.values.size() == h.rows() * series.columns);
  }
  for (const Outcome& outcome : outcomes(h).values) {
    INFO(outcome.name);
    CHECK(std::isfinite(outcome.value));
  }
  CHECK(std::isfinite(h.diagnostics().worst_element_ratio));
  CHECK(std::isfinite(h.diagnostics().residual_mN));
  CHECK_FALSE(h.message().empty());
  CHECK(outcomes(h).has_flag("run_not_completed") == (h.status() != Status::completed));
  for (std::size_t r = 1; r < h.rows(); ++r) CHECK(h.value("day", r) >= h.value("day", r - 1));
  if (h.rows() > 0) CHECK(h.value("day", 0) == 0);
}

History sound(const Scenario& s) {
  History h = simulate(s);
  check_sound(h);
  return h;
}

/// Fibres of 100 MPa that would shrink to a twentieth, everywhere and for ever.
Scenario violent() {
  Scenario s = quick_eye();
  s.contraction.fibre_modulus_kPa = 1e5;
  s.contraction.chronic_signal = 1;
  s.contraction.laying_stretch = 2;
  s.contraction.packing_limit = 0.05;
  s.contraction.band_width_mm.reset();
  return s;
}

void expect_refusal(const Scenario& s, const std::string& path) {
  try {
    (void)simulate(s);
    FAIL("accepted: " << path);
  } catch (const ScenarioError& error) {
    REQUIRE(error.violations().size() == 1);
    CHECK(error.violations().front().path == path);
  }
}

}  // namespace

TEST_CASE("violent_contraction_ends_with_an_answer_or_a_status", "[simulation][failure]") {
  std::vector<Scenario> eyes{violent(), violent(), violent(), violent()};
  eyes[1].contraction.hoop_weight = 0;
  eyes[1].contraction.radial_weight = 1;
  eyes[2].contraction.cells_left_by_hour = {{3, 0}, {4, 0}};
  eyes[2].zonule.strength_by_hour = {{1, 0}, {2, 0}};
  eyes[3].contraction.tissue_thickness_mm = 0.5;
  eyes[3].contraction.matrix_modulus_kPa = 0;
  eyes[3].capsule.compression_fraction = 0.001;
  for (const Scenario& s : eyes) {
    const History h = sound(s);
    REQUIRE(h.rows() > 1);
    // No element is turned inside out to get there.
    CHECK(h.diagnostics().worst_element_ratio > 0);
    CHECK(h.value("opening_area_mm2", h.rows() - 1) < 0.2 * h.value("opening_area_mm2", 0));
  }
}

TEST_CASE("an_eye_without_any_zonule_floats_and_shrinks", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.zonule.strength = 0;
  for (const bool lens : {true, false}) {
    if (!lens) s.lens.reset();
    const History h = sound(s);
    REQUIRE(h.status() == Status::completed);
    for (const double load : h.series("zonule_load_mN").values) CHECK(load == 0);
    CHECK(loss_percent(h, 365) > 30);
    for (const double v : h.series("equator_center_mm").values)
      CHECK(std::abs(v) < 1e-3);  // nothing holds it, nothing moves it
  }
}

TEST_CASE("the_softest_leaf_is_refused_under_pull_and_runs_without", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.capsule.modulus_kPa = 310;  // with a hole it carries a little less than without
  const History pulled = sound(s);
  CHECK(pulled.status() == Status::no_equilibrium);
  CHECK(pulled.rows() == 0);
  CHECK(outcomes(pulled)["completed"] == 0);
  s.capsule.modulus_kPa = 1;
  CHECK_THROWS_AS(simulate(s), ScenarioError);
  s.zonule.pull_mN = 0;
  const History slack = sound(s);
  CHECK(slack.status() == Status::completed);
}

TEST_CASE("a_run_of_no_length_shows_day_0", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.duration_days = 0;
  const History bare = sound(s);
  CHECK(bare.status() == Status::completed);
  CHECK(bare.rows() == 1);
  s.events.push_back({0, RelaxingCuts{{12}, 0.5}});
  const History cut = sound(s);
  REQUIRE(cut.rows() == 2);
  CHECK(cut.value("event_side", 0) == -1);
  CHECK(cut.value("event_side", 1) == 1);
}

TEST_CASE("an_output_interval_longer_than_the_run_gives_first_and_last_day", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.output_every_days = 1000;
  const History h = sound(s);
  REQUIRE(h.rows() == 2);
  CHECK(h.value("day", 1) == 365);
}

TEST_CASE("without_cells_fibres_or_contact_nothing_contracts", "[simulation][failure]") {
  Scenario polished = quick_eye(), limp = quick_eye(), thin = quick_eye(), wide = quick_eye();
  polished.contraction.cells_left = 0;
  limp.contraction.fibre_modulus_kPa = 0;
  thin.contraction.tissue_thickness_mm = 0;
  wide.opening.diameter_mm = 7.2;  // larger than the optic
  for (Scenario* s : {&polished, &limp, &thin, &wide}) {
    s->contraction.matrix_modulus_kPa = 0;
    s->lens->relaxed_fraction = 1;  // else the haptics' relaxation moves the rim a little
    const History h = sound(*s);
    REQUIRE(h.status() == Status::completed);
    CHECK(std::abs(loss_percent(h, 365)) < 1e-3);
  }
  CHECK(outcomes(simulate(polished)).has_flag("no_contraction"));
  CHECK(outcomes(simulate(wide)).has_flag("no_contraction"));
}

TEST_CASE("extreme_but_allowed_shapes_run", "[simulation][failure]") {
  Scenario pinhole = quick_eye(), rag = quick_eye(), long_cut = quick_eye(), coarse = quick_eye(), star = quick_eye();
  pinhole.opening.diameter_mm = 0.5;
  rag.opening.diameter_mm = 9.7;  // a quarter of a millimetre of leaf
  long_cut.events.push_back({30, RelaxingCuts{{12, 5}, 2.2}});
  coarse.mesh = {12, 2, 1};
  for (int k = 1; k <= 12; ++k) star.events.push_back({30, RelaxingCuts{{static_cast<double>(k)}, 0.7}});
  for (Scenario* s : {&pinhole, &rag, &long_cut, &coarse, &star}) {
    s->duration_days = 60;
    CHECK(sound(*s).status() == Status::completed);
  }
}

TEST_CASE("impossible_eyes_are_refused_before_any_work", "[simulation][failure]") {
  Scenario wide = quick_eye(), cut = quick_eye(), late = quick_eye();
  wide.opening.diameter_mm = 11;
  expect_refusal(wide, "opening.diameter_mm");
  cut.events.push_back({30, RelaxingCuts{{12}, 3.0}});
  expect_refusal(cut, "events[0].relaxing_cuts.length_mm");
  late.events.push_back({366, RelaxingCuts{{12}, 0.5}});
  expect_refusal(late, "events[0].day");
}

TEST_CASE("too_few_steps_leave_the_days_reached", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.output_every_days = 1;
  const History whole = sound(s);
  s.numerics.max_steps = 5;
  const History part = sound(s);
  CHECK(part.status() == Status::too_many_steps);
  CHECK(part.diagnostics().steps == 5);
  REQUIRE(part.rows() > 5);
  const double reached = part.diagnostics().last_good_day;
  CHECK(part.value("day", part.rows() - 1) > reached - 1);
  CHECK(part.value("day", part.rows() - 1) <= reached);
  // The same answer as far as it goes.
  for (std::size_t r = 0; r + 1 < part.rows(); ++r)
    CHECK(part.value("opening_area_mm2", r) == whole.value("opening_area_mm2", r));
  const Outcomes o = outcomes(part);
  CHECK(o["completed"] == 0);
  CHECK(o["day"] == part.value("day", part.rows() - 1));
  CHECK_FALSE(o.has("area_loss_365d_percent"));
}

TEST_CASE("a_cancelled_run_keeps_what_it_has", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.events.push_back({20, RelaxingCuts{{12, 6}, 0.6}});
  for (const int calls : {1, 4, 9}) {
    int count = 0;
    double last_told = -1;
    const History h = simulate(s, [&](const Progress& p) {
      CHECK(p.day > last_told);
      CHECK(p.duration_days == 365);
      CHECK(p.opening_area_mm2 > 0);
      last_told = p.day;
      return ++count < calls;
    });
    check_sound(h);
    CHECK(count == calls);  // asked no more after the refusal
    CHECK(h.status() == Status::cancelled);
    CHECK(h.value("day", h.rows() - 1) == last_told);  // the last day reached is kept
    CHECK(h.value("day", 0) == 0);
  }
}

TEST_CASE("an_uncancelled_callback_changes_nothing_and_sees_the_last_day", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.duration_days = 100;
  double last = 0;
  const History told = simulate(s, [&](const Progress& p) {
    last = p.day;
    return true;
  });
  const History untold = simulate(s);
  CHECK(last == 100);
  for (std::size_t k = 0; k < told.all_series().size(); ++k)
    CHECK(told.all_series()[k].values == untold.all_series()[k].values);
}

TEST_CASE("what_the_callback_throws_passes_through", "[simulation][failure]") {
  struct Mine {
    int calls;
  };
  int count = 0;
  const auto thrower = [&](const Progress&) -> bool {
    if (++count == 3) throw Mine{count};
    return true;
  };
  try {
    (void)simulate(quick_eye(), thrower);
    FAIL("nothing was thrown");
  } catch (const Mine& mine) {
    CHECK(mine.calls == 3);
  }
  CHECK_THROWS_WITH(simulate(quick_eye(), [](const Progress&) -> bool { throw std::runtime_error("stop it"); }),
                    "stop it");
}

TEST_CASE("an_event_that_finds_no_rest_keeps_the_days_before_it", "[simulation][failure]") {
  // A bag that is pulled aside loses all that holds it: only metres away the vitreous would.
  Scenario s = quick_eye();
  s.mesh = {12, 2, 2};
  s.zonule.stiffness_mN_per_mm = 5000;
  s.duration_days = 60;
  s.output_every_days = 10;
  ZonuleDamage all;
  for (int hour = 1; hour <= 12; ++hour) all.strength_by_hour[hour] = 0;
  s.events.push_back({30, all});
  s.numerics.max_work = 1e6;  // enough to try everything
  const auto model = std::make_shared<const Model>(s);
  std::vector<checks::DeadLoad::Force> aside;
  for (const int node : model->mesh().equator_nodes()) aside.push_back({2 * node, {20, 0}, {}});
  Simulation simulation(model, {.parts = {std::make_shared<checks::DeadLoad>(aside)}, .law = nullptr});
  (void)simulation.advance_to(60);
  const History h = simulation.history();
  check_sound(h);
  REQUIRE(h.status() == Status::no_equilibrium);
  CHECK(h.value("day", h.rows() - 1) == 30);
  CHECK(h.value("event_side", h.rows() - 1) == -1);
  CHECK(h.rows() == 4);  // 0, 10, 20, and 30 before
  CHECK(h.diagnostics().last_good_day == 30);
  CHECK(h.message().find("day 30") != std::string::npos);
  CHECK(h.message().find("o'clock") != std::string::npos);
}

TEST_CASE("a_ring_far_too_strong_spreads_the_bag_until_it_rests", "[simulation][failure]") {
  // Rods of 0.8 mm, of steel and of a fifth of its stiffness, bent from 20 mm into the bag: the way to their rest is
  // millimetres long, and on the finer mesh the softer one goes through folds of the equator. At rest the bag is nearly
  // as wide as the rod, which is open on one side, and its width is that of the rod, not of the mesh.
  constexpr double mesh_error = 0.015, open_side = 0.13;
  for (const double modulus_kPa : {1e8, 2e7}) {
    std::vector<double> width_mm;
    for (const auto& mesh : {MeshSpec{12, 2, 1}, MeshSpec{24, 4, 2}}) {
      Scenario s = quick_eye();
      s.mesh = mesh;
      s.duration_days = 60;
      TensionRingSpec rod;
      rod.free_diameter_mm = 20;
      rod.wire_diameter_mm = 0.8;
      rod.modulus_kPa = modulus_kPa;
      s.events.push_back({30, rod});
      s.numerics.max_work = 1e6;
      const History h = sound(s);
      REQUIRE(h.status() == Status::completed);
      width_mm.push_back(h.value("equator_diameter_mm", h.rows() - 1));
      CHECK(width_mm.back() == Approx(rod.free_diameter_mm).epsilon(open_side));
    }
    CHECK(width_mm[0] == Approx(width_mm[1]).epsilon(mesh_error));
  }
}

TEST_CASE("an_eye_whose_zonule_all_fails_goes_on_without_it", "[simulation][failure]") {
  Scenario s = quick_eye();
  s.duration_days = 120;
  s.zonule.failure_elongation_mm = 0.3;  // below the stretch at rest
  const History unzipped = sound(s);
  CHECK(unzipped.status() == Status::completed);
  CHECK(unzipped.value("zonule_load_total_mN", unzipped.rows() - 1) == 0);
  s.zonule.failure_elongation_mm.reset();
  for (int hour = 1; hour <= 12; ++hour) s.events.push_back({5.0 * hour, ZonuleDamage{{{hour, 0.0}}}});
  const History damaged = sound(s);
  CHECK(damaged.status() == Status::completed);
  CHECK(damaged.value("zonule_load_total_mN", damaged.rows() - 1) == 0);
  for (int hour = 1; hour <= 12; ++hour)  // each hour goes on its own day
    CHECK(damaged.value("zonule_load_mN", damaged.row_at(5.0 * hour), static_cast<std::size_t>(hour % 12)) < 1e-9);
}

TEST_CASE("a_run_that_takes_too_much_work_says_so_and_keeps_its_days", "[simulation][failure][work]") {
  Scenario s = quick_eye();
  const History whole = sound(s);
  REQUIRE(whole.status() == Status::completed);
  s.zonule.strength = 0.1;
  s.contraction.chronic_signal = 0.4;
  s.numerics.time_tolerance = 1e-7;
  s.output_every_days = 1;
  s.numerics.max_work = 200;
  const History part = sound(s);
  CHECK(part.status() == Status::too_much_work);
  CHECK(part.message().find("numerics.max_work") != std::string::npos);
  CHECK(part.diagnostics().work < 200 + 20);  // and what ends the last equilibrium
  CHECK(part.rows() > 1);
  CHECK(part.value("day", part.rows() - 1) <= part.diagnostics().last_good_day);
}

TEST_CASE("the_search_for_the_unloaded_shape_can_be_cancelled_and_has_a_budget", "[simulation][failure][work]") {
  Scenario s = quick_eye();  // pulled to one side so much that the search is long
  s.zonule.pull_mN = 110;
  s.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}, {7, 0}};
  int asked = 0;
  const History cancelled = simulate(s, [&](const Progress& p) {
    CHECK(p.day == 0);
    ++asked;
    return false;
  });
  CHECK(cancelled.status() == Status::cancelled);
  CHECK(asked == 1);
  CHECK(cancelled.rows() == 0);
  s.numerics.max_work = 100;
  const History spent = simulate(s);
  CHECK(spent.status() == Status::too_much_work);
  CHECK(spent.message().find("numerics.max_work") != std::string::npos);
}
