// SPDX-License-Identifier: BSD-3-Clause
// The tension ring against what part.hpp demands, free and in contact.
#include "capsim/tension_ring.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

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
    x[static_cast<std::size_t>(wire.first_coordinate + 2 * i + 1)] = radius * std::sin(angle) + spread(random);
  }
}

std::size_t wire_coordinates(const TensionRing::Wire& wire) { return 2 * static_cast<std::size_t>(wire.segments + 1); }

/// A bag of `around` elements, and a soft wire whose coordinates come after those of the bag, for the equator to hold.
struct BagAndWire {
  Mesh mesh;
  TensionRing::Wire wire;
  TensionRing::Support support;
  BagAndWire(AnnulusShape shape, int around)
      : mesh([&] {
          shape.around = around;
          return annulus(shape);
        }()),
        wire(wire_at(2 * mesh.nodes(), 30.0)) {
    support.equator_nodes = mesh.equator_nodes();
  }
};

}  // namespace

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
  BagAndWire bag(of_order(order), 16);
  bag.support.held_node = 7;
  if (eyelet) {
    bag.support.eyelet_node = 3;
    bag.support.eyelet_at = {-4.9, 0.5};
    bag.support.eyelet_stiffness_mN_per_mm = 20;
  }
  TensionRing ring(bag.wire, bag.support);
  CheckOptions options;
  options.step_mm = 2e-6;  // against the 2 um over which the contact sets in
  for (const double radius : {4.999, 5.01, 5.05}) {
    Vector x = stretched(bag.mesh, 1, 1, 0.01, 22, wire_coordinates(bag.wire));
    put_wire(x, bag.wire, 4.99, 0, 23);
    ring.hold_where_it_lies(x);  // then moved away, so that the hold pulls
    put_wire(x, bag.wire, radius, 0.02, 23);
    INFO("order " << order << ", eyelet " << eyelet << ", radius " << radius << ", depth " << ring.depth_mm(x)
                  << ", push " << ring.push_mN(x));
    CHECK(ring.depth_mm(x) > 0);
    CHECK(ring.push_mN(x) > 0);
    check_part(ring, x, options);
  }
}

TEST_CASE("a_ring_out_of_contact_leaves_the_bag_alone", "[parts][tension_ring]") {
  const BagAndWire bag(small, 16);
  TensionRing ring(bag.wire, bag.support);
  Vector x = stretched(bag.mesh, 1, 1, 0.01, 22, wire_coordinates(bag.wire));
  put_wire(x, bag.wire, 4.9, 0.01, 23);
  CHECK(ring.push_mN(x) == 0);
  CHECK(ring.depth_mm(x) == 0);
  const Vector g = gradient_of(ring, x);
  for (int i = 0; i < 2 * bag.mesh.nodes(); ++i) CHECK(g[static_cast<std::size_t>(i)] == 0);
  CHECK(as_eigen(g).cwiseAbs().maxCoeff() > 1);  // it is bent all the same
  check_part(ring, x);
}

TEST_CASE("the_cliques_of_a_ring_say_when_contact_has_left_them", "[parts][tension_ring]") {
  const BagAndWire bag(small, 24);
  TensionRing ring(bag.wire, bag.support);
  Vector x = stretched(bag.mesh, 1, 1, 0, 22, wire_coordinates(bag.wire));
  put_wire(x, bag.wire, 5.01, 0, 23);
  Cliques cliques;
  ring.couplings(x, cliques);
  const auto turned = [&](double angle) {
    Vector y = x;
    for (std::size_t i = static_cast<std::size_t>(bag.wire.first_coordinate); i < y.size(); i += 2) {
      const Point p = moved({x[i], x[i + 1]}, angle, {0, 0});
      y[i] = p[0];
      y[i + 1] = p[1];
    }
    return y;
  };
  const double span = 2 * pi / bag.mesh.columns();
  CHECK(ring.couplings_hold(turned(1.9 * span)));
  CHECK_FALSE(ring.couplings_hold(turned(6 * span)));
  // Renewed there, the Hessian is complete again.
  Vector y = turned(6 * span);
  cliques.clear();
  ring.couplings(y, cliques);
  CHECK(ring.couplings_hold(y));
}

namespace {

/// Walks a ring's coordinates from one place to another; the largest change of energy that its forces do not explain.
double largest_jump(const TensionRing& ring, const Vector& from, const Vector& to, int steps) {
  const auto at = [&](int k) {
    Vector x = from;
    for (std::size_t i = 0; i < x.size(); ++i) x[i] += (to[i] - from[i]) * k / steps;
    return x;
  };
  const auto along = [&](const Vector& g) {
    double sum = 0;
    for (std::size_t i = 0; i < g.size(); ++i) sum += g[i] * (to[i] - from[i]) / steps;
    return sum;
  };
  double largest = 0, before = ring.energy(from), slope = along(gradient_of(ring, from));
  for (int k = 1; k <= steps; ++k) {
    const Vector x = at(k);
    const double now = ring.energy(x), slope_now = along(gradient_of(ring, x));
    largest = std::max(largest, std::abs(now - before) - std::abs(slope) - std::abs(slope_now));
    before = now;
    slope = slope_now;
  }
  return largest;
}

constexpr int fine = 4000;        // steps of a walk
constexpr double no_jump = 1e-3;  // mN mm; where the wire passes to another fold the forces change, not the energy

}  // namespace

TEST_CASE("the_energy_of_a_ring_does_not_jump_from_one_fold_of_the_equator_to_the_other", "[parts][tension_ring]") {
  BagAndWire bag(small, 48);
  bag.support.contact_stiffness_mN_per_mm2 = 50;
  TensionRing ring(bag.wire, bag.support);
  // A valley, drawn in by hours without zonule's pull: its two sides are three millimetres apart at the equator.
  Vector from = stretched(bag.mesh, 1, 1, 0, 22, wire_coordinates(bag.wire));
  for (const int node : bag.mesh.equator_nodes()) {
    double* p = &from[2 * static_cast<std::size_t>(node)];
    const double angle = std::atan2(p[1], p[0]), depth = 3.6 * std::exp(-std::pow(angle / 0.25, 2));
    const double r = std::hypot(p[0], p[1]);
    for (int i = 0; i < 2; ++i) p[i] *= (r - depth) / r;
  }
  put_wire(from, bag.wire, 4.99, 0, 23);
  Vector to = from;
  for (std::size_t i = static_cast<std::size_t>(bag.wire.first_coordinate); i < to.size(); i += 2) to[i + 1] += 2.5;
  Cliques cliques;
  ring.couplings(from, cliques);  // from here on it looks for its places from where they were
  CHECK(largest_jump(ring, from, to, fine) < no_jump);
  for (const double share : {0.25, 0.5, 0.75, 1.0}) {
    Vector x = from;
    for (std::size_t i = 0; i < x.size(); ++i) x[i] += share * (to[i] - from[i]);
    INFO("moved by " << share);
    CHECK(ring.energy(x) ==
          Approx(TensionRing(bag.wire, bag.support).energy(x)));  // and finds the nearest all the same
  }
}

TEST_CASE("a_wire_inside_presses_on_nothing_where_the_equator_makes_a_loop", "[parts][tension_ring]") {
  const BagAndWire bag(small, 48);
  const TensionRing ring(bag.wire, bag.support);
  Vector x = stretched(bag.mesh, 1, 1, 0, 22, wire_coordinates(bag.wire));
  const auto& nodes = bag.mesh.equator_nodes();
  const auto place = [&](int k) { return &x[2 * static_cast<std::size_t>(nodes[static_cast<std::size_t>(k)])]; };
  // Every third pair of neighbours has changed places, and lies a little nearer to the bag.wire.
  for (int k = 0; k + 1 < static_cast<int>(nodes.size()); k += 6)
    for (int i = 0; i < 2; ++i) {
      std::swap(place(k)[i], place(k + 1)[i]);
      for (const int moved : {k, k + 1}) place(moved)[i] *= 0.96;
    }
  for (const double radius : {4.6, 4.65, 4.7}) {
    put_wire(x, bag.wire, radius, 0, 23);
    INFO("radius " << radius);
    CHECK(ring.depth_mm(x) == 0);
    CHECK(ring.push_mN(x) == 0);
  }
}
