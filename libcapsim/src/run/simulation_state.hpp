// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// All that a simulation holds between two days, and its way from one to the next. Private to simulation*.cpp.
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "run/eye_parts.hpp"
#include "run/eye_state.hpp"
#include "run/host_watch.hpp"
#include "run/placed_action.hpp"
#include "run/recorder.hpp"
#include "run/run_watcher.hpp"
#include "solve/split_stepper.hpp"
#include "solve/trail.hpp"

namespace capsim {

/// What is left of a run whose model was not built: no rows, and why.
[[nodiscard]] History never_begun(const Scenario& scenario, const ModelError& why, double seconds);

struct Simulation::Impl {
  // As messages show it.
  [[nodiscard]] static std::string number(double v);

  /// While it lives, a function changes the simulation; another one, called from inside it, is refused.
  class AtWork {
   public:
    AtWork(Impl& simulation, const char* function) : simulation_(simulation) {
      if (simulation_.at_work_ != nullptr)
        throw ArgumentError(std::string(function) + " was called from inside " + simulation_.at_work_ +
                            " of the same simulation");
      simulation_.at_work_ = function;
    }
    ~AtWork() { simulation_.at_work_ = nullptr; }
    AtWork(const AtWork&) = delete;
    AtWork& operator=(const AtWork&) = delete;

   private:
    Impl& simulation_;
  };

  Impl(std::shared_ptr<const Model> model, EyeParts parts, Recorder recorder, EyeState state)
      : model_(std::move(model)),
        scenario_(model_->scenario()),
        events_(placed_events(*model_)),
        parts_(std::move(parts)),
        recorder_(std::move(recorder)),
        now_(std::move(state)),
        counted_(counts_of(now_.diagnostics)),
        worked_(now_.diagnostics.work),
        open_layers_(open_layers(*model_, now_.cuts)),
        stepper_(new_stepper()),
        row_tissue_(now_.tissue),
        step_positions_(now_.positions),
        stretches_(parts_.stretch_count()) {}

  // The rest at the end of surgery, and day 0.
  void begin(const ProgressCallback& progress = {});

  [[nodiscard]] HostWatch::Call listening(const ProgressCallback& progress);

  // The first equilibrium after a jump, and the row that shows it. When the host stops it, it is solved when the run
  // goes on.
  bool settle_and_record(EyeState::Unsettled jump);

  // Parts, equations and time steps follow the state that was given; a fork and a restored checkpoint begin here.
  void go_on_from_state();

  // The state as it is now, with what equilibrium and time steps hold of it.
  [[nodiscard]] EyeState state_now() const;

  [[nodiscard]] SplitStepper new_stepper() const;

  // Rows from here to the last day: output days, both sides of events, and one of an end that is none of these.
  void reserve_rows();

  [[nodiscard]] bool next_event_due() const;

  [[nodiscard]] static EquilibriumCounts counts_of(const Diagnostics& d);

  // Work done here, on top of that of the state this simulation began with.
  void put_counts(const EquilibriumCounts& c, Diagnostics& d) const;

  [[nodiscard]] History history() const;

  // A cancelled run goes on as if nobody had asked: the row that shows where it was stopped goes.
  void go_on();

  // ---- the course of a run -------------------------------------------------------------------
  // Runs to `day`, with the scenario's events on their days.
  bool run_to(double day, const ProgressCallback& progress);

  // Integrates to `stop`, recording the output days on the way (and the last day of the run).
  bool advance(double stop, const ProgressCallback& progress);

  // The stepper goes on where it stood unless something has jumped since; positions and factorization start anew, so
  // that a fork and a restored state take the same path.
  void begin_steps();

  // One accepted step; what ended the run when there is none.
  bool step(double stop);

  // To the last completed step, from the middle of one; the stepper starts anew from there.
  void go_back();

  bool cancel_inside_step();

  // A row that the course of the run does not have.
  void record_cancel();

  // Rows on the output days inside the last step, each an equilibrium that is not left half made: the host is asked
  // between them.
  bool record_inside_step(double stop);

  bool ask_at_row();

  // The state of a row inside the last step is the one to go on from, with steps that start anew.
  void stay_at_row();

  bool cancel_at_row();

  [[nodiscard]] bool ask() {
    return watch_.ask(now_.day, scenario_.duration_days, equilibrium_.counts().work(), equilibrium_.dofs());
  }

  bool equilibrate_unasked(double day, const std::vector<double>& y, bool inside_step = false);

  // The positions and parts of the end of the step, after rows inside it.
  bool put_back();

  bool end_by_steps();

  bool rest(double day, const std::vector<double>& y, std::vector<double>& stretches);

  // Equilibrium at a given day and tissue state, from the positions that the ones before lead to.
  bool equilibrate(double day, const std::vector<double>& y, bool inside_step = false);

  void find_rest();

  static bool ended_for_good(EquilibriumEnd end);

  // ---- events --------------------------------------------------------------------------------
  bool act_on_due_events();

  // Acts on the eye today, finds its rest and records it: the one way for events of the scenario and for the caller's
  // actions.
  bool act(std::span<const PlacedAction> actions, std::size_t first_event = 0);

  void open_cut(std::size_t planned);

  bool fail_bundles();

  // ---- the system ----------------------------------------------------------------------------
  void connect();

  // Equilibrium after a jump.
  bool settle(std::string_view when);

  bool end_by_equilibrium(std::string_view when);

  /// The part, other than a leaf, whose numbers spoilt the last try; a leaf may fold.
  [[nodiscard]] static const Part* part_at_fault(const EquilibriumReport& report) noexcept;

  // An energy without end is a fold in a leaf, and a shape that is not allowed elsewhere.
  [[nodiscard]] static Status status_of(const EquilibriumReport& report) noexcept;

  [[nodiscard]] bool tissue_is_finite() const;

  [[nodiscard]] std::string name_of_law() const { return '"' + std::string(parts_.law()->name()) + '"'; }

  // The row of the last day that was reached, where the failed step began and no row is yet.
  void keep_last_day();

  [[nodiscard]] std::string what_failed() const;

  // With the place where the leaf gives a hint of it.
  [[nodiscard]] std::string why_it_failed() const;

  [[nodiscard]] std::string what_to_try() const;

  void find_worst_element(Diagnostics& d) const;

  void record(EventSide side);

  /// Tells the watcher, if there is one.
  template <class... Parameters, class... Arguments>
  void watch(void (RunWatcher::*tell)(const RunWatcher::Eye&, Parameters...), Arguments&&... arguments) {
    if (watcher_ != nullptr)
      (watcher_->*tell)({now_, parts_, open_layers_, recorder_.series()}, std::forward<Arguments>(arguments)...);
  }

  static constexpr double share_of_one = 0.1;      // of the budget, for one equilibrium
  static constexpr double work_for_last_day = 16;  // factorizations, on top of a budget that may be spent

  std::shared_ptr<const Model> model_;
  const Scenario& scenario_;
  std::vector<PlacedAction> events_;  // by day
  EyeParts parts_;
  Recorder recorder_;
  EyeState now_;
  EquilibriumCounts counted_;      // of the state this simulation began with
  double worked_;                  // likewise, in factorizations, the unloaded shape included
  RunWatcher* watcher_ = nullptr;  // null: nobody goes along
  const char* at_work_ = nullptr;  // the function that changes it right now
  // All below follows from the state or is memory.
  std::vector<Part*> list_;  // the parts as the equations have them
  std::vector<int> open_layers_;
  Equilibrium equilibrium_;
  EquilibriumReport last_report_;
  HostWatch watch_;
  Trail trail_;
  SplitStepper stepper_;
  bool steps_go_on_ = false;  // the stepper's equilibria are those of the parts as they are
  std::vector<double> row_tissue_, step_positions_, stretches_;
  // Bound once: a run makes no functions.
  const SplitStepper::Rate rate_ = [this](double day, const auto& tissue, const auto& stretches, auto& change) {
    parts_.tissue_rate(day, tissue, stretches, change);
  };
  const SplitStepper::Rest rest_ = [this](double day, const auto& tissue, auto& stretches) {
    return rest(day, tissue, stretches);
  };
};

/// Refuses a model or parts that are not there.
inline void refuse_null(const std::shared_ptr<const Model>& model, const SimulationExtras& extras) {
  if (!model) throw ArgumentError("the model is null");
  for (std::size_t k = 0; k < extras.parts.size(); ++k)
    if (!extras.parts[k]) throw ArgumentError("part " + std::to_string(k) + " of the extras is null");
}

/// The host's law, or that of the scenario.
inline std::shared_ptr<const ContractionLaw> law_of(const Scenario& scenario, const SimulationExtras& extras) {
  return extras.law ? extras.law : std::shared_ptr<const ContractionLaw>(make_contraction_law(scenario.contraction));
}

}  // namespace capsim
