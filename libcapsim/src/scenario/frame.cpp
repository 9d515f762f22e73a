// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/frame.hpp"

#include <cmath>

namespace capsim {
namespace {

/// Hours this close to 12 read as 12, so that rounding never turns 12 o'clock into 0.
constexpr double hour_rounding = 1e-9;

}  // namespace

Point moved(Point point, double angle, Point shift) noexcept {
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  return {c * point[0] - s * point[1] + shift[0], s * point[0] + c * point[1] + shift[1]};
}

double hour_of_angle(double angle) noexcept {
  double hour = std::fmod((pi / 2 - angle) * (6 / pi), 12.0);
  if (hour < 0) hour += 12;
  return hour < hour_rounding || hour > 12 - hour_rounding ? 12.0 : hour;
}

double angle_difference(double a, double b) noexcept {
  const double difference = std::remainder(a - b, 2 * pi);
  return difference <= -pi ? pi : difference;
}

std::string side_in_words(Point direction, Eye eye) {
  const auto [x, y] = direction;
  if (!std::isfinite(x) || !std::isfinite(y)) return "unknown";
  if (x == 0 && y == 0) return "central";
  const double diagonal = std::tan(pi / 8);  // eight sectors of 45 degrees
  const bool has_vertical = std::abs(y) > diagonal * std::abs(x);
  const bool has_horizontal = std::abs(x) > diagonal * std::abs(y);
  std::string words;
  if (has_vertical) words = y > 0 ? "superior" : "inferior";
  if (!has_horizontal) return words;
  if (has_vertical) words += ' ';
  if (eye == Eye::unspecified) return words + (x > 0 ? "right" : "left");
  return words + ((x > 0) == (eye == Eye::right) ? "nasal" : "temporal");
}

}  // namespace capsim
