// SPDX-License-Identifier: BSD-3-Clause
#include "solve/assembly.hpp"

#include <algorithm>

namespace capsim {

void Assembly::analyze(const std::vector<Part*>& parts, std::span<const double> x, const std::vector<int>& dof,
                       int dofs) {
  Cliques cliques;
  part_cliques_.clear();
  for (Part* part : parts) {
    part_cliques_.push_back(cliques.size());
    part->couplings(x, cliques);
  }
  const std::size_t n = static_cast<std::size_t>(dofs);
  // Cliques of every dof.
  std::vector<int> count(n + 1, 0);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (dof[static_cast<std::size_t>(c)] >= 0)
        ++count[static_cast<std::size_t>(dof[static_cast<std::size_t>(c)]) + 1];
  for (std::size_t i = 0; i < n; ++i) count[i + 1] += count[i];
  std::vector<int> of_dof(static_cast<std::size_t>(count[n])), fill(count.begin(), count.end() - 1);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (const int d = dof[static_cast<std::size_t>(c)]; d >= 0)
        of_dof[static_cast<std::size_t>(fill[static_cast<std::size_t>(d)]++)] = static_cast<int>(k);

  starts_.assign(1, 0);
  rows_.clear();
  std::vector<int> seen(n, -1), place(n, 0);
  struct Found {
    std::size_t clique;
    Entry entry;
  };
  std::vector<std::size_t> entry_count(cliques.size() + 1, 0);
  std::vector<Found> found;
  for (int column = 0; column < dofs; ++column) {
    const std::size_t first = rows_.size();
    rows_.push_back(column);
    seen[static_cast<std::size_t>(column)] = column;
    const int from = count[static_cast<std::size_t>(column)], to = count[static_cast<std::size_t>(column) + 1];
    for (int i = from; i < to; ++i)
      for (const int c : cliques[static_cast<std::size_t>(of_dof[static_cast<std::size_t>(i)])]) {
        const int d = dof[static_cast<std::size_t>(c)];
        if (d > column && seen[static_cast<std::size_t>(d)] != column) {
          seen[static_cast<std::size_t>(d)] = column;
          rows_.push_back(d);
        }
      }
    std::sort(rows_.begin() + static_cast<std::ptrdiff_t>(first) + 1, rows_.end());
    for (std::size_t i = first; i < rows_.size(); ++i) place[static_cast<std::size_t>(rows_[i])] = static_cast<int>(i);
    starts_.push_back(static_cast<int>(rows_.size()));
    int previous = -1;
    for (int i = from; i < to; ++i) {
      const int k = of_dof[static_cast<std::size_t>(i)];
      if (k == previous) continue;  // tied coordinates of one clique are handled together
      previous = k;
      const auto clique = cliques[static_cast<std::size_t>(k)];
      const int size = static_cast<int>(clique.size());
      for (int a = 0; a < size; ++a) {
        if (dof[static_cast<std::size_t>(clique[static_cast<std::size_t>(a)])] != column) continue;
        for (int b = 0; b < size; ++b)
          if (const int d = dof[static_cast<std::size_t>(clique[static_cast<std::size_t>(b)])]; d >= column) {
            found.push_back({static_cast<std::size_t>(k), {a * size + b, place[static_cast<std::size_t>(d)]}});
            ++entry_count[static_cast<std::size_t>(k) + 1];
          }
      }
    }
  }
  for (std::size_t k = 0; k < cliques.size(); ++k) entry_count[k + 1] += entry_count[k];
  clique_entries_ = entry_count;
  entries_.resize(found.size());
  std::vector<std::size_t> next(entry_count.begin(), entry_count.end() - 1);
  for (const Found& f : found) entries_[next[f.clique]++] = f.entry;
  values_.assign(rows_.size(), 0);
}

void Assembly::assemble(const std::vector<Part*>& parts, std::span<const double> x, Curvature curvature) {
  std::fill(values_.begin(), values_.end(), 0.0);
  for (std::size_t p = 0; p < parts.size(); ++p) {
    offset_ = part_cliques_[p];
    parts[p]->hessian(x, curvature, *this);
  }
}

void Assembly::add(std::size_t k, const double* matrix) {
  const std::size_t from = clique_entries_[offset_ + k], to = clique_entries_[offset_ + k + 1];
  for (std::size_t i = from; i < to; ++i)
    values_[static_cast<std::size_t>(entries_[i].slot)] += matrix[entries_[i].local];
}

}  // namespace capsim
