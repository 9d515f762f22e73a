// SPDX-License-Identifier: BSD-3-Clause
// The unloaded shape that the model finds: at rest it is the stated opening, in weak eyes and between
// the close mesh lines of planned cuts as well.
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "capsim/model.hpp"

using namespace capsim;

namespace {

Scenario eye(double strength, bool cuts) {
  Scenario s;
  s.opening.diameter_mm = 5;
  s.zonule.strength = strength;
  if (strength < 1) s.zonule.strength_by_hour = {{4, 0.0}, {5, 0.0}};
  if (cuts) s.events.push_back({90, RelaxingCuts{{12, 3, 6, 9}, 0.75}});
  return s;
}

/// Largest distance of a rim node at rest from the stated circle [mm].
double farthest_from_circle(const Model& model) {
  const Mesh& mesh = model.mesh();
  double most = 0;
  for (int c = 0; c < mesh.columns(); ++c) {
    const std::size_t n = 2 * static_cast<std::size_t>(mesh.node(0, c));
    const double r = std::hypot(model.rest_as_stated()[n], model.rest_as_stated()[n + 1]);
    most = std::max(most, std::abs(r - model.scenario().opening.diameter_mm / 2));
  }
  return most;
}

}  // namespace

TEST_CASE("the_stated_opening_lies_at_rest_in_strong_and_weak_eyes_with_and_without_cuts", "[model]") {
  constexpr double wanted_mm = 2e-6;  // the model stops below 1e-6
  for (const double strength : {1.0, 0.3, 0.1})
    for (const bool cuts : {false, true}) {
      INFO("strength " << strength << (cuts ? " with cuts" : " without cuts"));
      const Model model(eye(strength, cuts));
      CHECK(farthest_from_circle(model) < wanted_mm);
      CHECK(model.in_situ_error_mm() < wanted_mm);
      CHECK(model.cuts().size() == (cuts ? 4u : 0u));
    }
}

TEST_CASE("the_unloaded_opening_is_smaller_than_the_stated_one_and_less_so_in_a_weak_eye", "[model]") {
  const auto unloaded_radius = [](double strength) {
    Scenario s = eye(1, false);
    s.zonule.pull_mN = 60;
    s.zonule.strength = strength;
    const Model model(s);
    const std::size_t n = 2 * static_cast<std::size_t>(model.mesh().node(0, 0));
    return std::hypot(model.mesh().reference()[n], model.mesh().reference()[n + 1]);
  };
  const double strong = unloaded_radius(1), weak = unloaded_radius(0.1);
  CHECK(strong < 2.2);  // 60 mN open a leaf of 830 kPa by more than 13 %
  CHECK(weak > strong);
  CHECK(weak < 2.5);
}
