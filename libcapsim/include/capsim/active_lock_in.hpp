// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A second contraction law: cells pull with an active tension, and the tissue locks in what they contracted.
///
/// Model.   Signal, cells c, myofibroblasts m and tissue f as in contraction_law.hpp. Active cells pull on the tissue
///          in which they sit, along the hoop and, by the share beta, radially:
///            T_hoop = Ta m f,  T_radial = beta T_hoop                              [mN/mm]
///          The tissue is an isotropic sheet of thickness f hf with a natural state of its own. With F the
///          deformation gradient, C = F^T F and Ug = Cg^(1/2) its natural stretch it stores per reference area
///            T_hoop a(l_hoop) + T_radial a(l_radial)
///            + f hf (W_r(F Ug^-1; El) + W(F Ug^-1; Em) - W_r(F Ug^-1; Em))         [mN/mm]
///          W and W_r being the full and relaxed neo-Hookean densities of capsule.hpp with modulus El of the
///          locked tissue or Em of the matrix, a(l) the stretch l kept above the packing limit by a smooth
///          corner: there the cells stall.
/// Law.     With <.>- the negative part, taken by eigenvalues:
///            dCg/dt = zeta m Cg <log(Cg^-1 C)>-             cells take up what has become too long
///            d(f Cg)/dt = f dCg/dt + df/dt Cg exp<log(Cg^-1 C)>-       new tissue fits what it is laid on
///          The first line is (dFg/dt) Fg^-1 = zeta m <log Ue>-, Ue the right stretch of F Fg^-1. Held at a
///          shorter shape the elastic log strain falls as exp(-zeta int m dt); held longer, it stays. So a
///          contraction is locked in, and what pulls it open afterwards meets the modulus El.
/// Assumes. The capsule itself stays elastic. C and Ug are kept above the packing limit. Cells that meet no
///          resistance let go: m falls by `unloaded_deactivation_per_day` times the share of their pull that
///          is spent on the tissue itself. `fibre_modulus_kPa`, the weights, `laying_stretch` and
///          `remodelling_days` play no part.
/// Reference. Theory: section 3.

#include "capsim/contraction_law.hpp"

namespace capsim {

class ActiveLockIn : public ContractionLaw {
 public:
  explicit ActiveLockIn(const ContractionSpec& spec) : spec_(spec) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "active_lock_in"; }
  /// c, m, f, then f Cg as rr, rh, hh in the frame (radial, hoop).
  [[nodiscard]] std::size_t variables() const noexcept override { return 6; }
  [[nodiscard]] std::optional<TissueMaterial> material() const override;
  [[nodiscard]] double force_scale_mN_per_mm() const noexcept override;
  [[nodiscard]] std::unique_ptr<ContractionLaw> changed(const ContractionChange& change) const override;
  void start(std::span<const double> cells, std::span<double> y) const override;
  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override;
  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override;

 private:
  ContractionSpec spec_;
};

}  // namespace capsim
