// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The sparse Hessian of a sum of parts: pattern once, then sums into precomputed slots.

#include <span>
#include <vector>

#include "capsim/part.hpp"

namespace capsim {

/// Lower triangle by columns; the diagonal entry comes first in each column.
class Assembly : private Tangent {
 public:
  void analyze(const std::vector<Part*>& parts, std::span<const double> x, const std::vector<int>& dof, int dofs);
  void assemble(const std::vector<Part*>& parts, std::span<const double> x, Curvature curvature);
  [[nodiscard]] const std::vector<int>& column_starts() const noexcept { return starts_; }
  [[nodiscard]] const std::vector<int>& row_indices() const noexcept { return rows_; }
  [[nodiscard]] const std::vector<double>& values() const noexcept { return values_; }
  [[nodiscard]] std::size_t memory_bytes() const noexcept {
    return (starts_.capacity() + rows_.capacity()) * sizeof(int) + values_.capacity() * sizeof(double) +
           entries_.capacity() * sizeof(Entry) +
           (clique_entries_.capacity() + part_cliques_.capacity()) * sizeof(std::size_t);
  }

 private:
  struct Entry {
    int local;  // place in the clique's full matrix
    int slot;   // place in values_
  };
  void add(std::size_t k, const double* matrix) override;
  std::vector<int> starts_, rows_;
  std::vector<double> values_;
  std::vector<Entry> entries_;
  std::vector<std::size_t> clique_entries_;  // first entry of every clique, over all parts
  std::vector<std::size_t> part_cliques_;    // first clique of every part
  std::size_t offset_ = 0;
};

}  // namespace capsim
