// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A number with its derivative in one direction: what is computed with it is differentiated, with no step.

#include <cmath>

#include "geometry/lanes.hpp"

namespace capsim::test {

/// v + d e with e e = 0; has the words that densities are written in (lanes.hpp).
struct Dual {
  double v = 0, d = 0;
  Dual() = default;
  Dual(double value) : v(value) {}
  Dual(double value, double rate) : v(value), d(rate) {}

  friend Dual operator+(const Dual& a, const Dual& b) { return {a.v + b.v, a.d + b.d}; }
  friend Dual operator-(const Dual& a, const Dual& b) { return {a.v - b.v, a.d - b.d}; }
  friend Dual operator*(const Dual& a, const Dual& b) { return {a.v * b.v, a.d * b.v + a.v * b.d}; }
  friend Dual operator/(const Dual& a, const Dual& b) { return {a.v / b.v, (a.d - a.v / b.v * b.d) / b.v}; }
  Dual operator-() const { return {-v, -d}; }
  Dual& operator+=(const Dual& b) { return *this = *this + b; }
  Dual& operator-=(const Dual& b) { return *this = *this - b; }
  Dual& operator*=(const Dual& b) { return *this = *this * b; }
  // A branch is that of the value.
  friend bool operator<(const Dual& a, const Dual& b) { return a.v < b.v; }
  friend bool operator>(const Dual& a, const Dual& b) { return a.v > b.v; }
  friend bool operator<=(const Dual& a, const Dual& b) { return a.v <= b.v; }
  friend bool operator>=(const Dual& a, const Dual& b) { return a.v >= b.v; }
};

inline Dual pick(bool m, const Dual& yes, const Dual& no) { return m ? yes : no; }
inline Dual sqrt(const Dual& a) { return {std::sqrt(a.v), 0.5 * a.d / std::sqrt(a.v)}; }
inline Dual exp(const Dual& a) { return {std::exp(a.v), a.d * std::exp(a.v)}; }
inline Dual expm1(const Dual& a) { return {std::expm1(a.v), a.d * std::exp(a.v)}; }
inline Dual log(const Dual& a) { return {std::log(a.v), a.d / a.v}; }

/// Where a field has the value of one point, which does not change.
struct DualPoint {
  using Number = Dual;
  std::size_t point;
  [[nodiscard]] Dual of(const double* field, std::size_t width = 1, std::size_t i = 0) const {
    return field[point * width + i];
  }
};

}  // namespace capsim::test
