// SPDX-License-Identifier: BSD-3-Clause
// Arcs of the equator are integrated over the arc that is named, whatever the columns of the mesh; and so a cut that
// is only planned moves nothing.
#include "parts/equator_arc.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "parts/equator_curve.hpp"

using namespace capsim;

namespace {

constexpr double rounding = 1e-12;
/// Three Gauss points on a sector of 18 degrees miss a cosine by less than this.
constexpr double quadrature_error = 1e-8;
/// Position of lens, opening and bag that a crowded mesh may make up out of nothing [mm].
constexpr double made_up_mm = 0.002;

/// Columns crowd at three adjacent hours at which cuts are planned.
Mesh uneven_mesh(MeshSpec spec) {
  Scenario scenario;
  scenario.mesh = spec;
  scenario.duration_days = 1;
  scenario.events.push_back({1, RelaxingCuts{{12, 1, 2}, 0.75}});
  return Model(scenario).mesh();
}

double integral(const std::vector<ArcPoint>& points, double (*f)(double)) {
  double sum = 0;
  for (const ArcPoint& p : points) sum += p.width * f(p.at);
  return sum;
}

}  // namespace

TEST_CASE("an_arc_is_integrated_exactly_on_an_uneven_mesh", "[parts][arc]") {
  const Mesh mesh = uneven_mesh(GENERATE(MeshSpec::coarse(), MeshSpec::standard()));
  for (const double middle : {0.0, 1.3, 3.1, -2.0})
    for (const double width : {0.2, 0.7, 2.5}) {
      INFO("middle " << middle << ", width " << width);
      const auto points = arc_points(mesh, middle, width);
      const double a = middle - 0.5 * width, b = middle + 0.5 * width;
      CHECK(integral(points, [](double) { return 1.0; }) == Approx(width).epsilon(rounding));
      CHECK(integral(points, std::cos) == Approx(std::sin(b) - std::sin(a)).margin(quadrature_error));
      CHECK(integral(points, std::sin) == Approx(std::cos(a) - std::cos(b)).margin(quadrature_error));
    }
}

TEST_CASE("points_all_round_end_at_the_limits_between_hours", "[parts][arc]") {
  const Mesh mesh = uneven_mesh(MeshSpec::coarse());
  const auto points = equator_points(mesh);
  double hours[12] = {};
  for (const ArcPoint& p : points) {
    CHECK(std::abs(p.eta) < 1);
    hours[static_cast<int>(std::lround(3 - p.at / (pi / 6) + 36)) % 12] += p.width;
  }
  for (const double width : hours) CHECK(width == Approx(pi / 6).epsilon(1e-8));
}

TEST_CASE("a_cut_that_is_only_planned_moves_nothing", "[parts][arc][simulation]") {
  const MeshSpec mesh = GENERATE(MeshSpec::coarse(), MeshSpec::standard());
  const std::vector<double> hours = GENERATE(std::vector<double>{12, 4, 8}, std::vector<double>{1, 2, 3},
                                             std::vector<double>{5}, std::vector<double>{2.5, 9});
  const bool weak_below = GENERATE(false, true);
  Scenario plain;
  plain.mesh = mesh;
  plain.duration_days = 1;
  if (weak_below) plain.zonule.strength_by_hour = {{6, 0.2}, {7, 0.5}};
  Scenario planned = plain;
  planned.events.push_back({1, RelaxingCuts{hours, 0.75}});
  const History without = simulate(plain), with = simulate(planned);
  INFO("around " << mesh.around << ", first cut at " << hours.front() << ", weak below " << weak_below);
  for (const char* place : {"lens_center_mm", "opening_center_mm", "equator_center_mm"})
    for (std::size_t axis = 0; axis < 2; ++axis)
      CHECK(with.value(place, 0, axis) == Approx(without.value(place, 0, axis)).margin(made_up_mm));
}

TEST_CASE("the_curve_under_a_ring_follows_a_circle_where_columns_crowd", "[parts][arc][ring]") {
  const Mesh mesh = uneven_mesh(GENERATE(MeshSpec::coarse(), MeshSpec::standard()));
  const std::vector<double>& angles = mesh.plan().column_angle;
  const EquatorCurve curve(angles);
  const int m = curve.spans();
  const auto place = [&](int span, double t, int derivative) {
    const EquatorCurve::Weights w = curve.at(span, t);
    const auto& weight = derivative == 0 ? w.n : derivative == 1 ? w.d : w.dd;
    Point p{0, 0};
    for (int k = 0; k < 6; ++k) {
      const double a = angles[static_cast<std::size_t>(((span - 2 + k) % m + m) % m)];
      p[0] += weight[static_cast<std::size_t>(k)] * std::cos(a);
      p[1] += weight[static_cast<std::size_t>(k)] * std::sin(a);
    }
    return p;
  };
  const auto width = [&](int span) {
    const double w = angles[static_cast<std::size_t>((span + 1) % m)] - angles[static_cast<std::size_t>(span % m)];
    return w > 0 ? w : w + 2 * pi;
  };
  // Of the radius: the widest span has 9 degrees, and the spline through three neighbours is of third order at least.
  constexpr double off_the_circle = 1e-4;
  for (int span = 0; span < m; ++span) {
    double sum = 0;
    for (const double w : curve.at(span, 0.37).n) sum += w;
    CHECK(sum == Approx(1).epsilon(rounding));
    for (const double t : {0.0, 0.3, 0.7}) {
      const Point p = place(span, t, 0);
      CHECK(std::hypot(p[0], p[1]) == Approx(1).margin(off_the_circle));
    }
    // Twice differentiable in the angle across the end of the span.
    for (int derivative = 0; derivative <= 2; ++derivative)
      for (std::size_t axis = 0; axis < 2; ++axis)
        CHECK(place(span, 1, derivative)[axis] / std::pow(width(span), derivative) ==
              Approx(place(span + 1, 0, derivative)[axis] / std::pow(width(span + 1), derivative)).margin(1e-9));
  }
}

TEST_CASE("a_ring_finds_its_rest_beside_every_set_of_adjacent_planned_cuts", "[parts][arc][ring][simulation]") {
  const MeshSpec mesh = GENERATE(MeshSpec::coarse(), MeshSpec::standard());
  const int count = GENERATE(3, 4);
  const int step = mesh == MeshSpec::coarse() ? 1 : 4;  // every first hour on the coarse mesh, three on the standard
  for (int first = 1; first <= 12; first += step) {
    Scenario s;
    s.mesh = mesh;
    s.duration_days = 1;
    s.tension_ring = TensionRingSpec{};
    RelaxingCuts cuts;
    for (int k = 0; k < count; ++k) cuts.hours.push_back((first + k - 1) % 12 + 1);
    s.events.push_back({1, cuts});
    const History history = simulate(s);
    INFO(count << " cuts from " << first << " o'clock, around " << mesh.around << ": " << history.message());
    CHECK(history.status() == Status::completed);
  }
}
