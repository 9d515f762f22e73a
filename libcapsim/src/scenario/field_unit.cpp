// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/field_unit.hpp"

#include <array>
#include <utility>

namespace capsim {

std::string_view field_unit(std::string_view key) noexcept {
  // The longer suffix comes first: `_mN_per_mm` also ends with `_mm`.
  constexpr std::array<std::pair<std::string_view, std::string_view>, 13> suffixes{{
      {"_by_hour", "1"},
      {"_mN_per_mm", "mN/mm"},
      {"_kPa_per_mm", "kPa/mm"},
      {"_per_day", "1/day"},
      {"_days", "day"},
      {"day", "day"},
      {"_mm", "mm"},
      {"_um", "um"},
      {"_kPa", "kPa"},
      {"_mN", "mN"},
      {"_degrees", "degree"},
      {"hour", "clock hour"},
      {"hours", "clock hour"},
  }};
  for (const auto& [suffix, unit] : suffixes)
    if (key.ends_with(suffix)) return unit;
  return "1";
}

}  // namespace capsim
