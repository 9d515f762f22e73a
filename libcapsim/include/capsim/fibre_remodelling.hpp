// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The first contraction law: fibres laid down, and remodelled, at a constant stretch.
///
/// Law.     With c, m and f of contraction_law.hpp, l_i the stretch of fibre family i and v_i its natural stretch:
///            d(f v_i)/dt = m/tau_c (f l_i/lh - f v_i) + df/dt l_i/lh
///          which is dv_i/dt = (m/tau_c + (df/dt)/f)(l_i/lh - v_i) in a form that is defined at f = 0: tissue is
///          laid down, and remodelled, at the stretch lh. Fibres and matrix carry the load.
///          Cells whose pull their own matrix takes let go: with `unloaded_deactivation_per_day` u,
///            dm/dt gains -u m (1 - tanh((q - 1/2)/0.2))/2,  q = (sum_i T_i l_i + tr S)/(sum_i T_i l_i)
///          T_i the tension of family i, S the tension of the matrix (compressed: tr S < 0): q is the share of the
///          pull that is passed on.
/// Assumes. Natural stretches are kept above the packing limit by a smooth corner. The active tension, its radial
///          share, the rate of lock-in and the modulus of the locked tissue play no part.
/// Reference. Theory: section 3.

#include <utility>
#include <vector>

#include "capsim/contraction_law.hpp"

namespace capsim {

/// The default law: fibres laid down and remodelled at a constant stretch.
class FibreRemodelling : public ContractionLaw {
 public:
  explicit FibreRemodelling(const ContractionSpec& spec) : FibreRemodelling(spec, {0, 1, 2, 3}) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "fibre_remodelling"; }
  [[nodiscard]] std::size_t variables() const noexcept override { return 3 + families_.size(); }
  [[nodiscard]] std::optional<TissueMaterial> material() const override;
  [[nodiscard]] double force_scale_mN_per_mm() const noexcept override;
  [[nodiscard]] std::unique_ptr<ContractionLaw> changed(const ContractionChange& change) const override;
  /// Only the families that have a weight: c, m, f, then their f v.
  [[nodiscard]] std::unique_ptr<ContractionLaw> without_idle_variables() const override;
  void start(std::span<const double> cells, std::span<double> y) const override;
  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override;
  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override;

 private:
  FibreRemodelling(const ContractionSpec& spec, std::vector<std::size_t> families)
      : spec_(spec), families_(std::move(families)) {}
  void let_go(std::span<const double> y, std::span<const double> stretches, std::span<double> dm) const;

  ContractionSpec spec_;
  std::vector<std::size_t> families_;  // those that have variables
};

}  // namespace capsim
