// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/field_unit.hpp"

#include <algorithm>
#include <array>

#include "capsim/scenario_schema.hpp"

namespace capsim {
namespace {

// The longer suffix comes first: `_mN_per_mm` also ends with `_mm`.
constexpr std::array<UnitSuffix, 18> suffixes{{
    {"_by_hour", "1", "1"},
    {"_mN_per_mm", "mN/mm", "mN/mm"},
    {"_kPa_per_mm", "kPa/mm", "kPa/mm"},
    {"_per_day", "1/day", "1/d"},
    {"_days", "day", "d"},
    {"day", "day", "d"},
    {"_mm3", "mm3", "mm3"},
    {"_mm2", "mm2", "mm2"},
    {"_mm", "mm", "mm"},
    {"_um", "um", "um"},
    {"_kPa", "kPa", "kPa"},
    {"_mN", "mN", "mN"},
    {"_uJ", "uJ", "uJ"},
    {"_degrees", "degree", "deg"},
    {"_deg", "degree", "deg"},
    {"_percent", "%", "%"},
    {"hours", "clock hour", "h"},
    {"hour", "clock hour", "h"},
}};

}  // namespace

std::span<const UnitSuffix> unit_suffixes() noexcept { return suffixes; }

std::string_view field_unit(std::string_view key) noexcept {
  const auto fits = [key](const UnitSuffix& one) { return key.ends_with(one.suffix); };
  const auto* found = std::find_if(suffixes.begin(), suffixes.end(), fits);
  return found == suffixes.end() ? "1" : found->unit;
}

}  // namespace capsim
