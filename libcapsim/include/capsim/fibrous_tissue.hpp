// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The fibrous tissue on a leaf: what it stores.
///
/// Model.   Fibre families at 0 (hoop), +45, -45 and 90 degrees (radial) in the leaf's reference;
///          l_i is the stretch of family i, v_i its natural stretch, f the tissue's fraction of its
///          full thickness hf [mm]. Energy per reference area [mN/mm]
///            sum_i w_i f hf Ef/2 <l_i/v_i - 1>^2        fibres, tension only
///          + sum_i T_i a(l_i)                           active tension T_i [mN/mm], if any; a(l) = l unless
///                                                       a law gives a stretch at which cells stall
///          + f hf (W(Em) - W_r(Em))                     matrix: resists in-plane compression only
///          with W, W_r the full and relaxed neo-Hookean densities of modulus Em (capsule.hpp). Where the
///          material is a sheet, an isotropic one with a natural state of its own stands in for fibres and
///          matrix; Ug is its natural stretch and El its modulus:
///            f hf (W_r(F Ug^-1; El) + W(F Ug^-1; Em) - W_r(F Ug^-1; Em))
/// Law.     What the tissue is made of, and how its state changes, is said by a contraction_law.hpp.
/// Assumes. It sticks to its patch, on a range of elements, and does not bridge the gap of a cut.
/// Reference. Theory: section 3.

#include <array>
#include <memory>
#include <string_view>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/mesh.hpp"
#include "capsim/part.hpp"

namespace capsim {

struct TissueSheet;

inline constexpr int fibre_families = 4;  ///< hoop, +45, -45, radial

/// What the tissue is made of, apart from its state.
struct TissueMaterial {
  double thickness_mm = 0;                                            ///< hf, of the full tissue.
  std::array<double, fibre_families> fibre_stiffness_mN_per_mm = {};  ///< w_i hf Ef; 0: the family carries nothing.
  double matrix_modulus_kPa = 0;                                      ///< Em; 0: no matrix.
  double sheet_modulus_kPa = 0;  ///< El > 0: a sheet stands in for fibres and matrix.
};

/// The fibrous tissue as a part of the eye, on the elements first..last-1 of a patch.
class FibrousTissue : public Part {
 public:
  /// State of the tissue at every one of its Gauss points; structure of arrays.
  struct Fields {
    std::vector<double> fraction;                             ///< f, 0..1
    std::array<std::vector<double>, fibre_families> natural;  ///< v_i > 0
    std::array<std::vector<double>, fibre_families> active;   ///< T_i [mN/mm]; empty: none
    /// Natural stretch of the tissue as a sheet: rr, rh, hh in the frame (radial, hoop), positive definite.
    /// Empty: no sheet.
    std::array<std::vector<double>, 3> natural_sheet;
    /// Stretch at which active tension stalls: T_i l_i becomes T_i times l_i kept above it by a smooth corner.
    /// 0: never.
    double stall = 0;
  };

  /// `hoop` holds the unit hoop direction in the reference, x y per point.
  FibrousTissue(const Patch& patch, int first_element, int last_element, std::vector<double> hoop,
                const TissueMaterial& material);
  ~FibrousTissue() override;
  FibrousTissue(const FibrousTissue&);

  [[nodiscard]] std::string_view name() const noexcept override { return "fibrous tissue"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void kinks(std::span<const double> x, KinkValues& values) const override;

  [[nodiscard]] std::size_t points() const noexcept { return fields_.fraction.size(); }
  [[nodiscard]] const Fields& fields() const noexcept { return fields_; }
  [[nodiscard]] Fields& fields() noexcept { return fields_; }
  /// Unit hoop direction in the reference, x y per point.
  [[nodiscard]] const std::vector<double>& hoop() const noexcept { return hoop_; }
  /// Reference area [mm2] of point p.
  [[nodiscard]] double area_mm2(std::size_t p) const noexcept;
  /// Stretch of every family at every point: out[family * points() + p].
  void stretches(std::span<const double> x, std::span<double> out) const;
  /// Fibre tension [mN/mm] of family `family` at point p for stretch `stretch`.
  [[nodiscard]] double tension_mN_per_mm(std::size_t p, int family, double stretch) const noexcept;
  /// Hoop tension [mN/mm] of the tissue as a sheet at point p with deformation gradient `f`; 0 without a sheet.
  [[nodiscard]] double sheet_tension_mN_per_mm(std::size_t p, const std::array<double, 4>& f) const noexcept;
  [[nodiscard]] const Patch& patch() const noexcept { return *patch_; }
  [[nodiscard]] int first_element() const noexcept { return first_; }
  [[nodiscard]] int last_element() const noexcept { return last_; }
  /// Derivative of the energy [mN] when the reference positions move by `shift` (x y per node) and the
  /// deformed ones stay; the tissue and its hoop directions move with the material. See cuts.hpp.
  [[nodiscard]] double energy_by_reference(std::span<const double> x, std::span<const double> shift) const;
  /// What that derivative gains when the tissue stays at its place in the reference instead: every point
  /// finds the tissue of the place it has moved to, and the tissue still ends where it ended: at the outer
  /// edge of its last layer of `around` elements and, where it does not begin at the rim, at the inner edge of its
  /// first. `reference` are reference positions; `moved` is memory only.
  [[nodiscard]] double energy_by_place(std::span<const double> x, std::span<const double> shift,
                                       std::span<const double> reference, int around, Fields& moved) const;

 private:
  friend struct TissueDensity;
  const Patch* patch_;
  int first_, last_;
  std::vector<double> hoop_;
  std::array<double, fibre_families> stiffness_;  // w_i hf Ef
  Membrane matrix_;
  double matrix_thickness_;
  double thickness_ = 0;                      // of the sheet
  std::shared_ptr<const TissueSheet> sheet_;  // null: none
  Fields fields_;
};

}  // namespace capsim
