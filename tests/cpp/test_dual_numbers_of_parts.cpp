// SPDX-License-Identifier: BSD-3-Clause
// Forces and stiffnesses of zonule, backing, lens, ring and bond by dual numbers, from energies that are written here
// once more, as the theory page has them: no step, no noise, and the page's equations instead of the part's own.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "capsim/backing.hpp"
#include "capsim/leaf_bond.hpp"
#include "capsim/lens.hpp"
#include "capsim/tension_ring.hpp"
#include "capsim/zonule.hpp"
#include "dual_number.hpp"
#include "part_checks.hpp"
#include "parts/equator_curve.hpp"

using namespace capsim;
using namespace capsim::checks;
using namespace capsim::test;

namespace {

/// Some hundred operations, of which some cancel, over the largest force or stiffness of the part.
constexpr double dual_rounding = 1e-12;

using Numbers = std::vector<TwiceDual>;
using Pair = std::array<TwiceDual, 2>;

Pair point(const Numbers& x, int node) {
  return {x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]};
}
TwiceDual squared(const TwiceDual& a) { return a * a; }
TwiceDual length(const TwiceDual& x, const TwiceDual& y) { return sqrt(x * x + y * y); }
TwiceDual positive(const TwiceDual& a) { return a > 0.0 ? a : TwiceDual(0.0); }

/// Energy, forces and stiffnesses of the part are those of `energy` at x. Whether any force is there is for the caller.
template <class Energy>
void part_has_the_derivatives_of(Part& part, const Vector& x, const Energy& energy) {
  const Vector forces = gradient_of(part, x);
  const Eigen::MatrixXd stiffness = hessian_of(part, x, Curvature::exact);
  const double force_scale = largest_of(forces), stiffness_scale = stiffness.cwiseAbs().maxCoeff();
  REQUIRE(force_scale > 0);
  for (std::size_t i = 0; i < x.size(); ++i)
    for (std::size_t j = 0; j <= i; ++j) {
      Numbers moved(x.size());
      for (std::size_t k = 0; k < x.size(); ++k)
        moved[k] = {Dual(x[k], k == j ? 1.0 : 0.0), Dual(k == i ? 1.0 : 0.0, 0.0)};
      const TwiceDual e = energy(moved);
      INFO("coordinates " << i << ", " << j);
      CHECK(std::abs(e.v.v - part.energy(x)) <= dual_rounding * (std::abs(e.v.v) + force_scale));
      CHECK(std::abs(e.d.v - forces[i]) <= dual_rounding * (force_scale + stiffness_scale));
      for (const auto& [r, c] : {std::pair{i, j}, {j, i}})
        CHECK(std::abs(e.d.d - stiffness(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(c))) <=
              dual_rounding * stiffness_scale);
    }
}

}  // namespace

TEST_CASE("zonule_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  // Two bundles of one element's side, taut and slack, and one of another.
  std::vector<Zonule::Bundle> bundles(3);
  bundles[0] = {0, 3, {0, 1, 2}, {0.2, 0.5, 0.3}, {6.1, 0.4}, 12, 0.9, 0, 0.1, 0.7};
  bundles[1] = {0, 3, {0, 1, 2}, {-0.1, 0.4, 0.7}, {5.6, 2.5}, 9, 4.0, 0, 0.1, 1};
  bundles[2] = {1, 2, {2, 3}, {0.6, 0.4}, {3.0, 5.2}, 7, 0.8, 0, 0.1, 0.4};
  Zonule zonule(bundles);
  const Vector x{4.7, 0.1, 4.6, 0.9, 4.3, 1.8, 3.6, 2.9};
  REQUIRE(zonule.tension_mN(bundles[0], x) > 0);
  REQUIRE(zonule.tension_mN(bundles[1], x) == 0);
  part_has_the_derivatives_of(zonule, x, [&](const Numbers& n) {
    TwiceDual total;
    for (const Zonule::Bundle& b : bundles) {
      TwiceDual px = -b.anchor[0], py = -b.anchor[1];
      for (int a = 0; a < b.count; ++a) {
        px += b.share[a] * point(n, b.nodes[a])[0];
        py += b.share[a] * point(n, b.nodes[a])[1];
      }
      total += 0.5 * b.strength * b.stiffness_mN_per_mm * squared(positive(length(px, py) - b.slack_length_mm));
    }
    return total;
  });
}

TEST_CASE("backing_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  const std::vector<int> nodes{0, 2};
  const std::vector<double> rest{0.3, 0.1, -0.7, 1.2};
  Backing backing(nodes, rest, 3);
  part_has_the_derivatives_of(backing, {0.5, 0.2, 9, 9, -0.4, 1.3}, [&](const Numbers& n) {
    TwiceDual total;
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t k = 0; k < 2; ++k)
        total += 0.5 * 1.5 * squared(n[2 * static_cast<std::size_t>(nodes[i]) + k] - rest[2 * i + k]);
    return total;
  });
}

TEST_CASE("bond_of_the_leaves_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  const Patch leaf;  // asked for a growing tip only
  LeafBond bond(leaf, 0, {{0, 2, 0.4, {0.05, -0.02}}, {1, 3, 0.7, {0, 0.1}}}, {{0, 0, 0.5}, {0, 1, 0.5}, {1, 1, 1}},
                20);
  const std::array<double, 2> tissue{0.2, 0.6}, fraction{0.4, 0.6};
  const std::array<double, 4> laid{0.02, 0.01, -0.03, 0.05};
  bond.set_tissue(tissue, laid);
  part_has_the_derivatives_of(bond, {1, 0.2, 0.4, 2, 0.9, 0.1, 0.3, 2.2}, [&](const Numbers& n) {
    TwiceDual total;
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t k = 0; k < 2; ++k) {
        const LeafBond::Pair& pair = bond.pairs()[i];
        const TwiceDual slip = point(n, pair.anterior)[k] - point(n, pair.posterior)[k] - pair.offset[k];
        total += 0.5 * 20 * pair.area_mm2 * fraction[i] * squared(slip - laid[2 * i + k] / fraction[i]);
      }
    return total;
  });
}

TEST_CASE("lens_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  constexpr int first = 8;
  constexpr double stiffness = 30, free_radius = 5.2, relaxed = 0.6, days = 20, bonded = 15, fusion = 8, fused = 0.6;
  // Two points of one element's side and one that is not pressed.
  const std::vector<Lens::Contact> contacts{{0, 3, {0, 1, 2}, {0.3, 0.6, 0.1}, 0.1, 0.5, 0},
                                            {0, 3, {0, 1, 2}, {0.1, 0.3, 0.6}, 0.3, 0.3, 0},
                                            {1, 2, {2, 3, 0}, {-0.1, 1.1, 0}, 2.9, 0.2, 0}};
  Patch leaf;
  leaf.nodes_per_element = 4;
  leaf.points_per_element = 1;
  leaf.nodes = {0, 1, 2, 3};
  leaf.shape = {0.1, 0.2, 0.3, 0.4};
  const std::vector<Lens::Bond> bonds{{0, 0, {0.9, 0.6}, 0.3}};
  Lens lens(first, stiffness, free_radius, relaxed, days, contacts);
  lens.bond(leaf, bonds, bonded);
  const Vector before{4.9, -0.2, 4.8, 0.7, 4.5, 1.6, -5.3, 1.5, 0.02, -0.01, 0.01};
  lens.fuse(before, fusion);
  lens.set_fused(fused);
  lens.set_day(10);
  const Vector x{4.7, -0.1, 4.6, 0.9, 4.4, 1.8, -5.2, 1.4, 0.06, 0.03, -0.05};

  const auto along_and_across = [&](const Lens::Contact& k, const Numbers& n) {
    TwiceDual px = -n[first], py = -n[first + 1];
    for (int a = 0; a < k.count; ++a) {
      px += k.share[a] * point(n, k.nodes[a])[0];
      py += k.share[a] * point(n, k.nodes[a])[1];
    }
    const TwiceDual angle = k.direction + n[first + 2], dx = cos(angle), dy = sin(angle);
    return Pair{px * dx + py * dy, py * dx - px * dy};
  };
  const Numbers as_fused(before.begin(), before.end());
  int pressed = 0;
  part_has_the_derivatives_of(lens, x, [&](const Numbers& n) {
    TwiceDual total;
    const double haptic = stiffness * (relaxed + (1 - relaxed) * std::exp(-10 / days));
    pressed = 0;
    for (const Lens::Contact& k : contacts) {
      const auto [along, across] = along_and_across(k, n);
      pressed += free_radius - along > 0.0 ? 1 : 0;
      total += 0.5 * haptic * k.weight * squared(positive(free_radius - along));
      total += 0.5 * fusion * fused * k.weight * squared(across - along_and_across(k, as_fused)[1].v.v);
    }
    const TwiceDual c = cos(n[first + 2]), s = sin(n[first + 2]);
    TwiceDual rx = -n[first], ry = -n[first + 1];
    for (int a = 0; a < 4; ++a) {
      rx += leaf.shape[static_cast<std::size_t>(a)] * point(n, a)[0];
      ry += leaf.shape[static_cast<std::size_t>(a)] * point(n, a)[1];
    }
    const Point at = bonds[0].place;
    total += 0.5 * bonded * bonds[0].weight * squared(rx - (c * at[0] - s * at[1]));
    total += 0.5 * bonded * bonds[0].weight * squared(ry - (s * at[0] + c * at[1]));
    return total;
  });
  CHECK(pressed == 2);
}

namespace {

/// The equator curve at a place near t0 of a span, and its derivative: a cubic in t.
struct CurvePoint {
  Pair c, d;
  CurvePoint(const EquatorCurve& curve, const Numbers& x, int nodes, int span, double t0, const TwiceDual& t) {
    const EquatorCurve::Weights w = curve.at(span, t0), low = curve.at(span, 0), high = curve.at(span, 1);
    const TwiceDual s = t - t0;
    for (std::size_t k = 0; k < 6; ++k) {
      const double third = high.dd[k] - low.dd[k];
      const TwiceDual n = w.n[k] + s * (w.d[k] + s * (0.5 * w.dd[k] + s * (third / 6))),
                      slope = w.d[k] + s * (w.dd[k] + s * (0.5 * third));
      const Pair p = point(x, ((span - 2 + static_cast<int>(k)) % nodes + nodes) % nodes);
      for (std::size_t a = 0; a < 2; ++a) {
        c[a] += n * p[a];
        d[a] += slope * p[a];
      }
    }
  }
};

/// Gap of y to the curve along its outward normal at the closest point, found by Newton: of dual numbers each of its
/// steps makes one more order of derivatives exact.
TwiceDual gap(const EquatorCurve& curve, const Numbers& x, int nodes, const Pair& y) {
  int span = 0;
  double t0 = 0, nearest = 1e9;
  for (int s = 0; s < nodes; ++s)
    for (int i = 0; i < 20; ++i) {
      const CurvePoint p(curve, x, nodes, s, 0.05 * i, 0.05 * i);
      const double distance = length(p.c[0] - y[0], p.c[1] - y[1]).v.v;
      if (distance < nearest) nearest = distance, span = s, t0 = 0.05 * i;
    }
  TwiceDual t = t0;
  const auto slope = [&](const TwiceDual& at) {
    const CurvePoint p(curve, x, nodes, span, t0, at);
    return (p.c[0] - y[0]) * p.d[0] + (p.c[1] - y[1]) * p.d[1];
  };
  for (int i = 0; i < 12; ++i) {
    const double h = 1e-4;
    const double bend = (slope(t.v.v + h).v.v - slope(t.v.v - h).v.v) / (2 * h);
    t -= slope(t) / bend;
  }
  const CurvePoint p(curve, x, nodes, span, t0, t);
  const TwiceDual speed = length(p.d[0], p.d[1]);
  return ((p.c[0] - y[0]) * p.d[1] - (p.c[1] - y[1]) * p.d[0]) / speed;
}

}  // namespace

TEST_CASE("ring_has_the_derivatives_of_dual_numbers", "[parts][dual]") {
  constexpr int nodes = 14, segments = 4, first = 2 * nodes;
  TensionRing::Wire wire{first, segments, 2.0, 1 / 5.5, 40, 900, 0.7, 30};
  TensionRing::Support support;
  for (int k = 0; k < nodes; ++k) support.equator_nodes.push_back(k);
  support.contact_softness_mm = 0.05;
  support.held_node = 1;
  support.held_span = 1;
  support.held_place = 0.3;
  support.eyelet_node = 3;
  support.eyelet_at = {0.5, 5.4};
  support.eyelet_stiffness_mN_per_mm = 12;
  Vector x;
  for (int k = 0; k < nodes; ++k) {
    const double angle = 2 * pi * k / nodes, radius = 5 + 0.2 * std::cos(2 * angle) + 0.05 * std::sin(3 * angle);
    x.push_back(radius * std::cos(angle));
    x.push_back(radius * std::sin(angle));
  }
  // Deep in the barrier, in its corner, and free of it.
  for (const auto& [angle, radius] : {std::pair{0.2, 5.3}, {0.6, 5.15}, {1.0, 5.02}, {1.4, 4.9}, {1.8, 4.7}}) {
    x.push_back(radius * std::cos(angle));
    x.push_back(radius * std::sin(angle));
  }
  TensionRing ring(wire, support);
  ring.set_insertion_day(5);
  ring.set_day(20);
  const EquatorCurve curve(nodes);
  const double creep = 0.7 + 0.3 * std::exp(-15.0 / 30);
  int deep = 0, corner = 0, clear = 0;
  part_has_the_derivatives_of(ring, x, [&](const Numbers& n) {
    const auto at = [&](int j) { return point(n, nodes + j); };
    TwiceDual total;
    for (int i = 0; i < segments; ++i) {
      const TwiceDual strain = length(at(i + 1)[0] - at(i)[0], at(i + 1)[1] - at(i)[1]) / 2.0 - 1;
      total += 0.5 * 900 * 2.0 * squared(strain);
    }
    for (int i = 1; i < segments; ++i) {
      const TwiceDual ax = at(i)[0] - at(i - 1)[0], ay = at(i)[1] - at(i - 1)[1], bx = at(i + 1)[0] - at(i)[0],
                      by = at(i + 1)[1] - at(i)[1];
      const TwiceDual curvature = atan2(ax * by - ay * bx, ax * bx + ay * by) / 2.0 - 1 / 5.5;
      total += 0.5 * 40 * creep * 2.0 * squared(curvature);
    }
    deep = corner = clear = 0;
    for (int j = 0; j <= segments; ++j) {
      const TwiceDual p = -gap(curve, n, nodes, at(j));
      const double tributary = j == 0 || j == segments ? 1.0 : 2.0, k = support.contact_stiffness_mN_per_mm2,
                   e = support.contact_softness_mm;
      if (!(p > 0.0)) {
        ++clear;
      } else if (p < e) {
        ++corner;
        total += tributary * k * p * p * p / (6 * e);
      } else {
        ++deep;
        total += tributary * k * (0.5 * squared(p - 0.5 * e) + e * e / 24);
      }
    }
    const CurvePoint held(curve, n, nodes, support.held_span, support.held_place, support.held_place);
    const TwiceDual speed = length(held.d[0], held.d[1]);
    const TwiceDual slid = ((at(1)[0] - held.c[0]) * held.d[0] + (at(1)[1] - held.c[1]) * held.d[1]) / speed;
    total += 0.5 * support.held_stiffness_mN_per_mm * squared(slid);
    total += 0.5 * 12 * (squared(at(3)[0] - 0.5) + squared(at(3)[1] - 5.4));
    return total;
  });
  CHECK(deep > 0);
  CHECK(corner > 0);
  CHECK(clear > 0);
}
