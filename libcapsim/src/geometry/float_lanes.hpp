// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Eight floats in the room of four doubles: what a factorization in single precision needs of lanes.hpp.
///
/// Bits.    As there: every lane does what a plain float would do, in the same order on every width.

#include <cstddef>
#include <cstring>

#include "geometry/lanes.hpp"

namespace capsim {
inline namespace CAPSIM_LANES_KIND {

/// Eight floats, lane by lane.
struct FloatLanes {
  static constexpr int count = 8;
#if CAPSIM_VECTOR_LANES
  typedef float Eight __attribute__((vector_size(32), aligned(4), may_alias));
  Eight v{};

  FloatLanes() = default;
  CAPSIM_INLINE FloatLanes(Eight eight) noexcept : v(eight) {}
  CAPSIM_INLINE FloatLanes(const FloatLanes& b) noexcept : v(b.v) {}
  CAPSIM_INLINE FloatLanes& operator=(const FloatLanes& b) noexcept {
    v = b.v;
    return *this;
  }
  static CAPSIM_INLINE FloatLanes from(const float* p) noexcept { return {*reinterpret_cast<const Eight*>(p)}; }
#if defined(__wasm_simd128__)
  static CAPSIM_INLINE FloatLanes all(float a) noexcept { return {Eight{a, a, a, a, a, a, a, a}}; }  // as in lanes.hpp
#else
  static CAPSIM_INLINE FloatLanes all(float a) noexcept {
    FloatLanes f;
    for (int lane = 0; lane < count; ++lane) f.v[lane] = a;
    return f;
  }
#endif
  CAPSIM_INLINE void to(float* p) const noexcept { *reinterpret_cast<Eight*>(p) = v; }

  friend CAPSIM_INLINE FloatLanes operator+(const FloatLanes& a, const FloatLanes& b) noexcept { return {a.v + b.v}; }
  friend CAPSIM_INLINE FloatLanes operator-(const FloatLanes& a, const FloatLanes& b) noexcept { return {a.v - b.v}; }
  friend CAPSIM_INLINE FloatLanes operator*(const FloatLanes& a, const FloatLanes& b) noexcept { return {a.v * b.v}; }
  friend CAPSIM_INLINE FloatLanes operator/(const FloatLanes& a, const FloatLanes& b) noexcept { return {a.v / b.v}; }
  friend CAPSIM_INLINE FloatLanes operator*(float a, const FloatLanes& b) noexcept { return {a * b.v}; }
#else
  float v[8] = {};

  static FloatLanes from(const float* p) noexcept {
    FloatLanes a;
    std::memcpy(a.v, p, sizeof a.v);
    return a;
  }
  static FloatLanes all(float a) noexcept { return {{a, a, a, a, a, a, a, a}}; }
  void to(float* p) const noexcept { std::memcpy(p, v, sizeof v); }

  friend FloatLanes operator+(FloatLanes a, const FloatLanes& b) noexcept {
    for (int i = 0; i < count; ++i) a.v[i] += b.v[i];
    return a;
  }
  friend FloatLanes operator-(FloatLanes a, const FloatLanes& b) noexcept {
    for (int i = 0; i < count; ++i) a.v[i] -= b.v[i];
    return a;
  }
  friend FloatLanes operator*(FloatLanes a, const FloatLanes& b) noexcept {
    for (int i = 0; i < count; ++i) a.v[i] *= b.v[i];
    return a;
  }
  friend FloatLanes operator/(FloatLanes a, const FloatLanes& b) noexcept {
    for (int i = 0; i < count; ++i) a.v[i] /= b.v[i];
    return a;
  }
  friend FloatLanes operator*(float a, const FloatLanes& b) noexcept { return all(a) * b; }
#endif
  CAPSIM_INLINE FloatLanes& operator+=(const FloatLanes& b) noexcept { return *this = *this + b; }
  CAPSIM_INLINE FloatLanes& operator-=(const FloatLanes& b) noexcept { return *this = *this - b; }
  /// The sum of the lanes, halves first: always in this order.
  [[nodiscard]] CAPSIM_INLINE float sum() const noexcept {
    return ((v[0] + v[4]) + (v[2] + v[6])) + ((v[1] + v[5]) + (v[3] + v[7]));
  }
};

/// The vector of 32 bytes of one kind of number.
template <class Number>
struct LanesFor;
template <>
struct LanesFor<double> {
  using Type = Lanes;
};
template <>
struct LanesFor<float> {
  using Type = FloatLanes;
};

}  // namespace CAPSIM_LANES_KIND
}  // namespace capsim
