// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  An open tension ring: a planar elastic wire that presses on the equator from inside.
///
/// Model.   The wire is a chain of straight edges of natural length l [mm] between nodes x_0..x_N:
///            stretching  EA/2 l (|e|/l - 1)^2                     per edge,
///            bending     g(t) EI/2 l (turn/l - k0)^2              per inner node,
///          turn being the exact angle between neighbouring edges (large rotations), k0 the natural
///          curvature [1/mm], EI [mN mm2], EA [mN], g(t) = g_c + (1 - g_c) exp(-t/tau) creep.
/// Contact. One-sided and frictionless against a C2 closed cubic curve through the equator nodes (a B-spline over
///          their angles, so that it stays smooth where columns crowd beside planned cuts): with
///          p the depth of a wire node beyond the curve, energy per length kc/2 p^2, rounded off
///          over the first `softness` so that it is C2. kc stands for the give of the fornix.
///          The closest point is found at each evaluation and enters the Hessian exactly.
///          In a uniform bag the wire's turning along the fornix would cost nothing; friction, which
///          holds it in an eye, is stood in for by a spring k/2 s^2 at one node, s being its slip
///          along the equator from the point where it was laid down.
/// Assumes. In-plane; the ends may slide past each other (reported, not resisted).
/// Reference. [bergou2008] for the turning-angle rod; theory: section 5.

#include <memory>
#include <vector>

#include "capsim/part.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

class EquatorCurve;  // private to the library

class TensionRing : public Part {
 public:
  struct Wire {
    int first_coordinate = 0;  ///< x of node 0; nodes follow as x y x y.
    int segments = 0;
    double segment_length_mm = 0;
    double natural_curvature_per_mm = 0;
    double bending_stiffness_mN_mm2 = 0;
    double axial_stiffness_mN = 0;
    double creep_fraction = 1, creep_days = 1;
  };
  /// What the wire touches and what holds it.
  struct Support {
    std::vector<int> equator_nodes;      ///< Counter-clockwise; empty: no contact.
    std::vector<double> equator_angles;  ///< Of those nodes in the reference [rad]; empty: evenly spaced.
    double contact_stiffness_mN_per_mm2 = 100;
    double contact_softness_mm = 0.002;
    int held_node = -1;  ///< Wire node that does not slide along the equator; -1: none.
    int held_span = 0;   ///< Where on the equator curve it is held: span and place in it.
    double held_place = 0;
    double held_stiffness_mN_per_mm = 5;
    int eyelet_node = -1;  ///< Wire node sutured to the sclera; -1: none.
    Point eyelet_at{};
    double eyelet_stiffness_mN_per_mm = 0;
  };
  TensionRing(Wire wire, Support support);
  ~TensionRing() override;
  TensionRing(const TensionRing&);

  [[nodiscard]] std::string_view name() const noexcept override { return "tension ring"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override;
  void couplings(std::span<const double> x, Cliques& cliques) override;
  [[nodiscard]] bool couplings_hold(std::span<const double> x) const override;
  [[nodiscard]] double energy(std::span<const double> x) const override;
  double gradient(std::span<const double> x, std::span<double> g) const override;
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override;
  void kinks(std::span<const double> x, KinkValues& values) const override;
  void set_day(double day) override;
  void move_anchors(double angle, Point shift) override;
  /// Holds the wire against turning at the point of the equator nearest to its held node at x.
  void hold_where_it_lies(std::span<const double> x);
  /// Holds it at a given place of the equator curve, span and place 0..1 in it (a restored state).
  void hold_at(int span, double place) noexcept;
  [[nodiscard]] int held_span() const noexcept { return support_.held_span; }
  [[nodiscard]] double held_place() const noexcept { return support_.held_place; }
  /// Day of insertion, from which creep counts.
  void set_insertion_day(double day) noexcept { insertion_day_ = day; }

  [[nodiscard]] const Wire& wire() const noexcept { return wire_; }
  /// Total push on the equator [mN].
  [[nodiscard]] double push_mN(std::span<const double> x) const;
  /// Distance between the two ends along the fornix [mm]; negative when they have slid past each other.
  [[nodiscard]] double end_gap_mm(std::span<const double> x) const;
  /// Largest depth of the wire beyond the equator [mm].
  [[nodiscard]] double depth_mm(std::span<const double> x) const;

 private:
  struct Touch;  // closest point of one wire node on the equator curve
  struct Slip;   // of the held node along the equator
  [[nodiscard]] Touch touch(std::span<const double> x, int node) const;
  [[nodiscard]] Slip slip(std::span<const double> x) const;
  [[nodiscard]] double node_length(int node) const noexcept;
  [[nodiscard]] int spans_between(int from, int to) const noexcept;  // the short way round
  Wire wire_;
  Support support_;
  std::shared_ptr<const EquatorCurve> curve_;
  double creep_ = 1, insertion_day_ = 0;
  std::vector<int> span_;  // curve span at which the cliques were centred
};

/// The wire of a ring, and its nodes when bent to lie concentrically at `radius_mm` about `center`.
[[nodiscard]] TensionRing::Wire ring_wire(const TensionRingSpec& spec, int segments, int first_coordinate);
[[nodiscard]] std::vector<double> ring_positions(const TensionRingSpec& spec, int segments, double radius_mm,
                                                 Point center);

}  // namespace capsim
