// SPDX-License-Identifier: BSD-3-Clause
#include "sparse_factor.hpp"

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
  const Matrix lower = Eigen::Map<const Matrix>(n, n, static_cast<int>(rows.size()), starts.data(), rows.data(), ones.data());
  Matrix full;
  full = lower.selfadjointView<Eigen::Lower>();
  Eigen::AMDOrdering<int>::PermutationType eliminated;  // the k-th to go
  Eigen::AMDOrdering<int>()(full, eliminated);
  std::vector<int> place(at(n));
  for (int k = 0; k < n; ++k) place[at(eliminated.indices()[k])] = k;
  return place;
}

}  // namespace

void SparseFactor::analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  n_ = n;
  place_ = ordering(n, starts, rows);
  permute(n, starts, rows);
  plan_rows();
}

// Column j of the permuted upper triangle holds the rows i < j; its diagonal is kept apart.
void SparseFactor::permute(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  diagonal_.assign(at(n), 0);
  starts_.assign(at(n) + 1, 0);
  const auto each = [&](auto&& visit) {
    for (int c = 0; c < n; ++c)
      for (int k = starts[at(c)] + 1; k < starts[at(c) + 1]; ++k) {
        const int a = place_[at(c)], b = place_[at(rows[at(k)])];
        visit(std::min(a, b), std::max(a, b), k);
      }
  };
  for (int c = 0; c < n; ++c) diagonal_[at(place_[at(c)])] = starts[at(c)];
  each([&](int, int column, int) { ++starts_[at(column) + 1]; });
  for (int c = 0; c < n; ++c) starts_[at(c) + 1] += starts_[at(c)];
  rows_.resize(at(starts_.back()));
  from_.resize(rows_.size());
  std::vector<int> next(starts_.begin(), starts_.end() - 1);
  each([&](int row, int column, int k) {
    const std::size_t slot = at(next[at(column)]++);
    rows_[slot] = row;
    from_[slot] = k;
  });
}

// Elimination tree, and how many entries each column of L will have.
void SparseFactor::plan_rows() {
  const std::size_t n = at(n_);
  parent_.assign(n, -1);
  visited_.assign(n, -1);
  std::vector<int> count(n, 0);
  for (int k = 0; k < n_; ++k) {
    visited_[at(k)] = k;
    for (int p = starts_[at(k)]; p < starts_[at(k) + 1]; ++p)
      for (int i = rows_[at(p)]; visited_[at(i)] != k; i = parent_[at(i)]) {
        if (parent_[at(i)] < 0) parent_[at(i)] = k;
        ++count[at(i)];
        visited_[at(i)] = k;
      }
  }
  l_starts_.assign(n + 1, 0);
  for (std::size_t k = 0; k < n; ++k) l_starts_[k + 1] = l_starts_[k] + count[k];
  l_rows_.assign(at(l_starts_.back()), 0);
  l_values_.assign(l_rows_.size(), 0);
  filled_.assign(n, 0);
  reach_.assign(n, 0);
  d_.assign(n, 0);
  row_.assign(n, 0);
  solution_.assign(n, 0);
}

bool SparseFactor::factorize(const std::vector<double>& values, double shift) noexcept {
  std::fill(visited_.begin(), visited_.end(), -1);
  std::fill(row_.begin(), row_.end(), 0.0);
  for (int k = 0; k < n_; ++k) {
    // Column k of A into row_, and its reach along the tree, each path before the later ones.
    int top = n_;
    visited_[at(k)] = k;
    filled_[at(k)] = l_starts_[at(k)];
    for (int p = starts_[at(k)]; p < starts_[at(k) + 1]; ++p) {
      int i = rows_[at(p)], length = 0;
      row_[at(i)] = values[at(from_[at(p)])];
      for (; visited_[at(i)] != k; i = parent_[at(i)]) {
        reach_[at(length++)] = i;
        visited_[at(i)] = k;
      }
      while (length > 0) reach_[at(--top)] = reach_[at(--length)];
    }
    double pivot = values[at(diagonal_[at(k)])] + shift;
    for (; top < n_; ++top) {
      const int i = reach_[at(top)];
      const double y = row_[at(i)];
      row_[at(i)] = 0;
      const int end = filled_[at(i)];
      const int* rows = l_rows_.data();
      const double* l = l_values_.data();
      double* row = row_.data();
      for (int p = l_starts_[at(i)]; p < end; ++p) row[rows[p]] -= l[p] * y;
      const double l_ki = y / d_[at(i)];
      pivot -= l_ki * y;
      l_rows_[at(end)] = k;
      l_values_[at(end)] = l_ki;
      filled_[at(i)] = end + 1;
    }
    if (!(pivot > 0) || !std::isfinite(pivot)) return false;
    d_[at(k)] = pivot;
  }
  return true;
}

void SparseFactor::solve(std::vector<double>& b) noexcept {
  double* x = solution_.data();
  for (int i = 0; i < n_; ++i) x[place_[at(i)]] = b[at(i)];
  for (int k = 0; k < n_; ++k)
    for (int p = l_starts_[at(k)]; p < l_starts_[at(k) + 1]; ++p) x[l_rows_[at(p)]] -= l_values_[at(p)] * x[k];
  for (int k = 0; k < n_; ++k) x[k] /= d_[at(k)];
  for (int k = n_ - 1; k >= 0; --k)
    for (int p = l_starts_[at(k)]; p < l_starts_[at(k) + 1]; ++p) x[k] -= l_values_[at(p)] * x[l_rows_[at(p)]];
  for (int i = 0; i < n_; ++i) b[at(i)] = x[place_[at(i)]];
}

std::size_t SparseFactor::memory_bytes() const noexcept {
  std::size_t ints = 0, doubles = 0;
  for (const auto* v : {&place_, &starts_, &rows_, &from_, &diagonal_, &parent_, &l_starts_, &l_rows_, &filled_, &visited_, &reach_})
    ints += v->capacity();
  for (const auto* v : {&l_values_, &d_, &row_, &solution_}) doubles += v->capacity();
  return ints * sizeof(int) + doubles * sizeof(double);
}

}  // namespace capsim
