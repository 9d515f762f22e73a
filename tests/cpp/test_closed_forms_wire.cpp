// SPDX-License-Identifier: BSD-3-Clause
// The tension ring's wire against beam theory: springs of an open ring, the closed ring, bending to
// a circle, and the elastica at large rotations.
#include <catch2/catch.hpp>
#include <cmath>

#include "annulus.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/tension_ring.hpp"
#include "comparison.hpp"
#include "dead_load.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// A wire on its own: its positions, what holds it and what pulls it.
struct LoneWire {
  TensionRing::Wire wire;
  std::vector<double> x;
  std::vector<int> dof;
  std::vector<DeadLoad::Force> forces;

  [[nodiscard]] Point at(int node) const {
    return {x[static_cast<std::size_t>(2 * node)], x[static_cast<std::size_t>(2 * node + 1)]};
  }
  void hold(int node, bool in_x, bool in_y) {
    if (in_x) dof[static_cast<std::size_t>(2 * node)] = -1;
    if (in_y) dof[static_cast<std::size_t>(2 * node + 1)] = -1;
  }
  void pull(int node, Point force) { forces.push_back({2 * node, force, at(node)}); }
  /// Rest position under the forces; false when there is none.
  bool settle(double tolerance_mN) {
    TensionRing ring(wire, {});
    DeadLoad load(forces);
    std::vector<int> map = dof;
    renumber(map);
    Equilibrium equilibrium;
    equilibrium.set_system({&ring, &load}, map);
    equilibrium.settings().tolerance_mN = tolerance_mN;
    equilibrium.settings().step_cap_mm = 2;
    equilibrium.settings().max_iterations = 200;
    return equilibrium.solve(x).converged();
  }
};

/// A round wire of radius R from angle `from` to `to` about the origin, stress-free there.
LoneWire arc(double radius, double from, double to, int segments, double bending, double axial) {
  LoneWire lone;
  const double turn = (to - from) / segments;
  lone.wire.segments = segments;
  lone.wire.segment_length_mm = 2 * radius * std::sin(0.5 * turn);
  lone.wire.natural_curvature_per_mm = turn / lone.wire.segment_length_mm;
  lone.wire.bending_stiffness_mN_mm2 = bending;
  lone.wire.axial_stiffness_mN = axial;
  for (int i = 0; i <= segments; ++i) {
    lone.x.push_back(radius * std::cos(from + i * turn));
    lone.x.push_back(radius * std::sin(from + i * turn));
  }
  lone.dof.assign(lone.x.size(), 0);
  return lone;
}

constexpr int fine = 240;      // segments: the chain's error falls with their square, 1e-4 here
constexpr double stiff = 1e4;  // EA over EI / R^2: stretching brings 1e-4 of the displacements
/// Unbalanced force over load: above the rounding of the stiff stretching, below what is measured.
constexpr double balance = 1e-5;

/// The open ring of RING-CLOSED: gap at angle 0, both ends there; held at the back against rigid motion.
LoneWire open_ring(const VerificationCase& with) {
  const double radius = with.input("R_mm"), bending = with.expected("EI_mN_mm2");
  LoneWire ring = arc(radius, 0, 2 * pi, fine, bending, stiff * bending / (radius * radius));
  ring.hold(fine / 2, true, true);
  ring.hold(fine / 2 + 1, true, false);
  return ring;
}

/// A force small enough for the springs to be linear.
double small_force(const VerificationCase& with) {
  return 1e-4 * with.expected("EI_mN_mm2") / std::pow(with.input("R_mm"), 2);
}

}  // namespace

TEST_CASE("bending_stiffness_of_a_wire_is_that_of_its_section", "[closed_forms][tension_ring]") {
  const VerificationCase with("RING-CLOSED");
  const double t = with.input("t_radial_mm"), w = with.input("w_axial_mm");
  CHECK(with.input("E_mN_per_mm2") * w * t * t * t / 12 == Approx(with.expected("EI_mN_mm2")).epsilon(1e-9));
  TensionRingSpec spec;  // round wires: E pi d^4 / 64, E pi d^2 / 4
  const TensionRing::Wire wire = ring_wire(spec, 80, 0);
  CHECK(wire.bending_stiffness_mN_mm2 ==
        Approx(spec.modulus_kPa * pi * std::pow(spec.wire_diameter_mm, 4) / 64).epsilon(1e-12));
  CHECK(wire.axial_stiffness_mN ==
        Approx(spec.modulus_kPa * pi * std::pow(spec.wire_diameter_mm, 2) / 4).epsilon(1e-12));
  CHECK(wire.bending_stiffness_mN_mm2 == Approx(236).epsilon(0.005));  // 0.20 mm PMMA, 3 GPa
}

TEST_CASE("forces_on_the_ends_of_an_open_ring_close_its_gap_as_castigliano_says",
          "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("RING-CLOSED");
  INFO(with.source());
  LoneWire ring = open_ring(with);
  const double force = small_force(with);
  ring.pull(0, {0, -force});  // end 0 lies counter-clockwise of the gap's middle, the last end clockwise
  ring.pull(fine, {0, force});
  REQUIRE(ring.settle(balance * force));
  const double closed = ring.at(fine)[1] - ring.at(0)[1];  // they were in the same place
  compare(with, "stiffness of the gap", "mN/mm", force / closed, with.expected("k_gap_mN_per_mm"),
          relative_to_expected(with.tolerance()));
}

TEST_CASE("an_open_ring_is_softer_across_its_gap_axis_than_along_it", "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("RING-CLOSED");
  INFO(with.source());
  const double force = small_force(with), diameter = 2 * with.input("R_mm");
  LoneWire across = open_ring(with);
  across.pull(fine / 4, {0, -force});
  across.pull(3 * fine / 4, {0, force});
  REQUIRE(across.settle(balance * force));
  const double drop = diameter - (across.at(fine / 4)[1] - across.at(3 * fine / 4)[1]);
  compare(with, "stiffness across the gap's axis", "mN/mm", force / drop, with.expected("k_diam_perp"),
          relative_to_expected(with.tolerance()));

  LoneWire along = open_ring(with);
  along.pull(0, {-0.5 * force, 0});
  along.pull(fine, {-0.5 * force, 0});
  along.pull(fine / 2, {force, 0});
  REQUIRE(along.settle(balance * force));
  const double through = diameter - (0.5 * (along.at(0)[0] + along.at(fine)[0]) - along.at(fine / 2)[0]);
  compare(with, "stiffness through the gap", "mN/mm", force / through, with.expected("k_diam_through_gap"),
          relative_to_expected(with.tolerance()));
}

TEST_CASE("a_uniform_inward_load_closes_the_gap_and_narrows_the_ring", "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("RING-CLOSED");
  INFO(with.source());
  LoneWire ring = open_ring(with);
  const double radius = with.input("R_mm"), bending = with.expected("EI_mN_mm2");
  const double load = small_force(with) / radius;  // mN/mm
  for (int i = 0; i <= fine; ++i) {
    const double length = radius * 2 * pi / fine * (i == 0 || i == fine ? 0.5 : 1), angle = 2 * pi * i / fine;
    ring.pull(i, {-load * length * std::cos(angle), -load * length * std::sin(angle)});
  }
  REQUIRE(ring.settle(balance * load));
  const double closed = ring.at(fine)[1] - ring.at(0)[1], unit = load * std::pow(radius, 4) / bending;
  // Formulas of the case's description, per p R^4 / EI.
  compare(with, "gap closed by an even load", "", closed / unit, 3 * pi, relative_to_expected(with.tolerance()));
  double radial = 0;  // mean radial displacement; a shift of the whole ring does not enter it
  for (int i = 0; i < fine; ++i) {
    const double angle = 2 * pi * i / fine;
    radial += (ring.at(i)[0] * std::cos(angle) + ring.at(i)[1] * std::sin(angle) - radius) / fine;
  }
  compare(with, "radius lost to an even load", "", -radial / unit, 1.5, relative_to_expected(with.tolerance()));
}

TEST_CASE("a_closed_ring_is_five_times_stiffer", "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("RING-CLOSED");
  INFO(with.source());
  // Closed by the index map: one segment laid over the first, nodes tied in pairs.
  const double radius = with.input("R_mm"), bending = with.expected("EI_mN_mm2"), turn = 2 * pi / fine;
  // Stiffer against bending than an open one, so also against stretching.
  LoneWire ring = arc(radius, 0, 2 * pi + turn, fine + 1, bending, 5 * stiff * bending / (radius * radius));
  ring.hold(fine / 2, true, true);
  ring.hold(fine / 2 + 1, true, false);
  const double force = small_force(with);
  ring.pull(fine / 4, {0, -force});
  ring.pull(3 * fine / 4, {0, force});
  renumber(ring.dof);
  for (const int d : {0, 1, 2, 3})
    ring.dof[static_cast<std::size_t>(2 * fine + d)] = ring.dof[static_cast<std::size_t>(d)];
  TensionRing part(ring.wire, {});
  DeadLoad load(ring.forces);
  Equilibrium equilibrium;
  equilibrium.set_system({&part, &load}, ring.dof);
  equilibrium.settings().tolerance_mN = balance * force;
  REQUIRE(equilibrium.solve(ring.x).converged());
  const double drop = 2 * radius - (ring.at(fine / 4)[1] - ring.at(3 * fine / 4)[1]);
  compare(with, "stiffness of a closed ring", "mN/mm", force / drop, with.expected("k_closed_ring"),
          relative_to_expected(with.tolerance()));
}

TEST_CASE("the_ends_of_a_ring_meet_under_the_force_of_the_elastica", "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("RING-LARGE");
  INFO(with.source());
  const double radius = with.input("R_mm"), bending = with.input("EI_mN_mm2");
  const auto gaps = with.expected_list("g_deg");
  for (std::size_t k = 0; k < gaps.size(); ++k) {
    const double half_gap = gaps[k] * pi / 180;
    // The gap about angle 0; both ends brought onto the x axis, where symmetry lets them slide.
    LoneWire ring = arc(radius, half_gap, 2 * pi - half_gap, fine, bending, stiff * bending / (radius * radius));
    ring.hold(fine / 2, true, true);
    for (const int end : {0, fine}) {
      ring.x[static_cast<std::size_t>(2 * end + 1)] = 0;
      ring.hold(end, false, true);
    }
    REQUIRE(ring.settle(1e-7));
    std::vector<double> g(ring.x.size(), 0.0);
    TensionRing(ring.wire, {}).gradient(ring.x, g);
    const std::string gap = ", half gap " + std::to_string(std::lround(gaps[k])) + " degrees";
    compare(with, "force on the ends" + gap, "mN", std::abs(g[1]), with.expected_list("F_mN")[k],
            relative_to_expected(with.tolerance("F")));
    const double diameter = ring.at(0)[0] - ring.at(fine / 2)[0];
    compare(with, "diameter" + gap, "mm", diameter, with.expected_list("diameter_after_mm")[k],
            within(with.tolerance("diameter")));
  }
}

TEST_CASE("a_cantilever_bends_as_the_elastica", "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("ELASTICA-CANTILEVER");
  INFO(with.source());
  constexpr int segments = 300;
  constexpr double length = 10, bending = 168.75;
  const auto alphas = with.inputs("alpha");
  for (std::size_t k = 0; k < alphas.size(); ++k) {
    const std::string load = ", P L^2 / EI = " + std::to_string(std::lround(alphas[k]));
    LoneWire beam;
    beam.wire.segments = segments;
    // Both ends of the first segment are held, so the beam is clamped at its middle.
    const double l = length / (segments - 0.5);
    beam.wire.segment_length_mm = l;
    beam.wire.bending_stiffness_mN_mm2 = bending;
    beam.wire.axial_stiffness_mN = 100 * stiff * bending / (length * length);  // under up to ten times the load
    for (int i = 0; i <= segments; ++i) {
      beam.x.push_back((i - 0.5) * l);
      beam.x.push_back(0);
    }
    beam.dof.assign(beam.x.size(), 0);
    beam.hold(0, true, true);
    beam.hold(1, true, true);
    const double force = alphas[k] * bending / (length * length);
    beam.pull(segments, {0, force});
    REQUIRE(beam.settle(balance * force));
    const Point tip = beam.at(segments), before = beam.at(segments - 1);
    const Limit limit = within(with.tolerance());
    compare(with, "deflection over length" + load, "", tip[1] / length, with.expected_list("dv_over_L")[k], limit);
    compare(with, "shortening over length" + load, "", 1 - tip[0] / length, with.expected_list("dh_over_L")[k], limit);
    compare(with, "slope of the tip" + load, "rad", std::atan2(tip[1] - before[1], tip[0] - before[0]),
            with.expected_list("tip_slope_rad")[k], limit);
  }
}

TEST_CASE("rolling_a_wire_to_a_circle_takes_the_moment_of_its_change_of_curvature",
          "[closed_forms][evidence][tension_ring]") {
  const VerificationCase with("ELASTICA-ROLLUP");
  INFO(with.source());
  const double length = with.input("L_mm"), bending = with.input("EI");
  const double r0 = with.input("R0_mm"), r1 = with.input("R1_mm");
  struct Bend {
    double from, to, moment;  // curvatures
  };
  for (const Bend& bend : {Bend{0, 2 * pi / length, with.expected("M_rollup_mN_mm")},
                           Bend{1 / r0, 1 / r1, with.expected("M_R0_R1_mN_mm")}}) {
    INFO("from curvature " << bend.from << " to " << bend.to);
    constexpr int segments = 60;
    TensionRing::Wire wire;
    wire.segments = segments;
    wire.segment_length_mm = length / segments;
    wire.natural_curvature_per_mm = bend.from;
    wire.bending_stiffness_mN_mm2 = bending;
    wire.axial_stiffness_mN = stiff * bending;
    std::vector<double> x{0, 0};
    for (int i = 0; i < segments; ++i) {
      const double along = (i + 0.5) * bend.to * wire.segment_length_mm;
      x.push_back(x[x.size() - 2] + wire.segment_length_mm * std::cos(along));
      x.push_back(x[x.size() - 2] + wire.segment_length_mm * std::sin(along));
    }
    std::vector<double> g(x.size(), 0.0);
    const double energy = TensionRing(wire, {}).gradient(x, g);
    // Inside nothing is out of balance; each end carries a couple: two opposite forces a segment apart.
    for (int i = 4; i < 2 * (segments + 1) - 4; ++i)
      CHECK(std::abs(g[static_cast<std::size_t>(i)]) <= 1e-9 * bend.moment);
    const double couple = std::hypot(g[0], g[1]) * wire.segment_length_mm;
    compare(with, bend.from == 0 ? "moment, straight to a circle" : "moment, circle to a smaller one", "mN mm", couple,
            bend.moment, relative_to_expected(with.tolerance()));
    CHECK(std::abs(g[0] + g[2]) <= 1e-9 * bend.moment);
    CHECK(std::abs(g[1] + g[3]) <= 1e-9 * bend.moment);
    // Half the couple times the turn, over the inner nodes.
    const double turn = (bend.to - bend.from) * wire.segment_length_mm * (segments - 1);
    CHECK(energy == Approx(0.5 * bend.moment * turn).epsilon(with.tolerance()));
  }
}
