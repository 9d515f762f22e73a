// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Running a scenario: the only place where something changes with time.
///
/// Model.   The tissue's state y (contraction law) is integrated by the Dormand-Prince 5(4) method;
///          its rate needs the fibres' stretches, hence the equilibrium at that state, found by
///          warm-started Newton iterations: an index-1 differential-algebraic system.
/// Guards.  Every try is checked for finite numbers before it is believed; a failed equilibrium or a
///          non-finite state is a rejected step, and a step below the smallest ends the run with a
///          status. Events stop the integrator exactly on their day.
/// Traps.   Infinities carry meaning here and NaNs are looked for, but no operation of a run that succeeds divides by
///          zero, overflows or is invalid: a host in which those trap (feenableexcept) is not hit. One that fails may
///          be: mask traps around calls (feholdexcept, fesetenv) where that can't be ruled out.

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "capsim/error.hpp"
#include "capsim/history.hpp"
#include "capsim/runaway.hpp"
#include "capsim/scenario.hpp"

namespace capsim {

class ContractionLaw;
class Model;
class ModelLibrary;
class Part;

/// What a progress callback is told.
struct Progress {
  double day = 0;
  double duration_days = 0;
  double opening_area_mm2 = 0;
};

/// Called after every time step, and now and then inside a long one, in the first equilibrium and in the search for
/// the unloaded shape (with the day and area reached by then, 0 while there is none), from the thread that runs the
/// simulation; false cancels the run. An observer may read the simulation that calls it (day, positions, tissue,
/// history so far), and must not change it.
using ProgressCallback = std::function<bool(const Progress&)>;

/// How an advance came out.
enum class Advance {
  reached,    ///< The day asked for, or the scenario's last.
  cancelled,  ///< The callback said no. A further call goes on.
  ended       ///< For a numerical reason, see status() and message(): nothing more can be done.
};
/// "reached", "cancelled" or "ended".
[[nodiscard]] std::string_view to_word(Advance how) noexcept;

/// What a host adds to a simulation from outside the library.
///
/// A null part, or one whose cliques do not lie in the model (made for another mesh), is refused with ArgumentError, as
/// is a Hessian of a clique that was not reported. A run that ends over a number of a part or a law names it.
struct SimulationExtras {
  /// Further terms of the energy, on the coordinates of the model's mesh; see part.hpp.
  std::vector<std::shared_ptr<const Part>> parts;
  /// Replaces the contraction law named by the scenario; see contraction_law.hpp.
  std::shared_ptr<const ContractionLaw> law;
};

/// Bytes that are no checkpoint, are damaged, or belong to another version, scenario or model; the text says which.
class CheckpointError : public Error {
 public:
  using Error::Error;
};

/// One eye on its way through time: advance it, act on it, copy it to compare two futures.
///
/// The scenario's own events happen on their day; `apply` adds further ones on the day reached.
/// A copy is a fork: it owns its state, shares only the immutable model, and both go on
/// independently. Distinct simulations may be used from distinct threads.
/// ArgumentError: of every function on a Simulation that was moved from, and of one that changes it when it is called
/// from inside another (from a callback, a part or a law).
class Simulation {
 public:
  /// Puts the eye to rest at the end of surgery and records day 0. A rest state that is not found
  /// is a status, not an exception.
  explicit Simulation(std::shared_ptr<const Model> model, SimulationExtras extras = {},
                      const ProgressCallback& progress = {});
  Simulation(const Simulation& other);
  Simulation& operator=(const Simulation& other);
  Simulation(Simulation&&) noexcept;
  Simulation& operator=(Simulation&&) noexcept;
  ~Simulation();

  /// Advances to `day` (at most the scenario's last day; earlier than day() does nothing), records
  /// output days and both sides of events on the way. Throws ArgumentError when `day` is not a number.
  /// What the callback throws passes through; the simulation stays at the last step it completed.
  Advance advance_to(double day, const ProgressCallback& progress = {});

  /// Acts on the eye today: relaxing cuts (each must lie on a cut line the model was built with),
  /// damage to the zonule, or a tension ring (a ring must be foreseen in the model). Both sides are
  /// recorded. False when the eye has not found a new rest, or had ended before. Throws ScenarioError for an action
  /// the model does not allow and leaves the eye as it was. Where `progress` says no, the status is `cancelled`, the
  /// action is done, and its rest is found when the simulation goes on.
  bool apply(const Action& action, const ProgressCallback& progress = {});

  [[nodiscard]] double day() const;
  /// `completed` as long as nothing went wrong.
  [[nodiscard]] Status status() const;
  [[nodiscard]] const std::string& message() const;
  [[nodiscard]] const Model& model() const;
  [[nodiscard]] double opening_area_mm2() const;
  /// How far the eye of today is from runaway, see runaway.hpp. Costs about ten equilibria; the
  /// simulation itself is left as it is.
  [[nodiscard]] RunawayMargin runaway_margin() const;
  /// Coordinates of all nodes, optic and ring, as Model numbers them.
  [[nodiscard]] std::span<const double> positions() const;
  /// State of the contraction law, see ContractionLaw; empty when no tissue can form.
  [[nodiscard]] std::span<const double> tissue_state() const;
  /// The law under which the tissue at the rim goes on from today.
  [[nodiscard]] const ContractionLaw& law() const;
  /// Everything recorded so far.
  [[nodiscard]] History history() const;

  /// The complete state as bytes. Going on from here and going on from a restored copy give the
  /// same results bit for bit (on the same build). Not const: both start with a fresh factorization.
  [[nodiscard]] std::string checkpoint();
  /// Continues from a checkpoint of a simulation of the same scenario and version. Throws
  /// CheckpointError when the bytes are no checkpoint or belong to another scenario.
  [[nodiscard]] static Simulation restore(std::shared_ptr<const Model> model, const std::string& bytes,
                                          SimulationExtras extras = {});
  /// Throws CheckpointError when the bytes are no checkpoint, are damaged, or are of another version: what their seal
  /// tells, before a model is built for them. `restore` looks by itself.
  static void check_checkpoint(std::string_view bytes);
  /// Memory held by this simulation, without the shared model [bytes].
  [[nodiscard]] std::size_t memory_bytes() const;

 private:
  friend class WatchedRun;
  struct Impl;
  [[nodiscard]] Impl& held() const;  // refuses one that was moved from
  explicit Simulation(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

/// Runs a scenario from the end of surgery to its last day.
/// Throws ScenarioError for wrong input; every numerical outcome is in the history's status.
/// What the callback throws passes through. A `library` lends what earlier runs have found, see model_library.hpp.
[[nodiscard]] History simulate(const Scenario& scenario, const ProgressCallback& progress = {},
                               const std::shared_ptr<ModelLibrary>& library = nullptr);

/// The same with what a host adds.
[[nodiscard]] History simulate(const Scenario& scenario, SimulationExtras extras,
                               const ProgressCallback& progress = {});

/// The same for a model that was built before; the model may be shared between threads.
[[nodiscard]] History simulate(std::shared_ptr<const Model> model, const ProgressCallback& progress = {});

/// A run, and how far its eye is from runaway on the last day.
struct RunWithMargin {
  History history;
  std::optional<RunawayMargin> margin;  ///< None when the last day was not reached.
};

/// `simulate` and, once the last day is reached, Simulation::runaway_margin; 5 to 20 % of the run on top.
[[nodiscard]] RunWithMargin simulate_with_margin(const Scenario& scenario, const ProgressCallback& progress = {},
                                                 const std::shared_ptr<ModelLibrary>& library = nullptr);

}  // namespace capsim
