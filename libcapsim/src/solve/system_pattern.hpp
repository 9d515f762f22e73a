// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What the couplings of the parts alone determine about the equations: places of all entries, order of
/// elimination.
///
/// A pattern never changes and may be shared by any number of simulations and threads. It is found again by what it
/// was made from, compared number by number; so its digits never depend on whether it was found or made.

#include <cstddef>
#include <memory>
#include <mutex>
#include <span>
#include <vector>

#include "capsim/part.hpp"
#include "solve/factor_plan.hpp"

namespace capsim {

/// What a pattern is made from.
struct SystemCouplings {
  Cliques cliques;                        ///< Of all parts, one part after the other.
  std::vector<std::size_t> part_cliques;  ///< First clique of every part, and one past the last.
  std::vector<int> dof;                   ///< Of every coordinate; -1 where it is fixed.
  int dofs = 0;
  bool operator==(const SystemCouplings&) const = default;
};

/// Lower triangle of the Hessian by columns, the diagonal first in each; and where each number of a clique goes.
class SystemPattern {
 public:
  struct Entry {
    int local;  // place in the clique's full matrix
    int slot;   // place in the values of the Hessian
  };

  /// Takes the plan of the factorization from one of the `others` that has the same entries.
  explicit SystemPattern(SystemCouplings couplings, std::span<const std::shared_ptr<const SystemPattern>> others = {});
  [[nodiscard]] const SystemCouplings& couplings() const noexcept { return couplings_; }
  [[nodiscard]] const std::vector<int>& column_starts() const noexcept { return starts_; }
  [[nodiscard]] const std::vector<int>& row_indices() const noexcept { return rows_; }
  [[nodiscard]] const std::vector<Entry>& entries() const noexcept { return entries_; }
  /// First entry of every clique, and one past the last.
  [[nodiscard]] const std::vector<std::size_t>& clique_entries() const noexcept { return clique_entries_; }
  [[nodiscard]] const std::shared_ptr<const FactorPlan>& factor_plan() const noexcept { return factor_plan_; }
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  struct Incidence;
  void place_entries();
  void add_columns(int cluster, const Incidence& of, std::vector<int>& seen, std::vector<int>& after);
  void add_entries(int cluster, const Incidence& of, const std::vector<int>& slot, std::vector<std::size_t>& next);
  [[nodiscard]] std::size_t entries_of(std::span<const int> clique) const;

  SystemCouplings couplings_;
  std::vector<int> starts_, rows_;
  std::vector<Entry> entries_;
  std::vector<std::size_t> clique_entries_;
  std::shared_ptr<const FactorPlan> factor_plan_;
};

/// The patterns used last, for all simulations that are handed this store. May be used by any number of threads.
class PatternStore {
 public:
  /// The pattern of these couplings: one that is held, or a new one that is held from now on.
  [[nodiscard]] std::shared_ptr<const SystemPattern> pattern_of(SystemCouplings couplings);
  [[nodiscard]] std::size_t size() const;
  [[nodiscard]] std::size_t memory_bytes() const;
  /// Patterns held; the one that was not used for longest goes first.
  static constexpr std::size_t most_held = 24;

 private:
  mutable std::mutex mutex_;
  std::vector<std::shared_ptr<const SystemPattern>> held_;  // the latest used last
};

}  // namespace capsim
