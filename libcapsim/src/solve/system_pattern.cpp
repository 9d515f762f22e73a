// SPDX-License-Identifier: BSD-3-Clause
#include "solve/system_pattern.hpp"

#include <algorithm>
#include <span>

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

// What the dofs are to the cliques. Dofs that lie in the same ones, like the two coordinates of a node, are a cluster:
// their columns differ by no more than the rows above the diagonal.
struct SystemPattern::Incidence {
  std::vector<int> first, clique;  // clique[first[dof]] ...: those that a dof is in, once for each of its coordinates
  std::vector<int> cluster_of, lead;  // of each dof; and the first dof of each cluster, and one past the last

  explicit Incidence(const SystemCouplings& couplings);
  [[nodiscard]] std::span<const int> cliques_of(int dof) const {
    const auto d = static_cast<std::size_t>(dof);
    return std::span(clique).subspan(static_cast<std::size_t>(first[d]),
                                     static_cast<std::size_t>(first[d + 1] - first[d]));
  }
  [[nodiscard]] int clusters() const { return static_cast<int>(lead.size()) - 1; }
};

SystemPattern::Incidence::Incidence(const SystemCouplings& couplings) {
  const Cliques& cliques = couplings.cliques;
  const std::vector<int>& dof = couplings.dof;
  const std::size_t n = static_cast<std::size_t>(couplings.dofs);
  first.assign(n + 1, 0);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (const int d = dof[static_cast<std::size_t>(c)]; d >= 0) ++first[static_cast<std::size_t>(d) + 1];
  for (std::size_t i = 0; i < n; ++i) first[i + 1] += first[i];
  clique.resize(static_cast<std::size_t>(first[n]));
  std::vector<int> fill(first.begin(), first.end() - 1);
  for (std::size_t k = 0; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (const int d = dof[static_cast<std::size_t>(c)]; d >= 0)
        clique[static_cast<std::size_t>(fill[static_cast<std::size_t>(d)]++)] = static_cast<int>(k);

  for (int d = 0; d < couplings.dofs; ++d) {
    const auto alike = [this](int a, int b) {
      const auto of_a = cliques_of(a), of_b = cliques_of(b);
      return std::equal(of_a.begin(), of_a.end(), of_b.begin(), of_b.end());
    };
    if (d == 0 || !alike(d - 1, d)) lead.push_back(d);
    cluster_of.push_back(static_cast<int>(lead.size()) - 1);
  }
  lead.push_back(couplings.dofs);
}

// Columns of one cluster: the clusters after it that it couples to, in order.
void SystemPattern::add_columns(int cluster, const Incidence& of, std::vector<int>& seen, std::vector<int>& after) {
  after.clear();
  seen[static_cast<std::size_t>(cluster)] = cluster;
  const int lead = of.lead[static_cast<std::size_t>(cluster)], end = of.lead[static_cast<std::size_t>(cluster) + 1];
  for (const int k : of.cliques_of(lead))
    for (const int c : couplings_.cliques[static_cast<std::size_t>(k)]) {
      const int d = couplings_.dof[static_cast<std::size_t>(c)];
      if (d < end) continue;
      const int other = of.cluster_of[static_cast<std::size_t>(d)];
      if (seen[static_cast<std::size_t>(other)] == cluster) continue;
      seen[static_cast<std::size_t>(other)] = cluster;
      after.push_back(other);
    }
  std::sort(after.begin(), after.end());
  for (int column = lead; column < end; ++column) {
    for (int row = column; row < end; ++row) rows_.push_back(row);
    for (const int other : after)
      for (int row = of.lead[static_cast<std::size_t>(other)]; row < of.lead[static_cast<std::size_t>(other) + 1];
           ++row)
        rows_.push_back(row);
    starts_.push_back(static_cast<int>(rows_.size()));
  }
}

// Entries of the cliques in the columns of one cluster; `slot` holds where the rows lie in its first column.
void SystemPattern::add_entries(int cluster, const Incidence& of, const std::vector<int>& slot,
                                std::vector<std::size_t>& next) {
  const auto dof_of = [this](int c) { return couplings_.dof[static_cast<std::size_t>(c)]; };
  const int lead = of.lead[static_cast<std::size_t>(cluster)], end = of.lead[static_cast<std::size_t>(cluster) + 1];
  int previous = -1;
  for (const int k : of.cliques_of(lead)) {
    if (k == previous) continue;  // tied coordinates of one clique are handled together
    previous = k;
    const auto clique = couplings_.cliques[static_cast<std::size_t>(k)];
    const int size = static_cast<int>(clique.size());
    for (int a = 0; a < size; ++a) {
      const int column = dof_of(clique[static_cast<std::size_t>(a)]);
      if (column < lead || column >= end) continue;
      // A later column of the cluster begins at its own diagonal.
      const int shift =
          starts_[static_cast<std::size_t>(column)] - starts_[static_cast<std::size_t>(lead)] - (column - lead);
      for (int b = 0; b < size; ++b)
        if (const int d = dof_of(clique[static_cast<std::size_t>(b)]); d >= column)
          entries_[next[static_cast<std::size_t>(k)]++] = {a * size + b, slot[static_cast<std::size_t>(d)] + shift};
    }
  }
}

// How many numbers of a clique's matrix lie in the lower triangle of the Hessian; two of tied coordinates both do.
std::size_t SystemPattern::entries_of(std::span<const int> clique) const {
  std::size_t count = 0;
  for (std::size_t a = 0; a < clique.size(); ++a) {
    const int column = couplings_.dof[static_cast<std::size_t>(clique[a])];
    if (column < 0) continue;
    for (const int c : clique) count += couplings_.dof[static_cast<std::size_t>(c)] >= column;
  }
  return count;
}

void SystemPattern::place_entries() {
  const Incidence of(couplings_);
  const std::size_t n = static_cast<std::size_t>(couplings_.dofs), cliques = couplings_.cliques.size();
  clique_entries_.assign(1, 0);
  clique_entries_.reserve(cliques + 1);
  for (std::size_t k = 0; k < cliques; ++k)
    clique_entries_.push_back(clique_entries_.back() + entries_of(couplings_.cliques[k]));
  entries_.resize(clique_entries_.back());
  std::vector<std::size_t> next(clique_entries_.begin(), clique_entries_.end() - 1);
  std::vector<int> seen(static_cast<std::size_t>(of.clusters()), -1), slot(n, 0), after;
  starts_.assign(1, 0);
  starts_.reserve(n + 1);
  rows_.clear();
  for (int cluster = 0; cluster < of.clusters(); ++cluster) {
    const std::size_t first = rows_.size();
    add_columns(cluster, of, seen, after);
    const auto one_past =
        static_cast<std::size_t>(starts_[static_cast<std::size_t>(of.lead[static_cast<std::size_t>(cluster)]) + 1]);
    for (std::size_t i = first; i < one_past; ++i) slot[static_cast<std::size_t>(rows_[i])] = static_cast<int>(i);
    add_entries(cluster, of, slot, next);
  }
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
