// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What a number may be, in the unit of its name, and which unit a wrong number looks like.

#include <string>
#include <string_view>

namespace capsim {

/// A closed interval of allowed values; the low end may be open, and zero may be allowed besides.
struct Limits {
  double low;
  double high;
  bool low_open = false;
  bool or_zero = false;

  /// False for NaN.
  [[nodiscard]] constexpr bool allow(double value) const noexcept {
    return (or_zero && value == 0) || (value <= high && (low_open ? value > low : value >= low));
  }
  /// `>= 0.5 and <= 19`, `> 0 and <= 12`, `0, or >= 1 and <= 100`.
  [[nodiscard]] std::string to_string() const;
};

[[nodiscard]] constexpr Limits between(double low, double high) { return {low, high, false, false}; }
[[nodiscard]] constexpr Limits above(double low, double high) { return {low, high, true, false}; }
[[nodiscard]] constexpr Limits zero_or_between(double low, double high) { return {low, high, false, true}; }

inline constexpr Limits clock_hours = above(0, 12);
inline constexpr Limits fractions = between(0, 1);

/// Shortest decimal text that reads back as the same double; independent of the locale.
[[nodiscard]] std::string number_text(double value);

/// The unit mistake that explains why `value` of the field `key` is outside `limits`: a length in
/// micrometres, a modulus in MPa, an angle in radians, degrees for a clock hour, per cent for a
/// fraction. Empty when no usual mistake brings the value inside.
[[nodiscard]] std::string unit_mistake(std::string_view key, double value, const Limits& limits);

}  // namespace capsim
