// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Fixed points of maps u -> u + r(u), with r = b + A u, that differ in b and share A.
///
/// Model.   Every evaluation tells how A answers to one more direction: r(u2) - r(u1) = A (u2 - u1). What is known of A
///          is kept from one fixed point to the next, with the answers orthonormal, and taken off first; what is left
///          of r is added as it is, as by plain iteration.

#include <Eigen/Dense>
#include <utility>
#include <vector>

namespace capsim {

class AffineFixedPoints {
 public:
  /// Another fixed point: b is another one.
  void begin() { known_before_ = false; }
  /// The next u after r was found at u.
  [[nodiscard]] Eigen::VectorXd next(const Eigen::VectorXd& u, const Eigen::VectorXd& r) {
    if (known_before_)
      learn(u - u_, r - r_);
    else
      first_ = r.norm();
    known_before_ = true;
    u_ = u;
    r_ = r;
    Eigen::VectorXd left = r, there = u;
    for (const auto& [direction, answer] : known_) {
      const double share = answer.dot(left);
      left -= share * answer;
      there -= share * direction;
    }
    return there + left;
  }

 private:
  void learn(Eigen::VectorXd direction, Eigen::VectorXd answer) {
    const double size = answer.norm();
    for (const auto& [d, a] : known_) {
      const double share = a.dot(answer);
      answer -= share * a;
      direction -= share * d;
    }
    const double left = answer.norm();
    if (!(size > enough * first_ && left > nothing_new * size) || known_.size() == most_known) return;
    known_.emplace_back(direction / left, answer / left);
  }

  static constexpr double enough = 1e-4;       // of the first r: a smaller answer holds what differences leave
  static constexpr double nothing_new = 1e-2;  // of an answer, beside what is known
  static constexpr std::size_t most_known = 64;
  std::vector<std::pair<Eigen::VectorXd, Eigen::VectorXd>> known_;
  Eigen::VectorXd u_, r_;
  double first_ = 0;
  bool known_before_ = false;
};

}  // namespace capsim
