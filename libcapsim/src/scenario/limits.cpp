// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/limits.hpp"

#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "capsim/frame.hpp"

namespace capsim {
namespace {

/// A value in `other` times `factor` is the value in the field's own unit.
struct UnitMistake {
  std::string_view suffix;
  std::string_view other;
  double factor;
  std::string_view own;
};

constexpr std::array<UnitMistake, 13> unit_mistakes{{
    {"_mN_per_mm", "micronewtons per mm", 1e-3, "mN/mm"},
    {"_mm", "micrometres", 1e-3, "mm"},
    {"_mm", "metres", 1e3, "mm"},
    {"_um", "millimetres", 1e3, "um"},
    {"_um", "nanometres", 1e-3, "um"},
    {"_kPa", "MPa", 1e3, "kPa"},
    {"_kPa", "GPa", 1e6, "kPa"},
    {"_kPa", "Pa", 1e-3, "kPa"},
    {"_mN", "micronewtons", 1e-3, "mN"},
    {"_degrees", "radians", 180 / pi, "degrees"},
    {"_days", "hours", 1.0 / 24, "days"},
    {"_days", "seconds", 1.0 / 86400, "days"},
    {"_fraction", "per cent", 0.01, ""},
}};

bool is_share(std::string_view key) {
  for (const std::string_view name : {"strength", "cells_left", "anterior_share", "strength_by_hour", "chronic_signal",
                                      "cells_left_by_hour", "hoop_weight", "diagonal_weight", "radial_weight"})
    if (key == name) return true;
  return false;
}

/// Rounded for reading: a converted value needs no more than four digits.
std::string rounded(double value) {
  if (value == 0) return "0";
  const double scale = std::pow(10.0, 3 - std::floor(std::log10(std::abs(value))));
  return number_text(std::round(value * scale) / scale);
}

std::string hour_mistake(double hour) {
  if (hour == 0) return "12 o'clock is 12, not 0";
  if (hour > 12 && hour < 13) return "after 12 o'clock write " + rounded(hour - 12);
  if (hour < 0 || hour > 360) return "a clock face has 12 hours";
  const std::string as_degrees = "looks like degrees: " + rounded(hour / 30) + " o'clock when clockwise from 12?";
  if (hour > 24) return as_degrees;
  return "a clock face has 12 hours: " + rounded(hour - 12) + "? or, if in degrees, " + rounded(hour / 30);
}

}  // namespace

std::string Limits::to_string() const {
  const std::string interval = (low_open ? "> " : ">= ") + number_text(low) + " and <= " + number_text(high);
  return or_zero ? "0, or " + interval : interval;
}

std::string number_text(double value) {
  if (std::isnan(value)) return "NaN";
  if (std::isinf(value)) return value > 0 ? "Infinity" : "-Infinity";
  if (value == std::trunc(value) && std::abs(value) < 1e15) return std::to_string(static_cast<long long>(value));
  return nlohmann::json(value).dump();
}

std::string unit_mistake(std::string_view key, double value, const Limits& limits) {
  if (!std::isfinite(value)) return {};
  if (key.ends_with("hour") || key == "hours") return hour_mistake(value);
  for (const UnitMistake& mistake : unit_mistakes) {
    const bool other_quantity = mistake.suffix == "_mm" && key.ends_with("_per_mm");
    if (other_quantity || !key.ends_with(mistake.suffix) || value == 0) continue;
    if (!limits.allow(value * mistake.factor)) continue;
    std::string text = "looks like " + std::string(mistake.other) + ": " + rounded(value * mistake.factor);
    if (!mistake.own.empty()) text += ' ' + std::string(mistake.own);
    return text + '?';
  }
  if (is_share(key) && value > 1 && value <= 100 && limits.allow(value / 100))
    return "looks like per cent: " + rounded(value / 100) + '?';
  return {};
}

}  // namespace capsim
