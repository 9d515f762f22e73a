// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The library's checker of parts (capsim/part_check.hpp) as assertions, and full matrices for tests.

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <vector>

#include "capsim/part.hpp"
#include "capsim/part_check.hpp"

namespace capsim::checks {

inline constexpr double derivative_tolerance = PartErrors::derivative_tolerance;
inline constexpr double rigid_tolerance = PartErrors::rigid_tolerance;
inline constexpr double rounding = PartErrors::rounding;

using CheckOptions = PartCheckOptions;
using Vector = std::vector<double>;

inline Eigen::Map<const Eigen::VectorXd> as_eigen(const Vector& v) {
  return {v.data(), static_cast<Eigen::Index>(v.size())};
}
inline double largest_of(const Vector& v) { return as_eigen(v).cwiseAbs().maxCoeff(); }

inline Vector gradient_of(const Part& part, const Vector& x) {
  Vector g(x.size(), 0.0);
  part.gradient(x, g);
  return g;
}

/// The Hessian as a full matrix.
inline Eigen::MatrixXd hessian_of(Part& part, const Vector& x, Curvature curvature) {
  struct Full : Tangent {
    Eigen::MatrixXd matrix;
    Cliques cliques;
    void add(std::size_t k, const double* entries) override {
      const auto clique = cliques[k];
      for (std::size_t a = 0; a < clique.size(); ++a)
        for (std::size_t b = 0; b < clique.size(); ++b) matrix(clique[a], clique[b]) += entries[a * clique.size() + b];
    }
  } full;
  full.matrix.setZero(as_eigen(x).size(), as_eigen(x).size());
  part.couplings(x, full.cliques);
  part.hessian(x, curvature, full);
  return full.matrix;
}

/// Fourth-order central difference of `value(s)` at s = 0.
template <class Value>
auto difference(double h, Value&& value) -> decltype(value(h)) {
  const decltype(value(h)) near = value(h) - value(-h), far = value(2 * h) - value(-2 * h);
  return (8 * near - far) / (12 * h);
}

/// Coordinates of the same eye, or forces on them, turned and shifted.
inline Vector moved_eye(const Vector& x, int rotation_coordinate, double angle, Point shift, double turn) {
  Vector y = x;
  for (std::size_t i = 0; i < x.size();) {
    if (static_cast<int>(i) == rotation_coordinate) {
      y[i++] += turn;
      continue;
    }
    const Point p = moved({x[i], x[i + 1]}, angle, shift);
    y[i] = p[0];
    y[i + 1] = p[1];
    i += 2;
  }
  return y;
}

/// Every demand of part.hpp is met at x.
inline void check_part(Part& part, const Vector& x, const CheckOptions& options = {}) {
  const std::vector<std::string> faults = measure_part(part, x, options).faults();
  for (const std::string& fault : faults) UNSCOPED_INFO(fault);
  CHECK(faults.empty());
}

}  // namespace capsim::checks
