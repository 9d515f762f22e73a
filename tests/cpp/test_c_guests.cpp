// SPDX-License-Identifier: BSD-3-Clause
// Parts and laws that a host hands over through the C interface.
#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "c_handles.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"

using namespace capsim;
using namespace capsim::test;

namespace {

/// A spring k/2 |x - anchor|^2 on one node.
struct Spring {
  int32_t node = 0;
  double k = 0.5, anchor[2] = {0, 6};
  inline static std::atomic<int> living{0};  ///< Copies that have not been released.
  double wrong_energy = 0;                   ///< Added to the energy.
  int32_t wrong_coordinate = 0;              ///< Added to the clique's coordinates.
  std::size_t wrong_clique = 0;              ///< Added to the Hessian's clique.
};
void couplings(const double*, std::size_t, capsim_cliques* cliques, void* user) {
  const auto& s = *static_cast<Spring*>(user);
  const int32_t xy[] = {2 * s.node + s.wrong_coordinate, 2 * s.node + 1 + s.wrong_coordinate};
  capsim_cliques_add(cliques, xy, 2);
}
double energy(const double* x, std::size_t, void* user) {
  const auto& s = *static_cast<Spring*>(user);
  const double dx = x[2 * s.node] - s.anchor[0], dy = x[2 * s.node + 1] - s.anchor[1];
  return 0.5 * s.k * (dx * dx + dy * dy) + s.wrong_energy;
}
double gradient(const double* x, std::size_t count, double* g, void* user) {
  const auto& s = *static_cast<Spring*>(user);
  for (int k = 0; k < 2; ++k) g[2 * s.node + k] += s.k * (x[2 * s.node + k] - s.anchor[k]);
  return energy(x, count, user);
}
void hessian(const double*, std::size_t, int32_t, capsim_tangent* tangent, void* user) {
  const auto& s = *static_cast<Spring*>(user);
  const double matrix[] = {s.k, 0, 0, s.k};
  capsim_tangent_add(tangent, s.wrong_clique, matrix);
}
void move_anchors(double angle, double x, double y, void* user) {
  auto& s = *static_cast<Spring*>(user);
  const double c = std::cos(angle), d = std::sin(angle), ax = s.anchor[0], ay = s.anchor[1];
  s.anchor[0] = c * ax - d * ay + x;
  s.anchor[1] = d * ax + c * ay + y;
}
void* copy_spring(const void* user) {
  const auto& s = *static_cast<const Spring*>(user);
  ++Spring::living;
  return new Spring(s);
}
void release_spring(void* user) {
  --Spring::living;
  delete static_cast<Spring*>(user);
}

capsim_part table_of(Spring& spring) {
  capsim_part part{};
  part.struct_size = sizeof part;
  part.name = "suture";
  part.user = &spring;
  part.couplings = couplings;
  part.energy = energy;
  part.gradient = gradient;
  part.hessian = hessian;
  part.move_anchors = move_anchors;
  part.copy = copy_spring;
  part.release = release_spring;
  return part;
}

/// The same in C++.
class SpringPart : public Part {
 public:
  explicit SpringPart(Spring* spring) : spring_(spring) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "suture"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<SpringPart>(spring_); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    const int xy[] = {2 * spring_->node, 2 * spring_->node + 1};
    cliques.add(xy);
  }
  [[nodiscard]] double energy(std::span<const double> x) const override { return ::energy(x.data(), 0, spring_); }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    return ::gradient(x.data(), 0, g.data(), spring_);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    const double matrix[] = {spring_->k, 0, 0, spring_->k};
    tangent.add(0, matrix);
  }

 private:
  Spring* spring_;
};

/// Tissue that grows at a constant rate and keeps its natural stretch at 0.9.
void start_law(const double*, std::size_t points, double* y, void*) { std::fill(y, y + points, 0.0); }
void rate_law(double, const double* y, const double*, std::size_t points, double* dydt, void* user) {
  const double per_day = *static_cast<double*>(user);
  for (std::size_t p = 0; p < points; ++p) dydt[p] = per_day * (1 - y[p]);
}
void apply_law(const double* y, std::size_t points, const capsim_tissue* tissue, void*) {
  for (std::size_t p = 0; p < points; ++p) {
    tissue->fraction[p] = y[p];
    for (double* family : tissue->natural) family[p] = 0.9;
  }
}
capsim_law law_with(double& per_day) {
  capsim_law law{};
  law.struct_size = sizeof law;
  law.name = "steady tissue";
  law.user = &per_day;
  law.variables = 1;
  law.start = start_law;
  law.rate = rate_law;
  law.apply = apply_law;
  return law;
}

SimulationHandle with_part(const capsim_part& part, capsim_status wanted = CAPSIM_OK) {
  SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(short_eye());
  REQUIRE(capsim_simulation_add_part(s.get(), &part) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == wanted);
  return s;
}

}  // namespace

TEST_CASE("c_part_of_a_host_acts_like_the_same_part_in_cpp", "[c_interface][guests]") {
  const auto model = std::make_shared<const Model>(short_eye());
  Spring spring;
  spring.node = model->mesh().equator_nodes()[0];
  const capsim_part part = table_of(spring);
  const std::vector<double> x(model->mesh().reference().begin(), model->mesh().reference().end());
  CHECK(capsim_part_check(&part, x.data(), x.size(), nullptr, 0, nullptr) == CAPSIM_OK);

  Simulation wanted(model, {{std::make_shared<SpringPart>(&spring)}, nullptr});
  REQUIRE(wanted.advance_to(20) == Advance::reached);
  const SimulationHandle s = with_part(part);
  REQUIRE(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  CHECK(areas_of(h) == bits(wanted.history().opening_area_mm2()));
  const Simulation without(model);
  CHECK(areas_of(h)[0] != bits(without.history().opening_area_mm2())[0]);  // the spring does something
}

TEST_CASE("c_part_with_a_copy_is_copied_for_a_fork_and_each_copy_is_released", "[c_interface][guests]") {
  Spring::living = 0;
  {
    Spring spring;
    spring.node = Model(short_eye()).mesh().equator_nodes()[0];
    const SimulationHandle s = with_part(table_of(spring));
    const int one_simulation = Spring::living;
    CHECK(one_simulation > 0);
    const SimulationHandle fork(capsim_simulation_fork(s.get()));
    CHECK(Spring::living == 2 * one_simulation);
    CHECK(capsim_simulation_advance_to(fork.get(), 5, nullptr) == CAPSIM_OK);
    CHECK(capsim_simulation_advance_to(s.get(), 5, nullptr) == CAPSIM_OK);
  }
  CHECK(Spring::living == 0);
}

TEST_CASE("c_part_that_breaks_its_contract_is_named", "[c_interface][guests]") {
  const auto model = std::make_shared<const Model>(short_eye());
  const std::vector<double> x(model->mesh().reference().begin(), model->mesh().reference().end());
  const auto told = [&](const Spring& of, const char* words) {
    auto& spring = const_cast<Spring&>(of);
    spring.node = model->mesh().equator_nodes()[0];
    const capsim_part part = table_of(spring);
    const SimulationHandle s = with_part(part, CAPSIM_BAD_GUEST);
    CHECK_THAT(error_of(s), Catch::StartsWith("\"suture\": ") && Catch::Contains(words));
  };
  Spring not_a_number, beyond, no_clique;
  not_a_number.wrong_energy = std::numeric_limits<double>::quiet_NaN();
  told(not_a_number, "not a number");
  beyond.wrong_coordinate = 1'000'000;
  told(beyond, "a clique names coordinate");
  no_clique.wrong_clique = 7;
  told(no_clique, "the Hessian names clique 7, and couplings reported 1");

  Spring spring;
  capsim_part part = table_of(spring);
  part.gradient = [](const double* at, std::size_t count, double*, void* user) { return energy(at, count, user); };
  CHECK(capsim_part_check(&part, x.data(), x.size(), nullptr, 0, nullptr) == CAPSIM_BAD_GUEST);
  CHECK_FALSE(text_by([&](auto... to) {
                const capsim_status status = capsim_part_check(&part, x.data(), x.size(), to...);
                return status == CAPSIM_BAD_GUEST ? CAPSIM_OK : status;
              }).empty());
  part.gradient = nullptr;
  const SimulationHandle s(capsim_simulation_create());
  CHECK(capsim_simulation_add_part(s.get(), &part) == CAPSIM_BAD_ARGUMENT);
  CHECK_THAT(error_of(s), Catch::Contains("needs couplings, energy, gradient and hessian"));
  CHECK(capsim_simulation_add_part(s.get(), nullptr) == CAPSIM_BAD_ARGUMENT);
}

TEST_CASE("c_law_of_a_host_drives_the_tissue", "[c_interface][guests]") {
  double per_day = 0.1;
  capsim_law law = law_with(per_day);
  CHECK(capsim_law_check(&law, nullptr, 0, nullptr) == CAPSIM_OK);
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(short_eye());
  REQUIRE(capsim_simulation_set_law(s.get(), &law) == CAPSIM_OK);
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  REQUIRE(capsim_simulation_advance_to(s.get(), 20, nullptr) == CAPSIM_OK);
  const HistoryHandle h = new_history();
  REQUIRE(capsim_simulation_history(s.get(), h.get()) == CAPSIM_OK);
  double tissue = 0;
  REQUIRE(capsim_history_outcome_value(h.get(), "fibrous_tissue", &tissue) == CAPSIM_OK);
  constexpr double of_the_steps = 1e-3;  // the time tolerance of the default scenario, rounded up
  CHECK(tissue == Approx(1 - std::exp(-2.0)).epsilon(of_the_steps));

  per_day = std::numeric_limits<double>::infinity();
  CHECK(capsim_law_check(&law, nullptr, 0, nullptr) == CAPSIM_BAD_GUEST);
  const capsim_status status = capsim_simulation_start(s.get(), scenario.get());
  const capsim_status later = status == CAPSIM_OK ? capsim_simulation_advance_to(s.get(), 20, nullptr) : status;
  CHECK(later == CAPSIM_BAD_GUEST);
  CHECK_THAT(error_of(s), Catch::StartsWith("\"steady tissue\": its rate of variable 0 at point 0"));
  law.variables = 0;
  CHECK(capsim_simulation_set_law(s.get(), &law) == CAPSIM_BAD_ARGUMENT);
  CHECK(capsim_simulation_set_law(s.get(), nullptr) == CAPSIM_OK);  // the scenario's again
  CHECK(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
}

TEST_CASE("c_call_back_into_the_handle_at_work_is_refused", "[c_interface]") {
  const SimulationHandle s(capsim_simulation_create());
  const ScenarioHandle scenario = scenario_of(short_eye());
  REQUIRE(capsim_simulation_start(s.get(), scenario.get()) == CAPSIM_OK);
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  options.user = s.get();
  options.progress = [](const capsim_progress*, void* user) -> int32_t {
    auto* self = static_cast<capsim_simulation*>(user);
    const double hour = 12;
    const bool refused = capsim_simulation_advance_to(self, 30, nullptr) == CAPSIM_BUSY &&
                         capsim_simulation_cut(self, &hour, 1, 0.5) == CAPSIM_BUSY;
    capsim_simulation_destroy(self);  // does nothing: the call needs it still
    return refused && capsim_simulation_day(self) >= 0 ? CAPSIM_CONTINUE : CAPSIM_CANCEL;  // reading is allowed
  };
  CHECK(capsim_simulation_advance_to(s.get(), 20, &options) == CAPSIM_OK);
  CHECK(capsim_simulation_day(s.get()) == 20);
}
