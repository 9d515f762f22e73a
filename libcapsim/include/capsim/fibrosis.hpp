// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The fibrous tissue under the rim: what it stores (a part) and how it grows (a law).
///
/// Model.   Fibre families at 0 (hoop), +45, -45 and 90 degrees (radial) in the leaf's reference;
///          l_i is the stretch of family i, v_i its natural stretch, f the tissue's fraction of its
///          full thickness hf [mm]. Energy per reference area [mN/mm]
///            sum_i w_i f hf Ef/2 <l_i/v_i - 1>^2        fibres, tension only
///          + sum_i T_i a(l_i)                           active tension T_i [mN/mm], if any; a(l) = l unless
///                                                       a law gives a stretch at which cells stall
///          + f hf (W(Em) - W_r(Em))                     matrix: resists in-plane compression only
///          with W, W_r the full and relaxed neo-Hookean densities of modulus Em (capsule.hpp). Under the
///          law of active lock-in an isotropic sheet stands in for fibres and matrix (active_contraction.hpp).
/// Law.     s = exp(-t/tau_s) + s_inf
///          dc/dt = rc s c (1 - c)                        cells left under the rim, c(0) = c0 z
///          dm/dt = ka s c (1 - m) - kd m                 myofibroblasts
///          df/dt = kf m (1 - f)                          tissue
///          d(f v_i)/dt = m/tau_c (f l_i/lh - f v_i) + df/dt l_i/lh
///          The last line is dv_i/dt = (m/tau_c + (df/dt)/f)(l_i/lh - v_i) in a form that is
///          defined at f = 0: tissue is laid down, and remodelled, at the stretch lh.
/// Assumes. Only where the leaf lies on the optic at the start: z(X) = overlap(X) exp(-d/w), d the
///          distance from the rim. Tissue does not bridge the gap of a cut.
/// Reference. Theory: section 3.

#include <array>
#include <memory>
#include <string_view>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/mesh.hpp"
#include "capsim/part.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

struct TissueSheet;

inline constexpr int fibre_families = 4;  ///< hoop, +45, -45, radial

/// The fibrous tissue as a part of the eye, on the elements first..last-1 of the anterior leaf.
class FibrousTissue : public Part {
 public:
  /// State of the tissue at every one of its Gauss points; structure of arrays.
  struct Fields {
    std::vector<double> fraction;                             ///< f, 0..1
    std::array<std::vector<double>, fibre_families> natural;  ///< v_i > 0
    std::array<std::vector<double>, fibre_families> active;   ///< T_i [mN/mm]; empty: none
    /// Natural stretch of the tissue as a sheet: rr, rh, hh in the frame (radial, hoop), positive definite.
    /// Empty: no sheet. With one, the sheet stands in for fibres and matrix; see active_contraction.hpp.
    std::array<std::vector<double>, 3> growth;
    /// Stretch at which active tension stalls: T_i l_i becomes T_i times l_i kept above it by a smooth corner.
    /// 0: never.
    double stall = 0;
  };

  /// `hoop` holds the unit hoop direction in the reference, x y per point.
  FibrousTissue(const Patch& patch, int first_element, int last_element, std::vector<double> hoop,
                const ContractionSpec& spec);
  ~FibrousTissue() override;
  FibrousTissue(const FibrousTissue&);

  [[nodiscard]] std::string_view name() const noexcept override { return "fibrous tissue"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;

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
  [[nodiscard]] int first_element() const noexcept { return first_; }
  [[nodiscard]] int last_element() const noexcept { return last_; }
  /// Derivative of the energy [mN] when the reference positions move by `shift` (x y per node) and the
  /// deformed ones stay; the tissue and its hoop directions move with the material. See cuts.hpp.
  [[nodiscard]] double energy_by_reference(std::span<const double> x, std::span<const double> shift) const;
  /// What that derivative gains when the tissue stays at its place in the reference instead: every point
  /// finds the tissue of the place it has moved to, and the tissue still ends where it ended. The outer
  /// edge of the elements from `border_element` on is that end; `reference` are reference positions;
  /// `moved` is memory only.
  [[nodiscard]] double energy_by_place(std::span<const double> x, std::span<const double> shift,
                                       std::span<const double> reference, int border_element, Fields& moved) const;

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

/// Right Cauchy-Green tensor F^T F of point p in the frame (radial, hoop) as rr, rh, hh, from the stretches of
/// the four families at `points` points: the squares of the two diagonal ones differ by twice the shear.
[[nodiscard]] inline std::array<double, 3> right_cauchy_green(std::span<const double> stretches, std::size_t points,
                                                              std::size_t p) noexcept {
  const double hoop = stretches[p], plus = stretches[points + p], minus = stretches[2 * points + p],
               radial = stretches[3 * points + p];
  return {radial * radial, 0.5 * (plus - minus) * (plus + minus), hoop * hoop};
}

/// How the tissue's state changes with time. Variables are stored as structure of arrays:
/// y[variable * points + point].
class ContractionLaw {
 public:
  virtual ~ContractionLaw() = default;
  [[nodiscard]] virtual std::string_view name() const noexcept = 0;
  [[nodiscard]] virtual std::size_t variables() const noexcept = 0;
  /// State at day 0; `cells` is c(0) per point.
  virtual void start(std::span<const double> cells, std::span<double> y) const = 0;
  /// dy/dt [1/day] at `day`; `stretches` as FibrousTissue::stretches. Must be finite for finite input. The four
  /// stretches hold the whole right Cauchy-Green tensor, see right_cauchy_green.
  virtual void rate(double day, std::span<const double> y, std::span<const double> stretches,
                    std::span<double> dydt) const = 0;
  /// Puts the state into the mechanical part.
  virtual void apply(std::span<const double> y, FibrousTissue::Fields& fields) const = 0;
  /// A law under which the capsule itself grows or shrinks says so, and writes the leaf's growth tensor Fg
  /// (11 12 21 22 in the axes x y of the reference, determinant positive) at every point of the tissue. It is the
  /// identity before the first call; see capsule.hpp.
  [[nodiscard]] virtual bool grows_leaf() const noexcept { return false; }
  virtual void grow_leaf(std::span<const double> y, std::span<double> growth) const {
    (void)y;
    (void)growth;
  }
};

/// The default law: fibres laid down and remodelled at a constant stretch.
class FibreRemodelling : public ContractionLaw {
 public:
  explicit FibreRemodelling(const ContractionSpec& spec) : spec_(spec) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "fibre remodelling"; }
  [[nodiscard]] std::size_t variables() const noexcept override { return 3 + fibre_families; }
  void start(std::span<const double> cells, std::span<double> y) const override;
  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override;
  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override;

 private:
  ContractionSpec spec_;
};

[[nodiscard]] std::unique_ptr<ContractionLaw> make_contraction_law(const ContractionSpec& spec);

}  // namespace capsim
