// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A number with its derivative in one direction: what is computed with it is differentiated, with no step.

#include <cmath>

#include "geometry/lanes.hpp"

namespace capsim::test {

/// v + d e with e e = 0; has the words that densities are written in (lanes.hpp). Of numbers that are dual themselves:
/// second derivatives, one direction by the other.
template <class T>
struct DualOf {
  T v{}, d{};
  DualOf() = default;
  DualOf(double value) : v(value) {}
  DualOf(const T& value, const T& rate) : v(value), d(rate) {}

  friend DualOf operator+(const DualOf& a, const DualOf& b) { return {a.v + b.v, a.d + b.d}; }
  friend DualOf operator-(const DualOf& a, const DualOf& b) { return {a.v - b.v, a.d - b.d}; }
  friend DualOf operator*(const DualOf& a, const DualOf& b) { return {a.v * b.v, a.d * b.v + a.v * b.d}; }
  friend DualOf operator/(const DualOf& a, const DualOf& b) { return {a.v / b.v, (a.d - a.v / b.v * b.d) / b.v}; }
  DualOf operator-() const { return {-v, -d}; }
  DualOf& operator+=(const DualOf& b) { return *this = *this + b; }
  DualOf& operator-=(const DualOf& b) { return *this = *this - b; }
  DualOf& operator*=(const DualOf& b) { return *this = *this * b; }
  // A branch is that of the value.
  friend bool operator<(const DualOf& a, const DualOf& b) { return a.v < b.v; }
  friend bool operator>(const DualOf& a, const DualOf& b) { return a.v > b.v; }
  friend bool operator<=(const DualOf& a, const DualOf& b) { return a.v <= b.v; }
  friend bool operator>=(const DualOf& a, const DualOf& b) { return a.v >= b.v; }

  friend DualOf pick(bool m, const DualOf& yes, const DualOf& no) { return m ? yes : no; }
  friend DualOf sqrt(const DualOf& a) {
    using std::sqrt;
    const T root = sqrt(a.v);
    return {root, 0.5 * a.d / root};
  }
  friend DualOf exp(const DualOf& a) {
    using std::exp;
    return {exp(a.v), a.d * exp(a.v)};
  }
  friend DualOf expm1(const DualOf& a) {
    using std::exp, std::expm1;
    return {expm1(a.v), a.d * exp(a.v)};
  }
  friend DualOf log(const DualOf& a) {
    using std::log;
    return {log(a.v), a.d / a.v};
  }
  friend DualOf sin(const DualOf& a) {
    using std::cos, std::sin;
    return {sin(a.v), a.d * cos(a.v)};
  }
  friend DualOf cos(const DualOf& a) {
    using std::cos, std::sin;
    return {cos(a.v), -(a.d * sin(a.v))};
  }
  friend DualOf tanh(const DualOf& a) {
    using std::tanh;
    const T t = tanh(a.v);
    return {t, a.d * (1.0 - t * t)};
  }
  friend DualOf atan2(const DualOf& y, const DualOf& x) {
    using std::atan2;
    return {atan2(y.v, x.v), (x.v * y.d - y.v * x.d) / (x.v * x.v + y.v * y.v)};
  }
};
using Dual = DualOf<double>;
using TwiceDual = DualOf<Dual>;

/// Where a field has the value of one point, which does not change.
struct DualPoint {
  using Number = Dual;
  std::size_t point;
  [[nodiscard]] Dual of(const double* field, std::size_t width = 1, std::size_t i = 0) const {
    return field[point * width + i];
  }
};

}  // namespace capsim::test
