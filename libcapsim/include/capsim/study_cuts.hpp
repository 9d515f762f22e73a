// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Where to cut: layouts of relaxing cuts side by side, for a crowd of eyes.
///
/// Model.   One past for all layouts of the same hours, whose lines one mesh holds: an eye is followed to the day of
///          the cuts, and forks go on from there, one for each layout and length, and one without. What a layout gives
///          is its fork's value less that of the fork without cuts, of the same mesh, on the last day; what it gives
///          back at once is the jump on its day. It does not depend on the layouts of other hours beside it. A cut's
///          length is not known to better than half of it, and relief depends on it: each layout is made at half, once
///          and one and a half times its length. Over eyes x laws x lengths the variance of a quantity is split as in a
///          full factorial design: the part of the means of each law, of each length, of each eye, and what is left,
///          which is how they act together. Nothing beats a layout when no other one is at least as good in all of kept
///          area, tip margin, number of cuts and largest load, and better in one.
/// Assumes. Cuts are instantaneous, straight and radial; no laser shock, no tearing (see cuts.hpp).
/// Caution. relaxing_cut_caution() is to stand beside every layout.
/// Reference. Theory: plans for a crowd.

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/study.hpp"

namespace capsim {

/// One way to cut.
struct CutLayout {
  std::string name;
  std::vector<double> hours;
  double length_mm = 0.75;
  double day = 90;
};

/// 2, 3 and 4 cuts evenly, from 12 o'clock; and three gathered within two hours, towards the weakest hours of the
/// zonule and away from them when it has weak hours.
[[nodiscard]] std::vector<CutLayout> usual_layouts(const Scenario& plan, double length_mm = 0.75, double day = 90);

/// Shares of the length that are tried.
inline constexpr std::array<double, 3> length_factors{0.5, 1.0, 1.5};

/// Part of the variance that is explained by each; 0 where a quantity does not vary.
struct VarianceShares {
  double law = 0, length = 0, eye = 0, together = 0;
};
/// Of values [law, length, eye] without gaps: eyes with a NaN are left out.
[[nodiscard]] VarianceShares variance_shares(const std::vector<double>& values, std::size_t laws, std::size_t lengths,
                                             std::size_t eyes);

/// Which rows of [layout, aim], all aims to be small, no other row beats. Rows with a NaN beat nothing and are beaten.
[[nodiscard]] std::vector<bool> not_beaten(const std::vector<double>& aims, std::size_t rows);

/// What a layout does, in the words of the table.
enum class CutQuantity {
  area_back_mm2,                   ///< At once.
  clear_circle_back_mm,            ///< At once.
  area_kept_mm2,                   ///< Last day, over the same eye without cuts.
  clear_circle_kept_mm,            ///< Last day, over the same eye without cuts.
  lens_decentration_change_mm,     ///< Last day, against the same eye without cuts; negative: better centred.
  opening_decentration_change_mm,  ///< The same of the opening.
  zonule_load_max_mN,              ///< Largest load of an hour from the cuts on.
  tip_to_optic_edge_mm,            ///< Smallest, from the cuts on; negative: a tip lies beyond the optic.
  tip_to_equator_mm,               ///< Smallest, from the cuts on.
  tip_release_mN                   ///< Largest energy release from the cuts on.
};
inline constexpr std::size_t cut_quantities = 10;
[[nodiscard]] std::string_view to_string(CutQuantity quantity) noexcept;
[[nodiscard]] std::string_view unit_of(CutQuantity quantity) noexcept;

/// What to know about a layout, beside the cautions.
struct LayoutMarks {
  Proportion beyond_optic;  ///< Of runs (eyes, laws, lengths): a tip comes to lie beyond the optic's edge.
  Proportion near_equator;  ///< A tip comes within 1 mm of the equator.
  Proportion lips_overlap;  ///< Lips close or overlap instead of gaping.
};
/// Tips nearer than this to the equator are marked [mm]; common practice is to stay well inside the optic, no source.
inline constexpr double near_equator_mm = 1.0;

struct CutStudy {
  std::string population, plan;
  std::vector<CutLayout> layouts;
  std::vector<std::string> laws;
  std::size_t eyes = 0;
  /// [quantity, layout, law, length, eye]; NaN where a run did not complete.
  std::vector<double> values;
  std::vector<std::string> status;      ///< [layout, law, length, eye]
  std::vector<LayoutMarks> marks;       ///< [layout]
  std::vector<VarianceShares> shares;   ///< [quantity, layout]
  std::vector<bool> nothing_beats;      ///< [layout], for the crowd: medians over eyes, laws and lengths.
  std::vector<Proportion> unbeaten_in;  ///< [layout] of eyes x laws, at the length as given.
  std::vector<std::string> cautions;
  bool cancelled = false;

  [[nodiscard]] double value(CutQuantity quantity, std::size_t layout, std::size_t law, std::size_t length,
                             std::size_t eye) const;
  /// Over eyes and lengths under one law.
  [[nodiscard]] Quantiles of(CutQuantity quantity, std::size_t layout, std::size_t law) const;
  [[nodiscard]] std::string to_json() const;
};

/// Cuts every eye of the crowd in every layout. The plan is to have no cuts of its own.
/// Throws ScenarioError, before any run, for no layout, a layout that the plan can't have (hours, length, day; the
/// lengths tried included), a plan with cuts, and as `compare`. Progress counts forks: layouts x lengths x laws x eyes.
[[nodiscard]] CutStudy cuts(const Scenario& plan, const Population& population, std::vector<CutLayout> layouts = {},
                            const StudyOptions& options = {});

}  // namespace capsim
