// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The artificial lens: a rigid optic whose haptics push the equator outward.
///
/// Model.   Coordinates of the optic: centre (cx, cy) [mm] and rotation a [rad]. A haptic presses on
///          the arc of equator that faced it on day 0; at a point x of that arc, with d the unit
///          vector that turned with the optic from its day-0 direction, the energy per haptic is
///            k/2 g(t) mean over the arc of <R - (x - c).d>^2
///          R the free radius [mm], k the stiffness [mN/mm], g = g_inf + (1 - g_inf) exp(-t/tau).
///          One-sided: a haptic never pulls. The arc slides freely across d.
///          Haptics fuse in with the bag: when a fraction f of the full tissue has grown there, each also holds its arc
///          against sliding, kf/2 f mean over the arc of ((x - c).d' - a)^2, d' square to d and a as on day 0.
///          Optional bond of the leaf to the optic over their overlap: b/2 |x - x_bonded|^2 per
///          reference area, b in kPa/mm, x_bonded moving rigidly with the optic.
/// Assumes. In-plane; no friction; the haptic's arc stays on the same part of the equator.
/// Reference. Theory: section 6.

#include <array>
#include <memory>
#include <vector>

#include "capsim/mesh.hpp"
#include "capsim/part.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

class Lens : public Part {
 public:
  /// One quadrature point of a haptic's arc on the equator.
  struct Contact {
    int clique = 0;
    int count = 0;
    std::array<int, 3> nodes{};
    std::array<double, 3> share{};
    double direction = 0;  ///< Angle of d on day 0 [rad].
    double weight = 0;     ///< Share of the haptic's arc, sums to 1 per haptic.
    double along = 0;      ///< a: where it lies along the arc on day 0 [mm].
  };
  /// One quadrature point of the bonded overlap.
  struct Bond {
    int element = 0, point = 0;  ///< Of the anterior patch.
    Point place{};               ///< In the optic's frame on day 0 [mm].
    double weight = 0;           ///< Reference area [mm2].
  };
  /// `first_coordinate` is the index of cx; cy and the rotation follow.
  Lens(int first_coordinate, double stiffness_mN_per_mm, double free_radius_mm, double relaxed_fraction,
       double relaxation_days, std::vector<Contact> contacts);
  ~Lens() override;
  Lens(const Lens&);

  /// Adds the bond of leaf to optic.
  void bond(const Patch& anterior, std::vector<Bond> bonds, double stiffness_kPa_per_mm);

  /// Haptics fuse with the equator as it lies at x, the optic at its place: kf of each haptic.
  void fuse(std::span<const double> x, double stiffness_mN_per_mm);
  /// f, 0..1.
  void set_fused(double fraction) noexcept { fused_ = fraction; }

  [[nodiscard]] std::string_view name() const noexcept override { return "lens"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void kinks(std::span<const double> x, KinkValues& values) const override;
  void set_day(double day) override;
  [[nodiscard]] double energy_by_tip_growth(std::span<const double> x, std::span<const double> shift) const override;

  [[nodiscard]] int first_coordinate() const noexcept { return first_; }
  /// Sum of the pushes of all haptics [mN].
  [[nodiscard]] double push_mN(std::span<const double> x) const noexcept;

 private:
  int first_;
  double stiffness_, free_radius_, relaxed_fraction_, relaxation_days_;
  double factor_ = 1;
  std::vector<Contact> contacts_;
  int contact_cliques_ = 0;
  const Patch* anterior_ = nullptr;
  std::vector<Bond> bonds_;
  double bond_stiffness_ = 0;
  double fusion_ = 0, fused_ = 0;
};

/// Haptic contacts of a lens on the mesh; `axis` is the direction of the first haptic [rad].
[[nodiscard]] std::vector<Lens::Contact> haptic_contacts(const Mesh& mesh, int haptics, double axis, double arc);

}  // namespace capsim
