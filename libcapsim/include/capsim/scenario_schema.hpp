// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The JSON Schema of a scenario's text, for editors, forms and other programs.
///
/// Model.   Draft 2020-12, made from the same list of fields, limits and defaults that the reader
///          uses; units as `x-unit`. Every text that `Scenario::from_json` accepts fits the schema.
/// Assumes. Not the other way round: what must fit together (an opening inside its bag, one ring at
///          a time, ...) is beyond a schema and is checked by `Scenario::from_json` alone.

#include <string>

namespace capsim {

/// The schema as JSON text; `indent` spaces, or -1 for a single line.
[[nodiscard]] std::string scenario_schema(int indent = 2);

}  // namespace capsim
