// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The factorization that an equilibrium keeps, in one of two precisions, and what steps have taught about it.
///
/// Steps need an inverse with a few right digits: forces and energies, which are double, tell where rest is. So their
/// factorization is in single precision as long as its pivots keep digits enough [buttari2008]. What is asked for the
/// inverse itself is answered in double precision.

#include <memory>
#include <utility>
#include <vector>

#include "solve/secant_pairs.hpp"
#include "solve/sparse_factor.hpp"

namespace capsim {

class KeptFactor {
 public:
  /// Takes the plan of a pattern and all memory for both precisions.
  void attach(const std::shared_ptr<const FactorPlan>& plan) {
    factor_.attach(plan);
    rough_.attach(plan);
  }
  void reserve(std::size_t dofs) { secants_.reserve(dofs); }

  /// In double precision; false when the matrix is not positive definite. Forgets what steps have taught.
  [[nodiscard]] bool factorize(const std::vector<double>& values, double shift) noexcept {
    secants_.clear();
    is_rough_ = false;
    return factor_.factorize(values, shift);
  }
  /// The same for steps: in single precision where that serves, which it may not again after it was refused.
  [[nodiscard]] bool factorize_for_steps(const std::vector<double>& values, double shift) noexcept {
    secants_.clear();
    is_rough_ = rough_serves_ && !refused_ && rough_.factorize(values, shift, least_rough_share);
    if (is_rough_) return true;
    const bool good = factor_.factorize(values, shift);
    refused_ = refused_ || (good && rough_serves_);
    return good;
  }
  /// Whether single precision may be tried from now on.
  void let_rough_serve(bool may) noexcept { rough_serves_ = may; }
  /// Forgets that single precision was refused.
  void forget() noexcept { refused_ = false; }
  /// After a factorization that disappointed: it is not to be in single precision again; false where it was not.
  bool leave_rough() noexcept {
    if (is_rough_) rough_serves_ = false;
    return std::exchange(is_rough_, false);
  }

  /// The inverse of the stiffness factorized last, times v, in place.
  void solve(std::vector<double>& v) noexcept {
    if (is_rough_)
      rough_.solve(v);
    else
      factor_.solve(v);
  }
  /// The same for four right-hand sides at once, of a factorization in double precision.
  void solve_four(std::vector<double>& v) { factor_.solve_four(v); }
  /// Of the factorization in double precision.
  [[nodiscard]] double least_pivot() const noexcept { return factor_.least_pivot(); }
  /// The same as solve(), with what steps since have taught.
  void solve_taught(std::vector<double>& v) {
    secants_.apply_inverse(v, [this](std::vector<double>& w) { solve(w); });
  }
  /// Learns from `scale` times `step`, which took the forces from `before` to `after`.
  void learn(const std::vector<double>& step, double scale, const std::vector<double>& before,
             const std::vector<double>& after) noexcept {
    secants_.add(step, scale, before, after);
  }
  [[nodiscard]] std::size_t memory_bytes() const noexcept {
    return factor_.memory_bytes() + rough_.memory_bytes() + secants_.size() * sizeof(double);
  }

 private:
  // A pivot that has lost all but so much of what stood on its diagonal has four right digits left of a float's seven;
  // see decisions/chord_newton.md.
  static constexpr double least_rough_share = 1e-3;
  SparseFactor factor_;
  RoughFactor rough_;
  bool is_rough_ = false;  // which of the two is kept
  bool rough_serves_ = true;
  bool refused_ = false;  // a stiff ring in a soft bag stays one: single precision is not tried in vain again
  SecantPairs secants_;
};

}  // namespace capsim
