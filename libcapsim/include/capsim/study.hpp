// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Plans for a crowd: the same eyes under every plan and every contraction law, compared eye by eye.
///
/// Model.   Eye i of a crowd under law l and plan p is `population.around(population.under(p, l), i)`: what varies
///          between eyes keeps its place (the same point of the Halton sequence) under every plan and law, so the
///          difference of two plans is taken within an eye, and what eyes have in common drops out of it.
///          Quantiles of n eyes are linear between order statistics (type 7 of [hyndman1996]). A proportion k of n
///          has Wilson's interval [wilson1927]: with z = 1.96
///            (p + z^2/2n -+ z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n),   p = k/n.
///          It is that of n independent eyes; evenly spread points err less, so it is on the safe side.
/// Assumes. The spreads of the population, and that one of its laws is right. What the laws disagree about is not
///          known; no number here weighs one against the other.
/// Shared.  Nothing recommends: trade-offs are laid side by side.
/// Reference. [wilson1927], [hyndman1996]; theory: plans for a crowd.

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/history.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/population.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

/// k of n eyes, with the interval that holds the true share in about 95 of 100 crowds.
struct Proportion {
  std::size_t count = 0, of = 0;
  double share = 0;          ///< count / of; NaN of no eye at all.
  double low = 0, high = 1;  ///< Wilson's 95 % interval.
};
[[nodiscard]] Proportion proportion(std::size_t count, std::size_t of) noexcept;

/// Median, and the values that a tenth of the eyes lie below and above; NaN of no eye at all.
struct Quantiles {
  double low = 0, median = 0, high = 0;
};
/// Of the finite ones among `values`.
[[nodiscard]] Quantiles quantiles(std::vector<double> values);

/// Runs `task(i)` for each i below `count`, on whatever threads the host has, and returns when all are done.
using StudyExecutor = std::function<void(std::size_t count, const std::function<void(std::size_t)>& task)>;
/// Told how many runs are done; false ends the study, which keeps the runs that are done.
using StudyProgress = std::function<bool(std::size_t done, std::size_t total)>;

/// How a crowd is run. Results are the same bits whatever `workers` and `executor` are.
struct StudyOptions {
  int eyes = 64;                  ///< The first so many eyes of the population.
  std::vector<std::string> laws;  ///< Empty: all that the population was fitted for.
  bool typical = false;           ///< Give every plan the population's own settings first.
  int workers = 0;                ///< Threads of the library; 0: one for each core. 1: the calling thread itself.
  StudyExecutor executor;         ///< Instead of the library's threads.
  StudyProgress progress;         ///< Called from the calling thread; with an executor, from one thread at a time.
};

/// Two plans against each other, within each eye.
struct PairedDifference {
  std::size_t quantity = 0, law = 0, first = 0, second = 0;  ///< Indices of names; plans first < second.
  Quantiles difference;                                      ///< Second plan minus first.
  Proportion first_better, second_better;  ///< Of the eyes that have both; the rest are equal. None: larger value.
};

/// What the laws say together about two plans and a quantity.
enum class Agreement {
  first,     ///< Under every law more than half of the eyes do better with the first plan, interval included.
  second,    ///< The same of the second plan.
  disagree,  ///< One law says first, another second.
  open       ///< At least one law does not tell them apart.
};
[[nodiscard]] std::string_view to_string(Agreement agreement) noexcept;

/// Outcomes of every eye under every plan and law, and what follows from them.
struct Comparison {
  std::string population;  ///< Name and edition.
  std::vector<std::string> plans, laws, quantities, units, descriptions;
  std::vector<Better> better;  ///< [quantity]
  std::size_t eyes = 0;
  /// [quantity, law, plan, eye], the last index fastest; NaN where a run did not complete or was not reached.
  std::vector<double> values;
  std::vector<std::string> status;    ///< [law, plan, eye]: as of a history, or "not run" after a cancel.
  std::vector<std::string> cautions;  ///< To be shown wherever the result is shown.
  bool cancelled = false;

  [[nodiscard]] double value(std::size_t quantity, std::size_t law, std::size_t plan, std::size_t eye) const;
  /// How the eyes lie under one plan and law.
  [[nodiscard]] Quantiles of(std::size_t quantity, std::size_t law, std::size_t plan) const;
  [[nodiscard]] PairedDifference difference(std::size_t quantity, std::size_t law, std::size_t first,
                                            std::size_t second) const;
  [[nodiscard]] Agreement agreement(std::size_t quantity, std::size_t first, std::size_t second) const;
  /// All of it as JSON text (UTF-8): names, shapes, values, statuses, quantiles, pairs; NaN is null.
  [[nodiscard]] std::string to_json() const;
};

/// Runs every plan for every eye under every law. `quantities` are names of outcomes; empty: clear circle, opening
/// area, loss of area, decentration of opening and lens, and the largest load.
/// Throws ScenarioError, before any run, for plans of different eyes (whatever is not opening, lens, ring, polishing or
/// event must be the same), a plan twice, unknown quantities, no eye, and a law the population lacks.
[[nodiscard]] Comparison compare(const std::vector<Scenario>& plans, const Population& population,
                                 std::vector<std::string> quantities = {}, const StudyOptions& options = {});

}  // namespace capsim
