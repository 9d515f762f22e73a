// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The one checker of what part.hpp demands of every part of the eye.
///
/// measure_part(part, x) measures, at the coordinates x, and check_part(part, x) asserts:
///   - gradient() adds to what is there, returns energy(), and equals the difference of the energy;
///   - hessian() is symmetric and equals the difference of the gradient, column by column, so that
///     an entry outside the reported cliques shows too;
///   - the positive variant has no negative eigenvalue;
///   - a rigid motion of the eye with its anchors leaves the energy and turns the forces with it;
///   - a clone gives the same numbers, and moving the clone's anchors does not move the part's.
/// Differences are of fourth order over four points, so that a step large against rounding is
/// small against the curvature of the stiffest contact.

#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <memory>
#include <random>
#include <vector>

#include "capsim/part.hpp"

namespace capsim::checks {

/// A derivative agrees with its difference to this share of the largest entry beside it: what is left
/// of the rounding over the step, and of the step to the fourth power.
inline constexpr double derivative_tolerance = 1e-6;
/// Rigid motion: a few hundred roundings of numbers that are large against their differences.
inline constexpr double rigid_tolerance = 1e-10;
/// The same sums in another order.
inline constexpr double rounding = 1e-12;

struct CheckOptions {
  double step_mm = 1e-5;         ///< Of the differences.
  int rotation_coordinate = -1;  ///< Index of an angle; all other coordinates are x y pairs.
  double force_scale_mN = 0;     ///< Forces are compared with this when the largest present is smaller.
};

/// Errors relative to the largest number of their kind; zero is perfect.
struct PartErrors {
  double energy = 0;    ///< gradient()'s return value against energy().
  double adding = 0;    ///< gradient() into a filled vector against one into zeros.
  double gradient = 0;  ///< Against differences of the energy.
  double hessian = 0;   ///< Against differences of the gradient.
  double outside = 0;   ///< Differences of the gradient outside the cliques.
  double asymmetry = 0;
  double negative = 0;      ///< Most negative eigenvalue of the positive variant.
  double moved_energy = 0;  ///< After a rigid motion.
  double moved_forces = 0;
  bool clone_differs = false;
};

using Vector = std::vector<double>;

inline Eigen::Map<const Eigen::VectorXd> as_eigen(const Vector& v) {
  return {v.data(), static_cast<Eigen::Index>(v.size())};
}
inline double largest_of(const Vector& v) { return as_eigen(v).cwiseAbs().maxCoeff(); }

/// Collects a part's Hessian as a full matrix, and which entries its cliques cover.
class DenseTangent : public Tangent {
 public:
  DenseTangent(Part& part, const Vector& x)
      : matrix(Eigen::MatrixXd::Zero(as_eigen(x).size(), as_eigen(x).size())), covered(matrix) {
    part.couplings(x, cliques_);
    for (std::size_t k = 0; k < cliques_.size(); ++k)
      for (const int a : cliques_[k])
        for (const int b : cliques_[k]) covered(a, b) = 1;
  }
  void add(std::size_t k, const double* entries) override {
    REQUIRE(k < cliques_.size());
    const auto clique = cliques_[k];
    const std::size_t n = clique.size();
    for (std::size_t a = 0; a < n; ++a)
      for (std::size_t b = 0; b < n; ++b) {
        const double ab = entries[a * n + b], ba = entries[b * n + a];
        matrix(clique[a], clique[b]) += ab;
        const double size = std::abs(entries[a * n + a]) + std::abs(entries[b * n + b]) + std::abs(ab);
        if (ab != ba) asymmetry = std::max(asymmetry, std::abs(ab - ba) / size);
      }
  }
  Eigen::MatrixXd matrix, covered;
  double asymmetry = 0;

 private:
  Cliques cliques_;
};

inline Eigen::MatrixXd hessian_of(Part& part, const Vector& x, Curvature curvature) {
  DenseTangent tangent(part, x);
  part.hessian(x, curvature, tangent);
  return tangent.matrix;
}

inline Vector gradient_of(const Part& part, const Vector& x) {
  Vector g(x.size(), 0.0);
  part.gradient(x, g);
  return g;
}

/// Fourth-order central difference of `value(s)` at s = 0.
template <class Value>
auto difference(double h, Value&& value) -> decltype(value(h)) {
  const decltype(value(h)) near = value(h) - value(-h), far = value(2 * h) - value(-2 * h);
  return (8 * near - far) / (12 * h);
}

inline void measure_gradient(const Part& part, const Vector& x, const CheckOptions& options,
                             PartErrors& errors) {
  const double energy = part.energy(x), h = options.step_mm;
  Vector g(x.size(), 0.0), filled(x.size(), 3.0);
  errors.energy = std::abs(part.gradient(x, g) - energy) / std::max(std::abs(energy), 1e-300);
  part.gradient(x, filled);
  const double scale = std::max({largest_of(g), options.force_scale_mN, 1e-300});
  for (std::size_t i = 0; i < x.size(); ++i)
    errors.adding = std::max(errors.adding, std::abs(filled[i] - 3 - g[i]) / (scale + 3));
  // The energy is known to its rounding only, and its difference to that over the step.
  const double noise = 1e-14 * std::abs(energy) / h;
  const auto along = [&](const Vector& d) {
    return difference(h, [&](double s) {
      Vector y = x;
      for (std::size_t i = 0; i < y.size(); ++i) y[i] += s * d[i];
      return part.energy(y);
    });
  };
  const auto compare = [&](const Vector& d, double slope) {
    errors.gradient = std::max(errors.gradient, (std::abs(along(d) - slope) - noise) / scale);
  };
  for (std::size_t i = 0; i < x.size(); ++i) {
    Vector d(x.size(), 0.0);
    d[i] = 1;
    compare(d, g[i]);
  }
  std::mt19937 random(7);
  std::normal_distribution<double> normal;
  for (int k = 0; k < 4; ++k) {  // whole directions, of unit length so that the step stays the step
    Vector d(x.size());
    for (double& v : d) v = normal(random);
    const double length = as_eigen(d).norm();
    for (double& v : d) v /= length;
    compare(d, as_eigen(g).dot(as_eigen(d)));
  }
}

inline void measure_hessian(Part& part, const Vector& x, const CheckOptions& options, PartErrors& errors) {
  DenseTangent exact(part, x);
  part.hessian(x, Curvature::exact, exact);
  errors.asymmetry = exact.asymmetry;
  const double h = options.step_mm, largest = std::max(exact.matrix.cwiseAbs().maxCoeff(), 1e-300);
  // The gradient is known to the rounding of the products of stiffness and position it is the sum of.
  const double noise = 1e-14 * (largest_of(gradient_of(part, x)) + largest) / h;
  for (Eigen::Index j = 0; j < exact.matrix.cols(); ++j) {
    const Eigen::VectorXd column = difference(h, [&](double s) -> Eigen::VectorXd {
      Vector y = x;
      y[static_cast<std::size_t>(j)] += s;
      return as_eigen(gradient_of(part, y));
    });
    const double scale = std::max(exact.matrix.col(j).cwiseAbs().maxCoeff(), 1e-3 * largest);
    errors.hessian =
        std::max(errors.hessian, ((column - exact.matrix.col(j)).cwiseAbs().maxCoeff() - noise) / scale);
    const auto uncovered = column.array().abs() * (1 - exact.covered.col(j).array());
    errors.outside = std::max(errors.outside, (uncovered.maxCoeff() - noise) / scale);
  }
  const Eigen::MatrixXd positive = hessian_of(part, x, Curvature::positive);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(positive, Eigen::EigenvaluesOnly);
  errors.negative = std::max(-eigen.eigenvalues().minCoeff(), 0.0) /
                    std::max(eigen.eigenvalues().maxCoeff(), 1e-3 * largest);
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

inline void measure_rigid_motion(const Part& part, const Vector& x, const CheckOptions& options,
                                 PartErrors& errors) {
  const double energy = part.energy(x);
  const Vector g = gradient_of(part, x);
  const double forces = std::max({largest_of(g), options.force_scale_mN, 1e-300});
  const double energies = std::max({std::abs(energy), options.force_scale_mN, 1e-300});
  for (const double angle : {0.0, 0.7, -2.5, 3.0}) {
    const Point shift{0.8 * angle - 0.3, 0.4};
    const std::unique_ptr<Part> other = part.clone();
    errors.clone_differs = errors.clone_differs || other->energy(x) != energy || other->name() != part.name();
    other->move_anchors(angle, shift);
    const Vector y = moved_eye(x, options.rotation_coordinate, angle, shift, angle);
    errors.moved_energy = std::max(errors.moved_energy, std::abs(other->energy(y) - energy) / energies);
    const Vector expected = moved_eye(g, options.rotation_coordinate, angle, {0, 0}, 0),
                 found = gradient_of(*other, y);
    errors.moved_forces =
        std::max(errors.moved_forces, (as_eigen(found) - as_eigen(expected)).cwiseAbs().maxCoeff() / forces);
  }
  errors.clone_differs = errors.clone_differs || part.energy(x) != energy;
}

inline PartErrors measure_part(Part& part, const Vector& x, const CheckOptions& options = {}) {
  PartErrors errors;
  Cliques cliques;
  part.couplings(x, cliques);
  REQUIRE(std::isfinite(part.energy(x)));
  measure_gradient(part, x, options, errors);
  measure_hessian(part, x, options, errors);
  measure_rigid_motion(part, x, options, errors);
  return errors;
}

inline void check_part(Part& part, const Vector& x, const CheckOptions& options = {}) {
  const PartErrors errors = measure_part(part, x, options);
  CHECK(part.couplings_hold(x));
  CHECK(errors.energy <= rounding);
  CHECK(errors.adding <= rounding);
  CHECK(errors.gradient <= derivative_tolerance);
  CHECK(errors.hessian <= derivative_tolerance);
  CHECK(errors.outside <= derivative_tolerance);
  CHECK(errors.asymmetry <= rounding);
  CHECK(errors.negative <= rounding);
  CHECK(errors.moved_energy <= rigid_tolerance);
  CHECK(errors.moved_forces <= rigid_tolerance);
  CHECK_FALSE(errors.clone_differs);
}

}  // namespace capsim::checks
