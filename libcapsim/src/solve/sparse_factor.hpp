// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.
///
/// Model.   P A P^T = L D L^T with P an approximate-minimum-degree ordering. Row k of L solves
///          L(0..k-1) D l = A(0..k-1, k), column by column, for the columns that have an entry in it.
///          Columns come in dense panels, see factor_plan.hpp; four columns are taken at a time. Neighbouring rows of a
///          panel are eliminated together, one in each lane of a vector: four in double, eight in single precision.
/// Numbers. In double precision, or in single precision where an approximate inverse will do: half the memory to go
///          through, twice the rows at a time. Matrices and right-hand sides are double either way.
/// Memory.  attach() takes a factor's own memory beside the shared plan; factorize() and solve() take none.
/// Bits.    The same on every width of vector, see lanes.hpp.
/// Reference. [davis2005]; panels as in supernodal methods.

#include <cstddef>
#include <limits>
#include <memory>
#include <vector>

#include "solve/factor_plan.hpp"

namespace capsim {

template <class Number>
class SparseFactorOf {
 public:
  /// Takes the plan of a pattern and the memory that it asks for.
  void attach(std::shared_ptr<const FactorPlan> plan);
  /// The same with a plan made here: lower triangle by columns, diagonal first in each.
  void analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  /// Factorizes values + shift on the diagonal; false when a pivot is not finite, or not more than `least_share` of
  /// what stood on its diagonal: rounding leaves a pivot that has lost all but that share with as many digits fewer.
  [[nodiscard]] bool factorize(const std::vector<double>& values, double shift, double least_share = 0) noexcept;
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
  std::vector<Number> values_, d_;
  std::vector<Number> row_, panel_, solution_;  // work
  std::vector<Number> four_;                    // work of solve_four, taken by the first one
  bool narrow_ = false;
};

extern template class SparseFactorOf<double>;
extern template class SparseFactorOf<float>;

using SparseFactor = SparseFactorOf<double>;
using RoughFactor = SparseFactorOf<float>;

}  // namespace capsim
