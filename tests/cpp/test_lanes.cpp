// SPDX-License-Identifier: BSD-3-Clause
// Four elements at a time: every lane does what a plain double does, both widths give the same bits, and a range of
// elements that is no multiple of four gets neither more nor less than its own.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <numbers>

#include "part_checks.hpp"
#include "parts/leaf_density.hpp"
#include "parts/tissue_density.hpp"

using namespace capsim;
using capsim::checks::Vector;

namespace {

/// Sums of a hundred points in another order.
constexpr double other_order = 1e-13;

// A ring of elements, their number no multiple of four, and an uneven deformation with taut, wrinkled and slack places.
struct Ring {
  Mesh mesh;
  Vector x;

  static MeshPlan plan(int order) {
    MeshPlan plan;
    plan.around = 7;
    plan.layers = 3;
    plan.order = order;
    plan.posterior_layers = 2;
    for (int c = 0; c < plan.around * order; ++c)
      plan.column_angle.push_back(2 * std::numbers::pi * c / (plan.around * order));
    return plan;
  }
  explicit Ring(int order) : mesh(plan(order)) {
    std::vector<Point> rim, equator;
    for (const double a : mesh.plan().column_angle) {
      rim.push_back({2.5 * std::cos(a), 2.4 * std::sin(a)});
      equator.push_back({5 * std::cos(a), 5 * std::sin(a)});
    }
    Vector fractions;
    for (int line = 0; line <= mesh.plan().layers; ++line)
      fractions.insert(fractions.end(), rim.size(), static_cast<double>(line) / mesh.plan().layers);
    REQUIRE(mesh.place(rim, equator, fractions));
    x = mesh.reference();
    for (std::size_t i = 0; i < x.size(); i += 2) {
      const double a = x[i], b = x[i + 1];
      x[i] = a * (1.03 - 0.012 * std::hypot(a, b) + 0.02 * std::sin(2 * a));
      x[i + 1] = b * (0.99 + 0.03 * std::cos(a + b));
    }
  }
};

// A value of its own for every point.
Vector spread(std::size_t n, double mean, double by) {
  Vector v(n);
  for (std::size_t i = 0; i < n; ++i) v[i] = mean + by * std::sin(1.7 * static_cast<double>(i));
  return v;
}

constexpr surface::ElementKind whole{8, 9};

struct Collected : Tangent {
  Vector entries;
  std::size_t size;
  explicit Collected(int nodes) : size(static_cast<std::size_t>(4 * nodes * nodes)) {}
  void add(std::size_t, const double* matrix) override { entries.insert(entries.end(), matrix, matrix + size); }
};

template <surface::ElementKind kind, class Density>
void widths_agree(const Patch& patch, const Vector& x, int first, int last, const Density& density) {
  using Loops = surface::FourAtATime<kind, Density>;
  Vector narrow(x.size(), 0.0), either(x.size(), 0.0);
  CHECK(Loops::gradient(patch, x.data(), narrow.data(), first, last, density) ==
        surface::gradient<kind>(patch, x.data(), either.data(), first, last, density));
  CHECK(narrow == either);
  for (const Curvature curvature : {Curvature::exact, Curvature::positive}) {
    Collected a(kind.nodes), b(kind.nodes);
    Loops::hessian(patch, x.data(), curvature, 0, a, first, last, density);
    surface::hessian<kind>(patch, x.data(), curvature, 0, b, first, last, density);
    CHECK(a.entries == b.entries);
    CHECK(a.entries.size() == a.size * static_cast<std::size_t>(last - first));
  }
}

template <surface::ElementKind kind, class Density>
void lanes_agree_with_doubles(const Patch& patch, const Vector& x, int first, int last, const Density& density) {
  constexpr int N = kind.nodes;
  double energy = 0;
  for (int e = first; e < last; ++e) energy += surface::energy_of_element<kind>(patch, x.data(), e, density);
  CHECK(surface::energy<kind>(patch, x.data(), first, last, density) == Approx(energy).epsilon(other_order));
  // The stress of every point, element by element.
  Vector g(x.size(), 0.0), expected(x.size(), 0.0);
  surface::gradient<kind>(patch, x.data(), g.data(), first, last, density);
  for (int e = first; e < last; ++e) {
    double position[2 * N];
    surface::gather<N>(patch, x.data(), e, position);
    for (int q = 0; q < patch.points_per_element; ++q) {
      const std::size_t p = static_cast<std::size_t>(e * patch.points_per_element + q);
      double d[2 * N];
      patch.shape_gradients(e, q, d);
      Tensor s;
      density.stress(surface::OnePoint{p - density.first_point}, surface::deformation<N>(patch, position, e, q), s);
      for (int a = 0; a < N; ++a) {
        const auto node = 2 * static_cast<std::size_t>(patch.nodes[static_cast<std::size_t>(e * N + a)]);
        expected[node] += patch.weights[p] * (s.xx * d[2 * a] + s.xy * d[2 * a + 1]);
        expected[node + 1] += patch.weights[p] * (s.yx * d[2 * a] + s.yy * d[2 * a + 1]);
      }
    }
  }
  const double scale = checks::largest_of(expected);
  REQUIRE(scale > 0);
  double worst = 0;
  for (std::size_t i = 0; i < g.size(); ++i) worst = std::max(worst, std::abs(g[i] - expected[i]));
  CHECK(worst <= other_order * scale);
}

// Calls check(patch, first, last, density) for leaves of both laws, grown and not, and for tissue of every kind.
template <class Check>
void each_density(const Ring& ring, const Patch& patch, Check&& check) {
  const std::size_t points = static_cast<std::size_t>(patch.points());
  for (const CapsuleLaw law : {CapsuleLaw::neo_hookean, CapsuleLaw::fung})
    for (const bool grown : {false, true}) {
      Membrane membrane;
      membrane.law = law;
      const Vector thickness = spread(points, 0.015, 0.003);
      Vector growth = spread(4 * points, 0, 0.05);
      for (std::size_t i = 0; i < growth.size(); ++i) growth[i] += i % 4 == 0 || i % 4 == 3 ? 1 : 0;
      check(patch, 0, patch.elements(), LeafDensity{membrane, thickness.data(), grown ? growth.data() : nullptr});
    }
  const int first = 3, last = 17;  // neither begins nor ends with a group of four
  const std::size_t origin = static_cast<std::size_t>(first * patch.points_per_element),
                    n = static_cast<std::size_t>((last - first) * patch.points_per_element);
  for (const bool sheet : {false, true})
    for (const bool active : {false, true}) {
      TissueMaterial material{0.05, {3, 1, 1, 1}, 20, sheet ? 200.0 : 0.0};
      Vector hoop;
      for (int e = first; e < last; ++e)
        for (int q = 0; q < patch.points_per_element; ++q) {
          const Point at = patch.at(ring.mesh.reference(), e, q);
          const double r = std::hypot(at[0], at[1]);
          hoop.insert(hoop.end(), {-at[1] / r, at[0] / r});
        }
      FibrousTissue tissue(patch, first, last, hoop, material);
      FibrousTissue::Fields& fields = tissue.fields();
      fields.fraction = spread(n, 0.4, 0.3);
      fields.fraction[5] = 0;
      for (auto& v : fields.natural) v = spread(n, 0.97, 0.05);
      if (active)
        for (auto& v : fields.active) v = spread(n, 0.1, 0.05);
      if (active) fields.stall = 0.9;
      if (sheet)
        for (std::size_t i = 0; i < 3; ++i) fields.natural_sheet[i] = spread(n, i == 1 ? 0 : 0.95, 0.02);
      check(patch, first, last, TissueDensity{tissue, fields, origin});
    }
}

template <class Law>
void laws_agree(Law&& law, const double (&l1)[4], const double (&l2)[4]) {
  const auto four = law(Lanes::from(l1), Lanes::from(l2));
  for (int lane = 0; lane < 4; ++lane) {
    const StretchResponse one = law(l1[lane], l2[lane]);
    CHECK(four.w[lane] == one.w);
    CHECK(four.w1[lane] == one.w1);
    CHECK(four.w2[lane] == one.w2);
    CHECK(four.w11[lane] == one.w11);
    CHECK(four.w12[lane] == one.w12);
    CHECK(four.w22[lane] == one.w22);
    CHECK(four.flip[lane] == one.flip);
  }
}

}  // namespace

TEST_CASE("every_lane_has_the_bits_of_a_plain_double", "[lanes]") {
  const double l1[4] = {1.2, 1.1, 0.9, 1.0}, l2[4] = {1.1, 0.8, 0.7, 1.0};  // taut, wrinkled, slack, undeformed
  Membrane exponential;
  exponential.law = CapsuleLaw::fung;
  for (const Membrane& membrane : {Membrane{}, exponential}) {
    laws_agree([&](auto a, auto b) { return membrane_law::blended<membrane_law::Derivatives::second>(membrane, a, b); },
               l1, l2);
    laws_agree([&](auto a, auto b) { return membrane_law::full<membrane_law::Derivatives::second>(membrane, a, b); },
               l1, l2);
  }
}

TEST_CASE("the_flip_mode_is_the_slope_between_the_stretches_and_has_a_limit", "[lanes][capsule]") {
  Membrane exponential;
  exponential.law = CapsuleLaw::fung;
  constexpr double rounding = 1e-12;  // of a difference of stresses over a difference of stretches of 0.1
  for (const Membrane& m : {Membrane{}, exponential}) {
    for (const auto& [l1, l2] : {std::pair{1.3, 1.1}, {1.2, 0.7}, {0.95, 0.8}}) {
      const StretchResponse w = m.blended(l1, l2);
      CHECK(w.flip == Approx((w.w1 - w.w2) / (0.5 * (l1 - l2))).epsilon(rounding));
    }
    const StretchResponse w = m.full(1.1, 1.1);
    CHECK(w.flip == Approx(w.w11 - 2 * w.w12 + w.w22).epsilon(rounding));
  }
}

TEST_CASE("narrow_and_wide_elements_give_the_same_bits", "[lanes]") {
  const Ring ring(2);
  const auto agree = [&](const Patch& patch, int first, int last, const auto& density) {
    surface::with_kind(patch, [&](auto kind) { widths_agree<kind.value>(patch, ring.x, first, last, density); });
  };
  each_density(ring, ring.mesh.anterior(), agree);
  each_density(ring, ring.mesh.anterior().with_four_points(ring.mesh.reference()), agree);
}

TEST_CASE("four_elements_at_a_time_give_what_one_after_another_gives", "[lanes]") {
  for (const int order : {1, 2}) {
    const Ring ring(order);
    const auto agree = [&](const Patch& patch, int first, int last, const auto& density) {
      surface::with_kind(patch,
                         [&](auto kind) { lanes_agree_with_doubles<kind.value>(patch, ring.x, first, last, density); });
    };
    each_density(ring, ring.mesh.anterior(), agree);
    each_density(ring, ring.mesh.anterior().with_four_points(ring.mesh.reference()), agree);
    // Triangles of the fan, seven of them.
    const Patch& fan = ring.mesh.posterior_fan();
    const Vector thickness = spread(static_cast<std::size_t>(fan.points()), 0.005, 0.001);
    const Membrane membrane;
    const LeafDensity density{membrane, thickness.data(), nullptr};
    if (order == 1)
      lanes_agree_with_doubles<surface::ElementKind{3, 1}>(fan, ring.x, 0, fan.elements(), density);
    else
      lanes_agree_with_doubles<surface::ElementKind{6, 3}>(fan, ring.x, 0, fan.elements(), density);
  }
}

TEST_CASE("a_folded_element_in_any_lane_is_refused_and_one_outside_the_range_is_not", "[lanes]") {
  const Ring ring(2);
  const Patch& patch = ring.mesh.anterior();
  const Vector thickness(static_cast<std::size_t>(patch.points()), 0.015);
  const Membrane membrane;
  for (const int folded : {4, 5, 6, 7}) {
    Vector x = ring.x;
    // A mid-side node of this element only lies on the rim side; sent across, it folds the element.
    const int node = ring.mesh.node(0, 2 * (folded - 4) + 1);
    x[2 * static_cast<std::size_t>(node)] *= 2.5;
    x[2 * static_cast<std::size_t>(node) + 1] *= 2.5;
    const int element = ring.mesh.element(0, folded - 4);
    Vector g(x.size(), 0.0);
    const LeafDensity density{membrane, thickness.data(), nullptr};
    CHECK(std::isinf(surface::gradient<whole>(patch, x.data(), g.data(), 0, patch.elements(), density)));
    CHECK(std::isinf(surface::energy<whole>(patch, x.data(), 0, patch.elements(), density)));
    std::fill(g.begin(), g.end(), 0.0);
    CHECK(std::isfinite(surface::gradient<whole>(patch, x.data(), g.data(), element + 1, patch.elements(), density)));
    for (const double v : g) REQUIRE(std::isfinite(v));
  }
}
