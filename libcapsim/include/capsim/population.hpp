// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A population: what eyes of one kind have in common, and how much they differ.
///
/// Model.   A population gives some fields of a scenario a typical value (`settings`) and lets some of
///          them differ between eyes (`spreads`). With z a standard normal number and sd the spread,
///            scale log     x exp(sd z)                            for x > 0
///            scale share   1 / (1 + exp(-(logit x + sd z)))       for 0 < x < 1; 0 and 1 stay
///            scale linear  x + sd z
///          so a spread acts about whatever value the given scenario has. Eye number i of a population
///          is always the same eye: z comes from point i + 1 of the Halton sequence, one prime per
///          spread, so a plan can be compared with another on the same eyes, and the first n eyes
///          of any n cover the population evenly.
/// Source.  The populations that come with the library are fitted to published cohorts; each file
///          says which rows fixed which number. Between-eye spread is as large as the mean in normal
///          eyes, so one curve without a band is not a forecast.
///          A spread that follows one before it, with correlation r, has z = r z' + sqrt(1 - r^2) z_own.
/// Assumes. Spreads are otherwise independent of each other and of everything else in the scenario.
/// Reference. Halton 1960. Theory: section 13. Files: libcapsim/data/populations.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/scenario.hpp"

namespace capsim {

inline constexpr std::string_view population_format = "capsim-population";
inline constexpr int population_version = 1;

/// How one field differs between the eyes of a population.
struct Spread {
  enum class Scale { log, share, linear };
  std::string path;  ///< Field of the scenario: `contraction.fibre_modulus_kPa`.
  Scale scale = Scale::log;
  double sd = 0;        ///< Standard deviation on the scale; linear: in the field's unit.
  double low = 0;       ///< Drawn values are kept at or above this, in the field's unit ...
  double high = 0;      ///< ... and at or below this.
  std::string source;   ///< Which published rows fixed it, or that it is assumed.
  std::string follows;  ///< Path of a spread before this one that it goes with; empty: none.
  double share = 0;     ///< Correlation of the two normal numbers, -1 .. 1.
};

/// A value that a population gives to one field.
struct Setting {
  std::string path;
  double value = 0;
  std::string source;
};

class Population {
 public:
  /// Reads a population file. Throws ScenarioError naming each wrong field, value and limit.
  [[nodiscard]] static Population from_json(std::string_view text);

  [[nodiscard]] const std::string& name() const noexcept { return name_; }
  /// Of the data, such as "2026-11"; forecasts quote it beside the name.
  [[nodiscard]] const std::string& edition() const noexcept { return edition_; }
  [[nodiscard]] const std::string& description() const noexcept { return description_; }
  /// Standard deviation of one measured opening area, relative to it [1].
  [[nodiscard]] double area_error() const noexcept { return area_error_; }
  /// Contraction laws it was fitted for, as words of `contraction.law`.
  [[nodiscard]] std::vector<std::string> laws() const;
  /// What it sets and varies under a law. Throws ArgumentError for a law it was not fitted for.
  [[nodiscard]] std::vector<Setting> settings(std::string_view law) const;
  [[nodiscard]] std::vector<Spread> spreads(std::string_view law) const;
  /// The file as it was read, with its provenance.
  [[nodiscard]] const std::string& json() const noexcept { return json_; }

  /// `base` with this population's settings: its middle eye.
  /// Throws ScenarioError when the result is no valid scenario.
  [[nodiscard]] Scenario typical(const Scenario& base) const;
  /// Eye number `index` spread about `base` as it is: for an eye whose own settings are known.
  /// Throws ArgumentError for an eye without tissue outside the optic when the population varies that tissue.
  [[nodiscard]] Scenario around(const Scenario& base, std::uint64_t index) const;
  /// Eye number `index` of this population: `around(typical(base), index)`.
  [[nodiscard]] Scenario draw(const Scenario& base, std::uint64_t index) const;
  /// The same eye under another contraction law. What varies keeps its place among the eyes (the same z): the
  /// contraction strength goes over to that law's own field. What has this population's value under the
  /// present law takes its value under the other; what the eye has of its own is kept. So the middle eye
  /// becomes the middle eye, and eye i becomes eye i, of the other law.
  /// Throws ArgumentError for a law it was not fitted for.
  [[nodiscard]] Scenario under(const Scenario& base, std::string_view law) const;

 private:
  struct OfLaw {
    std::string law;
    std::vector<Setting> settings;
    std::vector<Spread> spreads;
  };
  [[nodiscard]] const OfLaw& of_law(std::string_view law) const;
  void refuse_without_bag_tissue(const Spread& spread, const Setting* middle, double value) const;

  std::string name_, edition_, description_, json_;
  double area_error_ = 0;
  std::vector<OfLaw> laws_;
};

/// Names of the populations that come with the library.
[[nodiscard]] std::vector<std::string> population_names();
/// One of them. Throws ArgumentError, with the names there are, for any other name.
[[nodiscard]] const Population& population(std::string_view name);

}  // namespace capsim
