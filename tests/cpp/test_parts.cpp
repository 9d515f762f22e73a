// SPDX-License-Identifier: BSD-3-Clause
// Every part and law of the eye against what part.hpp demands, at random states: taut, wrinkled,
// slack, and mixed. A part that is added to the library is added here.
#include <set>

#include "annulus.hpp"
#include "capsim/backing.hpp"
#include "capsim/lens.hpp"
#include "capsim/tension_ring.hpp"
#include "capsim/zonule.hpp"
#include "dead_load.hpp"
#include "part_checks.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

const AnnulusShape small{2.4, 5.0, 6, 2, 2, 1, {}, {{1, 1}}, {0, 0}};

AnnulusShape of_order(int order) {
  AnnulusShape shape = small;
  shape.order = order;
  return shape;
}

/// Positions x -> (sx x, sy y), with every coordinate off by up to `noise`.
Vector stretched(const Mesh& mesh, double sx, double sy, double noise, unsigned seed, std::size_t more = 0) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> spread(-noise, noise);
  Vector x = mesh.reference();
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = (i % 2 == 0 ? sx : sy) * x[i] + spread(random);
  x.resize(x.size() + more, 0.0);
  return x;
}

struct State {
  const char* name;
  double sx, sy, noise;
};
const State states[] = {{"taut", 1.25, 1.2, 0.02},
                        {"wrinkled", 1.2, 0.75, 0.02},
                        {"slack", 0.85, 0.9, 0.02},
                        {"mixed", 1.02, 0.99, 0.12}};

/// How many Gauss points of the anterior leaf are slack, wrinkled, taut.
std::array<int, 3> tally(const Mesh& mesh, const Membrane& membrane, const Vector& x) {
  std::array<int, 3> count{};
  const Patch& patch = mesh.anterior();
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      const auto l = principal_stretches(deformation_gradient(patch, x, e, q));
      ++count[static_cast<std::size_t>(taut_state(membrane, l[0], l[1]))];
    }
  return count;
}

Membrane membrane_of(CapsuleLaw law, double compression) {
  Membrane membrane;
  membrane.law = law;
  membrane.compression_fraction = compression;
  return membrane;
}

std::vector<double> random_growth(std::size_t points, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> spread(-0.1, 0.1);
  std::vector<double> growth;
  for (std::size_t p = 0; p < points; ++p)
    for (const double g : {0.95, 0.0, 0.0, 1.05}) growth.push_back(g + spread(random));
  return growth;
}

/// Tissue on the inner layer, its fields random; families both taut and slack about stretch 1.
FibrousTissue tissue_on(const Mesh& mesh, const ContractionSpec& spec, bool active) {
  const int last = mesh.plan().around;
  FibrousTissue tissue(mesh.anterior(), 0, last, hoop_directions(mesh, 0, last), spec);
  std::mt19937 random(5);
  std::uniform_real_distribution<double> share(0, 1);
  for (double& f : tissue.fields().fraction) f = share(random);
  for (auto& natural : tissue.fields().natural)
    for (double& v : natural) v = 0.7 + 0.6 * share(random);
  if (active)
    for (auto& tension : tissue.fields().active) {
      tension.resize(tissue.points());
      for (double& t : tension) t = 0.3 * share(random);
    }
  return tissue;
}

ContractionSpec four_families() {
  ContractionSpec spec;
  spec.hoop_weight = 0.6;
  spec.diagonal_weight = 0.25;
  spec.radial_weight = 0.15;
  return spec;
}

TensionRing::Wire wire_at(int first_coordinate, double axial) {
  TensionRing::Wire wire;
  wire.first_coordinate = first_coordinate;
  wire.segments = 14;
  wire.segment_length_mm = 6.15 * 290 * pi / 180 / wire.segments;
  wire.natural_curvature_per_mm = 1 / 6.15;
  wire.bending_stiffness_mN_mm2 = 236;
  wire.axial_stiffness_mN = axial;
  wire.creep_fraction = 0.7;
  wire.creep_days = 14;
  return wire;
}

/// The wire on a circle about the origin, gap at 12 o'clock, every coordinate off by up to `noise`.
void put_wire(Vector& x, const TensionRing::Wire& wire, double radius, double noise, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> spread(-noise, noise);
  for (int i = 0; i <= wire.segments; ++i) {
    const double angle = -pi / 2 + (i - 0.5 * wire.segments) * wire.segment_length_mm / radius;
    x[static_cast<std::size_t>(wire.first_coordinate + 2 * i)] = radius * std::cos(angle) + spread(random);
    x[static_cast<std::size_t>(wire.first_coordinate + 2 * i + 1)] =
        radius * std::sin(angle) + spread(random);
  }
}

std::size_t wire_coordinates(const TensionRing::Wire& wire) {
  return 2 * static_cast<std::size_t>(wire.segments + 1);
}

}  // namespace

TEST_CASE("leaf_derivatives_agree_with_differences_taut_wrinkled_and_slack", "[parts][capsule]") {
  const int order = GENERATE(1, 2);
  const CapsuleLaw law = GENERATE(CapsuleLaw::neo_hookean, CapsuleLaw::fung);
  const double compression = GENERATE(0.0, 0.05, 1.0);
  const bool grown = GENERATE(false, true);
  const Mesh mesh = annulus(of_order(order));
  const Membrane membrane = membrane_of(law, compression);
  Leaf leaf = anterior_leaf(mesh, membrane, 0.014);
  if (grown) leaf.regions().front().growth = random_growth(leaf.regions().front().thickness_mm.size(), 3);
  for (const State& state : states) {
    INFO("order " << order << ", law " << static_cast<int>(law) << ", compression " << compression
                  << ", grown " << grown << ", " << state.name);
    const Vector x = stretched(mesh, state.sx, state.sy, state.noise, 11);
    CheckOptions options;
    options.force_scale_mN = 1e-3;
    check_part(leaf, x, options);
  }
}

TEST_CASE("the_states_used_for_the_leaf_are_what_they_are_called", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung}) {
    const Membrane membrane = membrane_of(law, 0);
    std::vector<std::array<int, 3>> counts;
    for (const State& state : states)
      counts.push_back(tally(mesh, membrane, stretched(mesh, state.sx, state.sy, state.noise, 11)));
    const int all = mesh.anterior().points();
    CHECK(counts[0][static_cast<std::size_t>(TautState::taut)] == all);
    CHECK(counts[1][static_cast<std::size_t>(TautState::wrinkled)] == all);
    CHECK(counts[2][static_cast<std::size_t>(TautState::slack)] == all);
    for (const int count : counts[3]) CHECK(count >= all / 12);
  }
}

TEST_CASE("posterior_disc_derivatives_agree_with_differences", "[parts][capsule]") {
  const int order = GENERATE(1, 2);
  const CapsuleLaw law = GENERATE(CapsuleLaw::neo_hookean, CapsuleLaw::fung);
  const Mesh mesh = annulus(of_order(order));
  Leaf leaf = posterior_leaf(mesh, membrane_of(law, 0.05), 0.005);
  CheckOptions options;
  options.force_scale_mN = 1e-3;
  for (const State& state : states) {
    INFO("order " << order << ", " << state.name);
    check_part(leaf, stretched(mesh, state.sx, state.sy, state.noise, 12), options);
  }
}

TEST_CASE("a_folded_element_has_infinite_energy_and_no_finite_gradient", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  Vector x = mesh.reference();
  const std::size_t node = 2 * static_cast<std::size_t>(mesh.node(2, 2));
  x[node] *= -1;
  x[node + 1] *= -1;
  Vector g(x.size(), 0.0);
  for (const double compression : {0.0, 0.05}) {
    const Leaf leaf = anterior_leaf(mesh, membrane_of(CapsuleLaw::neo_hookean, compression), 0.014);
    CHECK(leaf.energy(x) == std::numeric_limits<double>::infinity());
    CHECK(leaf.gradient(x, g) == std::numeric_limits<double>::infinity());
  }
  const FibrousTissue tissue = tissue_on(mesh, ContractionSpec{}, false);
  CHECK(tissue.energy(x) == std::numeric_limits<double>::infinity());
  CHECK(tissue.gradient(x, g) == std::numeric_limits<double>::infinity());
}

TEST_CASE("a_slack_leaf_carries_nothing_and_a_wrinkled_one_nothing_across_its_wrinkles", "[parts][capsule]") {
  const Mesh mesh = annulus(small);
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung}) {
    Leaf leaf = anterior_leaf(mesh, membrane_of(law, 0), 0.014);
    const Vector slack = stretched(mesh, 0.85, 0.9, 0.02, 11);
    CHECK(leaf.energy(slack) == 0);
    CHECK(as_eigen(gradient_of(leaf, slack)).cwiseAbs().maxCoeff() == 0);
    CHECK(hessian_of(leaf, slack, Curvature::exact).cwiseAbs().maxCoeff() == 0);
    // Pulled along x only: the wrinkles run along x, and no node feels a force along y.
    Vector x = mesh.reference();
    for (std::size_t i = 0; i < x.size(); ++i) x[i] *= i % 2 == 0 ? 1.3 : 0.7;
    const Vector g = gradient_of(leaf, x);
    double along = 0, across = 0;
    for (std::size_t i = 0; i < g.size(); ++i)
      (i % 2 == 0 ? along : across) = std::max(i % 2 == 0 ? along : across, std::abs(g[i]));
    CHECK(along > 0.5);
    CHECK(across <= rounding * along);
  }
}

TEST_CASE("fibrous_tissue_derivatives_agree_with_differences", "[parts][fibrosis]") {
  const int order = GENERATE(1, 2);
  const bool active = GENERATE(false, true);
  const double matrix = GENERATE(0.0, 20.0);
  const Mesh mesh = annulus(of_order(order));
  ContractionSpec spec = four_families();
  spec.matrix_modulus_kPa = matrix;
  FibrousTissue tissue = tissue_on(mesh, spec, active);
  CheckOptions options;
  options.force_scale_mN = 1e-3;
  for (const State& state : states) {
    INFO("order " << order << ", active " << active << ", matrix " << matrix << ", " << state.name);
    check_part(tissue, stretched(mesh, state.sx, state.sy, state.noise, 13), options);
  }
}

TEST_CASE("fibres_shorter_than_their_natural_length_carry_nothing", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  ContractionSpec spec = four_families();
  spec.matrix_modulus_kPa = 0;
  FibrousTissue tissue = tissue_on(mesh, spec, false);
  for (auto& natural : tissue.fields().natural) natural.assign(natural.size(), 1.4);
  const Vector x = stretched(mesh, 1.2, 1.2, 0.01, 14);
  CHECK(tissue.energy(x) == 0);
  CHECK(as_eigen(gradient_of(tissue, x)).cwiseAbs().maxCoeff() == 0);
  for (int family = 0; family < fibre_families; ++family)
    CHECK(tissue.tension_mN_per_mm(0, family, 1.39) == 0);
  CHECK(tissue.tension_mN_per_mm(0, 0, 1.41) > 0);
}

TEST_CASE("fibre_families_lie_along_the_hoop_at_45_degrees_and_radially", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  const FibrousTissue tissue = tissue_on(mesh, four_families(), false);
  const std::array<double, 4> f{1.2, 0.15, -0.05, 0.9};  // any deformation
  Vector x = mesh.reference();
  for (std::size_t i = 0; i < x.size(); i += 2) {
    const double px = x[i], py = x[i + 1];
    x[i] = f[0] * px + f[1] * py;
    x[i + 1] = f[2] * px + f[3] * py;
  }
  Vector stretches(fibre_families * tissue.points());
  tissue.stretches(x, stretches);
  const auto stretch_along = [&](double angle) {
    return std::hypot(f[0] * std::cos(angle) + f[1] * std::sin(angle),
                      f[2] * std::cos(angle) + f[3] * std::sin(angle));
  };
  for (std::size_t p = 0; p < tissue.points(); ++p) {
    const double hoop = std::atan2(tissue.hoop()[2 * p + 1], tissue.hoop()[2 * p]);
    const double expected[fibre_families] = {stretch_along(hoop), stretch_along(hoop - pi / 4),
                                             stretch_along(hoop + pi / 4), stretch_along(hoop - pi / 2)};
    for (std::size_t i = 0; i < fibre_families; ++i)
      CHECK(stretches[i * tissue.points() + p] == Approx(expected[i]).epsilon(rounding));
  }
}

TEST_CASE("the_matrix_of_the_tissue_resists_compression_only", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  ContractionSpec spec;
  spec.fibre_modulus_kPa = 0;
  FibrousTissue tissue = tissue_on(mesh, spec, false);
  const Vector taut = stretched(mesh, 1.25, 1.2, 0.02, 15), slack = stretched(mesh, 0.85, 0.9, 0.02, 15);
  CHECK(tissue.energy(taut) == 0);
  CHECK(as_eigen(gradient_of(tissue, taut)).cwiseAbs().maxCoeff() == 0);
  CHECK(tissue.energy(slack) > 0);
}

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
  const double chord =
      order == 1 ? spec.stiffness_mN_per_mm * 5.0 * (1 - std::cos(pi / 48)) / spec.pull_mN : 1e-5;
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

TEST_CASE("free_tension_ring_derivatives_agree_with_differences", "[parts][tension_ring]") {
  const double axial = GENERATE(30.0, 94247.8);  // as soft as its bending, and the real one
  const TensionRing::Wire wire = wire_at(0, axial);
  TensionRing::Support support;
  TensionRing ring(wire, support);
  ring.set_day(20);
  Vector x(wire_coordinates(wire));
  for (const double radius : {5.0, 6.15}) {
    INFO("axial stiffness " << axial << ", radius " << radius);
    put_wire(x, wire, radius, 0.15, 21);
    check_part(ring, x);
  }
}

TEST_CASE("tension_ring_in_contact_derivatives_agree_with_differences", "[parts][tension_ring]") {
  const int order = GENERATE(1, 2);
  const bool eyelet = GENERATE(false, true);
  AnnulusShape shape = of_order(order);
  shape.around = 16;
  const Mesh mesh = annulus(shape);
  const TensionRing::Wire wire = wire_at(2 * mesh.nodes(), 30.0);
  TensionRing::Support support;
  support.equator_nodes = mesh.equator_nodes();
  support.held_node = 7;
  if (eyelet) {
    support.eyelet_node = 3;
    support.eyelet_at = {-4.9, 0.5};
    support.eyelet_stiffness_mN_per_mm = 20;
  }
  TensionRing ring(wire, support);
  CheckOptions options;
  options.step_mm = 2e-6;  // against the 2 um over which the contact sets in
  for (const double radius : {4.999, 5.01, 5.05}) {
    Vector x = stretched(mesh, 1, 1, 0.01, 22, wire_coordinates(wire));
    put_wire(x, wire, 4.99, 0, 23);
    ring.hold_where_it_lies(x);  // then moved away, so that the hold pulls
    put_wire(x, wire, radius, 0.02, 23);
    INFO("order " << order << ", eyelet " << eyelet << ", radius " << radius << ", depth " << ring.depth_mm(x)
                  << ", push " << ring.push_mN(x));
    CHECK(ring.depth_mm(x) > 0);
    CHECK(ring.push_mN(x) > 0);
    check_part(ring, x, options);
  }
}

TEST_CASE("a_ring_out_of_contact_leaves_the_bag_alone", "[parts][tension_ring]") {
  AnnulusShape shape = small;
  shape.around = 16;
  const Mesh mesh = annulus(shape);
  const TensionRing::Wire wire = wire_at(2 * mesh.nodes(), 30.0);
  TensionRing::Support support;
  support.equator_nodes = mesh.equator_nodes();
  TensionRing ring(wire, support);
  Vector x = stretched(mesh, 1, 1, 0.01, 22, wire_coordinates(wire));
  put_wire(x, wire, 4.9, 0.01, 23);
  CHECK(ring.push_mN(x) == 0);
  CHECK(ring.depth_mm(x) == 0);
  const Vector g = gradient_of(ring, x);
  for (int i = 0; i < 2 * mesh.nodes(); ++i) CHECK(g[static_cast<std::size_t>(i)] == 0);
  CHECK(as_eigen(g).cwiseAbs().maxCoeff() > 1);  // it is bent all the same
  check_part(ring, x);
}

TEST_CASE("the_cliques_of_a_ring_say_when_contact_has_left_them", "[parts][tension_ring]") {
  AnnulusShape shape = small;
  shape.around = 24;
  const Mesh mesh = annulus(shape);
  const TensionRing::Wire wire = wire_at(2 * mesh.nodes(), 30.0);
  TensionRing::Support support;
  support.equator_nodes = mesh.equator_nodes();
  TensionRing ring(wire, support);
  Vector x = stretched(mesh, 1, 1, 0, 22, wire_coordinates(wire));
  put_wire(x, wire, 5.01, 0, 23);
  Cliques cliques;
  ring.couplings(x, cliques);
  const auto turned = [&](double angle) {
    Vector y = x;
    for (std::size_t i = static_cast<std::size_t>(wire.first_coordinate); i < y.size(); i += 2) {
      const Point p = moved({x[i], x[i + 1]}, angle, {0, 0});
      y[i] = p[0];
      y[i + 1] = p[1];
    }
    return y;
  };
  const double span = 2 * pi / mesh.columns();
  CHECK(ring.couplings_hold(turned(1.9 * span)));
  CHECK_FALSE(ring.couplings_hold(turned(6 * span)));
  // Renewed there, the Hessian is complete again.
  Vector y = turned(6 * span);
  cliques.clear();
  ring.couplings(y, cliques);
  CHECK(ring.couplings_hold(y));
}

TEST_CASE("lens_derivatives_agree_with_differences", "[parts][lens]") {
  const int order = GENERATE(1, 2);
  const int haptics = GENERATE(0, 2, 3);
  const bool bonded = GENERATE(false, true);
  const Mesh mesh = annulus(of_order(order));
  const int first = 2 * mesh.nodes();
  Lens lens(first, 0.7, 6.5, 0.7, 30, haptic_contacts(mesh, haptics, 0.3, 40 * pi / 180));
  if (bonded) {
    std::vector<Lens::Bond> bonds;
    for (int e = 0; e < 3; ++e)
      for (int q = 0; q < mesh.anterior().points_per_element; ++q)
        bonds.push_back({e, q, mesh.anterior().at(mesh.reference(), e, q), 0.4});
    lens.bond(mesh.anterior(), bonds, 0.5);
  }
  lens.set_day(12);
  CheckOptions options;
  options.rotation_coordinate = first + 2;
  options.force_scale_mN = 1e-2;
  for (const double scale : {0.95, 1.05, 1.3}) {  // pressed; some pressed; free
    Vector x = stretched(mesh, scale, scale, 0.1, 31, 3);
    x[static_cast<std::size_t>(first)] = 0.3;
    x[static_cast<std::size_t>(first) + 1] = -0.2;
    x[static_cast<std::size_t>(first) + 2] = 0.15;
    INFO("order " << order << ", haptics " << haptics << ", bonded " << bonded << ", scale " << scale);
    check_part(lens, x, options);
  }
}

TEST_CASE("a_haptic_that_does_not_touch_pushes_nothing", "[parts][lens]") {
  const Mesh mesh = annulus(small);
  Lens lens(2 * mesh.nodes(), 0.7, 6.5, 0.7, 30, haptic_contacts(mesh, 2, 0, 40 * pi / 180));
  Vector x = stretched(mesh, 1.4, 1.4, 0.05, 32, 3);
  CHECK(lens.push_mN(x) == 0);
  CHECK(lens.energy(x) == 0);
  CHECK(as_eigen(gradient_of(lens, x)).cwiseAbs().maxCoeff() == 0);
}

TEST_CASE("the_shares_of_a_haptic_add_up_to_its_stated_force", "[parts][lens]") {
  AnnulusShape shape = small;
  shape.around = 24;
  const Mesh mesh = annulus(shape);
  for (const int haptics : {2, 3, 4}) {
    const auto contacts = haptic_contacts(mesh, haptics, 0.4, 40 * pi / 180);
    double sum = 0;
    for (const Lens::Contact& contact : contacts) sum += contact.weight;
    CHECK(sum == Approx(haptics).epsilon(1e-12));
    const Lens lens(2 * mesh.nodes(), 0.8, 6.5, 0.7, 30, contacts);
    const Vector x = stretched(mesh, 1, 1, 0, 33, 3);  // 1.5 mm compressed all along the arc
    CHECK(lens.push_mN(x) == Approx(haptics * 0.8 * 1.5).epsilon(1e-3));
  }
}

TEST_CASE("the_dead_load_of_the_tests_is_a_sound_part", "[parts][tests]") {
  const Mesh mesh = annulus(small);
  DeadLoad load = equator_traction(mesh, [](double angle) { return Point{std::cos(2 * angle), 0.3}; });
  check_part(load, stretched(mesh, 1.1, 0.9, 0.05, 41));
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
