// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Four doubles that do the same operations: one in each lane.
///
/// Bits.    Every lane does what a plain double would do, in the same order, and nothing multiplies and adds in one
///          rounding; so the digits are the same whether the compiler takes one wide register, two narrow ones or none.
/// Width.   The baseline is that of the build. A function that is worth it is compiled twice, the second time with
///          CAPSIM_WIDE_LANES before it, and that one is called where wide_lanes() holds.

#include <cstring>

#if defined(__GNUC__) && !defined(_MSC_VER)
#define CAPSIM_INLINE inline __attribute__((always_inline))
#else
#define CAPSIM_INLINE inline
#endif

#if defined(__GNUC__) && defined(__x86_64__) && !defined(_MSC_VER)
#define CAPSIM_HAS_WIDE_LANES 1
#define CAPSIM_WIDE_LANES __attribute__((target("avx2")))
#else
#define CAPSIM_HAS_WIDE_LANES 0
#define CAPSIM_WIDE_LANES
#endif

namespace capsim {

/// True where the processor has registers for four doubles.
[[nodiscard]] inline bool wide_lanes() noexcept {
#if CAPSIM_HAS_WIDE_LANES
  return __builtin_cpu_supports("avx2");
#else
  return false;
#endif
}

/// Four doubles, lane by lane.
struct Lanes {
#if defined(__GNUC__) && !defined(_MSC_VER)
  typedef double Four __attribute__((vector_size(32), aligned(8), may_alias));
  Four v;
  static CAPSIM_INLINE Lanes from(const double* p) noexcept { return {*reinterpret_cast<const Four*>(p)}; }
  static CAPSIM_INLINE Lanes all(double a) noexcept { return {Four{a, a, a, a}}; }
  CAPSIM_INLINE void to(double* p) const noexcept { *reinterpret_cast<Four*>(p) = v; }
  friend CAPSIM_INLINE Lanes operator+(const Lanes& a, const Lanes& b) noexcept { return {a.v + b.v}; }
  friend CAPSIM_INLINE Lanes operator-(const Lanes& a, const Lanes& b) noexcept { return {a.v - b.v}; }
  friend CAPSIM_INLINE Lanes operator*(const Lanes& a, const Lanes& b) noexcept { return {a.v * b.v}; }
  friend CAPSIM_INLINE Lanes operator/(const Lanes& a, const Lanes& b) noexcept { return {a.v / b.v}; }
#else
  double v[4];
  static Lanes from(const double* p) noexcept {
    Lanes a;
    std::memcpy(a.v, p, sizeof a.v);
    return a;
  }
  static Lanes all(double a) noexcept { return {{a, a, a, a}}; }
  void to(double* p) const noexcept { std::memcpy(p, v, sizeof v); }
  friend Lanes operator+(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] + b.v[0], a.v[1] + b.v[1], a.v[2] + b.v[2], a.v[3] + b.v[3]}};
  }
  friend Lanes operator-(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] - b.v[0], a.v[1] - b.v[1], a.v[2] - b.v[2], a.v[3] - b.v[3]}};
  }
  friend Lanes operator*(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] * b.v[0], a.v[1] * b.v[1], a.v[2] * b.v[2], a.v[3] * b.v[3]}};
  }
  friend Lanes operator/(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] / b.v[0], a.v[1] / b.v[1], a.v[2] / b.v[2], a.v[3] / b.v[3]}};
  }
#endif
  CAPSIM_INLINE Lanes& operator+=(const Lanes& b) noexcept { return *this = *this + b; }
  CAPSIM_INLINE Lanes& operator-=(const Lanes& b) noexcept { return *this = *this - b; }
  /// The sum of the lanes, outer pairs first: always in this order.
  [[nodiscard]] CAPSIM_INLINE double sum() const noexcept { return (v[0] + v[2]) + (v[1] + v[3]); }
};

}  // namespace capsim
