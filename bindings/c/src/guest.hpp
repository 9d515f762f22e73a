// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Parts and laws that a host gives as tables of functions, and what they did wrong.
///
/// A guest that breaks its contract can't throw out of C, and the library must not believe it: its fault is noted here,
/// the number it gave becomes a NaN, which ends the step or the run, and the call at the border then tells the fault.

#include <cstdint>
#include <memory>
#include <mutex>
#include <string>

#include "capsim.h"
#include "capsim/contraction_law.hpp"
#include "capsim/part.hpp"

namespace capsim::c_interface {

/// The first fault of any guest of a handle and its forks; guests are called from several threads.
class GuestFaults {
 public:
  void note(const std::string& guest, const std::string& what);
  /// Takes it away; empty when there is none.
  [[nodiscard]] std::string take();

 private:
  std::mutex mutex_;
  std::string first_;
};

/// Both copy the table. They refuse one without its functions or with a struct_size that can't be.
[[nodiscard]] std::shared_ptr<Part> part_of(const capsim_part* table, std::shared_ptr<GuestFaults> faults);
[[nodiscard]] std::shared_ptr<const ContractionLaw> law_of(const capsim_law* table,
                                                           std::shared_ptr<GuestFaults> faults);

}  // namespace capsim::c_interface
