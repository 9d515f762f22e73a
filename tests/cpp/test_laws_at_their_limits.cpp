// SPDX-License-Identifier: BSD-3-Clause
// Whatever a scenario may state of its contraction, the law answers a finite state with finite rates and fields.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <string_view>
#include <vector>

#include "annulus.hpp"
#include "capsim/contraction_law.hpp"
#include "capsim/simulation.hpp"
#include "scenario/scenario_fields.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

// Puts half of the numbers of a section to one of their limits.
struct AtTheirLimits {
  std::mt19937& random;
  bool one_in_two() { return std::bernoulli_distribution(0.5)(random); }

  template <class Number>
  void number(std::string_view, Number& value, const Limits& limits) {
    if (one_in_two()) value = one_in_two() && !limits.low_open ? limits.low : limits.high;
  }
  template <class Value>
  void by_hour(std::string_view, Value&, const Limits&) {}
  template <class Choice>
  void choice(std::string_view, Choice&) {}
};

template <class Values>
bool all_finite(const Values& values) {
  for (const double v : values)
    if (!std::isfinite(v)) return false;
  return true;
}

}  // namespace

TEST_CASE("a_law_is_finite_wherever_its_fields_lie_between_their_limits", "[fibrosis]") {
  const Mesh mesh = annulus({});
  std::mt19937 random(41);
  std::uniform_real_distribution<double> share(0, 1), stretch(0.2, 3);
  for (int draw = 0; draw < 400; ++draw) {
    ContractionSpec spec;
    AtTheirLimits limits{random};
    fields(limits, spec);
    spec.law = draw % 2 == 0 ? ContractionKind::fibre_remodelling : ContractionKind::active_lock_in;
    FibrousTissue tissue(mesh.anterior(), 0, 2, hoop_directions(mesh, 0, 2), tissue_material(spec));
    const auto law = make_contraction_law(spec);
    const std::size_t n = tissue.points();
    std::vector<double> y(law->variables() * n), dydt(y.size()), stretches(fibre_families * n);
    for (double& v : y) v = share(random);
    for (std::size_t p = 0; p < n; ++p) {  // of a leaf stretched along two directions
      const double along = stretch(random), across = stretch(random), turn = 6 * share(random);
      for (std::size_t i = 0; i < fibre_families; ++i) {
        const double angle = turn + static_cast<double>(i == 3 ? 2 : i == 2 ? -1 : i) * pi / 4;
        stretches[i * n + p] = std::hypot(along * std::cos(angle), across * std::sin(angle));
      }
    }
    law->apply(y, tissue.fields());
    law->rate(3, y, stretches, dydt);
    INFO("draw " << draw << ": modulus " << spec.fibre_modulus_kPa << ", thickness " << spec.tissue_thickness_mm
                 << ", letting go " << spec.unloaded_deactivation_per_day);
    CHECK(all_finite(dydt));
    CHECK(all_finite(tissue.fields().fraction));
    for (std::size_t i = 0; i < fibre_families; ++i) {
      CHECK(all_finite(tissue.fields().natural[i]));
      CHECK(all_finite(tissue.fields().active[i]));
    }
  }
}

TEST_CASE("cells_let_go_where_their_fibres_can_pull_on_nothing", "[fibrosis][simulation]") {
  // Neither stiffness nor thickness: as slack fibres, and no number is lost over it.
  for (const bool thin : {false, true}) {
    Scenario scenario;
    scenario.duration_days = 20;
    scenario.mesh = MeshSpec::coarse();
    scenario.contraction.unloaded_deactivation_per_day = 10;
    (thin ? scenario.contraction.tissue_thickness_mm : scenario.contraction.fibre_modulus_kPa) = 0;
    const History history = simulate(scenario);
    INFO(history.message());
    CHECK(history.status() == Status::completed);
    const auto areas = history.opening_area_mm2();
    CHECK(areas.back() == Approx(areas.front()).epsilon(1e-3));  // nothing pulls
  }
}
