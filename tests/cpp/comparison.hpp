// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  One line of the evidence page: a number of the library beside the number it should be.
///
/// A test that compares with a closed form, a worked table or an order of convergence does so through
/// `compare`, which asserts. When the environment variable CAPSIM_EVIDENCE_FOLDER names a folder, the
/// comparison is also appended to comparisons.jsonl there; tests/evidence/evidence_page.py makes the page
/// from it.

#include <string>
#include <string_view>

#include "verification_case.hpp"

namespace capsim::checks {

/// How far a value may be from the expected one.
struct Limit {
  enum class Kind { relative, absolute, at_least };
  Kind kind;
  double size;  ///< Share of the expected value; in its unit; unused.
};
[[nodiscard]] constexpr Limit relative_to_expected(double size) { return {Limit::Kind::relative, size}; }
[[nodiscard]] constexpr Limit within(double size) { return {Limit::Kind::absolute, size}; }
[[nodiscard]] constexpr Limit at_least() { return {Limit::Kind::at_least, 0}; }

struct Comparison {
  std::string table;     ///< Part of the page: "case", "order" or "round_eye".
  std::string id;        ///< Identifier of the case, or what was run.
  std::string source;    ///< Where the expected value comes from.
  std::string quantity;  ///< Unique within the case.
  std::string unit;      ///< Empty for a pure number.
  double value, expected;
  Limit limit;
  /// Likely reason why the library is not within the limit, when it is known not to be. The test then
  /// asserts that it still is not, so that the page can't call a hit a miss.
  std::string miss{};
};

void compare(const Comparison& comparison);
/// The same for a worked case of the evidence file.
void compare(const VerificationCase& with, std::string_view quantity, std::string_view unit, double value,
             double expected, Limit limit);

/// Notes for the page that a property held for `scenarios` random scenarios.
void note_property(std::string_view name, std::string_view statement, int scenarios, unsigned long seed);

}  // namespace capsim::checks
