// SPDX-License-Identifier: BSD-3-Clause
#include "solve/system_pattern.hpp"

#include <algorithm>

namespace capsim {

SystemPattern::SystemPattern(SystemCouplings couplings) : couplings_(std::move(couplings)) {
  place_entries();
  factor_plan_ = std::make_shared<const FactorPlan>(couplings_.dofs, starts_, rows_);
}

void SystemPattern::place_entries() {
  const Cliques& cliques = couplings_.cliques;
  const std::vector<int>& dof = couplings_.dof;
  const int dofs = couplings_.dofs;
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
}

std::size_t SystemPattern::memory_bytes() const noexcept {
  return sizeof(SystemPattern) + couplings_.cliques.memory_bytes() +
         (couplings_.dof.capacity() + starts_.capacity() + rows_.capacity()) * sizeof(int) +
         (couplings_.part_cliques.capacity() + clique_entries_.capacity()) * sizeof(std::size_t) +
         entries_.capacity() * sizeof(Entry) + factor_plan_->memory_bytes();
}

std::shared_ptr<const SystemPattern> PatternStore::pattern_of(SystemCouplings couplings) {
  const auto find = [&]() -> std::shared_ptr<const SystemPattern> {
    const auto found =
        std::find_if(held_.begin(), held_.end(), [&](const auto& p) { return p->couplings() == couplings; });
    if (found == held_.end()) return nullptr;
    std::rotate(found, found + 1, held_.end());
    return held_.back();
  };
  {
    const std::lock_guard lock(mutex_);
    if (auto pattern = find()) return pattern;
  }
  // Made outside the lock: two threads may make the same one, and both are right.
  auto pattern = std::make_shared<const SystemPattern>(couplings);
  const std::lock_guard lock(mutex_);
  if (auto other = find()) return other;
  if (held_.size() == most_held) held_.erase(held_.begin());
  held_.push_back(pattern);
  return pattern;
}

std::size_t PatternStore::size() const {
  const std::lock_guard lock(mutex_);
  return held_.size();
}

std::size_t PatternStore::memory_bytes() const {
  const std::lock_guard lock(mutex_);
  std::size_t bytes = sizeof(PatternStore);
  for (const auto& pattern : held_) bytes += pattern->memory_bytes();
  return bytes;
}

}  // namespace capsim
