// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The sparse Hessian of a sum of parts: pattern once, then sums into precomputed slots.

#include <memory>
#include <span>
#include <vector>

#include "capsim/part.hpp"
#include "solve/system_pattern.hpp"

namespace capsim {

/// Lower triangle by columns; the diagonal entry comes first in each column.
class Assembly : private Tangent {
 public:
  /// Finds the pattern of the parts' couplings at x, in `store` or (without one) anew. Throws ArgumentError for a
  /// clique that names no coordinate of x.
  void analyze(const std::vector<Part*>& parts, std::span<const double> x, const std::vector<int>& dof, int dofs,
               PatternStore* store = nullptr);
  void assemble(const std::vector<Part*>& parts, std::span<const double> x, Curvature curvature);
  /// v . H v of the matrix assembled last.
  [[nodiscard]] double curvature_along(const std::vector<double>& v) const noexcept;
  [[nodiscard]] const SystemPattern& pattern() const noexcept { return *pattern_; }
  [[nodiscard]] const std::vector<double>& values() const noexcept { return values_; }
  /// Memory of its own, without the pattern.
  [[nodiscard]] std::size_t memory_bytes() const noexcept { return values_.capacity() * sizeof(double); }

 private:
  void add(std::size_t k, const double* matrix) override;
  static void check(const Part& part, const Cliques& cliques, std::size_t first, std::size_t coordinates);
  std::shared_ptr<const SystemPattern> pattern_;
  std::vector<double> values_;
  const Part* part_ = nullptr;            // the one that adds right now
  std::size_t offset_ = 0, cliques_ = 0;  // its first clique, and how many it has
};

}  // namespace capsim
