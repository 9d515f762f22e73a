// SPDX-License-Identifier: BSD-3-Clause
#include "solve/assembly.hpp"

#include <algorithm>
#include <string>

#include "capsim/error.hpp"

namespace capsim {

void Assembly::analyze(const std::vector<Part*>& parts, std::span<const double> x, const std::vector<int>& dof,
                       int dofs, PatternStore* store) {
  SystemCouplings couplings;
  for (Part* part : parts) {
    couplings.part_cliques.push_back(couplings.cliques.size());
    part->couplings(x, couplings.cliques);
    check(*part, couplings.cliques, couplings.part_cliques.back(), x.size());
  }
  couplings.part_cliques.push_back(couplings.cliques.size());
  couplings.dof = dof;
  couplings.dofs = dofs;
  pattern_ = store != nullptr ? store->pattern_of(std::move(couplings))
                              : std::make_shared<const SystemPattern>(std::move(couplings));
  values_.assign(pattern_->row_indices().size(), 0);
}

void Assembly::check(const Part& part, const Cliques& cliques, std::size_t first, std::size_t coordinates) {
  for (std::size_t k = first; k < cliques.size(); ++k)
    for (const int c : cliques[k])
      if (c < 0 || static_cast<std::size_t>(c) >= coordinates)
        throw ArgumentError("the part \"" + std::string(part.name()) + "\" couples coordinate " + std::to_string(c) +
                            ", and the model has " + std::to_string(coordinates) +
                            " (from 0): was it made for another mesh?");
}

void Assembly::assemble(const std::vector<Part*>& parts, std::span<const double> x, Curvature curvature) {
  std::fill(values_.begin(), values_.end(), 0.0);
  for (std::size_t p = 0; p < parts.size(); ++p) {
    part_ = parts[p];
    offset_ = pattern_->couplings().part_cliques[p];
    cliques_ = pattern_->couplings().part_cliques[p + 1] - offset_;
    parts[p]->hessian(x, curvature, *this);
  }
}

double Assembly::curvature_along(const std::vector<double>& v) const noexcept {
  const std::vector<int>&starts = pattern_->column_starts(), &rows = pattern_->row_indices();
  double sum = 0;
  for (std::size_t c = 0; c < v.size(); ++c)
    for (int k = starts[c]; k < starts[c + 1]; ++k) {
      const std::size_t r = static_cast<std::size_t>(rows[static_cast<std::size_t>(k)]);
      sum += (r == c ? 1 : 2) * values_[static_cast<std::size_t>(k)] * v[c] * v[r];
    }
  return sum;
}

void Assembly::add(std::size_t k, const double* matrix) {
  if (k >= cliques_)
    throw ArgumentError("the part \"" + std::string(part_->name()) + "\" gives the Hessian of its clique " +
                        std::to_string(k) + ", and it has reported " + std::to_string(cliques_) + " (from 0)");
  const std::size_t from = pattern_->clique_entries()[offset_ + k], to = pattern_->clique_entries()[offset_ + k + 1];
  const SystemPattern::Entry* entries = pattern_->entries().data();
  for (std::size_t i = from; i < to; ++i)
    values_[static_cast<std::size_t>(entries[i].slot)] += matrix[entries[i].local];
}

}  // namespace capsim
