// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Four doubles that do the same operations: one in each lane.
///
/// Bits.    Every lane does what a plain double would do, in the same order, and nothing multiplies and adds in one
///          rounding; so the digits are the same whether the compiler takes one wide register, two narrow ones or none.
/// Width.   The baseline is that of the build. A function that is worth it is compiled twice, the second time with
///          CAPSIM_WIDE_LANES before it, and that one is called where wide_lanes() holds. What it calls must be inlined
///          into it (CAPSIM_INLINE), or stays as wide as the baseline.
/// Scalar.  Formulas are written once, as templates on their number T: a double, Lanes, or a type of one's own that has
///          + - * /, comparisons, conversion from double, and the words pick, any, sqrt, exp, expm1 and log. A
///          comparison gives a bool, or a LaneMask; `pick` chooses by it, lane by lane, and both choices are computed.

#include <cmath>
#include <cstddef>
#include <cstring>

// Defined before this file: plain arrays in place of vectors, as for a compiler without them.
#if !defined(CAPSIM_PLAIN_LANES) && defined(__GNUC__) && !defined(_MSC_VER)
#define CAPSIM_VECTOR_LANES 1
#define CAPSIM_LANES_KIND vector_lanes
#else
#define CAPSIM_VECTOR_LANES 0
#define CAPSIM_LANES_KIND plain_lanes
#endif

#if CAPSIM_VECTOR_LANES && defined(__SSE2__)
#include <emmintrin.h>
#elif CAPSIM_VECTOR_LANES && defined(__wasm_simd128__)
#include <wasm_simd128.h>
#endif

#if defined(__GNUC__) && !defined(_MSC_VER)
#define CAPSIM_INLINE inline __attribute__((always_inline))
#elif defined(_MSC_VER)
#define CAPSIM_INLINE __forceinline
#else
#define CAPSIM_INLINE inline
#endif
// The same for a lambda, after its parameters: one that is not inlined hands four doubles over in another way than a
// function of wide lanes expects them.
#if defined(__GNUC__) && !defined(_MSC_VER)
#define CAPSIM_INLINE_LAMBDA __attribute__((always_inline))
#else
#define CAPSIM_INLINE_LAMBDA
#endif

#if CAPSIM_VECTOR_LANES && defined(__x86_64__)
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

inline namespace CAPSIM_LANES_KIND {

#if CAPSIM_VECTOR_LANES

/// True or false, lane by lane.
struct LaneMask {
  typedef long long Four __attribute__((vector_size(32), aligned(8), may_alias));
  Four v;
  friend CAPSIM_INLINE LaneMask operator&(const LaneMask& a, const LaneMask& b) noexcept { return {a.v & b.v}; }
  friend CAPSIM_INLINE LaneMask operator|(const LaneMask& a, const LaneMask& b) noexcept { return {a.v | b.v}; }
  CAPSIM_INLINE LaneMask operator!() const noexcept { return {~v}; }
};

/// Four doubles, lane by lane.
struct Lanes {
  static constexpr int count = 4;
  typedef double Four __attribute__((vector_size(32), aligned(8), may_alias));
  Four v{};

  Lanes() = default;
  CAPSIM_INLINE Lanes(Four four) noexcept : v(four) {}
  // Spelt out so that a copy is one register: as plain memory it goes by halves, and whoever reads it back whole waits.
  CAPSIM_INLINE Lanes(const Lanes& b) noexcept : v(b.v) {}
  CAPSIM_INLINE Lanes& operator=(const Lanes& b) noexcept {
    v = b.v;
    return *this;
  }
  // One after the other, which compilers see through; of a list of four in a function of wide lanes they do not.
#if defined(__wasm_simd128__)
  CAPSIM_INLINE Lanes(double a) noexcept : v{a, a, a, a} {}  // here it is the loop that goes through memory
#else
  CAPSIM_INLINE Lanes(double a) noexcept {
    for (int lane = 0; lane < count; ++lane) v[lane] = a;
  }
#endif
  CAPSIM_INLINE Lanes(double a, double b, double c, double d) noexcept : v{a, b, c, d} {}
  static CAPSIM_INLINE Lanes from(const double* p) noexcept { return {*reinterpret_cast<const Four*>(p)}; }
  static CAPSIM_INLINE Lanes all(double a) noexcept { return {a}; }
  CAPSIM_INLINE void to(double* p) const noexcept { *reinterpret_cast<Four*>(p) = v; }
  CAPSIM_INLINE double operator[](int lane) const noexcept { return v[lane]; }

  friend CAPSIM_INLINE Lanes operator+(const Lanes& a, const Lanes& b) noexcept { return {a.v + b.v}; }
  friend CAPSIM_INLINE Lanes operator-(const Lanes& a, const Lanes& b) noexcept { return {a.v - b.v}; }
  friend CAPSIM_INLINE Lanes operator*(const Lanes& a, const Lanes& b) noexcept { return {a.v * b.v}; }
  friend CAPSIM_INLINE Lanes operator/(const Lanes& a, const Lanes& b) noexcept { return {a.v / b.v}; }
  friend CAPSIM_INLINE Lanes operator*(double a, const Lanes& b) noexcept { return {a * b.v}; }
  CAPSIM_INLINE Lanes operator-() const noexcept { return {-v}; }
  friend CAPSIM_INLINE LaneMask operator<(const Lanes& a, const Lanes& b) noexcept {
    return {(LaneMask::Four)(a.v < b.v)};
  }
  friend CAPSIM_INLINE LaneMask operator>=(const Lanes& a, const Lanes& b) noexcept {
    return {(LaneMask::Four)(a.v >= b.v)};
  }
#else

struct LaneMask {
  bool v[4];
  friend LaneMask operator&(const LaneMask& a, const LaneMask& b) noexcept {
    return {{a.v[0] && b.v[0], a.v[1] && b.v[1], a.v[2] && b.v[2], a.v[3] && b.v[3]}};
  }
  friend LaneMask operator|(const LaneMask& a, const LaneMask& b) noexcept {
    return {{a.v[0] || b.v[0], a.v[1] || b.v[1], a.v[2] || b.v[2], a.v[3] || b.v[3]}};
  }
  LaneMask operator!() const noexcept { return {{!v[0], !v[1], !v[2], !v[3]}}; }
};

struct Lanes {
  static constexpr int count = 4;
  double v[4] = {};

  Lanes() = default;
  Lanes(double a) noexcept : v{a, a, a, a} {}
  Lanes(double a, double b, double c, double d) noexcept : v{a, b, c, d} {}
  static Lanes from(const double* p) noexcept { return {p[0], p[1], p[2], p[3]}; }
  static Lanes all(double a) noexcept { return {a}; }
  void to(double* p) const noexcept { std::memcpy(p, v, sizeof v); }
  double operator[](int lane) const noexcept { return v[lane]; }

  friend Lanes operator+(const Lanes& a, const Lanes& b) noexcept {
    return {a.v[0] + b.v[0], a.v[1] + b.v[1], a.v[2] + b.v[2], a.v[3] + b.v[3]};
  }
  friend Lanes operator-(const Lanes& a, const Lanes& b) noexcept {
    return {a.v[0] - b.v[0], a.v[1] - b.v[1], a.v[2] - b.v[2], a.v[3] - b.v[3]};
  }
  friend Lanes operator*(const Lanes& a, const Lanes& b) noexcept {
    return {a.v[0] * b.v[0], a.v[1] * b.v[1], a.v[2] * b.v[2], a.v[3] * b.v[3]};
  }
  friend Lanes operator/(const Lanes& a, const Lanes& b) noexcept {
    return {a.v[0] / b.v[0], a.v[1] / b.v[1], a.v[2] / b.v[2], a.v[3] / b.v[3]};
  }
  friend Lanes operator*(double a, const Lanes& b) noexcept { return Lanes(a) * b; }
  Lanes operator-() const noexcept { return {-v[0], -v[1], -v[2], -v[3]}; }
  friend LaneMask operator<(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] < b.v[0], a.v[1] < b.v[1], a.v[2] < b.v[2], a.v[3] < b.v[3]}};
  }
  friend LaneMask operator>=(const Lanes& a, const Lanes& b) noexcept {
    return {{a.v[0] >= b.v[0], a.v[1] >= b.v[1], a.v[2] >= b.v[2], a.v[3] >= b.v[3]}};
  }
#endif
  friend CAPSIM_INLINE LaneMask operator>(const Lanes& a, const Lanes& b) noexcept { return b < a; }
  friend CAPSIM_INLINE LaneMask operator<=(const Lanes& a, const Lanes& b) noexcept { return b >= a; }
  CAPSIM_INLINE Lanes& operator+=(const Lanes& b) noexcept { return *this = *this + b; }
  CAPSIM_INLINE Lanes& operator-=(const Lanes& b) noexcept { return *this = *this - b; }
  CAPSIM_INLINE Lanes& operator*=(const Lanes& b) noexcept { return *this = *this * b; }
  /// The sum of the lanes, outer pairs first: always in this order.
  [[nodiscard]] CAPSIM_INLINE double sum() const noexcept { return (v[0] + v[2]) + (v[1] + v[3]); }
};

[[nodiscard]] CAPSIM_INLINE bool any(const LaneMask& m) noexcept {
#if CAPSIM_VECTOR_LANES
  return ((m.v[0] | m.v[1]) | (m.v[2] | m.v[3])) != 0;
#else
  return m.v[0] || m.v[1] || m.v[2] || m.v[3];
#endif
}
/// `yes` in the lanes where the mask holds, `no` in the others.
[[nodiscard]] CAPSIM_INLINE Lanes pick(const LaneMask& m, const Lanes& yes, const Lanes& no) noexcept {
#if CAPSIM_VECTOR_LANES
  return {(Lanes::Four)(((LaneMask::Four)yes.v & m.v) | ((LaneMask::Four)no.v & ~m.v))};
#else
  return {m.v[0] ? yes.v[0] : no.v[0], m.v[1] ? yes.v[1] : no.v[1], m.v[2] ? yes.v[2] : no.v[2],
          m.v[3] ? yes.v[3] : no.v[3]};
#endif
}
#if CAPSIM_VECTOR_LANES && (defined(__SSE2__) || defined(__wasm_simd128__))
/// The same function of both halves, which stay in registers: halves that are written to memory and read back as one
/// wait for each other.
template <class Half, class Function>
[[nodiscard]] CAPSIM_INLINE Lanes of_halves(const Lanes& a, Function&& f) noexcept {
  typedef double Two __attribute__((vector_size(16)));
#if defined(__has_builtin)
#if __has_builtin(__builtin_shufflevector)
  const Two low = (Two)f((Half)__builtin_shufflevector(a.v, a.v, 0, 1)),
            high = (Two)f((Half)__builtin_shufflevector(a.v, a.v, 2, 3));
  return {(Lanes::Four)__builtin_shufflevector(low, high, 0, 1, 2, 3)};
#define CAPSIM_HALVES_IN_REGISTERS 1
#endif
#endif
#ifndef CAPSIM_HALVES_IN_REGISTERS
  Two half[2];
  std::memcpy(half, &a.v, sizeof half);
  half[0] = (Two)f((Half)half[0]);
  half[1] = (Two)f((Half)half[1]);
  return Lanes::from(reinterpret_cast<const double*>(half));
#endif
}
#endif
[[nodiscard]] CAPSIM_INLINE Lanes sqrt(const Lanes& a) noexcept {
#if CAPSIM_VECTOR_LANES && defined(__SSE2__)
  return of_halves<__m128d>(a, [](const __m128d& half) __attribute__((always_inline)) { return _mm_sqrt_pd(half); });
#elif CAPSIM_VECTOR_LANES && defined(__wasm_simd128__)
  return of_halves<v128_t>(a, [](const v128_t& half) __attribute__((always_inline)) { return wasm_f64x2_sqrt(half); });
#else
  return {std::sqrt(a[0]), std::sqrt(a[1]), std::sqrt(a[2]), std::sqrt(a[3])};
#endif
}
[[nodiscard]] CAPSIM_INLINE Lanes exp(const Lanes& a) noexcept {
  return {std::exp(a[0]), std::exp(a[1]), std::exp(a[2]), std::exp(a[3])};
}
[[nodiscard]] CAPSIM_INLINE Lanes log(const Lanes& a) noexcept {
  return {std::log(a[0]), std::log(a[1]), std::log(a[2]), std::log(a[3])};
}
[[nodiscard]] CAPSIM_INLINE Lanes expm1(const Lanes& a) noexcept {
  return {std::expm1(a[0]), std::expm1(a[1]), std::expm1(a[2]), std::expm1(a[3])};
}

}  // namespace CAPSIM_LANES_KIND

// The same words for one double.
[[nodiscard]] CAPSIM_INLINE bool any(bool m) noexcept { return m; }
[[nodiscard]] CAPSIM_INLINE double pick(bool m, double yes, double no) noexcept { return m ? yes : no; }
using std::exp;
using std::expm1;
using std::log;
using std::sqrt;

/// The larger one; `a` where they are equal or it is not a number.
template <class T>
[[nodiscard]] CAPSIM_INLINE T larger(const T& a, const T& b) noexcept {
  return pick(a < b, b, a);
}

}  // namespace capsim
