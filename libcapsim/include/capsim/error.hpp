// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The two exceptions of the library: wrong input and a broken invariant.
///
/// Numerical outcomes (no equilibrium, a folded element, ...) are never thrown:
/// they are data, see history.hpp.

#include <stdexcept>
#include <string>
#include <vector>

namespace capsim {

/// One violated constraint of an input.
struct Violation {
  std::string path;   ///< Where, as a dotted path: `events[0].relaxing_cuts.length_mm`.
  std::string value;  ///< What was given, as text; empty when a value is missing.
  std::string limit;  ///< What is allowed, as text: `> 0 and <= 3`.
  std::string hint;   ///< What to do about it, or empty: `did you mean "diameter_mm"?`.

  /// One line: path, value, limit, hint.
  [[nodiscard]] std::string to_string() const;
};

/// Wrong input, thrown before any work is done; carries every violation at once.
class ScenarioError : public std::invalid_argument {
 public:
  explicit ScenarioError(std::vector<Violation> violations);
  [[nodiscard]] const std::vector<Violation>& violations() const noexcept { return violations_; }

 private:
  std::vector<Violation> violations_;
};

/// A broken invariant of the library itself: please report it.
class InternalError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

}  // namespace capsim
