// SPDX-License-Identifier: BSD-3-Clause
#include "solve/factor_plan.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseCore>
#include <algorithm>

namespace capsim {
namespace {

using Matrix = Eigen::SparseMatrix<double, Eigen::ColMajor, int>;

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }

}  // namespace

// Neighbouring unknowns that couple to the same others, like the two coordinates of a node: they are eliminated one
// after the other, so that order and structure need only be found for their clusters.
struct FactorPlan::Clusters {
  std::vector<int> width;
  std::vector<int> starts{0}, rows;  // the couplings among them: lower triangle by columns, diagonal first in each

  [[nodiscard]] int size() const noexcept { return static_cast<int>(width.size()); }
  Clusters(int n, const std::vector<int>& column_starts, const std::vector<int>& column_rows);
  /// Place of every cluster in an order of elimination with little fill-in.
  [[nodiscard]] std::vector<int> ordering() const;
};

FactorPlan::Clusters::Clusters(int n, const std::vector<int>& column_starts, const std::vector<int>& column_rows) {
  // Columns before an unknown's own that have an entry in its row, and those that have one in the next row, too.
  std::vector<int> before(at(n), 0), both(at(n), 0);
  for (int c = 0; c < n; ++c)
    for (int k = column_starts[at(c)] + 1; k < column_starts[at(c) + 1]; ++k) {
      const int row = column_rows[at(k)];
      ++before[at(row)];
      if (k + 1 < column_starts[at(c) + 1] && column_rows[at(k) + 1] == row + 1) ++both[at(row)];
    }
  const auto as_the_next = [&](int i) {
    const auto rows_after = [&](int c) { return column_rows.begin() + column_starts[at(c)] + 1; };
    const auto end = [&](int c) { return column_rows.begin() + column_starts[at(c) + 1]; };
    return before[at(i)] == both[at(i)] && before[at(i) + 1] == before[at(i)] + 1 && rows_after(i) != end(i) &&
           *rows_after(i) == i + 1 && std::equal(rows_after(i) + 1, end(i), rows_after(i + 1), end(i + 1));
  };
  std::vector<int> cluster(at(n)), first;
  for (int i = 0; i < n; ++i) {
    if (i == 0 || !as_the_next(i - 1)) {
      first.push_back(i);
      width.push_back(0);
    }
    ++width.back();
    cluster[at(i)] = size() - 1;
  }
  for (int c = 0; c < size(); ++c) {
    const int column = first[at(c)];
    int latest = -1;
    for (int k = column_starts[at(column)]; k < column_starts[at(column) + 1]; ++k)
      if (const int row = cluster[at(column_rows[at(k)])]; row != latest) rows.push_back(latest = row);
    starts.push_back(static_cast<int>(rows.size()));
  }
}

std::vector<int> FactorPlan::Clusters::ordering() const {
  const std::vector<double> ones(rows.size(), 1.0);  // an unknown without its diagonal would be put off to the end
  const Eigen::Map<const Matrix> lower(size(), size(), static_cast<int>(rows.size()), starts.data(), rows.data(),
                                       ones.data());
  Eigen::AMDOrdering<int>::PermutationType eliminated;  // the k-th to go
  Eigen::AMDOrdering<int>()(lower.selfadjointView<Eigen::Lower>(), eliminated);
  std::vector<int> place(width.size());
  for (int k = 0; k < size(); ++k) place[at(eliminated.indices()[k])] = k;
  return place;
}

namespace {

// Where the entries below the diagonal lie after a permutation: rows i < j of column j of the upper triangle, whose
// starts are returned. Calls visit(slot, row, k) for each, k being its place in the lower triangle.
template <class Visit>
std::vector<int> upper_triangle(const std::vector<int>& place, const std::vector<int>& starts,
                                const std::vector<int>& rows, Visit&& visit) {
  const int n = static_cast<int>(place.size());
  std::vector<int> upper(at(n) + 1, 0);
  const auto each = [&](auto&& entry) {
    for (int c = 0; c < n; ++c)
      for (int k = starts[at(c)] + 1; k < starts[at(c) + 1]; ++k) {
        const int a = place[at(c)], b = place[at(rows[at(k)])];
        entry(std::min(a, b), std::max(a, b), k);
      }
  };
  each([&](int, int column, int) { ++upper[at(column) + 1]; });
  for (int c = 0; c < n; ++c) upper[at(c) + 1] += upper[at(c)];
  std::vector<int> next(upper.begin(), upper.end() - 1);
  each([&](int row, int column, int k) { visit(at(next[at(column)]++), row, k); });
  return upper;
}

}  // namespace

FactorPlan::FactorPlan(int n, const std::vector<int>& starts, const std::vector<int>& rows) : n_(n) {
  const Clusters clusters(n, starts, rows);
  const std::vector<int> order = clusters.ordering();
  Clusters permuted = clusters;  // in the order of elimination, the upper triangle without the diagonal
  permuted.starts = upper_triangle(order, clusters.starts, clusters.rows,
                                   [&](std::size_t slot, int row, int) { permuted.rows[slot] = row; });
  for (int c = 0; c < clusters.size(); ++c) permuted.width[at(order[at(c)])] = clusters.width[at(c)];

  std::vector<int> first(permuted.width.size());  // place of each cluster's first unknown
  for (std::size_t c = 1; c < first.size(); ++c) first[c] = first[c - 1] + permuted.width[c - 1];
  place_.reserve(at(n));
  for (int c = 0; c < clusters.size(); ++c)
    for (int k = 0; k < clusters.width[at(c)]; ++k) place_.push_back(first[at(order[at(c)])] + k);

  diagonal_.resize(at(n));
  for (int c = 0; c < n; ++c) diagonal_[at(place_[at(c)])] = starts[at(c)];
  rows_.resize(rows.size() - at(n));
  from_.resize(rows_.size());
  starts_ = upper_triangle(place_, starts, rows, [&](std::size_t slot, int row, int k) {
    rows_[slot] = row;
    from_[slot] = k;
  });
  find_blocks(permuted);
  find_groups();
}

// The elimination tree gives the clusters with an entry in each row; clusters that follow one another in it with no
// other rows below are a block.
void FactorPlan::find_blocks(const Clusters& clusters) {
  const std::size_t n = clusters.width.size();
  std::vector<int> parent(n, -1), seen(n, -1), count(n, 0);  // count: unknowns below each cluster
  for (int k = 0; k < clusters.size(); ++k) {  // row k of the factor: from each of its entries up the tree
    seen[at(k)] = k;
    for (int p = clusters.starts[at(k)]; p < clusters.starts[at(k) + 1]; ++p)
      for (int i = clusters.rows[at(p)]; seen[at(i)] != k; i = parent[at(i)]) {
        if (parent[at(i)] < 0) parent[at(i)] = k;
        seen[at(i)] = k;
        count[at(i)] += clusters.width[at(k)];
      }
  }

  std::vector<int> block_of(n, 0), last_of;  // block of each cluster, and last cluster of each block
  block_of_.reserve(at(n_));
  std::size_t rows = 0, values = 0;
  for (int c = 0, first = 0; c < clusters.size();) {
    int last = c, width = clusters.width[at(c)];
    const auto goes_on = [&](int k) {
      return at(k) + 1 < n && parent[at(k)] == k + 1 && count[at(k)] == count[at(k) + 1] + clusters.width[at(k) + 1];
    };
    while (goes_on(last)) width += clusters.width[at(++last)];
    const int height = count[at(last)];
    for (int k = c; k <= last; ++k) block_of[at(k)] = static_cast<int>(blocks_.size());
    block_of_.insert(block_of_.end(), at(width), static_cast<int>(blocks_.size()));
    last_of.push_back(last);
    const int stride = (width + height + group_rows - 1) / group_rows * group_rows;
    blocks_.push_back({first, width, height, stride, rows, values});
    rows += at(height);
    values += at(width) * at(stride);
    numbers_ += at(width) * at(width + height);
    first += width;
    c = last + 1;
    tallest_ = std::max(tallest_, stride);
  }
  rows_of_blocks_.assign(rows, 0);
  values_ = values;

  // The same once more, from block to block: a row with an entry in a block has one in its last cluster.
  std::vector<int> filled(blocks_.size(), 0);
  seen.assign(blocks_.size(), -1);
  for (int k = 0, first = 0; k < clusters.size(); first += clusters.width[at(k++)]) {
    seen[at(block_of[at(k)])] = k;
    for (int p = clusters.starts[at(k)]; p < clusters.starts[at(k) + 1]; ++p)
      for (int b = block_of[at(clusters.rows[at(p)])]; seen[at(b)] != k; b = block_of[at(parent[at(last_of[at(b)])])]) {
        seen[at(b)] = k;
        for (int i = 0; i < clusters.width[at(k)]; ++i)
          rows_of_blocks_[blocks_[at(b)].rows + at(filled[at(b)]++)] = first + i;
      }
  }
}

// The rows of a block in eights; and for each group the earlier blocks that its rows have entries in.
void FactorPlan::find_groups() {
  std::vector<int> group_of(at(n_), 0);
  for (const Block& block : blocks_)
    for (int k = block.first; k < block.first + block.width; k += group_rows) {
      const int count = std::min(group_rows, block.first + block.width - k);
      for (int r = 0; r < count; ++r) group_of[at(k + r)] = static_cast<int>(groups_.size());
      groups_.push_back({k, count, 0});
    }
  // Runs of a block's rows that lie in one group, first counted, then filled in: by group, blocks ascending.
  const auto each_crossing = [&](auto&& visit) {
    for (std::size_t b = 0; b < blocks_.size(); ++b) {
      const Block& block = blocks_[b];
      const auto group = [&](int p) { return group_of[at(rows_of_blocks_[block.rows + at(p)])]; };
      for (int p = 0, q = 0; p < block.height; p = q) {
        while (q < block.height && group(q) == group(p)) ++q;
        visit(at(group(p)), Crossing{static_cast<int>(b), p, q - p});
      }
    }
  };
  std::vector<std::size_t> next(groups_.size() + 1, 0);
  each_crossing([&](std::size_t group, const Crossing&) { ++next[group + 1]; });
  for (std::size_t g = 0; g < groups_.size(); ++g) next[g + 1] += next[g];
  for (std::size_t g = 0; g < groups_.size(); ++g) groups_[g].crossings = next[g];
  crossings_.resize(next.back());
  groups_.push_back({n_, 0, crossings_.size()});
  each_crossing([&](std::size_t group, const Crossing& crossing) { crossings_[next[group]++] = crossing; });
}

std::size_t FactorPlan::memory_bytes() const noexcept {
  std::size_t ints = 0;
  for (const auto* v : {&place_, &starts_, &rows_, &from_, &diagonal_, &block_of_, &rows_of_blocks_})
    ints += v->capacity();
  return sizeof(FactorPlan) + ints * sizeof(int) + blocks_.capacity() * sizeof(Block) +
         groups_.capacity() * sizeof(Group) + crossings_.capacity() * sizeof(Crossing);
}

}  // namespace capsim
