// SPDX-License-Identifier: BSD-3-Clause
#include "solve/sparse_factor.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseCore>
#include <algorithm>
#include <cmath>

namespace capsim {
namespace {

using Matrix = Eigen::SparseMatrix<double, Eigen::ColMajor, int>;

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }

// Place of every unknown in an order of elimination with little fill-in.
std::vector<int> ordering(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  const std::vector<double> ones(rows.size(), 1.0);
  const Matrix lower =
      Eigen::Map<const Matrix>(n, n, static_cast<int>(rows.size()), starts.data(), rows.data(), ones.data());
  Matrix full;
  full = lower.selfadjointView<Eigen::Lower>();
  Eigen::AMDOrdering<int>::PermutationType eliminated;  // the k-th to go
  Eigen::AMDOrdering<int>()(full, eliminated);
  std::vector<int> place(at(n));
  for (int k = 0; k < n; ++k) place[at(eliminated.indices()[k])] = k;
  return place;
}

// sum[p] = sum over j of a[j * height + p] * y[j], for p < count.
void multiply(const double* __restrict a, int height, int width, const double* __restrict y, int count,
              double* __restrict sum) noexcept {
  const std::size_t h = at(height);
  int j = width % 4;
  if (j == 0) {
    std::fill(sum, sum + count, 0.0);
  } else {
    for (int p = 0; p < count; ++p) sum[p] = a[p] * y[0];
    for (int i = 1; i < j; ++i)
      for (int p = 0; p < count; ++p) sum[p] += a[at(i) * h + at(p)] * y[i];
  }
  for (; j < width; j += 4) {
    const double *a0 = a + at(j) * h, *a1 = a0 + h, *a2 = a1 + h, *a3 = a2 + h;
    const double y0 = y[j], y1 = y[j + 1], y2 = y[j + 2], y3 = y[j + 3];
    for (int p = 0; p < count; ++p) sum[p] += (a0[p] * y0 + a1[p] * y1) + (a2[p] * y2 + a3[p] * y3);
  }
}

}  // namespace

void SparseFactor::analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  n_ = n;
  place_ = ordering(n, starts, rows);
  permute(starts, rows);
  find_blocks();
}

// Column j of the permuted upper triangle holds the rows i < j; its diagonal is kept apart.
void SparseFactor::permute(const std::vector<int>& starts, const std::vector<int>& rows) {
  diagonal_.assign(at(n_), 0);
  starts_.assign(at(n_) + 1, 0);
  const auto each = [&](auto&& visit) {
    for (int c = 0; c < n_; ++c)
      for (int k = starts[at(c)] + 1; k < starts[at(c) + 1]; ++k) {
        const int a = place_[at(c)], b = place_[at(rows[at(k)])];
        visit(std::min(a, b), std::max(a, b), k);
      }
  };
  for (int c = 0; c < n_; ++c) diagonal_[at(place_[at(c)])] = starts[at(c)];
  each([&](int, int column, int) { ++starts_[at(column) + 1]; });
  for (int c = 0; c < n_; ++c) starts_[at(c) + 1] += starts_[at(c)];
  rows_.resize(at(starts_.back()));
  from_.resize(rows_.size());
  std::vector<int> next(starts_.begin(), starts_.end() - 1);
  each([&](int row, int column, int k) {
    const std::size_t slot = at(next[at(column)]++);
    rows_[slot] = row;
    from_[slot] = k;
  });
}

// The elimination tree gives the columns with an entry in each row; columns that follow one another in it
// with one entry less are a block.
void SparseFactor::find_blocks() {
  const std::size_t n = at(n_);
  std::vector<int> parent(n, -1), seen(n, -1), count(n, 0);
  const auto each_entry = [&](auto&& visit) {  // (row, column) below the diagonal, rows ascending
    std::fill(seen.begin(), seen.end(), -1);
    for (int k = 0; k < n_; ++k) {
      seen[at(k)] = k;
      for (int p = starts_[at(k)]; p < starts_[at(k) + 1]; ++p)
        for (int i = rows_[at(p)]; seen[at(i)] != k; i = parent[at(i)]) {
          if (parent[at(i)] < 0) parent[at(i)] = k;
          seen[at(i)] = k;
          visit(k, i);
        }
    }
  };
  each_entry([&](int, int column) { ++count[at(column)]; });

  blocks_.clear();
  block_of_.assign(n, 0);
  std::size_t rows = 0, values = 0;
  for (int c = 0; c < n_;) {
    int last = c;
    while (last + 1 < n_ && parent[at(last)] == last + 1 && count[at(last)] == count[at(last) + 1] + 1) ++last;
    const int width = last - c + 1, height = count[at(last)];
    for (int k = c; k <= last; ++k) block_of_[at(k)] = static_cast<int>(blocks_.size());
    blocks_.push_back({c, width, height, rows, values, values + at(width) * at(width)});
    rows += at(height);
    values += at(width) * at(width + height);
    c = last + 1;
  }
  rows_of_blocks_.assign(rows, 0);
  values_.assign(values, 0);

  std::vector<int> filled(blocks_.size(), 0);
  crossings_.clear();
  crossings_.reserve(rows);
  row_starts_.assign(n + 1, 0);
  int row = 0;
  const auto finish_rows = [&](int next) {
    for (; row < next; ++row) {
      const auto begin = crossings_.begin() + static_cast<std::ptrdiff_t>(row_starts_[at(row)]);
      std::sort(begin, crossings_.end(), [](const Crossing& a, const Crossing& b) { return a.block < b.block; });
      row_starts_[at(row) + 1] = crossings_.size();
    }
  };
  each_entry([&](int k, int column) {
    finish_rows(k);
    const Block& block = blocks_[at(block_of_[at(column)])];
    if (column != block.first + block.width - 1 || block_of_[at(k)] == block_of_[at(column)]) return;
    const int place = filled[at(block_of_[at(column)])]++;
    rows_of_blocks_[block.rows + at(place)] = k;
    crossings_.push_back({block_of_[at(column)], place});
  });
  finish_rows(n_);

  int tallest = 0;
  for (const Block& block : blocks_) tallest = std::max(tallest, block.height);
  d_.assign(n, 0);
  row_.assign(n, 0);
  update_.assign(at(tallest), 0);
  solution_.assign(n, 0);
}

// Solves with the block's triangle, and takes the block's part from the first `filled` rows below it.
// `y` are the values of all unknowns.
void SparseFactor::eliminate(const Block& block, int filled, double* y) noexcept {
  double* mine = y + block.first;
  const double* triangle = &values_[block.triangle];
  for (int i = 1; i < block.width; ++i) {
    double sum = 0;
    for (int j = 0; j < i; ++j) sum += triangle[i * block.width + j] * mine[j];
    mine[i] -= sum;
  }
  if (filled == 0) return;
  multiply(&values_[block.below], block.height, block.width, mine, filled, update_.data());
  const int* rows = &rows_of_blocks_[block.rows];
  for (int p = 0; p < filled; ++p) y[rows[p]] -= update_[at(p)];
}

bool SparseFactor::factorize(const std::vector<double>& values, double shift) noexcept {
  std::fill(row_.begin(), row_.end(), 0.0);
  double* row = row_.data();
  for (int k = 0; k < n_; ++k) {
    for (int p = starts_[at(k)]; p < starts_[at(k) + 1]; ++p) row[rows_[at(p)]] = values[at(from_[at(p)])];
    double pivot = values[at(diagonal_[at(k)])] + shift;
    for (std::size_t c = row_starts_[at(k)]; c < row_starts_[at(k) + 1]; ++c) {
      const Block& block = blocks_[at(crossings_[c].block)];
      eliminate(block, crossings_[c].place, row);
      double* below = &values_[block.below + at(crossings_[c].place)];
      for (int j = 0; j < block.width; ++j) {
        const double y = row[block.first + j], l = y / d_[at(block.first + j)];
        below[at(j) * at(block.height)] = l;
        pivot -= l * y;
        row[block.first + j] = 0;
      }
    }
    // The columns before k in its own block.
    const Block& own = blocks_[at(block_of_[at(k)])];
    double* triangle = &values_[own.triangle];
    double* mine = row + own.first;
    const int before = k - own.first;
    for (int i = 0; i < before; ++i) {
      double y = mine[i];
      for (int j = 0; j < i; ++j) y -= triangle[i * own.width + j] * mine[j];
      mine[i] = y;
      const double l = y / d_[at(own.first + i)];
      triangle[before * own.width + i] = l;
      pivot -= l * y;
    }
    std::fill(mine, mine + before, 0.0);
    if (!(pivot > 0) || !std::isfinite(pivot)) return false;
    d_[at(k)] = pivot;
  }
  return true;
}

void SparseFactor::solve(std::vector<double>& b) noexcept {
  double* x = solution_.data();
  for (int i = 0; i < n_; ++i) x[place_[at(i)]] = b[at(i)];
  for (const Block& block : blocks_) eliminate(block, block.height, x);
  for (int k = 0; k < n_; ++k) x[k] /= d_[at(k)];
  for (std::size_t k = blocks_.size(); k-- > 0;) {
    const Block& block = blocks_[k];
    const int* rows = rows_of_blocks_.data() + block.rows;
    for (int p = 0; p < block.height; ++p) update_[at(p)] = x[rows[p]];
    double* mine = x + block.first;
    for (int j = 0; j < block.width; ++j) {
      const double* below = values_.data() + block.below + at(j) * at(block.height);
      double even = 0, odd = 0;
      int p = 0;
      for (; p + 1 < block.height; p += 2) {
        even += below[p] * update_[at(p)];
        odd += below[p + 1] * update_[at(p) + 1];
      }
      if (p < block.height) even += below[p] * update_[at(p)];
      mine[j] -= even + odd;
    }
    const double* triangle = &values_[block.triangle];
    for (int j = block.width - 1; j > 0; --j)
      for (int i = 0; i < j; ++i) mine[i] -= triangle[j * block.width + i] * mine[j];
  }
  for (int i = 0; i < n_; ++i) b[at(i)] = x[place_[at(i)]];
}

std::size_t SparseFactor::memory_bytes() const noexcept {
  std::size_t ints = 0, doubles = 0;
  for (const auto* v : {&place_, &starts_, &rows_, &from_, &diagonal_, &block_of_, &rows_of_blocks_})
    ints += v->capacity();
  for (const auto* v : {&values_, &d_, &row_, &update_, &solution_}) doubles += v->capacity();
  return ints * sizeof(int) + doubles * sizeof(double) + blocks_.capacity() * sizeof(Block) +
         crossings_.capacity() * sizeof(Crossing) + row_starts_.capacity() * sizeof(std::size_t);
}

}  // namespace capsim
