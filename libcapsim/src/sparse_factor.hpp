// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.

#include <memory>
#include <vector>

namespace capsim {

class SparseFactor {
 public:
  SparseFactor();
  ~SparseFactor();
  SparseFactor(SparseFactor&&) noexcept;
  SparseFactor& operator=(SparseFactor&&) noexcept;
  /// Orders and analyses a pattern: lower triangle by columns, diagonal first in each.
  void analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  /// Factorizes values + shift on the diagonal; false when a pivot is not finite and positive.
  [[nodiscard]] bool factorize(const std::vector<double>& values, double shift);
  /// Solves in place with the last good factorization.
  void solve(std::vector<double>& b) const;
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace capsim
