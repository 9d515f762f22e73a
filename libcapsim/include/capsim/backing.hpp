// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The vitreous behind the bag: a very soft bed that holds a bag whose zonule is entirely slack.
///
/// Model.   k/2 |x - x0|^2 at every equator node, x0 its rest position, k the node's share of a total
///          stiffness of 0.02 mN/mm: ten thousand times softer than a healthy zonule. A strong
///          tension ring can stretch the bag until no zonular fibre is taut; without a bed its place
///          in the eye would be arbitrary.
/// Assumes. Its forces (below 0.02 mN) do not matter beside any other part's. Size: choice, no source.

#include <memory>
#include <span>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"

namespace capsim {

class Backing : public Part {
 public:
  /// `rest` holds the rest positions of `nodes`, x0 y0 x1 y1 ...
  Backing(std::vector<int> nodes, std::vector<double> rest, double total_stiffness_mN_per_mm);
  ~Backing() override;
  Backing(const Backing&);
  [[nodiscard]] std::string_view name() const noexcept override { return "vitreous backing"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void move_anchors(double angle, Point shift) override;
  /// Another x0: where the nodes lie at x.
  void rest_at(std::span<const double> x);

 private:
  std::vector<int> nodes_;
  std::vector<double> rest_;
  double stiffness_;
};

/// The vitreous behind a bag that rests at `rest`, x0 y0 x1 y1 ... of all nodes [mm].
[[nodiscard]] std::unique_ptr<Backing> make_backing(const Mesh& mesh, std::span<const double> rest);

}  // namespace capsim
