// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How each outcome is computed from a run.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capsim/outcomes.hpp"

namespace capsim {

/// A run as its outcomes see it.
class FinishedRun {
 public:
  /// Cuts that were made on one day.
  struct DayOfCuts {
    double day;
    std::size_t row;  ///< The first after them.
    bool lips_overlap;
  };
  /// Of a history with a row at least; `margin` may be null.
  FinishedRun(const History& history, const RunawayMargin* margin);

  [[nodiscard]] const History& history() const { return h_; }
  [[nodiscard]] const RunawayMargin* margin() const { return margin_; }
  [[nodiscard]] const std::vector<DayOfCuts>& days_of_cuts() const { return days_of_cuts_; }
  [[nodiscard]] std::size_t last() const { return last_; }

  [[nodiscard]] double at(const char* name, std::size_t row, std::size_t column = 0) const {
    return h_.value(name, row, column);
  }
  [[nodiscard]] double start(const char* name, std::size_t column = 0) const { return at(name, 0, column); }
  [[nodiscard]] double end(const char* name, std::size_t column = 0) const { return at(name, last_, column); }
  /// Largest value of the whole course, at least 0.
  [[nodiscard]] double most(const char* name) const;
  /// Visible area on a day: after its events, and linear between rows [mm2].
  [[nodiscard]] double area_on(double day) const;
  /// Whether the opening's lips cross on some day.
  [[nodiscard]] bool lips_cross() const { return most("lips_cross") > 0; }
  [[nodiscard]] bool has_ring_load() const { return most("ring_load_mN") > 0; }

 private:
  const History& h_;
  const RunawayMargin* margin_;
  std::size_t last_;
  std::vector<DayOfCuts> days_of_cuts_;
};

/// What a line of the list stands for. Where it is more than one outcome, `#` in its name and sentence is the number.
enum class OutcomeOf {
  run,         ///< One outcome.
  loss_day,    ///< One for each of `loss_days`.
  pupil,       ///< One for each of `pupil_diameters_mm`; `2_2` in a name is 2.2.
  day_of_cuts  ///< One for each day of cuts.
};

/// One line of the list.
struct ListedOutcome {
  const char* name;
  const char* unit;
  Better better;
  const char* description;
  OutcomeOf of;
  /// The value for the k-th number of the line; none where this run has no such outcome.
  std::optional<double> (*value)(const FinishedRun& run, std::size_t k);
  /// How it grows from a run to one a step beside it, where rounding would choose in a difference of both: among places
  /// that tie (tied_places.hpp). None: it has no derivative there. Null: the difference is right.
  std::optional<double> (*growth)(const FinishedRun& run, const FinishedRun& beside) = nullptr;
};
[[nodiscard]] std::span<const ListedOutcome> listed_outcomes() noexcept;

/// All outcomes of that run, in the order of the list.
[[nodiscard]] std::vector<Outcome> computed_outcomes(const FinishedRun& run);

/// The loss of area by one of `loss_days`.
[[nodiscard]] KnownOutcome known_loss(double day);

/// The line that an outcome of this name comes from; null for a name that is none.
[[nodiscard]] const ListedOutcome* outcome_line(std::string_view name) noexcept;

}  // namespace capsim
