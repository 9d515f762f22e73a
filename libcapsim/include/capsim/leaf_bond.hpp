// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The bond between the two leaves where they have fused.
///
/// Model.   Between a node a of the anterior leaf and the node p behind it
///            k/2 A f |s - s_laid|^2,   s = x_a - x_p - d,
///          k [kPa/mm] the bond of fully fused leaves, A [mm2] the node's share of the leaf, f the fraction of full
///          tissue there, 0..1, s the slip since the end of surgery (d is x_a - x_p then), and s_laid the mean slip at
///          which the tissue was laid down: d(f s_laid)/dt = s df/dt. New bonds are born without load, so leaves that
///          have slid before they fused stay where they slid to. The lips of a cut are nodes of their own, each held
///          by the node behind it: a cut through fused leaves opens by what the bond gives way.
/// Assumes. The two layers slide across each other elastically and lie on each other from the start; bonds do not tear
///          and do not creep. d and s_laid turn with the eye (move_anchors).
/// Reference. Theory: section 3. Size of k: choice, no source.

#include <memory>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"

namespace capsim {

class LeafBond : public Part {
 public:
  struct Pair {
    int anterior = 0, posterior = 0;  ///< Nodes.
    double area_mm2 = 0;
    Point offset{0, 0};  ///< d [mm].
  };
  /// What a point of the tissue counts for in a pair's fraction; the weights of a pair sum to 1.
  struct Share {
    int pair = 0, point = 0;
    double weight = 0;
  };
  /// Points of the tissue are numbered from `first_element` of the anterior leaf.
  LeafBond(const Patch& anterior, int first_element, std::vector<Pair> pairs, std::vector<Share> shares,
           double bond_kPa_per_mm);
  ~LeafBond() override;
  LeafBond(const LeafBond&);

  [[nodiscard]] std::string_view name() const noexcept override { return "bond of the leaves"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void move_anchors(double angle, Point shift) override;
  [[nodiscard]] double energy_by_tip_growth(std::span<const double> x, std::span<const double> shift) const override;

  [[nodiscard]] const std::vector<Pair>& pairs() const noexcept { return pairs_; }
  /// Two numbers for each pair: the slip s [mm], x and y.
  [[nodiscard]] std::size_t slips() const noexcept { return 2 * pairs_.size(); }
  void slip(std::span<const double> x, std::span<double> out) const noexcept;
  /// Rate of f s_laid [mm/day], from the rate of the fraction at the points of the tissue and the slip.
  void laid_rate(std::span<const double> fraction_rate, std::span<const double> slip,
                 std::span<double> rate) const noexcept;
  /// Sets the fraction of full tissue at each pair from those at the points of the tissue, and f s_laid; no memory.
  void set_tissue(std::span<const double> fraction_at_points, std::span<const double> laid) noexcept;

 private:
  [[nodiscard]] Point load(std::size_t pair, std::span<const double> x) const noexcept;  // s - s_laid
  const Patch* anterior_;
  int first_element_;
  std::vector<Pair> pairs_;
  std::vector<Share> shares_;
  std::vector<double> fraction_;  // per pair
  std::vector<Point> laid_;       // s_laid per pair
  double bond_;
};

}  // namespace capsim
