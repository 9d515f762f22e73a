// SPDX-License-Identifier: BSD-3-Clause
// The contraction law: its cell equations against closed forms through the library's own stepper,
// what it does to the natural stretch of the fibres, and how haptics and ring relax.
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "annulus.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/fibre_remodelling.hpp"
#include "capsim/lens.hpp"
#include "capsim/tension_ring.hpp"
#include "comparison.hpp"
#include "dead_load.hpp"
#include "solve/time_stepper.hpp"
#include "verification_case.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

constexpr int variables = 3 + fibre_families;  // of one point

/// Runs the law at one point under a stretch that may depend on the day.
class OnePoint {
 public:
  explicit OnePoint(const ContractionSpec& spec, double tolerance = 1e-10) : law_(spec), stepper_(tolerance, 10) {}

  std::vector<double> state = std::vector<double>(variables, 0.0);
  double stretch = 1;

  /// Integrates from day `from` to day `to`; false when a step was refused.
  bool run(double from, double to) {
    const auto rate = [this](double day, const std::vector<double>& y, std::vector<double>& dydt) {
      const std::vector<double> stretches(fibre_families, stretch);
      law_.rate(day, y, stretches, dydt);
      return true;
    };
    if (!stepper_.start(from, state, rate)) return false;
    while (stepper_.day() < to)
      if (stepper_.step(to, rate) != TimeStepper::Outcome::accepted) return false;
    state = stepper_.state();
    return true;
  }
  void begin(double cells) { law_.start(std::vector<double>{cells}, state); }
  [[nodiscard]] double cells() const { return state[0]; }
  [[nodiscard]] double active() const { return state[1]; }
  [[nodiscard]] double tissue() const { return state[2]; }
  [[nodiscard]] double natural_times_tissue(int family = 0) const {
    return state[static_cast<std::size_t>(3 + family)];
  }

 private:
  FibreRemodelling law_;
  TimeStepper stepper_;
};

/// A day by which exp(-day / 45) is 0 in doubles: the signal is the chronic one alone.
constexpr double late = 1e5;

/// The signal's integral from day 0.
double signal_integral(const ContractionSpec& spec, double day) {
  return spec.signal_days * (1 - std::exp(-day / spec.signal_days)) + spec.chronic_signal * day;
}
double cells_closed_form(const ContractionSpec& spec, double cells, double day) {
  return 1 / (1 + (1 / cells - 1) * std::exp(-spec.regrowth_per_day * signal_integral(spec, day)));
}

/// m = int ka s c exp(-(A(t) - A(t'))) dt', A the integral of ka s c + kd: Simpson on a fine grid.
double active_closed_form(const ContractionSpec& spec, double cells, double day) {
  constexpr int n = 20000;
  const double h = day / n;
  std::vector<double> gain(n + 1), decay(n + 1);
  for (int i = 0; i <= n; ++i) {
    const double t = h * i;
    gain[static_cast<std::size_t>(i)] = spec.activation_per_day *
                                        (std::exp(-t / spec.signal_days) + spec.chronic_signal) *
                                        cells_closed_form(spec, cells, t);
  }
  for (int i = 1; i <= n; ++i)  // trapezia, good to h^2 = 1e-4 day^2 times slopes of 1e-4
    decay[static_cast<std::size_t>(i)] =
        decay[static_cast<std::size_t>(i - 1)] +
        h * (0.5 * (gain[static_cast<std::size_t>(i - 1)] + gain[static_cast<std::size_t>(i)]) +
             spec.deactivation_per_day);
  double sum = 0;
  for (int i = 0; i <= n; ++i) {
    const double weight = i == 0 || i == n ? 1 : i % 2 == 1 ? 4 : 2;
    sum += weight * gain[static_cast<std::size_t>(i)] * std::exp(decay[static_cast<std::size_t>(i)] - decay[n]);
  }
  return sum * h / 3;
}

}  // namespace

TEST_CASE("cells_regrow_logistically_under_a_constant_signal", "[fibrosis][closed_forms][evidence]") {
  const VerificationCase with("LOGISTIC");
  ContractionSpec spec;
  spec.regrowth_per_day = with.input("r_per_day");
  spec.chronic_signal = 1;
  const auto days = with.inputs("t_day"), expected = with.expected_list("m");
  for (std::size_t k = 0; k < days.size(); ++k) {
    OnePoint point(spec);
    point.begin(with.input("m0"));
    REQUIRE(point.run(late, late + days[k]));
    compare(with, "cells, day " + std::to_string(std::lround(days[k])), "", point.cells(), expected[k],
            within(with.tolerance()));
  }
}

TEST_CASE("the_time_stepper_follows_cell_laws_of_a_host_program", "[simulation][closed_forms][evidence]") {
  // These laws are not the library's own; a host program may bring them, and the stepper integrates them.
  constexpr double tolerance = 1e-10;
  const auto integrate = [](std::vector<double> y, const std::vector<double>& days, const TimeStepper::Rate& rate) {
    TimeStepper stepper(tolerance, 10);
    REQUIRE(stepper.start(0, y, rate));
    std::vector<std::vector<double>> states;
    for (const double day : days) {
      while (stepper.day() < day) REQUIRE(stepper.step(day, rate) == TimeStepper::Outcome::accepted);
      states.push_back(stepper.state());
    }
    return states;
  };
  const auto on_day = [](const char* what, double day) { return what + (", day " + std::to_string(std::lround(day))); };

  const VerificationCase logistic("LOGISTIC");
  const double r = logistic.input("r_per_day"), most = logistic.input("K"), kf = logistic.input("kf");
  constexpr double loss_days = 90;  // the name of the expected value says so
  auto days = logistic.inputs("t_day");
  auto states = integrate({logistic.input("m0"), 0, 0}, days,
                          [=](double, const std::vector<double>& y, std::vector<double>& dydt) {
                            dydt = {r * y[0] * (1 - y[0] / most), kf * y[0], kf * y[0] - y[2] / loss_days};
                            return true;
                          });
  for (std::size_t k = 0; k < days.size(); ++k) {
    const Limit limit = within(logistic.tolerance());
    compare(logistic, on_day("tissue", days[k]), "", states[k][1], logistic.expected_list("f")[k], limit);
    compare(logistic, on_day("tissue with loss", days[k]), "", states[k][2],
            logistic.expected_list("f_with_loss_tau90")[k], limit);
  }

  const VerificationCase fading("BERNOULLI-LAW");
  const double rate = fading.input("r"), death = fading.input("d"), signal_days = fading.input("ts_day");
  days = fading.inputs("t_day");
  states =
      integrate({fading.input("m0")}, days, [=](double day, const std::vector<double>& y, std::vector<double>& dydt) {
        dydt = {rate * std::exp(-day / signal_days) * y[0] * (1 - y[0]) - death * y[0]};
        return true;
      });
  for (std::size_t k = 0; k < days.size(); ++k)
    compare(fading, on_day("cells", days[k]), "", states[k][0], fading.expected_list("m")[k],
            within(fading.tolerance()));
}

TEST_CASE("cells_follow_the_logistic_curve_in_the_integral_of_a_fading_signal", "[fibrosis][closed_forms]") {
  for (const double chronic : {0.0, 0.2})
    for (const double cells : {0.1, 0.8, 1.0}) {
      ContractionSpec spec;
      spec.chronic_signal = chronic;
      OnePoint point(spec);
      point.begin(cells);
      double day = 0;
      for (const double next : {7.0, 90.0, 365.0}) {
        REQUIRE(point.run(day, next));
        day = next;
        CHECK(point.cells() == Approx(cells_closed_form(spec, cells, day)).epsilon(1e-8));
      }
    }
}

TEST_CASE("myofibroblasts_solve_their_linear_equation", "[fibrosis][closed_forms]") {
  for (const double cells : {0.3, 1.0}) {
    ContractionSpec spec;
    spec.chronic_signal = 0.1;
    OnePoint point(spec);
    point.begin(cells);
    double day = 0;
    for (const double next : {10.0, 60.0, 180.0}) {
      REQUIRE(point.run(day, next));
      day = next;
      CHECK(point.active() == Approx(active_closed_form(spec, cells, day)).epsilon(1e-6));  // trapezia of the oracle
    }
  }
}

TEST_CASE("myofibroblasts_settle_where_gain_and_loss_balance", "[fibrosis][closed_forms]") {
  ContractionSpec spec;
  spec.chronic_signal = 0.2;
  OnePoint point(spec);
  point.begin(1);
  REQUIRE(point.run(late, late + 2000));
  const double gain = spec.activation_per_day * spec.chronic_signal;
  CHECK(point.active() == Approx(gain / (gain + spec.deactivation_per_day)).epsilon(1e-8));
  CHECK(point.tissue() == Approx(1).epsilon(1e-8));
}

TEST_CASE("without_cells_nothing_ever_grows", "[fibrosis]") {
  OnePoint point{ContractionSpec{}};
  point.begin(0);
  REQUIRE(point.run(0, 365));
  for (const double value : point.state) CHECK(value == 0);
}

TEST_CASE("tissue_laid_at_a_constant_stretch_has_the_natural_stretch_it_was_laid_at", "[fibrosis][closed_forms]") {
  ContractionSpec spec;
  OnePoint point(spec);
  point.begin(0.8);
  point.stretch = 1.07;
  double day = 0;
  for (const double next : {0.5, 20.0, 200.0}) {
    REQUIRE(point.run(day, next));
    day = next;
    CHECK(point.tissue() > 0);
    for (int family = 0; family < fibre_families; ++family)
      CHECK(point.natural_times_tissue(family) == Approx(point.tissue() * 1.07 / spec.laying_stretch).epsilon(1e-8));
  }
}

TEST_CASE("after_a_jump_of_stretch_the_natural_stretch_remodels_with_the_same_cells_that_lay_tissue",
          "[fibrosis][closed_forms]") {
  // With M the integral of m: 1 - f falls as exp(-kf M), and f v - f l / lh as exp(-M / tau_c).
  ContractionSpec spec;
  OnePoint point(spec);
  point.begin(0.9);
  point.stretch = 1.0;
  REQUIRE(point.run(0, 30));
  point.stretch = 1.3;
  const double target = 1.3 / spec.laying_stretch;
  const double gap = point.natural_times_tissue() - point.tissue() * target, missing = 1 - point.tissue();
  double day = 30;
  for (const double next : {40.0, 90.0, 300.0}) {
    REQUIRE(point.run(day, next));
    day = next;
    const double share = std::pow((1 - point.tissue()) / missing, 1 / (spec.tissue_per_day * spec.remodelling_days));
    CHECK(point.natural_times_tissue() - point.tissue() * target == Approx(gap * share).epsilon(1e-6).margin(1e-9));
  }
}

TEST_CASE("fibres_whose_matrix_takes_their_pull_lose_their_activity_faster_when_told_to", "[fibrosis]") {
  const auto active_after = [](double loss, double stretch) {
    ContractionSpec spec;
    spec.unloaded_deactivation_per_day = loss;
    OnePoint point(spec);
    point.begin(1);
    REQUIRE(point.run(0, 60));
    point.stretch = stretch;
    REQUIRE(point.run(60, 90));
    return point.active();
  };
  CHECK(active_after(0.05, 0.6) < 0.8 * active_after(0, 0.6));                   // slack: natural stretch is about 0.83
  CHECK(active_after(0.05, 1.0) == Approx(active_after(0, 1.0)).epsilon(0.02));  // loaded: as before
}

TEST_CASE("without_the_families_that_have_no_weight_the_others_change_alike", "[fibrosis]") {
  ContractionSpec spec;
  CHECK(FibreRemodelling(spec).without_idle_variables()->variables() == variables - 1);  // radial
  spec.hoop_weight = 0.6, spec.diagonal_weight = 0, spec.radial_weight = 0.4;
  const FibreRemodelling whole(spec);
  const auto lean = whole.without_idle_variables();
  REQUIRE(lean != nullptr);
  REQUIRE(lean->variables() == 5);
  CHECK(lean->without_idle_variables() == nullptr);
  CHECK(lean->changed({})->variables() == 5);
  const std::size_t n = 3, kept[] = {0, 1, 2, 3, 6};  // c, m, f, hoop, radial
  std::vector<double> y(variables * n), few(5 * n), dydt(y.size()), rate(few.size()), stretches(fibre_families * n);
  for (std::size_t i = 0; i < y.size(); ++i) y[i] = 0.3 + 0.02 * static_cast<double>(i);
  for (std::size_t i = 0; i < stretches.size(); ++i) stretches[i] = 1 + 0.01 * static_cast<double>(i);
  for (std::size_t v = 0; v < 5; ++v) std::copy_n(&y[kept[v] * n], n, &few[v * n]);
  whole.rate(20, y, stretches, dydt);
  lean->rate(20, few, stretches, rate);
  for (std::size_t v = 0; v < 5; ++v)
    for (std::size_t p = 0; p < n; ++p) CHECK(rate[v * n + p] == dydt[kept[v] * n + p]);
}

TEST_CASE("natural_stretch_has_a_floor_and_the_law_hands_on_finite_numbers", "[fibrosis]") {
  const Mesh mesh = annulus({});
  const ContractionSpec spec;
  FibrousTissue tissue(mesh.anterior(), 0, 1, hoop_directions(mesh, 0, 1), tissue_material(spec));
  const std::size_t n = tissue.points();
  const FibreRemodelling law(spec);
  CHECK(law.variables() == variables);
  std::vector<double> y(variables * n, 0.0);
  law.apply(y, tissue.fields());  // no tissue yet
  for (const auto& natural : tissue.fields().natural)
    for (const double v : natural) CHECK(v == Approx(1).epsilon(1e-3));
  for (std::size_t p = 0; p < n; ++p) {
    y[2 * n + p] = 0.5;
    for (std::size_t i = 0; i < fibre_families; ++i)
      y[(3 + i) * n + p] = 0.5 * 0.1 * static_cast<double>(p);  // v = 0, 0.1, ...
  }
  law.apply(y, tissue.fields());
  for (std::size_t p = 0; p < n; ++p) {
    CHECK(tissue.fields().fraction[p] == 0.5);
    const double v = tissue.fields().natural[0][p];
    CHECK(v >= spec.packing_limit);
    CHECK(v == Approx(std::max(0.1 * static_cast<double>(p), spec.packing_limit))
                   .margin(0.006));  // half the rounding of the corner
  }
}

TEST_CASE("fibres_laid_at_no_stretch_creep_under_load_as_a_maxwell_element", "[fibrosis][closed_forms][evidence]") {
  // Tissue with lh = 1 and constant cells beside a spring: e_g' = z e_e, the case's element pulled
  // instead of pushed (fibres carry tension only), at two small strains, extrapolated to none.
  const VerificationCase with("CREEP-SPRING");
  ContractionSpec spec;
  spec.laying_stretch = 1;
  spec.remodelling_days = 1 / with.input("z_per_day");
  spec.activation_per_day = spec.deactivation_per_day = spec.regrowth_per_day = 0;
  spec.hoop_weight = 0;
  spec.diagonal_weight = 0;
  spec.radial_weight = 1;
  spec.matrix_modulus_kPa = 0;
  spec.tissue_thickness_mm = 1;
  spec.fibre_modulus_kPa = with.input("E");
  // One square element of side 1 pulled along x; the spring is a hookean strip without Poisson's ratio.
  AnnulusShape any;
  any.around = 4;
  any.layers = 1;
  any.order = 1;
  Patch square = annulus(any).anterior();
  square.nodes = {0, 1, 2, 3};
  const std::vector<double> reference{0, 0, 1, 0, 1, 1, 0, 1};
  REQUIRE(square.measure(reference));
  Leaf spring("spring", hookean(with.input("k"), 0), {{&square, std::vector<double>(4, 1.0), {}}});
  FibrousTissue tissue(square, 0, 1, {0, 1, 0, 1, 0, 1, 0, 1}, tissue_material(spec));  // hoop along y: radial along x
  const FibreRemodelling law(spec);
  const std::size_t n = tissue.points();
  const auto days = with.inputs("t_day");
  /// Total and grown strain on each day, over `small`.
  const auto strains = [&](double small) {
    const double pull = 0.5 * small * with.input("T");
    DeadLoad load({{2, {pull, 0}, {1, 0}}, {4, {pull, 0}, {1, 1}}});
    Equilibrium equilibrium;
    equilibrium.set_system({&spring, &tissue, &load}, {-1, -1, 0, -1, 0, -1, -1, -1});
    equilibrium.settings().tolerance_mN = 1e-9 * pull;
    std::vector<double> y(variables * n, 0.0), x = reference, stretches(fibre_families * n);
    for (std::size_t p = 0; p < n; ++p) {
      y[n + p] = y[2 * n + p] = 1;                                              // m = f = 1 for good
      for (std::size_t i = 0; i < fibre_families; ++i) y[(3 + i) * n + p] = 1;  // v = 1
    }
    bool balanced = true;
    const auto rate = [&](double day, const std::vector<double>& state, std::vector<double>& dydt) {
      law.apply(state, tissue.fields());
      // The floor's rounding shifts v = 1 by 3.6e-5; strains here are as small, so take v as it is.
      for (std::size_t i = 0; i < fibre_families; ++i)
        for (std::size_t p = 0; p < n; ++p) tissue.fields().natural[i][p] = state[(3 + i) * n + p] / state[2 * n + p];
      balanced = balanced && equilibrium.solve(x).converged();
      tissue.stretches(x, stretches);
      law.rate(day, state, stretches, dydt);
      return true;
    };
    TimeStepper stepper(1e-13, 10);
    REQUIRE(stepper.start(0, y, rate));
    std::vector<std::array<double, 2>> found;
    for (const double day : days) {
      while (stepper.day() < day) REQUIRE(stepper.step(day, rate) == TimeStepper::Outcome::accepted);
      std::vector<double> unused(y.size());
      rate(day, stepper.state(), unused);
      REQUIRE(balanced);
      found.push_back({(x[2] - 1) / small, (stepper.state()[(3 + 3) * n] - 1) / small});
    }
    return found;
  };
  constexpr double small = 1e-3;  // strains of 1e-4, whose square is left
  const auto whole = strains(small), half = strains(0.5 * small);
  for (std::size_t k = 0; k < days.size(); ++k) {
    const std::string day = ", day " + std::to_string(std::lround(days[k]));
    const Limit limit = relative_to_expected(with.tolerance());
    // Signs turned with the load.
    compare(with, "strain" + day, "", -(2 * half[k][0] - whole[k][0]), with.expected_list("e_total")[k], limit);
    compare(with, "part of it that has crept" + day, "", -(2 * half[k][1] - whole[k][1]), with.expected_list("e_g")[k],
            limit);
  }
}

TEST_CASE("a_haptic_relaxes_as_a_standard_linear_solid", "[lens][closed_forms][evidence]") {
  const VerificationCase with("SLS");
  INFO(with.source());
  const double whole = with.input("Einf") + with.input("E1"), depth = with.input("e0");
  AnnulusShape shape;
  const Mesh mesh = annulus(shape);
  Lens lens(2 * mesh.nodes(), whole, shape.outer_mm + depth, with.input("Einf") / whole, with.input("tau"),
            haptic_contacts(mesh, 1, 0, 40 * pi / 180));
  std::vector<double> x = mesh.reference();
  x.resize(x.size() + 3, 0.0);
  const auto days = with.inputs("t"), stress = with.expected_list("sigma");
  lens.set_day(0);
  const double at_first = lens.push_mN(x);
  CHECK(at_first == Approx(stress[0]).epsilon(1e-3));  // the arc is round only as far as its edges are
  for (std::size_t k = 0; k < days.size(); ++k) {
    lens.set_day(days[k]);
    compare(with, "share of a haptic's force, day " + std::to_string(std::lround(days[k])), "",
            lens.push_mN(x) / at_first, stress[k] / stress[0], relative_to_expected(with.tolerance()));
  }
}

TEST_CASE("a_ring_creeps_as_a_standard_linear_solid_from_its_insertion", "[tension_ring][closed_forms][evidence]") {
  const VerificationCase with("SLS");
  const double whole = with.input("Einf") + with.input("E1");
  TensionRing::Wire wire;
  wire.segments = 4;
  wire.segment_length_mm = 1;
  wire.natural_curvature_per_mm = 0.5;  // straight here, so it is bent
  wire.bending_stiffness_mN_mm2 = 100;
  wire.axial_stiffness_mN = 1e4;
  wire.creep_fraction = with.input("Einf") / whole;
  wire.creep_days = with.input("tau");
  TensionRing ring(wire, {});
  constexpr double inserted = 33;
  ring.set_insertion_day(inserted);
  const std::vector<double> x{0, 0, 1, 0, 2, 0, 3, 0, 4, 0};
  const auto days = with.inputs("t"), stress = with.expected_list("sigma");
  ring.set_day(inserted - 5);
  const double new_energy = ring.energy(x);
  for (std::size_t k = 0; k < days.size(); ++k) {
    ring.set_day(inserted + days[k]);
    compare(with, "share of a ring's stiffness, day " + std::to_string(std::lround(days[k])), "",
            ring.energy(x) / new_energy, stress[k] / stress[0], relative_to_expected(with.tolerance()));
  }
}
