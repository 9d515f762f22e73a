// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  One place in a scenario by its dotted path, `events[0].relaxing_cuts.length_mm`.
///
/// The paths are those of the JSON text and of violations. They are found by visiting the same list
/// of fields as the reader does (scenario_fields.hpp), so that every field has its path.

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim::c_interface {

/// A choice, whatever its enum: its words are set and read.
struct ChoicePlace {
  void* value;
  bool (*set)(void* value, std::string_view word);
  std::string_view (*get)(const void* value);  ///< Empty for an unspecified eye.
  std::string words;                           ///< `"right" or "left"`
  void (*make_null)(void* value);              ///< Null pointer where null is not allowed.
};

/// One value by clock hour; it need not be listed yet.
struct HourPlace {
  ByHour* values;
  int hour;
};

/// A section, or one that may be null.
struct SectionPlace {
  void* spec;
  void (*make_default)(void* spec);
  void (*make_null)(void* spec);     ///< Null pointer where null is not allowed.
  void (*make_present)(void* spec);  ///< The same.
  bool (*is_null)(const void* spec);
};

using Place = std::variant<double*, std::optional<double>*, int*, std::string*, ChoicePlace, Point*,
                           std::optional<Point>*, std::vector<Point>*, std::vector<double>*,
                           std::vector<ThicknessKnot>*, ByHour*, HourPlace, std::vector<Event>*, SectionPlace>;

/// The place of `path`. With `create`, sections that are null on the way become present; without, a
/// Refusal (CAPSIM_IS_NULL) is thrown. Throws a Refusal with a hint for a path that leads nowhere.
[[nodiscard]] Place place_of(Scenario& scenario, std::string_view path, bool create);

}  // namespace capsim::c_interface
