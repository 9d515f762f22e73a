// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.
///
/// Model.   P A P^T = L D L^T with P an approximate-minimum-degree ordering. Row k of L solves
///          L(0..k-1) D l = A(0..k-1, k), column by column, for the columns that have an entry in it.
///          Columns come in dense blocks, see factor_plan.hpp.
///          Up to four neighbouring rows of a block are eliminated together, one in each lane of a vector.
/// Memory.  attach() takes a factor's own memory beside the shared plan; factorize() and solve() take none.
/// Bits.    The same on every width of vector, see lanes.hpp.
/// Reference. [davis2005]; blocks as in supernodal methods.

#include <cstddef>
#include <limits>
#include <memory>
#include <vector>

#include "solve/factor_plan.hpp"

namespace capsim {

class SparseFactor {
 public:
  /// Takes the plan of a pattern and the memory that it asks for.
  void attach(std::shared_ptr<const FactorPlan> plan);
  /// The same with a plan made here: lower triangle by columns, diagonal first in each.
  void analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  /// Factorizes values + shift on the diagonal; false when a pivot is not finite and positive.
  [[nodiscard]] bool factorize(const std::vector<double>& values, double shift) noexcept;
  /// Solves in place with the last good factorization.
  void solve(std::vector<double>& b) noexcept;
  /// The same for four right-hand sides at once, b[4 * i + k] being unknown i of the k-th.
  void solve_four(std::vector<double>& b);
  /// The least pivot of the last good factorization: D's smallest entry.
  [[nodiscard]] double least_pivot() const noexcept;
  /// Which widths factorize and solve use: the processor's own, or (for comparisons) the narrow one.
  void use_narrow_lanes() noexcept { narrow_ = true; }
  /// Memory of its own, without the shared plan.
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  struct Work;  // the loops, compiled for each width
  friend struct Work;
  std::shared_ptr<const FactorPlan> plan_;
  std::vector<double> values_, d_;
  std::vector<double> row_, update_, solution_;  // work
  std::vector<double> four_;                     // work of solve_four, taken by the first one
  bool narrow_ = false;
};

}  // namespace capsim
