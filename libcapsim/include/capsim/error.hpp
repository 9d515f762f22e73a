// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The exceptions of the library, all of one root.
///
///   Error
///   ├ ScenarioError      wrong input, with every violation
///   ├ ArgumentError      a call that asks for what is not there, or with a number that can't be meant
///   ├ ModelError         no rest state for this eye (model.hpp)
///   ├ CheckpointError    bytes that are no checkpoint, or one of something else (simulation.hpp)
///   ├ ResultsFileError   a file that can't be written or believed (results_file.hpp)
///   └ InternalError      a broken invariant of the library
///
/// What a host's own callback, part or law throws is not of the library and passes through as it is.
/// Numerical outcomes (no equilibrium, a folded element, ...) are never thrown:
/// they are data, see history.hpp.

#include <stdexcept>
#include <string>
#include <vector>

namespace capsim {

/// The root: `catch (const capsim::Error&)` catches whatever the library itself throws, but lack of memory.
class Error : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

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
class ScenarioError : public Error {
 public:
  explicit ScenarioError(std::vector<Violation> violations);
  [[nodiscard]] const std::vector<Violation>& violations() const noexcept { return violations_; }

 private:
  std::vector<Violation> violations_;
};

/// A caller's mistake that is not in a scenario: a name, row or column that is not there, a day that is no number.
class ArgumentError : public Error {
 public:
  using Error::Error;
};

/// A broken invariant of the library itself: please report it.
class InternalError : public Error {
 public:
  using Error::Error;
};

}  // namespace capsim
