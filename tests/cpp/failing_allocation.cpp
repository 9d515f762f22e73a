// SPDX-License-Identifier: BSD-3-Clause
// Replaces operator new for the whole test program.
#include "failing_allocation.hpp"

#include <cstdlib>
#include <limits>
#include <new>

namespace {

constexpr std::size_t never = std::numeric_limits<std::size_t>::max();
thread_local std::size_t allocations = 0;
thread_local std::size_t failing = never;
thread_local bool failed = false;

void* allocate(std::size_t size) {
  if (allocations++ == failing) {
    failed = true;
    throw std::bad_alloc();
  }
  if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
  throw std::bad_alloc();
}

}  // namespace

void* operator new(std::size_t size) { return allocate(size); }
void* operator new[](std::size_t size) { return allocate(size); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t) noexcept { std::free(memory); }

namespace capsim::test {

FailingAllocation::FailingAllocation(std::size_t which) {
  failed = false;
  failing = allocations + which;
}
FailingAllocation::~FailingAllocation() { failing = never; }
bool FailingAllocation::has_failed() const noexcept { return failed; }

AllocationCount::AllocationCount() noexcept : start_(allocations) {}
std::size_t AllocationCount::so_far() const noexcept { return allocations - start_; }

}  // namespace capsim::test
