// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Derivatives of a run by the numbers of its scenario.
///
/// Model.   The derivative of the discrete solution itself: of the run with the very steps in time that it took, its
///          unloaded shape and its equilibria included, by the implicit function theorem. One run gives the derivatives
///          of every outcome and series by every parameter, without a step size to choose and without the noise of
///          differences between runs, whose steps and tolerances differ.
/// By what. Any real number of the scenario by its dotted path (`contraction.signal_days`, `opening.diameter_mm`,
///          `events[0].relaxing_cuts.length_mm`). Each clock hour of values by hour is one parameter
///          (`zonule.strength_by_hour.4`), listed or not. Refused by name: what shapes the mesh or the method (`mesh`,
///          `numerics`, rows and days of the run), hours of cuts and of a ring's eyelet, events that share their day,
///          zonules whose bundles fail, and cells or tissue at zero where none can form.
/// Kinks.   Where a bundle goes slack, a leaf wrinkles, a contact opens, or another chord becomes the smallest, the
///          derivative is that of the branch the run has taken. nearest_slack, nearest_wrinkle, nearest_contact and
///          nearest_jump say how far that is from changing; kinks_passed, how often it changed on the way. Of hours,
///          meridians and points that tie for the largest or smallest number the one counts that is ahead at a larger
///          value of the parameter, and where it is has no derivative.
/// Host.    Parts and laws of a host go along: made anew for the eye beside each parameter, and differenced, or told by
///          a derivative of their own.
/// Reference. Theory: section 16.

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/history.hpp"
#include "capsim/kinks.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/scenario.hpp"
#include "capsim/simulation.hpp"

namespace capsim {

/// A number of the scenario by which derivatives were taken.
struct SensitivityParameter {
  std::string path;
  std::string unit;
  double value = 0;
  bool one_sided = false;  ///< At the low end of what it may be: towards larger values.
  /// Change of the parameter, to first order, that reaches the next kink of a kind (kinks.hpp) on day 0, on either side
  /// of an event, or on the last day: a bundle of the zonule goes slack or taut; infinity: none does.
  double nearest_slack = 0;
  double nearest_wrinkle = 0;  ///< Likewise: a point of a leaf or of tissue goes slack, wrinkles or gets taut.
  double nearest_contact = 0;  ///< Likewise: a haptic or a tension ring begins or ends to press.
  double nearest_jump = 0;     ///< Likewise: another meridian, place or hour has the smallest or the largest of a row.
};

/// The derivative of the forces of one of the host's parts by the parameter with that path: added to `rate` (mN per
/// unit of the parameter, one for each coordinate) at held positions x, `part` counting from 0 in the order of the
/// extras and `here` being the run's copy of it, on its day. False: it is not known, and the part is differenced.
using HostForceRate = std::function<bool(std::string_view path, std::size_t part, const Part& here,
                                         std::span<const double> x, std::span<double> rate)>;

struct SensitivityOptions {
  std::vector<std::string> series;  ///< Series whose derivatives are asked for.
  bool outcomes = true;
  /// Days on which those series are asked for: rows on either side of each are differentiated, and no others but some
  /// of outcomes (NaN). Empty: every row. Without outcomes the history need not have other rows, and derivatives are
  /// those of a run that does not come to rest for them (within the time tolerance of others).
  std::vector<double> series_days = {};
  /// Called while the model and its neighbours are made (day 0), as that of `simulate` in the run, and where it is gone
  /// through once more, beside its neighbours, at every step. False ends it: `message` says so, the history is what
  /// there was, and all derivatives are missing (NaN).
  ProgressCallback progress = {};
  /// Unloaded shapes and patterns of equations that were found before, for many runs of similar eyes (a fit); no digit
  /// depends on it. Null: none.
  std::shared_ptr<ModelLibrary> library = {};
  /// What a host adds to the eye, made for the model it is called with: that of the run, then those of the eyes beside
  /// it, whose scenarios differ in one parameter and whose meshes lie a hair elsewhere. As many parts each time. Null:
  /// nothing.
  std::function<SimulationExtras(const Model& model)> extras = {};
  /// What the host's parts tell of their own derivatives. Null: they are differenced, as its law is.
  HostForceRate host_force_rate = {};
};

struct Sensitivities {
  History history;    ///< The run itself, as `simulate` gives it; see series_days.
  Outcomes outcomes;  ///< Of that run, when they are asked for.
  std::vector<SensitivityParameter> parameters;
  /// Derivative of outcome o by parameter p at [o * parameters + p]; NaN where an outcome is not there on both sides,
  /// or is a clock hour that jumps or ties with another.
  std::vector<double> by_outcome;
  /// Derivatives of one series: [(row * columns + column) * parameters + p].
  struct OfSeries {
    std::string name;
    std::size_t columns = 1;
    std::vector<double> values;
  };
  std::vector<OfSeries> by_series;
  /// Kinks that the run went through between its rests: derivatives jump there in time, so that beside them they hang
  /// on where the steps lie (decisions/tangent_of_a_run.md).
  KinkCounts kinks_passed;
  /// Empty, or why derivatives are missing (NaN) from some day on.
  std::string message;
};

/// Throws as `sensitivities` would for these parameters, before any run; meshes alone are not looked at.
void check_sensitivity_parameters(const Scenario& scenario, std::span<const std::string> parameters);

/// Runs the scenario and differentiates the run. Throws ScenarioError for a wrong scenario, and for parameters that are
/// not there or that the run can't be differentiated by; ArgumentError for an unknown series, and for what decides the
/// unloaded shape of an eye whose opening can't lie as stated (Model::outline_off_mm).
[[nodiscard]] Sensitivities sensitivities(const Scenario& scenario, std::span<const std::string> parameters,
                                          const SensitivityOptions& options = {});

}  // namespace capsim
