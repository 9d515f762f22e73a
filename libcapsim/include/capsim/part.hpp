// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A part of the eye: one term of the potential energy, with its gradient and Hessian.
///
/// Model.   Pi(x) = sum over parts Pi_part(x). The coordinates x are positions [mm] of mesh and
///          ring nodes, x0 y0 x1 y1 ..., and the optic's (x, y, rotation [rad]); energies in
///          mN mm = uJ, forces in mN.
/// An implementer must satisfy, at every x with finite energy:
///   - gradient() adds dPi/dx to g and returns Pi; energy() returns the same Pi;
///   - hessian() adds d2Pi/dx2, symmetric, exactly (curvature::exact) or with its negative
///     eigenvalues removed or replaced (curvature::positive);
///   - every non-zero Hessian entry lies inside a clique reported by couplings();
///   - the energy is +infinity where the configuration is inadmissible (a folded element);
///   - moving the eye with its ciliary ring as a rigid body changes nothing.
/// part_check.hpp checks all of this for any part.

#include <cstddef>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "capsim/frame.hpp"
#include "capsim/kinks.hpp"

namespace capsim {

/// Sets of coordinates that are coupled all with all; the sparsity pattern is their union.
class Cliques {
 public:
  void add(std::span<const int> coordinates) {
    coordinates_.insert(coordinates_.end(), coordinates.begin(), coordinates.end());
    starts_.push_back(static_cast<int>(coordinates_.size()));
  }
  [[nodiscard]] std::size_t size() const noexcept { return starts_.size() - 1; }
  [[nodiscard]] std::span<const int> operator[](std::size_t k) const noexcept {
    return {coordinates_.data() + starts_[k], static_cast<std::size_t>(starts_[k + 1] - starts_[k])};
  }
  void clear() {
    coordinates_.clear();
    starts_.assign(1, 0);
  }
  bool operator==(const Cliques&) const = default;
  [[nodiscard]] std::size_t memory_bytes() const noexcept {
    return (coordinates_.capacity() + starts_.capacity()) * sizeof(int);
  }

 private:
  std::vector<int> coordinates_;
  std::vector<int> starts_{0};
};

/// Where a part puts its Hessian, clique by clique.
class Tangent {
 public:
  virtual ~Tangent() = default;
  /// Adds the symmetric n x n matrix (row-major, both triangles filled) of clique `k` of the
  /// calling part, in the order in which the part reported its cliques.
  virtual void add(std::size_t k, const double* matrix) = 0;
};

enum class Curvature { exact, positive };

/// One term of the potential energy.
class Part {
 public:
  virtual ~Part() = default;
  [[nodiscard]] virtual std::string_view name() const noexcept = 0;
  /// Deep copy, so that a simulation can be forked.
  [[nodiscard]] virtual std::unique_ptr<Part> clone() const = 0;

  /// Appends this part's cliques; may depend on x (contact), see couplings_hold.
  virtual void couplings(std::span<const double> x, Cliques& cliques) = 0;
  /// False when contact has moved out of the cliques reported last.
  [[nodiscard]] virtual bool couplings_hold(std::span<const double> x) const {
    (void)x;
    return true;
  }

  [[nodiscard]] virtual double energy(std::span<const double> x) const = 0;
  virtual double gradient(std::span<const double> x, std::span<double> g) const = 0;
  virtual void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const = 0;

  /// Moves everything that is fixed in space (anchors on the ciliary ring, sclera) as a rigid body:
  /// a turn by `angle` [rad] about the origin, then a shift [mm].
  virtual void move_anchors(double angle, Point shift) {
    (void)angle;
    (void)shift;
  }

  /// Derivative of the energy [mN] when the reference moves by `shift` (x y per node, 1 mm at the tip of a cut) while
  /// the deformed positions stay, and what the part holds stays at its place: what it adds to -T of a growing tip
  /// (cuts.hpp). 0 for a part that acts on nodes; one that acts all over a leaf has one, and says so.
  [[nodiscard]] virtual double energy_by_tip_growth(std::span<const double> x, std::span<const double> shift) const {
    (void)x;
    (void)shift;
    return 0;
  }

  /// Adds the numbers whose signs say on which branch of its forces the part stands at x, see kinks.hpp: as many at
  /// every x. Nothing by default.
  virtual void kinks(std::span<const double> x, KinkValues& values) const {
    (void)x;
    (void)values;
  }

  /// Sets explicit dependence on time [day] (relaxation, creep); nothing by default.
  virtual void set_day(double day) { (void)day; }

 protected:
  Part() = default;
  Part(const Part&) = default;
  Part& operator=(const Part&) = default;
};

}  // namespace capsim
