// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.
///
/// Model.   P A P^T = L D L^T with P an approximate-minimum-degree ordering. Row k of L solves
///          L(0..k-1) D l = A(0..k-1, k), column by column, for the columns that have an entry in it.
///          Neighbouring columns with the same pattern below the diagonal form a block; a block is dense,
///          so that its part in a row is a small triangular solve and a product of contiguous columns.
/// Memory.  analyze() fixes P, the blocks and their rows, and takes all memory; factorize() and solve()
///          take none.
/// Reference. [davis2005]; blocks as in supernodal methods.

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
  /// Columns first .. first + width - 1 of L: their dense triangle, and the rows below it.
  struct Block {
    int first, width, height;
    std::size_t rows;      // in rows_of_blocks_: `height` of them
    std::size_t triangle;  // in values_: entry (i, j) at i * width + j
    std::size_t below;     // in values_: entry (row p, column j) at j * height + p
  };
  /// Row k of L has an entry in the block, at its row `place`.
  struct Crossing {
    int block, place;
  };
  void permute(const std::vector<int>& starts, const std::vector<int>& rows);
  void find_blocks();
  void eliminate(const Block& block, int filled, double* y) noexcept;

  int n_ = 0;
  std::vector<int> place_;                 // of unknown i in the order of elimination
  std::vector<int> starts_, rows_, from_;  // upper triangle of P A P^T by columns; where each value comes from
  std::vector<int> diagonal_;              // where the diagonal of each column comes from
  std::vector<Block> blocks_;
  std::vector<int> block_of_;  // of each column
  std::vector<int> rows_of_blocks_;
  std::vector<std::size_t> row_starts_;  // crossings of each row, by block
  std::vector<Crossing> crossings_;
  std::vector<double> values_, d_;
  std::vector<double> row_, update_, solution_;  // work
};

}  // namespace capsim
