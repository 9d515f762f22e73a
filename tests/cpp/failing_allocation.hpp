// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Allocations of this thread, counted, and made to fail on request.

#include <cstddef>

namespace capsim::test {

/// From its making to its end the thread's allocation number `which` (from 0) throws std::bad_alloc.
class FailingAllocation {
 public:
  explicit FailingAllocation(std::size_t which);
  ~FailingAllocation();
  FailingAllocation(const FailingAllocation&) = delete;
  FailingAllocation& operator=(const FailingAllocation&) = delete;
  /// True when it came to that: fewer allocations were made otherwise.
  [[nodiscard]] bool has_failed() const noexcept;
};

/// Counts the thread's allocations from its making on: by operator new, and where the C library can be
/// asked (glibc, and the sanitizers' own) by malloc and its like too.
class AllocationCount {
 public:
  AllocationCount() noexcept;
  [[nodiscard]] std::size_t so_far() const noexcept;
  /// True when malloc is counted, as a thrown exception or a C library's memory would show.
  [[nodiscard]] static bool sees_malloc() noexcept;

 private:
  std::size_t start_;
};

}  // namespace capsim::test
