// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How a run went, in numbers, and how it ended: two lists that exist once.
///
/// The struct, result files, checkpoints and every binding are made from these lists; a new line at the end of one is
/// all that a new diagnostic or a new end of a run takes (and `python3 bindings/generate.py` for the declarations in
/// other languages). Lines are only ever added at the end: C programs and files know the earlier ones by their order.

#include <span>
#include <string_view>

namespace capsim {

/// COUNT(name, unit, sentence) and NUMBER(name, unit, sentence).
// clang-format off
#define CAPSIM_DIAGNOSTICS(COUNT, NUMBER) \
  COUNT(steps, "1", "Accepted time steps.") \
  COUNT(rejected_steps, "1", "Time steps that were tried and repeated with a shorter one.") \
  COUNT(right_hand_sides, "1", "Evaluations of the contraction law.") \
  COUNT(equilibria, "1", "Equilibria that were solved.") \
  COUNT(newton_iterations, "1", "Newton iterations of all equilibria.") \
  COUNT(max_newton_iterations, "1", "Most Newton iterations in one equilibrium of a time step (not at day 0 or an event).") \
  COUNT(factorizations, "1", "Factorizations of the stiffness matrix.") \
  NUMBER(residual_mN, "mN", "Largest unbalanced nodal force at the last equilibrium.") \
  NUMBER(tolerance_mN, "mN", "What the unbalanced force has to fall below.") \
  NUMBER(worst_element_hour, "clock hour", "Clock hour of the most distorted element.") \
  NUMBER(worst_element_ratio, "1", "Smallest area ratio of an element, deformed over reference.") \
  NUMBER(last_good_day, "day", "Last day whose equilibrium was found.") \
  NUMBER(wall_seconds, "s", "Time taken by model, day 0 and all steps.") \
  COUNT(projected_factorizations, "1", "Factorizations with the positive-definite fallback.") \
  NUMBER(seconds_elements, "s", "Time taken by energies, gradients and Hessians of the parts.") \
  NUMBER(seconds_factor, "s", "Time taken by factorizations.") \
  NUMBER(seconds_solve, "s", "Time taken by solves with a factor.") \
  NUMBER(work, "1", "What the unloaded shape and all equilibria took, in factorizations; an evaluation of all forces counts an eighth.") \
  NUMBER(least_pivot_mN_per_mm, "mN/mm", "Least pivot of the exact stiffness at the last equilibrium that was looked at; 0: none was.") \
  COUNT(saddles_left, "1", "Times that balanced forces were a saddle, which was left downhill.") \
  NUMBER(outline_off_mm, "mm", "Largest distance of the rim from the stated outline where it can't lie there and only its area is as stated; 0: it does.")

/// STATUS(name, sentence).
#define CAPSIM_STATUSES(STATUS) \
  STATUS(completed, "The run reached its last day.") \
  STATUS(cancelled, "The caller asked it to stop.") \
  STATUS(no_equilibrium, "No shape at rest was found.") \
  STATUS(folded_element, "An element of the leaf would have folded over.") \
  STATUS(too_many_steps, "The limit on time steps was reached.") \
  STATUS(non_finite, "A number became infinite or undefined.") \
  STATUS(too_much_work, "The budget of work was spent.") \
  STATUS(step_too_small, "The time step shrank away.")
// clang-format on

/// How the run went.
struct Diagnostics {
#define CAPSIM_COUNT(name, unit, sentence) long name = 0;
#define CAPSIM_NUMBER(name, unit, sentence) double name = 0;
  CAPSIM_DIAGNOSTICS(CAPSIM_COUNT, CAPSIM_NUMBER)
#undef CAPSIM_COUNT
#undef CAPSIM_NUMBER
};

/// One entry of the list: exactly one of the two members is set.
struct DiagnosticField {
  std::string_view name;  ///< With the unit as suffix where it has one.
  std::string_view unit;
  std::string_view description;  ///< One sentence.
  long Diagnostics::* count = nullptr;
  double Diagnostics::* number = nullptr;

  /// The value, whichever kind it is.
  [[nodiscard]] double of(const Diagnostics& diagnostics) const noexcept {
    return count != nullptr ? static_cast<double>(diagnostics.*count) : diagnostics.*number;
  }
};

/// All diagnostics, in the order of the list.
[[nodiscard]] std::span<const DiagnosticField> diagnostic_fields() noexcept;

/// How a simulation ended. Everything but `completed` leaves a partial history.
enum class Status {
#define CAPSIM_STATUS(name, sentence) name,
  CAPSIM_STATUSES(CAPSIM_STATUS)
#undef CAPSIM_STATUS
};

/// One entry of the list.
struct StatusEntry {
  Status status;
  std::string_view name;
  std::string_view description;  ///< One sentence.
};

/// All ends of a run, in the order of the list, which is that of their numbers.
[[nodiscard]] std::span<const StatusEntry> statuses() noexcept;

/// The status as in the contract: "completed", "no_equilibrium", ...
[[nodiscard]] std::string_view to_string(Status status) noexcept;

}  // namespace capsim
