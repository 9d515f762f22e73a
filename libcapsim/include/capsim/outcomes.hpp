// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The answers a run was made for: named scalars with units, flags, and cautions in words.
///
/// The list of outcomes, with the way each one is computed, is `src/run/outcome_list.cpp`. Bindings and declarations in
/// other languages are made from it.

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/history.hpp"
#include "capsim/runaway.hpp"

namespace capsim {

/// One named scalar.
struct Outcome {
  std::string name;  ///< With the unit as suffix: `area_loss_percent`.
  std::string unit;
  double value = 0;
  std::string description;  ///< One sentence.
};

/// Which way a quantity is better for the eye; `none` where it is neither.
enum class Better { larger, smaller, none };
[[nodiscard]] std::string_view to_string(Better better) noexcept;
/// Of an outcome, by its name; `none` for one that has no better.
[[nodiscard]] Better better_way(std::string_view outcome) noexcept;

/// An outcome that a run can have.
struct KnownOutcome {
  std::string name;  ///< `{day}` in it stands for the day of cuts: `relief_day_{day}_mm2`.
  std::string unit;
  Better better = Better::none;
  std::string description;  ///< One sentence.
};
/// All of them, in the order in which a run has them.
[[nodiscard]] std::vector<KnownOutcome> known_outcomes();

/// Something the reader must know about this run.
struct Flag {
  std::string code;  ///< Stable short name: `lips_overlap`, `strain_beyond_law` ...
  std::string text;  ///< One or two sentences, with the numbers.
};

/// All outcomes of one run.
struct Outcomes {
  std::vector<Outcome> values;
  std::vector<Flag> flags;
  std::vector<std::string> cautions;  ///< To be shown wherever the result is shown.

  /// The value of the named outcome; throws ArgumentError when there is none.
  [[nodiscard]] double operator[](std::string_view name) const;
  [[nodiscard]] bool has(std::string_view name) const noexcept;
  [[nodiscard]] bool has_flag(std::string_view code) const noexcept;
};

/// Days on which a loss of area is given, where the run reaches them.
inline constexpr std::array<double, 4> loss_days{30, 90, 180, 365};

/// Computes the outcomes of a run; a partial history gives those of the days it reached.
[[nodiscard]] Outcomes outcomes(const History& history);

/// The same with the margin to runaway of the last day (Simulation::runaway_margin): `runaway_margin`, and the flag
/// `near_runaway` below 1.5. Nothing is added without a margin, when nothing pulls, or when the path was not followed
/// to an end.
[[nodiscard]] Outcomes outcomes(const History& history, const std::optional<RunawayMargin>& margin);

/// The caution to show with every result.
[[nodiscard]] std::string_view research_caution() noexcept;
/// The cautions to print next to relaxing cuts.
[[nodiscard]] std::string_view relaxing_cut_caution() noexcept;

}  // namespace capsim
