// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  One worked case of tests/evidence/verification_cases.json: inputs, expected values, tolerance.

#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace capsim::checks {

class VerificationCase {
 public:
  /// Reads the case; throws when the file has no such case.
  explicit VerificationCase(std::string_view id);
  ~VerificationCase();
  VerificationCase(VerificationCase&&) noexcept;

  [[nodiscard]] const std::string& id() const noexcept { return id_; }
  /// A number among the inputs or expected values ("inf" counts); throws when it is missing.
  [[nodiscard]] double input(std::string_view name) const;
  [[nodiscard]] std::vector<double> inputs(std::string_view name) const;
  [[nodiscard]] bool has_expected(std::string_view name) const;
  [[nodiscard]] double expected(std::string_view name) const;
  [[nodiscard]] std::vector<double> expected_list(std::string_view name) const;
  /// A number inside an expected object: expected("rates_last", "L2").
  [[nodiscard]] double expected(std::string_view name, std::string_view part) const;
  /// The number that follows `word` in the tolerance text (the first one when empty); "%" counts.
  [[nodiscard]] double tolerance(std::string_view word = {}) const;
  /// Who says so: the case's source as it stands in the file.
  [[nodiscard]] std::string origin() const;
  [[nodiscard]] std::string cross_check() const;
  /// The same with identifier and cross-check, for the message of a failing check.
  [[nodiscard]] std::string source() const;
  /// Identifiers of all cases that start with `prefix`, in the order of the file.
  [[nodiscard]] static std::vector<std::string> all(std::string_view prefix);

 private:
  struct Data;
  std::string id_;
  std::unique_ptr<Data> data_;
};

}  // namespace capsim::checks
