// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A sparse L D L^T factorization that says honestly whether the matrix was positive definite.
///
/// Model.   P A P^T = L D L^T with P an approximate-minimum-degree ordering. Row k of L solves
///          L(0..k-1) D l = A(0..k-1, k), column by column, for the columns that have an entry in it.
///          Neighbouring columns with the same pattern below the diagonal form a block; a block is dense,
///          so that its part in a row is a small triangular solve and a product of contiguous columns. P and the blocks
///          are found for clusters of unknowns that couple to the same others: a quarter of the work where these are
///          the two coordinates of nodes.
///          Up to four neighbouring rows of a block are eliminated together, one in each lane of a vector.
/// Memory.  A FactorPlan holds P, the blocks and their rows: what the pattern alone determines. It never changes and
///          may be shared by any number of factors and threads. attach() takes a factor's own memory; factorize()
///          and solve() take none.
/// Bits.    The same on every width of vector, see lanes.hpp.
/// Reference. [davis2005]; blocks as in supernodal methods.

#include <cstddef>
#include <limits>
#include <memory>
#include <vector>

namespace capsim {

/// Order of elimination and structure of L for one pattern: lower triangle by columns, diagonal first in each.
class FactorPlan {
 public:
  FactorPlan(int n, const std::vector<int>& starts, const std::vector<int>& rows);
  [[nodiscard]] int size() const noexcept { return n_; }
  /// Numbers in L, the blocks' whole triangles counted as squares.
  [[nodiscard]] std::size_t numbers() const noexcept { return values_; }
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  friend class SparseFactor;
  /// Columns first .. first + width - 1 of L: their dense triangle, and the rows below it.
  struct Block {
    int first, width, height;
    std::size_t rows;      // in rows_of_blocks_: `height` of them
    std::size_t triangle;  // in the values: entry (i, j) at i * width + j
    std::size_t below;     // in the values: entry (row p, column j) at j * height + p
  };
  /// Up to four neighbouring rows of one block.
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
  std::size_t values_ = 0;  // numbers in L
  int tallest_ = 0;         // rows below a block, at most
};

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
