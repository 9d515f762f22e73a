// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The capsule: two membrane laws, the tension field, and the leaf as a part of the eye.
///
/// Model.   Plane stress, incompressible, in principal stretches l1 >= l2 of the leaf:
///            neo-Hookean  W = mu/2 (l1^2 + l2^2 + 1/(l1 l2)^2 - 3),  mu = E/3 [kPa]
///            exponential  W = c/2 (e^Q - 1),  Q = a1 (E1^2 + E2^2) + 2 a2 E1 E2,  Ei = (li^2 - 1)/2.
///          A leaf 15 um thick carries no compression. The relaxed energy W_r is W where both
///          principal stresses are tensile, the minimum over l2 where the leaf is wrinkled
///          (uniaxial tension), and 0 where it is slack. The leaf stores
///            h ((1 - eps) W_r + eps W)   per reference area,
///          eps being the residual compressive fraction: a material parameter, not a numerical one.
///          With a growth tensor Fg the elastic part is F Fg^-1 and the density det(Fg) W.
/// Assumes. Large strains; do not trust either law beyond about 50 % strain.
/// Reference. [fisher1969], [rivlin1948], [pipkin1986] in doc/references.bib. Theory: section 2.

#include <array>
#include <memory>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// Energy density [kPa] and its derivatives by the two principal stretches, of any number type. `flip` is
/// (w1 - w2) / ((l1 - l2)/2), which has a limit where the stretches are equal.
template <class T>
struct StretchResponseOf {
  T w{}, w1{}, w2{}, w11{}, w12{}, w22{}, flip{};
};
using StretchResponse = StretchResponseOf<double>;

/// The capsule's material with its tension field.
struct Membrane {
  CapsuleLaw law = CapsuleLaw::neo_hookean;
  double mu_kPa = 830.0 / 3;
  double c_kPa = 315, a1 = 2.85, a2 = 1.34;
  double compression_fraction = 0.05;

  explicit Membrane(const CapsuleSpec& spec);
  Membrane() = default;

  /// Full law, compression included. Needs l1 >= l2 > 0.
  [[nodiscard]] StretchResponse full(double l1, double l2) const noexcept;
  /// Relaxed (tension-field) law.
  [[nodiscard]] StretchResponse relaxed(double l1, double l2) const noexcept;
  /// (1 - eps) relaxed + eps full.
  [[nodiscard]] StretchResponse blended(double l1, double l2) const noexcept;
  /// Young's modulus at small strain [kPa].
  [[nodiscard]] double small_strain_modulus_kPa() const noexcept;
};

enum class TautState { slack, wrinkled, taut };
/// State of the leaf at principal stretches l1 >= l2.
[[nodiscard]] TautState taut_state(const Membrane& membrane, double l1, double l2) noexcept;

/// Thickness [mm] of the anterior leaf at `radius_ratio` = distance from the pole / equator radius.
[[nodiscard]] double anterior_thickness_mm(const CapsuleSpec& spec, double radius_ratio) noexcept;

/// A leaf: one or more patches of the mesh with a thickness at every Gauss point.
class Leaf : public Part {
 public:
  struct Region {
    const Patch* patch = nullptr;      ///< Owned by the mesh, which must outlive the part.
    std::vector<double> thickness_mm;  ///< Per point.
    std::vector<double> growth;        ///< Empty, or per point: Fg as 11 12 21 22.
  };
  Leaf(std::string_view name, Membrane membrane, std::vector<Region> regions);
  ~Leaf() override;
  Leaf(const Leaf&);

  [[nodiscard]] std::string_view name() const noexcept override { return name_; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void kinks(std::span<const double> x, KinkValues& values) const override;

  /// Derivative of the energy [mN] when the reference positions move by `shift` (x y per node) and the
  /// deformed ones stay; thickness and growth keep their place in space. Outside the fan. See cuts.hpp.
  /// `ahead` and `behind` are memory only.
  [[nodiscard]] double energy_by_reference(std::span<const double> x, std::span<const double> shift, Region& ahead,
                                           Region& behind) const;
  [[nodiscard]] const std::vector<Region>& regions() const noexcept { return regions_; }
  [[nodiscard]] std::vector<Region>& regions() noexcept { return regions_; }
  [[nodiscard]] const Membrane& membrane() const noexcept { return membrane_; }

 private:
  std::string_view name_;
  Membrane membrane_;
  std::vector<Region> regions_;
};

/// Deformation gradient (11 12 21 22) at a Gauss point.
[[nodiscard]] std::array<double, 4> deformation_gradient(const Patch& patch, std::span<const double> x, int element,
                                                         int point) noexcept;
/// Principal stretches l1 >= l2 of a deformation gradient; l2 <= 0 when it is folded.
[[nodiscard]] std::array<double, 2> principal_stretches(const std::array<double, 4>& f) noexcept;

}  // namespace capsim
