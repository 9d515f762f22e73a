// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The zonule: tension-only springs from the bag to fixed points on the ciliary ring.
///
/// Model.   A bundle at distance L from its anchor carries s k <L - L0> [mN], s its strength 0..1,
///          k its stiffness [mN/mm], L0 its slack length [mm]; energy s k <L - L0>^2 / 2. Bundles
///          are quadrature points of a continuous distribution along the equator (or along a line
///          on the anterior leaf), so the answer does not depend on the mesh. A weak zonule keeps
///          its slack length and loses stiffness, so that it also pulls less.
/// Assumes. Frictionless, no damping; C1 at the slack point. Failed bundles do not heal.
/// Reference. Theory: section 4.

#include <array>
#include <memory>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// Strength 0..1 of the zonule, averaged over the arc of `width` [rad] centred on `angle` [rad].
[[nodiscard]] double zonule_strength(const ZonuleSpec& spec, double angle, double width);
/// The same averaging for any values by clock hour with a value elsewhere.
[[nodiscard]] double by_hour_average(const ByHour& values, double elsewhere, HourInterpolation interpolation,
                                     double angle, double width);

class Zonule : public Part {
 public:
  struct Bundle {
    int clique = 0;  ///< Bundles of one element side share a clique.
    int count = 0;   ///< Nodes that carry the insertion.
    std::array<int, 8> nodes{};
    std::array<double, 8> share{};   ///< Shape function values.
    Point anchor{};                  ///< [mm]
    double stiffness_mN_per_mm = 0;  ///< At full strength.
    double slack_length_mm = 0;
    double angle = 0;     ///< Of the insertion in the in-situ bag [rad].
    double width = 0;     ///< Arc it stands for [rad].
    double strength = 1;  ///< 0 once it has failed.
  };
  explicit Zonule(std::vector<Bundle> bundles);
  ~Zonule() override;
  Zonule(const Zonule&);

  [[nodiscard]] std::string_view name() const noexcept override { return "zonule"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void kinks(std::span<const double> x, KinkValues& values) const override;
  void move_anchors(double angle, Point shift) override;

  [[nodiscard]] const std::vector<Bundle>& bundles() const noexcept { return bundles_; }
  /// Tension [mN] of one bundle; zero when slack.
  [[nodiscard]] double tension_mN(const Bundle& bundle, std::span<const double> x) const noexcept;
  /// Elongation beyond the slack length [mm]; negative when slack.
  [[nodiscard]] double elongation_mm(const Bundle& bundle, std::span<const double> x) const noexcept;
  /// Tension per clock hour [mN], index 0 = 12 o'clock; a bundle's load goes to the hours its arc covers.
  [[nodiscard]] std::array<double, 12> load_by_hour_mN(std::span<const double> x) const noexcept;
  /// Sum of the radial components of all tensions about `center` [mN].
  [[nodiscard]] double radial_pull_mN(std::span<const double> x, Point center) const noexcept;
  /// Takes other bundles in place of its own, as many as it has, with the same cliques.
  void put(std::vector<Bundle> bundles) { bundles_ = std::move(bundles); }
  /// Sets the strength of every bundle that has not failed.
  void set_strength(const ZonuleSpec& spec);
  /// Which bundles have failed, 0 or 1 per bundle.
  [[nodiscard]] const std::vector<char>& failed() const noexcept { return failed_; }
  void set_failed(std::vector<char> failed);
  /// Fails every bundle stretched beyond `elongation_mm`; returns how many failed now.
  int fail_beyond(double elongation_mm, std::span<const double> x);

 private:
  std::vector<Bundle> bundles_;
  std::vector<char> failed_;
};

/// Builds the bundles of a zonule on the mesh: at the equator, or split with a part on the leaf.
/// `in_situ` are nodal positions at rest, which place an insertion on the leaf; anchors lie on the
/// ciliary ring at the angle of the mesh column. Slack lengths follow from the pull at rest.
[[nodiscard]] std::vector<Zonule::Bundle> zonule_bundles(const Mesh& mesh, std::span<const double> in_situ,
                                                         const ZonuleSpec& spec, double equator_radius_mm);

/// The same with each insertion on the leaf at a given fraction 0..1 of the way from rim to equator,
/// one for each bundle of the equator; empty: all at the equator.
[[nodiscard]] std::vector<Zonule::Bundle> zonule_bundles_at(const Mesh& mesh, std::span<const double> fractions,
                                                            const ZonuleSpec& spec, double equator_radius_mm);

/// Fractions at which the insertions lie `anterior_inset_mm` inside the equator; empty unless split.
[[nodiscard]] std::vector<double> insertion_fractions(const Mesh& mesh, std::span<const double> in_situ,
                                                      const ZonuleSpec& spec, double equator_radius_mm);

/// Where a bundle is inserted at nodal positions x.
[[nodiscard]] Point insertion_point(const Zonule::Bundle& bundle, std::span<const double> x) noexcept;

}  // namespace capsim
