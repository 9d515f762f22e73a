// SPDX-License-Identifier: BSD-3-Clause
//
// A part of the eye from outside the library, checked with the library's own checker.
//
//     A hook holds the bag where the zonule is missing: an elastic strand from the equator to a point on
//     the wall of the eye that does not move.
//
//         Pi = k/2 <L - L0>^2      L   distance from the equator's node to the anchor [mm]
//                                  L0  its length when slack [mm], k its stiffness [mN/mm]
//
//     <a> is a when a > 0 and 0 otherwise: a strand pulls and does not push.
//
// A part brings its energy, the exact gradient and the exact Hessian. A wrong derivative does not stop the
// solver, it makes it slow, or wrong near the point where it stops: so check first. measure_part compares
// everything with differences and says which demand is not met.
//
// Run:    part_of_your_own
// Ends with 1 when the hook has a fault, when a faulty one passes the check, or when the hook does not help.
//
// The eye is invented, and so are its numbers. For research and teaching, not for treating a patient;
// decisions belong to the licensed clinician and local protocols.
#include <cmath>
#include <cstdio>
#include <exception>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include <capsim/model.hpp>
#include <capsim/part.hpp>
#include <capsim/part_check.hpp>
#include <capsim/simulation.hpp>

namespace {

class Hook : public capsim::Part {
 public:
  Hook(int node, capsim::Point anchor, double slack_length_mm, double stiffness_mN_per_mm)
      : x_(2 * node), anchor_(anchor), slack_length_(slack_length_mm), stiffness_(stiffness_mN_per_mm) {}

  [[nodiscard]] std::string_view name() const noexcept override { return "hook"; }
  [[nodiscard]] std::unique_ptr<capsim::Part> clone() const override { return std::make_unique<Hook>(*this); }

  // The two coordinates of the node are coupled with each other, and with nothing else.
  void couplings(std::span<const double>, capsim::Cliques& cliques) override {
    const int both[2] = {x_, x_ + 1};
    cliques.add(both);
  }

  [[nodiscard]] double energy(std::span<const double> x) const override {
    const double stretch = std::fmax(strand(x).length - slack_length_, 0.0);
    return 0.5 * stiffness_ * stretch * stretch;
  }

  double gradient(std::span<const double> x, std::span<double> g) const override {
    const Strand s = strand(x);
    const double tension = stiffness_ * std::fmax(s.length - slack_length_, 0.0);
    g[static_cast<std::size_t>(x_)] += tension * s.ux;
    g[static_cast<std::size_t>(x_) + 1] += tension * s.uy;
    return energy(x);
  }

  // k along the strand, tension over length across it. Both are positive, so that the exact Hessian is
  // its own positive variant.
  void hessian(std::span<const double> x, capsim::Curvature, capsim::Tangent& tangent) const override {
    const Strand s = strand(x);
    const double stretch = s.length - slack_length_;
    if (stretch <= 0) return;
    const double along = stiffness_, across = across_factor() * stiffness_ * stretch / s.length;
    const double xy = (along - across) * s.ux * s.uy;
    const double h[4] = {along * s.ux * s.ux + across * s.uy * s.uy, xy, xy,
                         along * s.uy * s.uy + across * s.ux * s.ux};
    tangent.add(0, h);
  }

  // The anchor is part of the wall, and moves with it.
  void move_anchors(double angle, capsim::Point shift) override { anchor_ = capsim::moved(anchor_, angle, shift); }

 protected:
  [[nodiscard]] virtual double across_factor() const { return 1; }

 private:
  struct Strand {
    double ux, uy, length;  // unit vector from the anchor to the node
  };
  [[nodiscard]] Strand strand(std::span<const double> x) const {
    const double dx = x[static_cast<std::size_t>(x_)] - anchor_[0],
                 dy = x[static_cast<std::size_t>(x_) + 1] - anchor_[1];
    const double length = std::hypot(dx, dy);
    return {dx / length, dy / length, length};
  }

  int x_;  // index of the node's x
  capsim::Point anchor_;
  double slack_length_, stiffness_;
};

/// The same with a mistake that is easily made: the strand's turning is forgotten.
class HookThatForgets : public Hook {
 public:
  using Hook::Hook;
  [[nodiscard]] std::unique_ptr<capsim::Part> clone() const override {
    return std::make_unique<HookThatForgets>(*this);
  }

 protected:
  [[nodiscard]] double across_factor() const override { return 0; }
};

/// How far the middle of the bag lies from the pupil's on the last day [mm].
double decentration_mm(const std::shared_ptr<const capsim::Model>& model, const capsim::SimulationExtras& extras) {
  capsim::Simulation simulation(model, extras);
  if (simulation.advance_to(model->scenario().duration_days) != capsim::Advance::reached)
    throw std::runtime_error(simulation.message());
  const capsim::History history = simulation.history();
  const std::size_t last = history.rows() - 1;
  return std::hypot(history.value("equator_center_mm", last, 0), history.value("equator_center_mm", last, 1));
}

int node_at_hour(const capsim::Mesh& mesh, double hour) {
  const auto& nodes = mesh.equator_nodes();
  std::size_t nearest = 0;
  const auto away = [&](std::size_t k) {
    return std::fabs(capsim::angle_difference(mesh.plan().column_angle[k], capsim::angle_of_hour(hour)));
  };
  for (std::size_t k = 1; k < nodes.size(); ++k)
    if (away(k) < away(nearest)) nearest = k;
  return nodes[nearest];
}

}  // namespace

int main() {
  try {
    capsim::Scenario eye;
    eye.name = "zonule missing at 4 and 5 o'clock";
    eye.duration_days = 180;
    eye.output_every_days = 30;
    eye.mesh = capsim::MeshSpec::coarse();
    eye.zonule.strength_by_hour = {{4, 0.0}, {5, 0.0}};
    const auto model = std::make_shared<const capsim::Model>(eye);

    const double hour = 4.5, wall_mm = 6.5, slack_mm = 1.2, stiffness = 8;
    const double angle = capsim::angle_of_hour(hour);
    const capsim::Point wall{wall_mm * std::cos(angle), wall_mm * std::sin(angle)};
    Hook hook(node_at_hour(model->mesh(), hour), wall, slack_mm, stiffness);
    HookThatForgets faulty(node_at_hour(model->mesh(), hour), wall, slack_mm, stiffness);

    // Taut and slack, as the eye lies at rest and somewhat moved.
    std::vector<double> x(model->rest_full_strength().begin(), model->rest_full_strength().end());
    bool good = true;
    for (const double size : {1.0, 0.95, 1.1}) {
      for (double& v : x) v *= size;
      const auto faults = capsim::measure_part(hook, x).faults();
      for (const std::string& fault : faults) std::printf("hook: %s\n", fault.c_str());
      good = good && faults.empty();
    }
    std::printf("the hook %s the check\n", good ? "passes" : "does not pass");
    const auto faults = capsim::measure_part(faulty, model->rest_full_strength()).faults();
    for (const std::string& fault : faults) std::printf("the faulty one does not: %s\n", fault.c_str());
    good = good && !faults.empty();

    capsim::SimulationExtras extras;
    extras.parts.push_back(std::make_shared<const Hook>(hook));
    const double without = decentration_mm(model, {}), with = decentration_mm(model, extras);
    std::printf("bag off centre after %.0f days: %.3f mm without the hook, %.3f mm with it\n", eye.duration_days,
                without, with);
    return good && with < without ? 0 : 1;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "part_of_your_own: %s\n", error.what());
    return 1;
  }
}
