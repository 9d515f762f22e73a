// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The JSON Schema of a scenario's text, for editors, forms and other programs.
///
/// Model.   Draft 2020-12, made from the same list of fields, limits and defaults that the reader
///          uses; units as `x-unit`. Every text that `Scenario::from_json` accepts fits the schema.
/// Assumes. Not the other way round: what must fit together (an opening inside its bag, one ring at
///          a time, ...) is beyond a schema and is checked by `Scenario::from_json` alone.

#include <span>
#include <string>
#include <string_view>

namespace capsim {

/// The schema as JSON text; `indent` spaces, or -1 for a single line.
[[nodiscard]] std::string scenario_schema(int indent = 2);

/// How the name of a number tells its unit: the first suffix of the list that it ends with; a plain number has none.
struct UnitSuffix {
  std::string_view suffix;  ///< "_mN_per_mm"
  std::string_view unit;    ///< As tables write it: "clock hour".
  std::string_view symbol;  ///< As data carry it: "h".
};
[[nodiscard]] std::span<const UnitSuffix> unit_suffixes() noexcept;

}  // namespace capsim
