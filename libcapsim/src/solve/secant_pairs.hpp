// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What chord steps have taught about the stiffness since it was factorized.
///
/// A step s that changed the forces by y says that the inverse stiffness takes y to s. The latest few such pairs on top
/// of a kept factorization make the inverse of the limited-memory BFGS method [nocedal1980], symmetric and positive
/// definite where the factor is and every s.y > 0: a soft mode that the factorization has wrong is right after one
/// step, where chord steps would come nearer by the same ratio again and again.

#include <array>
#include <cmath>
#include <cstddef>
#include <vector>

#include "solve/vector_sums.hpp"

namespace capsim {

class SecantPairs {
 public:
  void reserve(std::size_t dofs) {
    for (Pair& pair : pairs_)
      for (auto* v : {&pair.step, &pair.force}) v->assign(dofs, 0);
    clear();
  }
  void clear() noexcept { count_ = next_ = 0; }
  /// Learns from `scale` times `step`, which took the forces from `before` to `after`.
  void add(const std::vector<double>& step, double scale, const std::vector<double>& before,
           const std::vector<double>& after) noexcept {
    Pair& pair = pairs_[next_];
    for (std::size_t i = 0; i < step.size(); ++i) {
      pair.step[i] = scale * step[i];
      pair.force[i] = after[i] - before[i];
    }
    const double work = dot_product(pair.step, pair.force);
    if (!(work > least_work * std::sqrt(dot_product(pair.force, pair.force) * dot_product(pair.step, pair.step))))
      return;
    pair.per_work = 1 / work;
    next_ = (next_ + 1) % most;
    if (count_ < most) ++count_;
  }
  /// v becomes the inverse stiffness times v, `solve` the factorization's own.
  template <class Solve>
  void apply_inverse(std::vector<double>& v, const Solve& solve) {
    std::array<double, most> along{};
    for (std::size_t k = 0; k < count_; ++k) {  // the latest first
      const Pair& pair = pairs_[(next_ + most - 1 - k) % most];
      along[k] = pair.per_work * dot_product(pair.step, v);
      add_scaled(-along[k], pair.force, v);
    }
    solve(v);
    for (std::size_t k = count_; k-- > 0;) {
      const Pair& pair = pairs_[(next_ + most - 1 - k) % most];
      add_scaled(along[k] - pair.per_work * dot_product(pair.force, v), pair.step, v);
    }
  }
  [[nodiscard]] std::size_t size() const noexcept { return 2 * most * pairs_.front().step.capacity(); }

 private:
  static constexpr std::size_t most = 6;
  static constexpr double least_work =
      1e-8;  // cosine between step and change of force below which a pair teaches noise
  struct Pair {
    std::vector<double> step, force;
    double per_work = 0;
  };
  std::array<Pair, most> pairs_;
  std::size_t count_ = 0, next_ = 0;
};

}  // namespace capsim
