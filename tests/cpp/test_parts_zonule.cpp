// SPDX-License-Identifier: BSD-3-Clause
// Zonule and vitreous backing against what part.hpp demands, and the loads they carry.
#include "capsim/backing.hpp"
#include "capsim/zonule.hpp"
#include "dead_load.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

TEST_CASE("zonule_derivatives_agree_with_differences", "[parts][zonule]") {
  const int order = GENERATE(1, 2);
  const ZonuleAttachment attachment = GENERATE(ZonuleAttachment::equator, ZonuleAttachment::split);
  AnnulusShape shape = of_order(order);
  shape.inner_center_mm = {0.6, -0.3};  // so that an insertion line crosses layer lines
  const Mesh mesh = annulus(shape);
  ZonuleSpec spec;
  spec.attachment = attachment;
  spec.strength_by_hour = {{4, 0.2}, {5, 0.0}};
  Zonule zonule(zonule_bundles(mesh, mesh.reference(), spec, 5.0));
  CheckOptions options;
  options.force_scale_mN = 1e-3;
  for (const double scale : {0.95, 1.0, 1.08}) {  // all taut; the same; some slack
    INFO("order " << order << ", split " << (attachment == ZonuleAttachment::split) << ", scale " << scale);
    check_part(zonule, stretched(mesh, scale, 1.01 * scale, 0.1, 16), options);
  }
}

TEST_CASE("a_slack_bundle_carries_no_load", "[parts][zonule]") {
  const Mesh mesh = annulus(small);
  Zonule zonule(zonule_bundles(mesh, mesh.reference(), ZonuleSpec{}, 5.0));
  const Vector x = stretched(mesh, 1.1, 1.1, 0.0, 0);  // the equator 0.5 mm out, the bundles give way at 0.4
  for (const Zonule::Bundle& bundle : zonule.bundles()) {
    CHECK(zonule.elongation_mm(bundle, x) < 0);
    CHECK(zonule.tension_mN(bundle, x) == 0);
  }
  CHECK(zonule.energy(x) == 0);
  CHECK(as_eigen(gradient_of(zonule, x)).cwiseAbs().maxCoeff() == 0);
  CHECK(hessian_of(zonule, x, Curvature::exact).cwiseAbs().maxCoeff() == 0);
  for (const double load : zonule.load_by_hour_mN(x)) CHECK(load == 0);
}

TEST_CASE("a_failed_bundle_carries_no_load_and_does_not_heal", "[parts][zonule]") {
  const Mesh mesh = annulus(small);
  Zonule zonule(zonule_bundles(mesh, mesh.reference(), ZonuleSpec{}, 5.0));
  const Vector x = stretched(mesh, 0.8, 1.0, 0.0, 0);  // 3 and 9 o'clock pulled 1 mm further
  const int failed = zonule.fail_beyond(1.0, x);
  CHECK(failed > 0);
  CHECK(failed < static_cast<int>(zonule.bundles().size()));
  CHECK(zonule.fail_beyond(1.0, x) == 0);
  zonule.set_strength(ZonuleSpec{});
  int without = 0;
  for (const Zonule::Bundle& bundle : zonule.bundles())
    if (zonule.tension_mN(bundle, x) == 0) ++without;
  CHECK(without == failed);
}

TEST_CASE("loads_are_told_by_the_clock_hour_they_act_at", "[parts][zonule]") {
  AnnulusShape shape = small;
  shape.around = 24;
  const Mesh mesh = annulus(shape);
  for (const int hour : {1, 4, 9, 12}) {
    ZonuleSpec spec;
    spec.strength = 0;
    spec.strength_by_hour = {{hour, 1.0}};
    const Zonule zonule(zonule_bundles(mesh, mesh.reference(), spec, 5.0));
    const auto load = zonule.load_by_hour_mN(mesh.reference());
    double elsewhere = 0;
    for (int k = 0; k < 12; ++k)
      if (k != hour % 12) elsewhere += load[static_cast<std::size_t>(k)];
    CHECK(load[static_cast<std::size_t>(hour % 12)] == Approx(spec.pull_mN / 12).epsilon(0.01));
    CHECK(elsewhere <= 0.01 * spec.pull_mN / 12);  // bundles that straddle the hour's edge
    // And it pulls that way: the gradient points inward, so the force on the bag is its opposite.
    Vector g(mesh.reference().size(), 0.0);
    zonule.gradient(mesh.reference(), g);
    Point pull{0, 0};
    for (std::size_t i = 0; i < g.size(); i += 2) pull = {pull[0] - g[i], pull[1] - g[i + 1]};
    CHECK(std::abs(angle_difference(std::atan2(pull[1], pull[0]), angle_of_hour(hour))) < 0.01);
  }
}

TEST_CASE("zonule_stiffness_and_pull_add_up_to_the_stated_totals", "[parts][zonule]") {
  const int order = GENERATE(1, 2);
  AnnulusShape shape = of_order(order);
  shape.around = 48;
  const Mesh mesh = annulus(shape);
  ZonuleSpec spec;
  spec.pull_mN = 60;
  const Zonule zonule(zonule_bundles(mesh, mesh.reference(), spec, 5.0));
  // Chords of a 4-node mesh lie inside the circle, where the bundles are longer.
  const double chord = order == 1 ? spec.stiffness_mN_per_mm * 5.0 * (1 - std::cos(pi / 48)) / spec.pull_mN : 1e-5;
  CHECK(zonule.radial_pull_mN(mesh.reference(), {0, 0}) == Approx(spec.pull_mN).epsilon(chord));
  Vector x = mesh.reference();
  for (double& v : x) v *= 1.001;
  CHECK((zonule.radial_pull_mN(mesh.reference(), {0, 0}) - zonule.radial_pull_mN(x, {0, 0})) / 0.005 ==
        Approx(spec.stiffness_mN_per_mm).epsilon(0.003));
  double by_hour = 0, by_bundle = 0;
  for (const double load : zonule.load_by_hour_mN(x)) by_hour += load;
  for (const Zonule::Bundle& bundle : zonule.bundles()) by_bundle += zonule.tension_mN(bundle, x);
  CHECK(by_hour == Approx(by_bundle).epsilon(rounding));
}

TEST_CASE("vitreous_backing_derivatives_agree_with_differences", "[parts][backing]") {
  const Mesh mesh = annulus(small);
  std::vector<double> rest;
  for (const int n : mesh.equator_nodes())
    for (std::size_t k = 0; k < 2; ++k) rest.push_back(mesh.reference()[2 * static_cast<std::size_t>(n) + k]);
  Backing backing(mesh.equator_nodes(), rest, 0.02);
  const Vector x = stretched(mesh, 1.02, 0.97, 0.02, 31, 0);
  check_part(backing, x);
  // A shift of the whole bag by 1 mm meets the total stiffness.
  Vector shifted = mesh.reference(), g(mesh.reference().size(), 0.0);
  for (std::size_t i = 0; i < shifted.size(); i += 2) shifted[i] += 1;
  backing.gradient(shifted, g);
  double total = 0;
  for (std::size_t i = 0; i < g.size(); i += 2) total += g[i];
  CHECK(total == Approx(0.02).epsilon(1e-12));
}

TEST_CASE("the_dead_load_of_the_tests_is_a_sound_part", "[parts][tests]") {
  const Mesh mesh = annulus(small);
  DeadLoad load = equator_traction(mesh, [](double angle) { return Point{std::cos(2 * angle), 0.3}; });
  check_part(load, stretched(mesh, 1.1, 0.9, 0.05, 41));
}
