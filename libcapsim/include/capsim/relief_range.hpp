// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How far an answer about relaxing cuts can be off: the same cuts shorter and longer, under every law.
///
/// Model.   A run with relaxing cuts is made anew with all of its cuts at half, once and one and a half times their
///          length (`length_factors` of study_cuts.hpp), under every law that a population was fitted for
///          (`Population::under`). What is left of the eye is the same in all of them.
/// Assumes. One eye. What differs between eyes is for `cuts` of study_cuts.hpp to tell.
/// Caution. relaxing_cut_caution() is to stand beside the result.
/// Reference. Theory: plans for a crowd; the credibility page: cuts, length and law.

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/population.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// One quantity over laws and lengths.
struct ReliefQuantity {
  std::string name, unit, description;  ///< As of the outcome.
  std::vector<double> values;           ///< [law, length]; NaN where a run gave none.

  /// Smallest and largest of the finite values; NaN of none.
  [[nodiscard]] double low() const noexcept;
  [[nodiscard]] double high() const noexcept;
};

struct ReliefRange {
  std::string population;
  std::vector<std::string> laws;
  std::vector<double> factors;      ///< Shares of the length as stated, `length_factors`.
  std::vector<std::string> status;  ///< [law, length]: as of a history, or why the cuts can't be so long.
  std::vector<ReliefQuantity>
      quantities;  ///< What each day of cuts gave back at once and kept, and the loss at the end.

  /// Throws ArgumentError, naming the quantities there are, for a name that is none of them.
  [[nodiscard]] const ReliefQuantity& operator[](std::string_view name) const;
  /// The range in words, with code "relief_range": for a list of flags in place of the one without numbers.
  [[nodiscard]] Flag flag() const;
};

/// Six runs for a population that was fitted for two laws. `go_on` is asked before each and, as a progress callback, in
/// it; false leaves this run and the rest as "not run". Throws ArgumentError for a scenario without relaxing cuts and
/// ScenarioError for one that is not valid.
[[nodiscard]] ReliefRange relief_range(const Scenario& scenario, const Population& population,
                                       const std::function<bool()>& go_on = {});

/// The same with the population of age-related cataract: of the whole bag where the eye has tissue outside the optic.
[[nodiscard]] ReliefRange relief_range(const Scenario& scenario, const std::function<bool()>& go_on = {});

/// The outcomes with the numbers of `range` in the flag "relief_range".
[[nodiscard]] Outcomes with_relief_range(Outcomes outcomes, const ReliefRange& range);

}  // namespace capsim
