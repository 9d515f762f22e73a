// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Margin to runaway: how much more the rim would have to pull before the zonule gives way.
///
/// Model.   Tissue that goes on remodelling does not let go when it has shortened: it keeps its true
///          stress and its volume, so that its tension grows as its length falls. With T0 the tension of a
///          fibre family [mN/mm] today, l its stretch, and S = sum of T0 l over the tissue [mN mm], such
///          tissue pulls with the tension alpha T0 S0 / S: the more, the shorter it has become as a whole.
///          Equilibria under a constant tension beta T0 are minima of convex energies, so they are followed
///          without trouble; each of them is an equilibrium of the sustained pull with
///          alpha = beta S / S0. The largest alpha on this path is the margin: beyond it no amount of
///          shortening brings rim and zonule to rest again.
/// Scalar.  A ring of radius R under a hoop force N on springs K (R0 - R) per unit angle: N = K (R0 - R), and
///          alpha is proportional to N R, which is largest at R = R0 / 2: N R = K R0^2 / 4.
/// Meaning. A margin of 3 reads: were this eye's tissue to keep its present stress for good, it could
///          pull three times as hard before the opening ran away. It does not say that it will, nor
///          when: whether tissue goes on remodelling is the law's matter.
/// Assumes. Leaf, matrix, lens and ring resist as at present.
/// Reference. Theory: section 14.

#include <functional>
#include <memory>
#include <string_view>
#include <vector>

#include "capsim/fibrous_tissue.hpp"

namespace capsim {

/// How a path towards runaway ended.
enum class RunawayEnd {
  tips,          ///< At the stated factor the equilibrium is lost.
  closes,        ///< It is not, but the opening has lost nine tenths of its first area at the stated factor.
  holds,         ///< Neither, up to the stated factor.
  not_followed,  ///< Beyond the stated factor no equilibrium was found, although there should be one.
  nothing_pulls  ///< No tissue carries any tension: there is nothing to run away.
};
[[nodiscard]] std::string_view to_word(RunawayEnd end) noexcept;

struct RunawayMargin {
  RunawayEnd end = RunawayEnd::nothing_pulls;
  double contraction_factor = 0;  ///< alpha: times the present pull, at least 1; 0 when nothing pulls.
  double area_mm2 = 0;            ///< Of the opening there.
  int equilibria = 0;             ///< That were solved to find it.
};

/// Fibres under a constant tension, beta T0 l per reference area; in place of those of a FibrousTissue.
class SustainedPull : public Part {
 public:
  /// Pulls as `tissue` does at `x`. Both share the patch.
  SustainedPull(const Patch& patch, const FibrousTissue& tissue, std::span<const double> x);
  ~SustainedPull() override;
  SustainedPull(const SustainedPull&);

  [[nodiscard]] std::string_view name() const noexcept override { return "sustained pull"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;

  /// beta.
  void set_factor(double factor) noexcept { factor_ = factor; }
  /// S at x [mN mm].
  [[nodiscard]] double sum_mN_mm(std::span<const double> x) const;
  /// Largest tension of a family [mN/mm] at beta = 1.
  [[nodiscard]] double largest_tension() const noexcept;

 private:
  friend struct SustainedDensity;
  const Patch* patch_;
  int first_, last_;
  double factor_ = 1;
  std::array<std::vector<double>, fibre_families> tension_;  // T0 per point
  std::vector<double> hoop_;
};

/// What the search needs of an eye: its parts, and how to look at it.
struct RunawayEye {
  std::vector<Part*> parts;  ///< All but the fibres and `pulls`; not owned.
  std::vector<int> dof_of_coordinate;
  std::vector<double> x;  ///< At rest at factor 1.
  double force_scale_mN = 1;
  double tolerance_mN = 1e-5;
  std::vector<SustainedPull> pulls;  ///< Of every tissue; each takes the place of its fibres.
  double first_area_mm2 = 0;         ///< Of the opening at the end of surgery.
  std::function<double(std::span<const double> x)> opening_area_mm2;
};

/// Follows the path up to beta = `largest_tension_factor`.
[[nodiscard]] RunawayMargin find_runaway(RunawayEye& eye, double largest_tension_factor = 256);

}  // namespace capsim
