// SPDX-License-Identifier: BSD-3-Clause
// The mesh: areas, shape functions, mesh lines, cut lines and their lips, the posterior disc, the
// outline of the opening, and the spacing of its lines.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <set>

#include "annulus.hpp"
#include "capsim/error.hpp"
#include "geometry/layer_plan.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

constexpr double rounding = 1e-12;

double area(const Patch& patch) { return std::accumulate(patch.weights.begin(), patch.weights.end(), 0.0); }

AnnulusShape shape_of(int order, int posterior_layers = 0) {
  AnnulusShape shape;
  shape.order = order;
  shape.posterior_layers = posterior_layers;
  return shape;
}

/// Area between two circles drawn as the mesh draws them: chords, or parabolas through three points.
double drawn_circle(double radius, int around, int order) {
  const double half = pi / around, triangle = radius * radius * std::sin(half) * std::cos(half);
  const double segment = 4.0 / 3 * radius * std::sin(half) * radius * (1 - std::cos(half));  // of a parabola
  return around * (triangle + (order == 2 ? segment : 0));
}

}  // namespace

TEST_CASE("elements_fill_the_leaf_exactly", "[mesh]") {
  const int order = GENERATE(1, 2);
  const AnnulusShape shape = shape_of(order, 2);
  const Mesh mesh = annulus(shape);
  const double inner = drawn_circle(shape.inner_mm, shape.around, order),
               outer = drawn_circle(shape.outer_mm, shape.around, order);
  CHECK(area(mesh.anterior()) == Approx(outer - inner).epsilon(rounding));
  CHECK(area(mesh.posterior_ring()) + area(mesh.posterior_fan()) == Approx(outer).epsilon(rounding));
  // Quadratic edges miss the circle by 1e-6 of its area at 48 elements, chords by 3e-3.
  CHECK(std::abs(outer / (pi * shape.outer_mm * shape.outer_mm) - 1) < (order == 2 ? 1e-6 : 3e-3));
  for (const double w : mesh.anterior().weights) CHECK(w > 0);
}

TEST_CASE("shape_functions_reproduce_linear_fields", "[mesh]") {
  const int order = GENERATE(1, 2);
  AnnulusShape shape = shape_of(order, 2);
  shape.inner_center_mm = {0.5, 0.3};
  const Mesh mesh = annulus(shape);
  for (const Patch* patch : {&mesh.anterior(), &mesh.posterior_ring(), &mesh.posterior_fan()}) {
    const std::size_t n = static_cast<std::size_t>(patch->nodes_per_element);
    for (int q = 0; q < patch->points_per_element; ++q) {
      double sum = 0;
      for (std::size_t a = 0; a < n; ++a) sum += patch->shape[static_cast<std::size_t>(q) * n + a];
      CHECK(sum == Approx(1).epsilon(rounding));
    }
    for (int e = 0; e < patch->elements(); ++e)
      for (int q = 0; q < patch->points_per_element; ++q) {
        const auto f = deformation_gradient(*patch, mesh.reference(), e, q);  // of x(X) = X
        const double identity[4] = {1, 0, 0, 1};
        for (std::size_t k = 0; k < 4; ++k) CHECK(std::abs(f[k] - identity[k]) <= rounding);
        double d[16];
        patch->shape_gradients(e, q, d);
        double sx = 0, sy = 0;
        for (std::size_t a = 0; a < n; ++a) sx += d[2 * a], sy += d[2 * a + 1];
        CHECK(std::abs(sx) + std::abs(sy) <= rounding * 100);  // of gradients of size 10 / mm
      }
  }
}

TEST_CASE("shape_functions_are_one_at_their_node_and_zero_at_the_others", "[mesh]") {
  const double xi[8] = {-1, 1, 1, -1, 0, 1, 0, -1}, eta[8] = {-1, -1, 1, 1, -1, 0, 1, 0};
  for (const int order : {1, 2})
    for (int a = 0; a < 4 * order; ++a) {
      double shape[8];
      quad_shape(order, xi[a], eta[a], shape);
      for (int b = 0; b < 4 * order; ++b) CHECK(shape[b] == Approx(a == b ? 1 : 0).margin(1e-15));
    }
}

TEST_CASE("rows_and_columns_lie_where_they_were_placed", "[mesh]") {
  const int order = GENERATE(1, 2);
  AnnulusShape shape = shape_of(order);
  shape.lines = {2.5, 2.6, 2.9, 3.3, 3.8, 4.4, 5.0};
  const Mesh mesh = annulus(shape);
  CHECK(mesh.rows() == shape.layers * order + 1);
  CHECK(mesh.columns() == shape.around * order);
  std::set<int> seen;
  for (int r = 0; r < mesh.rows(); ++r)
    for (int c = 0; c < mesh.columns(); ++c) {
      const int node = mesh.node(r, c);
      const bool centre = order == 2 && r % 2 == 1 && c % 2 == 1;
      CHECK((node < 0) == centre);
      if (centre) continue;
      CHECK(seen.insert(node).second);
      const double line =
          r % order == 0
              ? shape.lines[static_cast<std::size_t>(r / order)]
              : 0.5 * (shape.lines[static_cast<std::size_t>(r / 2)] + shape.lines[static_cast<std::size_t>(r / 2) + 1]);
      const double angle = mesh.plan().column_angle[static_cast<std::size_t>(c)];
      CHECK(mesh.reference()[static_cast<std::size_t>(2 * node)] == Approx(line * std::cos(angle)).margin(rounding));
      CHECK(mesh.reference()[static_cast<std::size_t>(2 * node + 1)] ==
            Approx(line * std::sin(angle)).margin(rounding));
      CHECK(mesh.fraction(r, c) == Approx((line - 2.5) / 2.5).margin(rounding));
    }
  CHECK(static_cast<int>(seen.size()) == mesh.nodes());
  CHECK(static_cast<int>(mesh.equator_nodes().size()) == mesh.columns());
  for (int c = 0; c < mesh.columns(); ++c)
    CHECK(mesh.equator_nodes()[static_cast<std::size_t>(c)] == mesh.node(mesh.rows() - 1, c));
  CHECK(mesh.hub_node() == -1);
}

TEST_CASE("elements_are_numbered_layer_by_layer_from_the_rim", "[mesh]") {
  const Mesh mesh = annulus(shape_of(2));
  for (int layer = 0; layer < 6; ++layer)
    for (const int sector : {0, 17, 47}) {
      const int e = mesh.element(layer, sector);
      const Point p = mesh.anterior().at(mesh.reference(), e, 4);  // the middle
      const double r = std::hypot(p[0], p[1]), angle = std::atan2(p[1], p[0]);
      CHECK(r == Approx(2.5 + 2.5 * (layer + 0.5) / 6).epsilon(1e-4));
      CHECK(std::abs(angle_difference(angle, 2 * pi * (sector + 0.5) / 48)) < 1e-9);
    }
}

TEST_CASE("leaf_and_posterior_disc_share_the_equator_and_nothing_else", "[mesh]") {
  const int order = GENERATE(1, 2);
  const Mesh mesh = annulus(shape_of(order, 2));
  const std::set<int> anterior(mesh.anterior().nodes.begin(), mesh.anterior().nodes.end());
  std::set<int> posterior(mesh.posterior_ring().nodes.begin(), mesh.posterior_ring().nodes.end());
  posterior.insert(mesh.posterior_fan().nodes.begin(), mesh.posterior_fan().nodes.end());
  std::vector<int> shared;
  std::set_intersection(anterior.begin(), anterior.end(), posterior.begin(), posterior.end(),
                        std::back_inserter(shared));
  std::vector<int> equator = mesh.equator_nodes();
  std::sort(equator.begin(), equator.end());
  // The disc may be coarser than the leaf, but it must hang on the equator all round.
  for (const int node : shared) CHECK(std::binary_search(equator.begin(), equator.end(), node));
  CHECK(shared.size() * 2 >= equator.size());
  CHECK(posterior.count(mesh.hub_node()) == 1);
  const std::size_t hub = 2 * static_cast<std::size_t>(mesh.hub_node());
  CHECK(std::hypot(mesh.reference()[hub], mesh.reference()[hub + 1]) <= rounding);
  // Every node belongs to something.
  std::set<int> all = anterior;
  all.insert(posterior.begin(), posterior.end());
  CHECK(static_cast<int>(all.size()) == mesh.nodes());
}

TEST_CASE("a_cut_line_has_two_lips_up_to_its_tip", "[mesh][cuts]") {
  const int order = GENERATE(1, 2);
  AnnulusShape shape = shape_of(order);
  shape.cuts = {{6, 3}, {30, 2}};
  const Mesh mesh = annulus(shape), whole = annulus(shape_of(order));
  CHECK(mesh.nodes() == whole.nodes() + (3 + 2) * order);
  const auto lips = mesh.lip_nodes(0, 3);
  CHECK(static_cast<int>(lips.size()) == 3 * order);
  for (std::size_t r = 0; r < lips.size(); ++r) {
    const auto [clockwise, counter] = lips[r];
    CHECK(clockwise != counter);
    CHECK(clockwise == mesh.node(static_cast<int>(r), 6 * order, 0));
    CHECK(counter == mesh.node(static_cast<int>(r), 6 * order, 1));
    for (const std::size_t d : {0u, 1u})  // in the same place
      CHECK(mesh.reference()[2 * static_cast<std::size_t>(clockwise) + d] ==
            mesh.reference()[2 * static_cast<std::size_t>(counter) + d]);
  }
  CHECK(mesh.tip_node(0, 3) == mesh.node(3 * order, 6 * order));
  CHECK(mesh.node(3 * order, 6 * order, 1) == mesh.node(3 * order, 6 * order, 0));  // the tip is one node
  CHECK(static_cast<int>(mesh.lip_nodes(0, 1).size()) == order);                    // a shorter cut on the same line

  // The lips belong to the elements on their own side, short of the tip, and never to the same one.
  for (int layer = 0; layer < shape.layers; ++layer) {
    const auto holds = [&](int sector, int node) {
      const auto first = mesh.anterior().nodes.begin() + mesh.element(layer, sector) * 4 * order;
      return std::find(first, first + 4 * order, node) != first + 4 * order;
    };
    const int clockwise = mesh.node(layer * order, 6 * order, 0), counter = mesh.node(layer * order, 6 * order, 1);
    CHECK(holds(5, clockwise));
    CHECK(holds(6, counter));
    CHECK(holds(6, clockwise) == (layer >= 3));
    CHECK(holds(5, counter) == (layer >= 3));
  }
}

TEST_CASE("the_outline_runs_round_the_rim_and_along_open_lips", "[mesh][cuts]") {
  const int order = GENERATE(1, 2);
  AnnulusShape shape = shape_of(order);
  shape.cuts = {{0, 3}, {24, 2}};
  const Mesh mesh = annulus(shape);
  const auto outline = [&](int first, int second) { return mesh.outline_nodes(std::vector<int>{first, second}); };
  CHECK(static_cast<int>(outline(0, 0).size()) == mesh.columns());
  const auto open = outline(3, 1);
  CHECK(static_cast<int>(open.size()) == mesh.columns() + 2 * (3 + 1) * order);
  CHECK(open.size() % static_cast<std::size_t>(order) == 0);
  CHECK(std::count(open.begin(), open.end(), mesh.tip_node(0, 3)) == 1);
  CHECK(std::count(open.begin(), open.end(), mesh.tip_node(1, 1)) == 1);
  for (const auto& pair : mesh.lip_nodes(0, 3))
    for (const int node : pair) CHECK(std::count(open.begin(), open.end(), node) == 1);
  // Closed cuts enclose nothing: the signed area is that of the rim.
  double twice = 0;
  for (std::size_t i = 0; i < open.size(); ++i) {
    const std::size_t a = 2 * static_cast<std::size_t>(open[i]),
                      b = 2 * static_cast<std::size_t>(open[(i + 1) % open.size()]);
    twice += mesh.reference()[a] * mesh.reference()[b + 1] - mesh.reference()[a + 1] * mesh.reference()[b];
  }
  CHECK(0.5 * twice == Approx(drawn_circle(2.5, mesh.columns(), 1)).epsilon(rounding));
}

TEST_CASE("a_folded_mesh_says_so", "[mesh]") {
  MeshPlan plan;
  plan.around = 8;
  plan.layers = 2;
  plan.order = 2;
  for (int c = 0; c < 16; ++c) plan.column_angle.push_back(pi * c / 8);
  Mesh mesh(plan);
  std::vector<Point> rim, equator;
  for (const double angle : plan.column_angle) {
    rim.push_back({2 * std::cos(angle), 2 * std::sin(angle)});
    equator.push_back({5 * std::cos(angle), 5 * std::sin(angle)});
  }
  std::vector<double> fractions(16, 0.0);
  fractions.insert(fractions.end(), 16, 0.5);
  fractions.insert(fractions.end(), 16, 1.0);
  CHECK(mesh.place(rim, equator, fractions));
  rim[4] = {0, 9};  // far beyond the equator
  CHECK_FALSE(mesh.place(rim, equator, fractions));
  plan.column_angle.pop_back();
  CHECK_THROWS_AS(Mesh(plan), InternalError);
}

TEST_CASE("graded_spacing_is_fine_at_the_marked_ends", "[mesh]") {
  for (const bool start : {false, true})
    for (const bool end : {false, true}) {
      const auto points = graded(3.0, 8, start, end, 0.4, 1.0);
      REQUIRE(points.size() == 9);
      CHECK(points.front() == 0);
      CHECK(points.back() == 1);
      std::vector<double> size;
      for (std::size_t k = 1; k < points.size(); ++k) size.push_back(points[k] - points[k - 1]);
      for (const double s : size) CHECK(s > 0);
      const double middle = *std::max_element(size.begin(), size.end());
      // The first interval reaches away from the end, so it is larger than 0.4 of the largest.
      CHECK((size.front() < 0.75 * middle) == start);
      CHECK((size.back() < 0.75 * middle) == end);
      if (start == end)
        for (std::size_t k = 0; k < size.size(); ++k) CHECK(size[k] == Approx(size[size.size() - 1 - k]).epsilon(1e-6));
    }
  const auto even = graded(2.0, 5, false, false, 0.4, 1.0);
  for (std::size_t k = 0; k < even.size(); ++k) CHECK(even[k] == Approx(0.2 * static_cast<double>(k)).margin(1e-12));
}

TEST_CASE("columns_start_at_noon_and_every_mark_has_a_ray", "[mesh]") {
  for (const int order : {1, 2}) {
    std::vector<int> rays;
    const auto plain = column_angles(48, order, {}, rays);
    CHECK(static_cast<int>(plain.size()) == 48 * order);
    CHECK(plain.front() == Approx(pi / 2));
    for (std::size_t c = 1; c < plain.size(); ++c)
      CHECK(plain[c] - plain[c - 1] == Approx(2 * pi / static_cast<double>(plain.size())));

    const std::vector<double> marks{0.3, -2.0, 1.1, 2.9};
    const auto angles = column_angles(48, order, marks, rays);
    REQUIRE(rays.size() == marks.size());
    CHECK(angles.size() % static_cast<std::size_t>(order) == 0);
    for (std::size_t k = 0; k < marks.size(); ++k)
      CHECK(std::abs(angle_difference(angles[static_cast<std::size_t>(rays[k] * order)], marks[k])) <= rounding);
    for (std::size_t c = 1; c < angles.size(); ++c) CHECK(angles[c] > angles[c - 1]);
    CHECK(angles.back() - angles.front() < 2 * pi);
    // Sizes shrink towards a mark.
    const std::size_t ray = static_cast<std::size_t>(rays[0] * order), step = static_cast<std::size_t>(order);
    CHECK(angles[ray + step] - angles[ray] < angles[ray + 3 * step] - angles[ray + 2 * step]);
  }
}
