// SPDX-License-Identifier: BSD-3-Clause
#include "solve/system_pattern.hpp"

#include <algorithm>

namespace capsim {

SystemPattern::SystemPattern(SystemCouplings couplings, std::span<const std::shared_ptr<const SystemPattern>> others)
    : couplings_(std::move(couplings)) {
  place_entries();
  const auto same = std::find_if(others.begin(), others.end(), [this](const auto& other) {
    return other->starts_ == starts_ && other->rows_ == rows_;
  });
  factor_plan_ = same != others.end() ? (*same)->factor_plan_
                                      : std::make_shared<const FactorPlan>(couplings_.dofs, starts_, rows_);
}

SystemPattern::CliquesOfDofs SystemPattern::cliques_of_dofs() const {
  const Cliques& cliques = couplings_.cliques;
  const std::vector<int>& dof = couplings_.dof;
  const std::size_t n = static_cast<std::size_t>(couplings_.dofs);
  CliquesOfDofs found;
  std::vector<int>& first = found.first;
  first.assign(n + 1, 0);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (const int d = dof[static_cast<std::size_t>(c)]; d >= 0) ++first[static_cast<std::size_t>(d) + 1];
  for (std::size_t i = 0; i < n; ++i) first[i + 1] += first[i];
  found.clique.resize(static_cast<std::size_t>(first[n]));
  std::vector<int> fill(first.begin(), first.end() - 1);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (const int d = dof[static_cast<std::size_t>(c)]; d >= 0)
        found.clique[static_cast<std::size_t>(fill[static_cast<std::size_t>(d)]++)] = static_cast<int>(k);
  return found;
}

void SystemPattern::add_column(int column, const CliquesOfDofs& of, std::vector<int>& seen) {
  const std::size_t first = rows_.size();
  rows_.push_back(column);
  seen[static_cast<std::size_t>(column)] = column;
  for (const int k : of[column])
    for (const int c : couplings_.cliques[static_cast<std::size_t>(k)]) {
      const int d = couplings_.dof[static_cast<std::size_t>(c)];
      if (d > column && seen[static_cast<std::size_t>(d)] != column) {
        seen[static_cast<std::size_t>(d)] = column;
        rows_.push_back(d);
      }
    }
  std::sort(rows_.begin() + static_cast<std::ptrdiff_t>(first) + 1, rows_.end());
  starts_.push_back(static_cast<int>(rows_.size()));
}

void SystemPattern::find_entries(int column, const CliquesOfDofs& of, const std::vector<int>& slot,
                                 std::vector<Found>& found) const {
  const auto dof_of = [this](int c) { return couplings_.dof[static_cast<std::size_t>(c)]; };
  int previous = -1;
  for (const int k : of[column]) {
    if (k == previous) continue;  // tied coordinates of one clique are handled together
    previous = k;
    const auto clique = couplings_.cliques[static_cast<std::size_t>(k)];
    const int size = static_cast<int>(clique.size());
    for (int a = 0; a < size; ++a) {
      if (dof_of(clique[static_cast<std::size_t>(a)]) != column) continue;
      for (int b = 0; b < size; ++b)
        if (const int d = dof_of(clique[static_cast<std::size_t>(b)]); d >= column)
          found.push_back({static_cast<std::size_t>(k), {a * size + b, slot[static_cast<std::size_t>(d)]}});
    }
  }
}

void SystemPattern::sort_by_clique(const std::vector<Found>& found) {
  clique_entries_.assign(couplings_.cliques.size() + 1, 0);
  for (const Found& f : found) ++clique_entries_[f.clique + 1];
  for (std::size_t k = 0; k < couplings_.cliques.size(); ++k) clique_entries_[k + 1] += clique_entries_[k];
  entries_.resize(found.size());
  std::vector<std::size_t> next(clique_entries_.begin(), clique_entries_.end() - 1);
  for (const Found& f : found) entries_[next[f.clique]++] = f.entry;
}

void SystemPattern::place_entries() {
  const CliquesOfDofs of = cliques_of_dofs();
  const std::size_t n = static_cast<std::size_t>(couplings_.dofs);
  std::vector<int> seen(n, -1), slot(n, 0);
  std::vector<Found> found;
  starts_.assign(1, 0);
  rows_.clear();
  for (int column = 0; column < couplings_.dofs; ++column) {
    const std::size_t first = rows_.size();
    add_column(column, of, seen);
    for (std::size_t i = first; i < rows_.size(); ++i) slot[static_cast<std::size_t>(rows_[i])] = static_cast<int>(i);
    find_entries(column, of, slot, found);
  }
  sort_by_clique(found);
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
  std::vector<std::shared_ptr<const SystemPattern>> others;
  {
    const std::lock_guard lock(mutex_);
    if (auto pattern = find()) return pattern;
    others = held_;
  }
  // Made outside the lock: two threads may make the same one, and both are right.
  auto pattern = std::make_shared<const SystemPattern>(couplings, others);
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
