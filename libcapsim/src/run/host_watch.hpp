// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The host is asked whether to go on in the middle of long solves, too.
///
/// Asking is counted in work, not in seconds: the same places on every machine.

#include <algorithm>
#include <cmath>

#include "capsim/simulation.hpp"

namespace capsim {

class HostWatch {
 public:
  /// Work between two looks, in factorizations of a system with so many unknowns: about a tenth of a second. What a
  /// factorization takes rises with the power 1.5 of the unknowns of a plane mesh [george1973].
  static double work_between_looks(int unknowns) noexcept {
    constexpr double small_system = 48, of_standard = 24, standard_unknowns = 2400;
    return std::min(small_system, of_standard * std::pow(standard_unknowns / std::max(unknowns, 1), 1.5));
  }

  /// While it lives, one call of the host lasts, and `ask` calls its progress.
  class Call {
   public:
    Call(HostWatch& watch, const ProgressCallback& progress, double work_so_far, double area_mm2) : watch_(watch) {
      if (!progress) return;
      watch_.progress_ = &progress;
      watch_.refused_ = false;
      watch_.asked_at_ = work_so_far;
      watch_.area_mm2_ = area_mm2;
    }
    ~Call() { watch_.progress_ = nullptr; }
    Call(const Call&) = delete;
    Call& operator=(const Call&) = delete;

   private:
    HostWatch& watch_;
  };

  /// While it lives, nobody is asked: for an equilibrium that is not to be left half made.
  class Quiet {
   public:
    explicit Quiet(HostWatch& watch) : watch_(watch) { watch_.quiet_ = true; }
    ~Quiet() { watch_.quiet_ = false; }
    Quiet(const Quiet&) = delete;
    Quiet& operator=(const Quiet&) = delete;

   private:
    HostWatch& watch_;
  };

  /// Whether to go on; the host is called when enough has been done since it was last. Its no holds for the call.
  [[nodiscard]] bool ask(double day, double duration_days, double work, int unknowns) {
    if (progress_ == nullptr || quiet_) return true;
    if (refused_) return false;
    if (work - asked_at_ < work_between_looks(unknowns)) return true;
    asked_at_ = work;
    refused_ = !(*progress_)({day, duration_days, area_mm2_});
    return !refused_;
  }

 private:
  const ProgressCallback* progress_ = nullptr;
  double asked_at_ = 0, area_mm2_ = 0;
  bool quiet_ = false, refused_ = false;
};

}  // namespace capsim
