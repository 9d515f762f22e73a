// SPDX-License-Identifier: BSD-3-Clause
//
// Populations: what a file may say, and that the eyes drawn from one have the stated spread.
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "capsim/error.hpp"
#include "capsim/population.hpp"
#include "catch2/catch.hpp"

using namespace capsim;

namespace {

const std::string good = R"({"format": "capsim-population", "version": 1, "name": "test", "edition": "1",
 "description": "Invented.", "area_error": {"value": 0.03, "source": "invented"},
 "laws": {"fibre_remodelling": {
   "settings": [{"path": "zonule.strength", "value": 0.3, "source": "invented"}],
   "spreads": [{"path": "contraction.fibre_modulus_kPa", "scale": "log", "sd": 0.5, "low": 0, "high": 5000, "source": "invented"},
               {"path": "zonule.strength", "scale": "share", "sd": 1.0, "low": 0.01, "high": 1, "source": "invented"}]}}})";

std::string with(const std::string& from, const std::string& to) {
  std::string text = good;
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

std::string violations_of(const std::string& text) {
  try {
    (void)Population::from_json(text);
  } catch (const ScenarioError& error) {
    std::string all;
    for (const Violation& violation : error.violations()) all += violation.to_string() + "; ";
    return all;
  }
  return "accepted";
}

struct Moments {
  double mean, sd;
};

template <class Value>
Moments moments(const Population& population, const Scenario& base, Value value) {
  constexpr int eyes = 512;
  double sum = 0, squares = 0;
  for (int i = 0; i < eyes; ++i) {
    const double x = value(population.around(base, static_cast<std::uint64_t>(i)));
    sum += x;
    squares += x * x;
  }
  const double mean = sum / eyes;
  return {mean, std::sqrt(squares / eyes - mean * mean)};
}

const std::string two_laws = R"({"format": "capsim-population", "version": 1, "name": "test", "edition": "1",
 "description": "Invented.", "area_error": {"value": 0.03, "source": "invented"},
 "laws": {
  "fibre_remodelling": {
   "settings": [{"path": "contraction.fibre_modulus_kPa", "value": 200, "source": "invented"},
                {"path": "contraction.cells_left", "value": 0.5, "source": "invented"},
                {"path": "zonule.strength", "value": 0.3, "source": "invented"}],
   "spreads": [{"path": "contraction.fibre_modulus_kPa", "scale": "log", "sd": 0.5, "low": 0, "high": 1e5, "source": "invented"},
               {"path": "zonule.strength", "scale": "share", "sd": 1.0, "low": 0.001, "high": 1, "source": "invented"}]},
  "active_lock_in": {
   "settings": [{"path": "contraction.active_tension_mN_per_mm", "value": 10, "source": "invented"},
                {"path": "contraction.lock_in_per_day", "value": 0.2, "source": "invented"},
                {"path": "contraction.cells_left", "value": 0.4, "source": "invented"},
                {"path": "zonule.strength", "value": 0.2, "source": "invented"}],
   "spreads": [{"path": "contraction.active_tension_mN_per_mm", "scale": "log", "sd": 1.0, "low": 0, "high": 900, "source": "invented"},
               {"path": "zonule.strength", "scale": "share", "sd": 0.7, "low": 0.001, "high": 1, "source": "invented"}]}}})";

}  // namespace

TEST_CASE("an_eye_keeps_its_place_in_the_population_under_another_law", "[population]") {
  const Population population = Population::from_json(two_laws);
  constexpr double rounding = 1e-12;
  Scenario active;
  active.contraction.law = ContractionKind::active_lock_in;
  CHECK(population.under(population.typical(Scenario{}), "active_lock_in").contraction.active_tension_mN_per_mm ==
        population.typical(active).contraction.active_tension_mN_per_mm);
  for (std::uint64_t i : {0, 1, 2, 30}) {
    const Scenario there = population.under(population.draw(Scenario{}, i), "active_lock_in"),
                   drawn = population.draw(active, i);
    CHECK(there.contraction.law == drawn.contraction.law);
    CHECK(there.contraction.active_tension_mN_per_mm ==
          Approx(drawn.contraction.active_tension_mN_per_mm).epsilon(rounding));
    CHECK(there.contraction.lock_in_per_day == 0.2);
    CHECK(there.contraction.cells_left == 0.4);
    CHECK(there.zonule.strength == Approx(drawn.zonule.strength).epsilon(rounding));
    const Scenario back = population.under(there, "fibre_remodelling");
    CHECK(back.contraction.fibre_modulus_kPa ==
          Approx(population.draw(Scenario{}, i).contraction.fibre_modulus_kPa).epsilon(rounding));
    CHECK(back.contraction.cells_left == 0.5);
  }
}

TEST_CASE("what_an_eye_has_of_its_own_stays_under_another_law", "[population]") {
  const Population population = Population::from_json(two_laws);
  Scenario own = population.typical(Scenario{});
  own.contraction.cells_left = 0.9;
  own.contraction.chronic_signal = 0.15;
  own.zonule.strength = 1;
  own.contraction.fibre_modulus_kPa = 400;  // ln 2 / 0.5 spreads above the middle
  const Scenario there = population.under(own, "active_lock_in");
  CHECK(there.contraction.cells_left == 0.9);
  CHECK(there.contraction.chronic_signal == 0.15);
  CHECK(there.zonule.strength == 1);
  CHECK(there.contraction.active_tension_mN_per_mm == Approx(40));
  own.contraction.fibre_modulus_kPa = 0;
  CHECK(population.under(own, "active_lock_in").contraction.active_tension_mN_per_mm == 0);
  CHECK(population.under(own, "fibre_remodelling") == own);
  CHECK_THROWS_AS(population.under(own, "none"), ArgumentError);
}

TEST_CASE("drawn_eyes_have_the_stated_median_and_spread", "[population]") {
  const Population population = Population::from_json(good);
  const Scenario base = population.typical(Scenario{});
  constexpr double few_eyes = 0.02;  // 512 quasi-random points in two dimensions; the tails are cut at 1/513
  const Moments modulus =
      moments(population, base, [](const Scenario& s) { return std::log(s.contraction.fibre_modulus_kPa); });
  CHECK(modulus.mean == Approx(std::log(base.contraction.fibre_modulus_kPa)).margin(few_eyes));
  CHECK(modulus.sd == Approx(0.5).epsilon(few_eyes));
  const Moments strength = moments(
      population, base, [](const Scenario& s) { return std::log(s.zonule.strength / (1 - s.zonule.strength)); });
  CHECK(strength.mean == Approx(std::log(0.3 / 0.7)).margin(few_eyes));
  CHECK(strength.sd == Approx(1.0).epsilon(few_eyes));
}

TEST_CASE("an_eye_of_a_population_is_the_same_eye_under_every_plan", "[population]") {
  const Population population = Population::from_json(good);
  Scenario large, small;
  large.opening.diameter_mm = 6;
  small.opening.diameter_mm = 4.5;
  for (std::uint64_t i : {0, 1, 7, 100}) {
    CHECK(population.draw(large, i).contraction == population.draw(small, i).contraction);
    CHECK(population.draw(large, i).opening.diameter_mm == 6);
  }
  CHECK(population.draw(large, 0).contraction != population.draw(large, 1).contraction);
  CHECK(population.draw(large, 3) == population.around(population.typical(large), 3));
}

TEST_CASE("a_spread_about_a_firm_zonule_leaves_it_firm_and_limits_hold", "[population]") {
  const Population population = Population::from_json(with("\"high\": 5000", "\"high\": 260"));
  Scenario firm;
  firm.zonule.strength = 1;
  firm.contraction.fibre_modulus_kPa = 255;
  double largest = 0;
  for (std::uint64_t i = 0; i < 64; ++i) {
    const Scenario eye = population.around(firm, i);
    CHECK(eye.zonule.strength == 1);
    largest = std::max(largest, eye.contraction.fibre_modulus_kPa);
  }
  CHECK(largest == 260);
}

TEST_CASE("a_wrong_population_file_is_refused_with_field_value_and_limit", "[population]") {
  CHECK(violations_of(good) == "accepted");
  CHECK(violations_of(with("capsim-population", "capsim-scenario")).find("format = \"capsim-scenario\": ") == 0);
  CHECK(violations_of(with("\"version\": 1", "\"version\": 2")).find("version = 2: ") == 0);
  CHECK(violations_of(with("zonule.strength\", \"value", "zonule.strenght\", \"value"))
            .find("laws.fibre_remodelling.settings[0].path") == 0);
  CHECK(violations_of(with("\"sd\": 0.5", "\"sd\": -1")).find("laws.fibre_remodelling.spreads[0].sd = -1") == 0);
  CHECK(
      violations_of(with("\"log\"", "\"logarithm\"")).find("laws.fibre_remodelling.spreads[0].scale = \"logarithm\"") ==
      0);
  CHECK(violations_of(with("\"edition\"", "\"editoin\"")).find("did you mean \"edition\"?") != std::string::npos);
  CHECK(violations_of("[]").find("population = ") == 0);
  CHECK(violations_of("{").find("line 1") != std::string::npos);
}

TEST_CASE("every_shipped_population_gives_valid_eyes", "[population]") {
  const std::vector<std::string> names = population_names();
  REQUIRE(names.size() >= 4);
  for (const std::string& name : names) {
    const Population& known = population(name);
    CAPTURE(name);
    CHECK(known.name() == name);
    CHECK(known.area_error() > 0);
    CHECK(known.json().find("cohorts.csv") != std::string::npos);
    for (std::uint64_t i = 0; i < 256; ++i) CHECK(known.draw(Scenario{}, i).violations().empty());
  }
}

TEST_CASE("an_eye_without_tissue_outside_the_optic_is_refused_by_a_population_that_varies_it", "[population]") {
  const Population& whole = population("age_related_cataract_whole_bag");
  for (const ContractionKind law : {ContractionKind::fibre_remodelling, ContractionKind::active_lock_in}) {
    Scenario rim_alone;
    rim_alone.contraction.law = law;
    try {
      (void)whole.around(rim_alone, 0);
      FAIL("accepted");
    } catch (const ArgumentError& error) {
      const std::string text = error.what();
      CHECK(text.find("bag_tissue.") == 0);
      CHECK(text.find("age_related_cataract_whole_bag") != std::string::npos);
    }
    CHECK(whole.around(whole.typical(rim_alone), 0) == whole.draw(rim_alone, 0));
  }
}

TEST_CASE("spreads_that_go_together_have_their_correlation", "[population]") {
  const Population& whole = population("age_related_cataract_whole_bag");
  const std::vector<Spread> spreads = whole.spreads("fibre_remodelling");
  const auto follower =
      std::find_if(spreads.begin(), spreads.end(), [](const Spread& s) { return !s.follows.empty(); });
  REQUIRE(follower != spreads.end());
  const Scenario middle = whole.typical(Scenario{});
  constexpr int eyes = 512;
  double xx = 0, xy = 0, yy = 0;  // of the logarithms over their spreads
  for (std::uint64_t i = 0; i < eyes; ++i) {
    const Scenario eye = whole.around(middle, i);
    const double x = std::log(eye.contraction.fibre_modulus_kPa / middle.contraction.fibre_modulus_kPa),
                 y = std::log(eye.bag_tissue.fibre_modulus_kPa / middle.bag_tissue.fibre_modulus_kPa);
    xx += x * x, xy += x * y, yy += y * y;
  }
  constexpr double of_so_many = 0.03;  // what 512 points of a low-discrepancy sequence leave
  CHECK(std::abs(xy / std::sqrt(xx * yy) - follower->share) < of_so_many);
  CHECK(std::abs(std::sqrt(yy / eyes) / follower->sd - 1) < of_so_many);
}

TEST_CASE("the_default_eye_is_the_middle_eye_of_those_without_known_risk", "[population]") {
  CHECK(population("age_related_cataract").typical(Scenario{}) == Scenario{});
}

TEST_CASE("an_unknown_population_is_refused_with_the_names_there_are", "[population]") {
  try {
    (void)population("pseudoexfolation");
    FAIL("accepted");
  } catch (const ArgumentError& error) {
    const std::string text = error.what();
    CHECK(text.find("age_related_cataract") != std::string::npos);
    CHECK(text.find("did you mean \"pseudoexfoliation\"?") != std::string::npos);
  }
  CHECK_THROWS_AS(population("silicone_lens").settings("no_such_law"), ArgumentError);
}
