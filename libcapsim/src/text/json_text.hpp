// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Strict JSON text to a tree of values, with everything that is wrong as text.
///
/// Stricter than most readers: repeated keys, NaN, infinities and numbers outside double are
/// refused with their path; text that is not UTF-8, nests too deeply or is too long is refused
/// with line and column. Independent of the locale.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "text/message_text.hpp"
#include "text/violation_list.hpp"

namespace capsim {

/// Path that stands for the whole scenario.
inline constexpr std::string_view whole_scenario = "scenario";
/// Longest accepted text [bytes]; a scenario with a traced outline has some tens of kilobytes.
inline constexpr std::size_t longest_text = std::size_t{4} << 20;
/// Deepest accepted nesting; a scenario needs five levels.
inline constexpr std::size_t deepest_nesting = 32;

/// One JSON value. Kind `refused`: a violation has already been reported for it.
struct JsonNode {
  enum class Kind { null, boolean, number, string, array, object, refused };
  Kind kind = Kind::refused;
  double number = 0;
  std::string text;               ///< String value, or a number or boolean as written.
  std::vector<std::string> keys;  ///< Of an object, in order; same length as `items`.
  std::vector<JsonNode> items;    ///< Of an object or an array.

  /// The member `key` of an object, or null.
  [[nodiscard]] const JsonNode* find(std::string_view key) const noexcept;
  /// The value as it reads in a message: `5100`, `"fung"`, `a list of 3`.
  [[nodiscard]] std::string in_words() const;
};

/// Parses `text` and adds what is wrong with it to `found`. After a syntax error the root is `refused`.
[[nodiscard]] JsonNode parse_json_text(std::string_view text, ViolationList& found);

}  // namespace capsim
