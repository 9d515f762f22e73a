// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Constant forces on coordinates: a part that only tests need.
///
/// Model.   Pi = - sum f . (x - X), f [mN] on the node whose x is coordinate `at`, X its place in
///          the reference [mm]. A rigid motion of the eye turns the forces and moves the places.

#include <cmath>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"

namespace capsim::checks {

class DeadLoad : public Part {
 public:
  struct Force {
    int at = 0;  ///< Index of the node's x; y follows.
    Point force_mN{};
    Point place{};
  };
  explicit DeadLoad(std::vector<Force> forces) : forces_(std::move(forces)) {}

  [[nodiscard]] std::string_view name() const noexcept override { return "dead load"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<DeadLoad>(*this); }
  void couplings(std::span<const double>, Cliques&) override {}
  [[nodiscard]] double energy(std::span<const double> x) const override {
    double total = 0;
    for (const Force& f : forces_) {
      const std::size_t i = static_cast<std::size_t>(f.at);
      total -= f.force_mN[0] * (x[i] - f.place[0]) + f.force_mN[1] * (x[i + 1] - f.place[1]);
    }
    return total;
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    for (const Force& f : forces_)
      for (std::size_t d = 0; d < 2; ++d) g[static_cast<std::size_t>(f.at) + d] -= f.force_mN[d];
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent&) const override {}
  void move_anchors(double angle, Point shift) override {
    for (Force& f : forces_) {
      f.force_mN = moved(f.force_mN, angle, {0, 0});
      f.place = moved(f.place, angle, shift);
    }
  }
  void scale(double factor) {
    for (Force& f : forces_)
      for (double& v : f.force_mN) v *= factor;
  }

 private:
  std::vector<Force> forces_;
};

/// Traction on the equator of an annulus: `traction(angle)` is the force per reference length
/// [mN/mm] as x y, spread over the nodes by their shape functions along the curved edge.
template <class Traction>
DeadLoad equator_traction(const Mesh& mesh, Traction&& traction) {
  const int order = mesh.plan().order, columns = mesh.columns();
  const std::vector<double>& reference = mesh.reference();
  const double at[3] = {-0.7745966692414834, 0, 0.7745966692414834}, weight[3] = {5.0 / 9, 8.0 / 9, 5.0 / 9};
  std::vector<DeadLoad::Force> forces;
  for (int s = 0; s < mesh.plan().around; ++s)
    for (int g = 0; g < 3; ++g) {
      const double t = at[g];
      double share[3] = {0.5 * (1 - t), 0.5 * (1 + t), 0}, slope[3] = {-0.5, 0.5, 0};
      if (order == 2) {
        share[0] = -0.5 * t * (1 - t), share[1] = 0.5 * t * (1 + t), share[2] = 1 - t * t;
        slope[0] = t - 0.5, slope[1] = t + 0.5, slope[2] = -2 * t;
      }
      const int c = s * order;
      const int nodes[3] = {mesh.equator_nodes()[static_cast<std::size_t>(c)],
                            mesh.equator_nodes()[static_cast<std::size_t>((c + order) % columns)],
                            mesh.equator_nodes()[static_cast<std::size_t>(c + order - 1)]};
      double p[2] = {}, d[2] = {};
      for (int a = 0; a <= order; ++a)
        for (int k = 0; k < 2; ++k) {
          p[k] += share[a] * reference[static_cast<std::size_t>(2 * nodes[a] + k)];
          d[k] += slope[a] * reference[static_cast<std::size_t>(2 * nodes[a] + k)];
        }
      const double length = weight[g] * std::hypot(d[0], d[1]);
      const Point f = traction(std::atan2(p[1], p[0]));
      for (int a = 0; a <= order; ++a)
        forces.push_back({2 * nodes[a],
                          {share[a] * length * f[0], share[a] * length * f[1]},
                          {reference[static_cast<std::size_t>(2 * nodes[a])],
                           reference[static_cast<std::size_t>(2 * nodes[a] + 1)]}});
    }
  return DeadLoad(std::move(forces));
}

}  // namespace capsim::checks
