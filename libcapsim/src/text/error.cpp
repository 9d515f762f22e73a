// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/error.hpp"

#include <cstddef>
#include <utility>

namespace capsim {
namespace {

/// A text of thousands of lines helps nobody; `violations()` always has them all.
constexpr std::size_t most_lines_in_text = 50;

std::string text_of(const std::vector<Violation>& violations) {
  const std::size_t count = violations.size();
  if (count == 0) return "the scenario is not valid";
  std::string text =
      count == 1 ? "the scenario has 1 violation:" : "the scenario has " + std::to_string(count) + " violations:";
  for (std::size_t k = 0; k < count && k < most_lines_in_text; ++k) text += "\n  " + violations[k].to_string();
  if (count > most_lines_in_text) text += "\n  ... and " + std::to_string(count - most_lines_in_text) + " more";
  return text;
}

}  // namespace

std::string Violation::to_string() const {
  std::string text = path;
  if (value.empty())
    text += " is missing";
  else
    text += " = " + value;
  if (!limit.empty()) text += ": must be " + limit;
  if (!hint.empty()) text += " (" + hint + ")";
  return text;
}

ScenarioError::ScenarioError(std::vector<Violation> violations)
    : Error(text_of(violations)), violations_(std::move(violations)) {}

}  // namespace capsim
