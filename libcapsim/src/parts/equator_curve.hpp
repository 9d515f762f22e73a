// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// The smooth closed curve through the nodes of the equator on which a ring lies.
//
// A cubic B-spline over the nodes' angles in the reference. Its coefficients come from three neighbouring nodes each
// (the quasi-interpolant that reproduces every quadratic; the blossom of the quadratic through them), so that the curve
// follows the nodes to fourth order where they are evenly spaced and to third where they crowd, as beside planned cuts.
// It is twice continuously differentiable in the angle.
#include <array>
#include <vector>

namespace capsim {

class EquatorCurve {
 public:
  /// Weights of the six nodes span-2 .. span+3 at a place t in [0, 1] of a span, and their derivatives by t.
  struct Weights {
    std::array<double, 6> n{}, d{}, dd{};
  };

  EquatorCurve() = default;
  /// `angles` of the nodes, counter-clockwise, at least six [rad].
  explicit EquatorCurve(const std::vector<double>& angles);
  /// `count` evenly spaced nodes.
  explicit EquatorCurve(int count);

  [[nodiscard]] int spans() const noexcept { return static_cast<int>(width_.size()); }
  [[nodiscard]] Weights at(int span, double t) const noexcept;
  /// The place `step` beyond t in units of its span, as a number of whole spans and a place in the last; the part
  /// beyond the span's end is measured in units of its neighbour.
  [[nodiscard]] double moved(int span, double t, double step) const noexcept;

 private:
  [[nodiscard]] std::size_t wrapped(int span) const noexcept {
    const int m = spans();
    return static_cast<std::size_t>(((span % m) + m) % m);
  }
  std::vector<double> width_;                                  // of each span [rad]
  std::vector<std::array<std::array<double, 4>, 6>> weights_;  // of each span and node: polynomial in t
};

}  // namespace capsim
