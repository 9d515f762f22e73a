// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What the pattern of a sparse symmetric matrix alone determines about its factorization L D L^T.
///
/// Model.   An approximate-minimum-degree ordering P. Neighbouring columns of L with the same pattern below the
/// diagonal
///          form a block; a block is dense, so that its part in a row is a small triangular solve and a product of
///          contiguous columns. P and the blocks are found for clusters of unknowns that couple to the same others: a
///          quarter of the work where these are the two coordinates of nodes. Up to eight neighbouring rows of a
///          block are eliminated together, see sparse_factor.hpp.
/// Memory.  A plan never changes and may be shared by any number of factors and threads.
/// Reference. [davis2005]; blocks as in supernodal methods.

#include <cstddef>
#include <vector>

namespace capsim {

/// Order of elimination and structure of L for one pattern: lower triangle by columns, diagonal first in each.
class FactorPlan {
 public:
  FactorPlan(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  [[nodiscard]] int size() const noexcept { return n_; }
  /// Numbers in L, the blocks' whole triangles counted as squares.
  [[nodiscard]] std::size_t numbers() const noexcept { return numbers_; }
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  template <class Number>
  friend class SparseFactorOf;
  /// Rows of a group, at most; and the whole vectors that a column of a panel is filled up to.
  static constexpr int group_rows = 8;
  /// Columns first .. first + width - 1 of L: a panel of their dense triangle and, from panel row `width` on, the
  /// `height` rows below it.
  struct Block {
    int first, width, height, stride;
    std::size_t rows;   // in rows_of_blocks_: those below
    std::size_t panel;  // in the values: entry (panel row p, column j) at j * stride + p
  };
  /// Up to eight neighbouring rows of one block.
  struct Group {
    int first, count;
    std::size_t crossings;  // in crossings_, up to those of the next group
  };
  /// Rows of a group that have entries in a block: `count` of its rows from `place` on.
  struct Crossing {
    int block, place, count;
  };
  struct Clusters;
  void find_blocks(const Clusters& clusters);
  void find_groups();

  int n_ = 0;
  std::vector<int> place_;                 // of unknown i in the order of elimination
  std::vector<int> starts_, rows_, from_;  // upper triangle of P A P^T by columns; where each value comes from
  std::vector<int> diagonal_;              // where the diagonal of each column comes from
  std::vector<Block> blocks_;
  std::vector<int> block_of_;  // of each column
  std::vector<int> rows_of_blocks_;
  std::vector<Group> groups_;  // and one past the last
  std::vector<Crossing> crossings_;
  std::size_t numbers_ = 0, values_ = 0;  // in L, and with what fills its panels up
  int tallest_ = 0;                       // stride of a panel, at most
};

}  // namespace capsim
