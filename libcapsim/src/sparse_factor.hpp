// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.
///
/// Model.   P A P^T = L D L^T with P an approximate-minimum-degree ordering. analyze() fixes P, the
///          elimination tree and the pattern of L, and takes all memory; factorize() and solve() take
///          none. Row k of L solves L(0..k-1) D y = A(0..k-1, k); its pattern is what the tree reaches
///          from the entries of column k.
/// Reference. [davis2005].

#include <cstddef>
#include <vector>

namespace capsim {

class SparseFactor {
 public:
  /// Orders and analyses a pattern: lower triangle by columns, diagonal first in each.
  void analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  /// Factorizes values + shift on the diagonal; false when a pivot is not finite and positive.
  [[nodiscard]] bool factorize(const std::vector<double>& values, double shift) noexcept;
  /// Solves in place with the last good factorization.
  void solve(std::vector<double>& b) noexcept;
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  void permute(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  void plan_rows();

  int n_ = 0;
  std::vector<int> place_;                 // of unknown i in the order of elimination
  std::vector<int> starts_, rows_, from_;  // upper triangle of P A P^T by columns; where each value comes from
  std::vector<int> diagonal_;              // where the diagonal of each column comes from
  std::vector<int> parent_;                // elimination tree
  std::vector<int> l_starts_, l_rows_;     // L by columns, without its unit diagonal
  std::vector<double> l_values_, d_;
  std::vector<int> filled_, visited_, reach_;  // of factorize(): entries so far per column, marks, pattern of a row
  std::vector<double> row_, solution_;
};

}  // namespace capsim
