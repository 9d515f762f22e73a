// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/part_check.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <memory>
#include <random>

#include "capsim/error.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

using Vector = std::vector<double>;

constexpr double tiny = 1e-300;  // keeps a ratio of zeros from being no number

Eigen::Map<const Eigen::VectorXd> as_eigen(const Vector& v) { return {v.data(), static_cast<Eigen::Index>(v.size())}; }
double largest_of(const Vector& v) { return as_eigen(v).cwiseAbs().maxCoeff(); }

// Collects a part's Hessian as a full matrix, and which entries its cliques cover.
class FullTangent : public Tangent {
 public:
  FullTangent(Part& part, const Vector& x)
      : matrix(Eigen::MatrixXd::Zero(as_eigen(x).size(), as_eigen(x).size())), covered(matrix) {
    part.couplings(x, cliques_);
    for (std::size_t k = 0; k < cliques_.size(); ++k)
      for (const int a : cliques_[k])
        for (const int b : cliques_[k]) covered(a, b) = 1;
  }
  void add(std::size_t k, const double* entries) override {
    if (k >= cliques_.size()) throw ArgumentError("part check: the Hessian names a clique that was not reported");
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

Vector gradient_of(const Part& part, const Vector& x) {
  Vector g(x.size(), 0.0);
  part.gradient(x, g);
  return g;
}

// Fourth-order central difference of `value(s)` at s = 0.
template <class Value>
auto difference(double h, Value&& value) -> decltype(value(h)) {
  const decltype(value(h)) near = value(h) - value(-h), far = value(2 * h) - value(-2 * h);
  return (8 * near - far) / (12 * h);
}

void measure_gradient(const Part& part, const Vector& x, const PartCheckOptions& options, PartErrors& errors) {
  const double energy = part.energy(x), h = options.step_mm;
  Vector g(x.size(), 0.0), filled(x.size(), 3.0);
  errors.energy = std::abs(part.gradient(x, g) - energy) / std::max(std::abs(energy), tiny);
  part.gradient(x, filled);
  const double scale = std::max({largest_of(g), options.force_scale_mN, tiny});
  for (std::size_t i = 0; i < x.size(); ++i)
    errors.adding = std::max(errors.adding, std::abs(filled[i] - 3 - g[i]) / (scale + 3));
  // The energy is known to its rounding only, and its difference to that over the step.
  const double noise = 1e-14 * std::abs(energy) / h;
  const auto compare = [&](const Vector& d, double slope) {
    const double found = difference(h, [&](double s) {
      Vector y = x;
      for (std::size_t i = 0; i < y.size(); ++i) y[i] += s * d[i];
      return part.energy(y);
    });
    errors.gradient = std::max(errors.gradient, (std::abs(found - slope) - noise) / scale);
  };
  for (std::size_t i = 0; i < x.size(); ++i) {
    Vector d(x.size(), 0.0);
    d[i] = 1;
    compare(d, g[i]);
  }
  std::mt19937 random(7);
  for (int k = 0; k < 4; ++k) {  // whole directions, of unit length so that the step stays the step
    Vector d(x.size());
    for (double& v : d) v = std::ldexp(static_cast<double>(random()), -31) - 1;
    const double length = as_eigen(d).norm();
    for (double& v : d) v /= length;
    compare(d, as_eigen(g).dot(as_eigen(d)));
  }
}

void measure_hessian(Part& part, const Vector& x, const PartCheckOptions& options, PartErrors& errors) {
  FullTangent exact(part, x), positive(part, x);
  part.hessian(x, Curvature::exact, exact);
  errors.asymmetry = exact.asymmetry;
  const double h = options.step_mm, largest = std::max(exact.matrix.cwiseAbs().maxCoeff(), tiny);
  // The gradient is known to the rounding of the products of stiffness and position it is the sum of.
  const double noise = 1e-14 * (largest_of(gradient_of(part, x)) + largest) / h;
  for (Eigen::Index j = 0; j < exact.matrix.cols(); ++j) {
    const Eigen::VectorXd column = difference(h, [&](double s) -> Eigen::VectorXd {
      Vector y = x;
      y[static_cast<std::size_t>(j)] += s;
      return as_eigen(gradient_of(part, y));
    });
    const double scale = std::max(exact.matrix.col(j).cwiseAbs().maxCoeff(), 1e-3 * largest);
    errors.hessian = std::max(errors.hessian, ((column - exact.matrix.col(j)).cwiseAbs().maxCoeff() - noise) / scale);
    const auto uncovered = column.array().abs() * (1 - exact.covered.col(j).array());
    errors.outside = std::max(errors.outside, (uncovered.maxCoeff() - noise) / scale);
  }
  part.hessian(x, Curvature::positive, positive);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(positive.matrix, Eigen::EigenvaluesOnly);
  errors.negative =
      std::max(-eigen.eigenvalues().minCoeff(), 0.0) / std::max(eigen.eigenvalues().maxCoeff(), 1e-3 * largest);
}

// Coordinates of the same eye, or forces on them, turned and shifted.
Vector moved_eye(const Vector& x, int rotation_coordinate, double angle, Point shift, double turn) {
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

void measure_rigid_motion(const Part& part, const Vector& x, const PartCheckOptions& options, PartErrors& errors) {
  const double energy = part.energy(x);
  const Vector g = gradient_of(part, x);
  const double forces = std::max({largest_of(g), options.force_scale_mN, tiny});
  const double energies = std::max({std::abs(energy), options.force_scale_mN, tiny});
  for (const double angle : {0.0, 0.7, -2.5, 3.0}) {
    const Point shift{0.8 * angle - 0.3, 0.4};
    const std::unique_ptr<Part> other = part.clone();
    errors.clone_differs = errors.clone_differs || other->energy(x) != energy || other->name() != part.name();
    other->move_anchors(angle, shift);
    const Vector y = moved_eye(x, options.rotation_coordinate, angle, shift, angle);
    errors.moved_energy = std::max(errors.moved_energy, std::abs(other->energy(y) - energy) / energies);
    const Vector expected = moved_eye(g, options.rotation_coordinate, angle, {0, 0}, 0), found = gradient_of(*other, y);
    errors.moved_forces =
        std::max(errors.moved_forces, (as_eigen(found) - as_eigen(expected)).cwiseAbs().maxCoeff() / forces);
  }
  errors.clone_differs = errors.clone_differs || part.energy(x) != energy;
}

}  // namespace

std::vector<std::string> PartErrors::faults() const {
  std::vector<std::string> all;
  const auto demand = [&all](double error, double tolerance, const char* what) {
    if (!(error <= tolerance))
      all.push_back(what + with_numbers(" (relative error %.2g, allowed %.2g)", {error, tolerance}));
  };
  demand(energy, rounding, "gradient() does not return the energy");
  demand(adding, rounding, "gradient() does not add to what is there");
  demand(gradient, derivative_tolerance, "the gradient is not the derivative of the energy");
  demand(hessian, derivative_tolerance, "the Hessian is not the derivative of the gradient");
  demand(outside, derivative_tolerance, "forces depend on coordinates outside the reported cliques");
  demand(asymmetry, rounding, "the Hessian is not symmetric");
  demand(negative, rounding, "the positive variant of the Hessian has a negative eigenvalue");
  demand(moved_energy, rigid_tolerance, "moving the eye with its anchors changes the energy");
  demand(moved_forces, rigid_tolerance, "moving the eye with its anchors does not just turn the forces");
  if (clone_differs) all.emplace_back("a clone differs from its part, or moving it moves the part");
  if (couplings_lost) all.emplace_back("couplings_hold() denies the coordinates that couplings() was given");
  return all;
}

PartErrors measure_part(Part& part, std::span<const double> x, const PartCheckOptions& options) {
  const Vector at(x.begin(), x.end());
  if (!std::isfinite(part.energy(at))) throw ArgumentError("part check: the energy is not finite there");
  PartErrors errors;
  Cliques cliques;
  part.couplings(at, cliques);
  errors.couplings_lost = !part.couplings_hold(at);
  measure_gradient(part, at, options, errors);
  measure_hessian(part, at, options, errors);
  measure_rigid_motion(part, at, options, errors);
  return errors;
}

}  // namespace capsim
