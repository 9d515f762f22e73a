// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/scenario.hpp"

#include <algorithm>
#include <cmath>

#include "scenario/scenario_checks.hpp"

namespace capsim {
namespace {

/// Applies one rigid move of the frontal plane (a mirror or a turn) to everything that has a place.
template <class MoveHour, class MovePoint>
class Mover {
 public:
  Mover(MoveHour hour, MovePoint point) : hour_(hour), point_(point) {}

  [[nodiscard]] Scenario operator()(Scenario scenario) const {
    OpeningSpec& opening = scenario.opening;
    move(opening.axis_hour);
    opening.center_mm = point_(opening.center_mm);
    for (Point& point : opening.outline_mm) point = point_(point);
    move(scenario.zonule.strength_by_hour);
    move(scenario.contraction.cells_left_by_hour);
    move(scenario.bag_tissue.cells_left_by_hour);
    if (scenario.tension_ring) move(*scenario.tension_ring);
    if (scenario.lens) move(scenario.lens->axis_hour);
    for (Event& event : scenario.events) std::visit([this](auto& action) { move(action); }, event.action);
    return scenario;
  }

 private:
  void move(double& hour) const { hour = hour_(hour); }
  void move(ByHour& values) const {
    ByHour elsewhere;
    for (const auto& [hour, value] : values) elsewhere[static_cast<int>(std::lround(hour_(hour)))] = value;
    values = std::move(elsewhere);
  }
  void move(TensionRingSpec& ring) const {
    move(ring.gap_hour);
    if (ring.eyelet_hour) move(*ring.eyelet_hour);
  }
  void move(RelaxingCuts& cuts) const {
    for (double& hour : cuts.hours) move(hour);
  }
  void move(ZonuleDamage& damage) const { move(damage.strength_by_hour); }
  void move(ContractionChange&) const {}  // has no place

  MoveHour hour_;
  MovePoint point_;
};

/// Into (0, 12]; a value that is no number stays none.
double on_clock(double hour) {
  const double rest = std::fmod(hour, 12.0);
  return rest <= 0 ? rest + 12 : rest;
}

/// Cosine and sine of a turn by `hours` sixths of a half circle; exact at the quarters.
std::array<double, 2> cosine_and_sine(int hours) {
  const double root = std::sqrt(3.0) / 2;
  const std::array<double, 12> cosine{1, root, 0.5, 0, -0.5, -root, -1, -root, -0.5, 0, 0.5, root};
  return {cosine[hours], cosine[(hours + 9) % 12]};
}

}  // namespace

std::vector<Violation> Scenario::violations() const {
  ViolationList found;
  check_limits(*this, found);
  check_consistency(*this, found);
  return found.take();
}

void Scenario::validate() const {
  if (auto found = violations(); !found.empty()) throw ScenarioError(std::move(found));
}

Scenario mirrored(const Scenario& scenario) {
  const auto hour = [](double h) { return on_clock(12 - h); };
  const auto point = [](const Point& p) { return Point{0 - p[0], p[1]}; };
  Scenario twin = Mover(hour, point)(scenario);
  // A mirror turns the winding round; keep it, and the first point.
  auto& outline = twin.opening.outline_mm;
  if (!outline.empty()) std::reverse(outline.begin() + 1, outline.end());
  if (scenario.eye == Eye::right) twin.eye = Eye::left;
  if (scenario.eye == Eye::left) twin.eye = Eye::right;
  return twin;
}

Scenario rotated(const Scenario& scenario, int hours) {
  const int turn = ((hours % 12) + 12) % 12;
  const auto [c, s] = cosine_and_sine(turn);
  const auto hour = [turn](double h) { return on_clock(h + turn); };
  const auto point = [c = c, s = s](const Point& p) {
    return Point{c * p[0] + s * p[1] + 0.0, c * p[1] - s * p[0] + 0.0};
  };
  return Mover(hour, point)(scenario);
}

}  // namespace capsim
