// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  When to look: the days on which eyes of a crowd cross a threshold, and what schedules of visits find.
///
/// Model.   An eye crosses on the first day on which its quantity q passes the threshold. Rows are recorded every
///          `tracking_days`, whatever days the scenario asks for; between rows q is the monotone cubic of
///          [fritsch1984], which does not overshoot; on a day with events both sides count, so that a jump
///          crosses on its day, and a cut on the day of the crossing does not undo it.
///          A visit finds an eye when q is beyond the threshold on that day (after its events); it is late by
///          that day less the first crossing.
///          An early sign at a visit: among the eyes that have not crossed by then, one measurement and one cut
///          tell who will. The cut with the largest sensitivity + specificity - 1 [youden1950] is chosen on half of
///          the eyes and counted on the other half, both ways round, so that no eye is judged by a cut that it helped
///          to choose.
/// Assumes. Measurements without error: the signs are at their best.
/// Reference. Theory: plans for a crowd.

#include <string>
#include <vector>

#include "capsim/study.hpp"

namespace capsim {

/// Distance of the rows between which first crossings are found [d].
inline constexpr double tracking_days = 2;

/// Beyond which value an eye needs attention.
struct Threshold {
  /// A series of one column, or `area_loss_percent`, `opening_decentration_mm`, `lens_decentration_mm`.
  std::string quantity = "clear_circle_diameter_mm";
  double limit = 3;
  bool below = true;  ///< Crossed below the limit; else above it.
};

/// Days on which an eye is seen, ascending.
struct Schedule {
  std::string name;
  std::vector<double> days;
};
/// 1 day, 1 week, 1, 3, 6 and 12 months.
[[nodiscard]] Schedule usual_schedule();
/// The schedule, then each with one visit less, then each with one more, halfway (in time) between two visits.
[[nodiscard]] std::vector<Schedule> one_more_or_less(const Schedule& schedule);

/// First day on which the values of a course pass the threshold, or NaN. `days` may hold a day twice: both sides of an
/// event.
[[nodiscard]] double first_crossing(const std::vector<double>& days, const std::vector<double>& values, double limit,
                                    bool below);
/// The course on one day by the same curve; on an event day after the event.
[[nodiscard]] double value_on(const std::vector<double>& days, const std::vector<double>& values, double day);

/// What one schedule finds under one law.
struct ScheduleResult {
  std::string schedule, law;
  std::vector<double> days;
  std::vector<Proportion> found;  ///< [visit] of the eyes that cross: found there, and not before.
  Proportion ever_found;          ///< Of the eyes that cross.
  Quantiles days_late;            ///< Of the eyes found.
  Quantiles opening_diameter_mm;  ///< At the visit that finds them.
  std::vector<Quantiles> days_late_at, opening_diameter_mm_at;  ///< [visit] The same of the eyes found there.
};

/// How well one measurement at one visit tells who will cross later.
struct EarlySign {
  std::string measurement, unit;
  double day = 0;
  double cut = 0;     ///< Chosen on all eyes under both laws together.
  bool below = true;  ///< Values below the cut tell of a crossing; else above.
  /// [law], then all laws together: of those who cross, and of those who don't, as judged by the other half's cut.
  std::vector<Proportion> sensitivity, specificity;
};

struct VisitStudy {
  std::string population, plan;
  Threshold threshold;
  std::vector<std::string> laws;
  std::size_t eyes = 0;
  double duration_days = 0;
  std::vector<double> crossing_day;       ///< [law, eye]; NaN: never, or the run did not get so far.
  std::vector<std::string> status;        ///< [law, eye]
  std::vector<Proportion> crosses;        ///< [law] of the eyes that were followed to the end or crossed.
  std::vector<Quantiles> day_quantiles;   ///< [law] of the eyes that cross.
  std::vector<ScheduleResult> schedules;  ///< [schedule, law]
  std::vector<EarlySign> signs;           ///< The best first: by sensitivity + specificity over all laws.
  std::vector<std::string> cautions;
  bool cancelled = false;

  [[nodiscard]] std::string to_json() const;
};

/// Runs the plan for every eye under every law. No schedule: the usual one, kept to the plan's days.
/// Throws ScenarioError, before any run of the crowd, for an unknown quantity, a threshold that the plan has crossed on
/// day 0, a schedule out of order or beyond the plan's last day, and as `compare`.
[[nodiscard]] VisitStudy visits(const Scenario& plan, const Population& population, const Threshold& threshold,
                                std::vector<Schedule> schedules = {}, const StudyOptions& options = {});

}  // namespace capsim
