// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A contraction law: how the fibrous tissue's state changes with time, and what the tissue is made of.
///
/// Model.   dy/dt = rate(day, y, stretches) at every point of the tissue, y whatever the law needs; apply() turns y
///          into the state of the tissue (fibrous_tissue.hpp). The laws at hand are listed in scenario.hpp
///          (CAPSIM_CONTRACTION_LAWS), each with a header of its name. They share signal, cells c, myofibroblasts m and
///          tissue f:
///            s = exp(-t/tau_s) + s_inf
///            dc/dt = rc s c (1 - c)                        cells left under the rim, c(0) = c0 z
///            dm/dt = ka s c (1 - m) - kd m                 myofibroblasts
///            df/dt = kf m (1 - f)                          tissue
/// Assumes. Cells only where the leaf lies on the optic at the start: z(X) = overlap(X) exp(-d/w), d the
///          distance from the rim.
/// Reference. Theory: section 3.

#include <array>
#include <memory>
#include <optional>
#include <span>
#include <string_view>

#include "capsim/fibrous_tissue.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

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
  /// One word, as in `contraction.law` of a scenario; kept in checkpoints.
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
  /// What carries the load under this law. Null: the material of the law that the scenario names.
  [[nodiscard]] virtual std::optional<TissueMaterial> material() const { return std::nullopt; }
  /// Largest tension [mN/mm] that the law alone is sized for: together with the capsule's and the zonule's it scales
  /// the tolerance of equilibria. 0: those of the eye will do.
  [[nodiscard]] virtual double force_scale_mN_per_mm() const noexcept { return 0; }
  /// The law with other values from now on, for the same variables (ContractionChange). Null: it has no such values,
  /// and the change is refused.
  [[nodiscard]] virtual std::unique_ptr<ContractionLaw> changed(const ContractionChange& change) const {
    (void)change;
    return nullptr;
  }
  /// The same law without variables that nothing comes of, as those of fibres without weight. Null: all count.
  [[nodiscard]] virtual std::unique_ptr<ContractionLaw> without_idle_variables() const { return nullptr; }
  /// A law under which the capsule itself grows or shrinks says so, and writes the leaf's growth tensor Fg
  /// (11 12 21 22 in the axes x y of the reference, determinant positive) at every point of the tissue. It is the
  /// identity before the first call; see capsule.hpp.
  [[nodiscard]] virtual bool grows_leaf() const noexcept { return false; }
  virtual void grow_leaf(std::span<const double> y, std::span<double> growth) const {
    (void)y;
    (void)growth;
  }
};

/// The law that the scenario names; the one place where laws are told apart.
[[nodiscard]] std::unique_ptr<ContractionLaw> make_contraction_law(const ContractionSpec& spec);
/// `spec` with the values of a change in their places.
[[nodiscard]] ContractionSpec with_change(ContractionSpec spec, const ContractionChange& change);
/// Both changes as one.
[[nodiscard]] ContractionChange one_after_the_other(ContractionChange first, const ContractionChange& then);
/// The material of that law.
[[nodiscard]] TissueMaterial tissue_material(const ContractionSpec& spec);

}  // namespace capsim
