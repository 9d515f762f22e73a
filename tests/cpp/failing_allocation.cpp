// SPDX-License-Identifier: BSD-3-Clause
// Replaces operator new for the whole test program, and listens to malloc.
#include "failing_allocation.hpp"

#include <cerrno>
#include <cstdlib>
#include <limits>
#include <new>

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define CAPSIM_SANITIZER_MALLOC
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) || __has_feature(memory_sanitizer)
#define CAPSIM_SANITIZER_MALLOC
#endif
#endif
#if defined(__GLIBC__) && !defined(CAPSIM_SANITIZER_MALLOC)
#define CAPSIM_GLIBC_MALLOC
#endif

namespace {

constexpr std::size_t never = std::numeric_limits<std::size_t>::max();
// Plain numbers of the initial thread-local block: reading them must not allocate itself.
thread_local constinit std::size_t allocations = 0;  // by operator new
thread_local constinit std::size_t mallocs = 0;
thread_local constinit std::size_t failing = never;
thread_local constinit bool failed = false;

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
void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  try {
    return allocate(size);
  } catch (const std::bad_alloc&) {
    return nullptr;
  }
}
void* operator new[](std::size_t size, const std::nothrow_t& tag) noexcept { return operator new(size, tag); }
void operator delete(void* memory, const std::nothrow_t&) noexcept { std::free(memory); }
void operator delete[](void* memory, const std::nothrow_t&) noexcept { std::free(memory); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t) noexcept { std::free(memory); }

#if defined(CAPSIM_SANITIZER_MALLOC)
// Called by the sanitizer after each of its allocations.
extern "C" void __sanitizer_malloc_hook(const volatile void*, std::size_t) { ++mallocs; }
#elif defined(CAPSIM_GLIBC_MALLOC)
// glibc lets a program stand in for malloc; its own stays there under another name.
extern "C" {
void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void* __libc_memalign(std::size_t, std::size_t);

void* malloc(std::size_t size) {
  ++mallocs;
  return __libc_malloc(size);
}
void* calloc(std::size_t count, std::size_t size) {
  ++mallocs;
  return __libc_calloc(count, size);
}
void* realloc(void* memory, std::size_t size) {
  ++mallocs;
  return __libc_realloc(memory, size);
}
void* aligned_alloc(std::size_t alignment, std::size_t size) {
  ++mallocs;
  return __libc_memalign(alignment, size);
}
void* memalign(std::size_t alignment, std::size_t size) {
  ++mallocs;
  return __libc_memalign(alignment, size);
}
int posix_memalign(void** memory, std::size_t alignment, std::size_t size) {
  ++mallocs;
  *memory = __libc_memalign(alignment, size);
  return *memory == nullptr ? ENOMEM : 0;
}
}
#endif

namespace capsim::test {

FailingAllocation::FailingAllocation(std::size_t which) {
  failed = false;
  failing = allocations + which;
}
FailingAllocation::~FailingAllocation() { failing = never; }
bool FailingAllocation::has_failed() const noexcept { return failed; }

bool AllocationCount::sees_malloc() noexcept {
#if defined(CAPSIM_SANITIZER_MALLOC) || defined(CAPSIM_GLIBC_MALLOC)
  return true;
#else
  return false;
#endif
}

// Where malloc is seen it is behind operator new, too.
AllocationCount::AllocationCount() noexcept : start_(sees_malloc() ? mallocs : allocations) {}
std::size_t AllocationCount::so_far() const noexcept { return (sees_malloc() ? mallocs : allocations) - start_; }

}  // namespace capsim::test
