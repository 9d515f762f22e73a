// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// All that a simulation holds between two days, and its way from one to the next. Private to simulation*.cpp.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/cuts.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"
#include "capsim/simulation.hpp"
#include "capsim/version.hpp"
#include "run/eye_parts.hpp"
#include "run/eye_state.hpp"
#include "run/host_watch.hpp"
#include "run/placed_action.hpp"
#include "run/recorder.hpp"
#include "run/run_watcher.hpp"
#include "solve/split_stepper.hpp"
#include "solve/trail.hpp"
#include "text/number_in_text.hpp"

namespace capsim {

/// What is left of a run whose model was not built: no rows, and why.
[[nodiscard]] History never_begun(const Scenario& scenario, const ModelError& why, double seconds);

struct Simulation::Impl {
  static std::string number(double v) { return with_numbers("%.4g", {v}); }

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
  void begin(const ProgressCallback& progress = {}) {
    const HostWatch::Call call = listening(progress);
    if (scenario_.tension_ring) {
      parts_.take_first_ring(*model_, now_);
      watch(&RunWatcher::ring_laid);
    }
    connect();
    (void)settle_and_record(EyeState::Unsettled::day_0);
  }

  [[nodiscard]] HostWatch::Call listening(const ProgressCallback& progress) {
    return {watch_, progress, equilibrium_.counts().work(),
            progress ? recorder_.opening_area_mm2(now_.positions, open_layers_) : 0.0};
  }

  // The first equilibrium after a jump, and the row that shows it. When the host stops it, it is solved when the run
  // goes on.
  bool settle_and_record(EyeState::Unsettled jump) {
    now_.unsettled = jump;
    const bool event = jump == EyeState::Unsettled::event;
    if (!settle(event ? "after the event of day " + number(now_.day) : "at the end of surgery")) return false;
    now_.unsettled = EyeState::Unsettled::nothing;
    record(event ? EventSide::after : next_event_due() ? EventSide::before : EventSide::none);
    return true;
  }

  // Parts, equations and time steps follow the state that was given; a fork and a restored checkpoint begin here.
  void go_on_from_state() {
    parts_.follow(*model_, now_);
    last_report_.residual_mN = now_.residual_mN;
    last_report_.energy = now_.energy;
    connect();
    trail_.restart(now_.day, now_.positions);
    steps_go_on_ = now_.steps.count() > 0;
    if (steps_go_on_) stepper_.resume(now_.day, now_.tissue, now_.steps, now_.next_step_days);
  }

  // The state as it is now, with what equilibrium and time steps hold of it.
  [[nodiscard]] EyeState state_now() const {
    EyeState state = now_;
    if (steps_go_on_)
      state.steps = stepper_.trail();
    else
      state.steps.clear();
    state.residual_mN = last_report_.residual_mN;
    state.energy = last_report_.energy;
    put_counts(equilibrium_.counts(), state.diagnostics);
    find_worst_element(state.diagnostics);
    return state;
  }

  [[nodiscard]] SplitStepper new_stepper() const {
    return {scenario_.numerics.time_tolerance, std::min(scenario_.numerics.max_step_days, 365.0)};
  }

  // Rows from here to the last day: output days, both sides of events, and one of an end that is none of these.
  void reserve_rows() {
    const double days = std::max(scenario_.duration_days - now_.day, 0.0);
    recorder_.reserve(static_cast<std::size_t>(days / scenario_.output_every_days) +
                      2 * (events_.size() - now_.next_event) + 3);
  }

  [[nodiscard]] bool next_event_due() const {
    return now_.next_event < events_.size() && events_[now_.next_event].day < now_.day + same_day;
  }

  [[nodiscard]] static EquilibriumCounts counts_of(const Diagnostics& d) {
    EquilibriumCounts c;
    c.equilibria = d.equilibria;
    c.iterations = d.newton_iterations;
    c.factorizations = d.factorizations;
    c.projected = d.projected_factorizations;
    c.seconds_elements = d.seconds_elements;
    c.seconds_factor = d.seconds_factor;
    c.seconds_solve = d.seconds_solve;
    return c;
  }

  // Work done here, on top of that of the state this simulation began with.
  void put_counts(const EquilibriumCounts& c, Diagnostics& d) const {
    d.equilibria = counted_.equilibria + c.equilibria;
    d.newton_iterations = counted_.iterations + c.iterations;
    d.factorizations = counted_.factorizations + c.factorizations;
    d.projected_factorizations = counted_.projected + c.projected;
    d.seconds_elements = counted_.seconds_elements + c.seconds_elements;
    d.seconds_factor = counted_.seconds_factor + c.seconds_factor;
    d.seconds_solve = counted_.seconds_solve + c.seconds_solve;
    d.work = worked_ + c.work();
  }

  [[nodiscard]] History history() const {
    Diagnostics d = now_.diagnostics;
    put_counts(equilibrium_.counts(), d);
    find_worst_element(d);
    std::string message = now_.message;
    if (message.empty())
      message = now_.day >= scenario_.duration_days - same_day
                    ? "completed " + number(scenario_.duration_days) + " days"
                    : "on its way, day " + number(now_.day);
    return History::assemble(scenario_, now_.status, message, std::string(version()), d,
                             cut_records(*model_, now_.cuts), recorder_.series());
  }

  // A cancelled run goes on as if nobody had asked: the row that shows where it was stopped goes.
  void go_on() {
    if (now_.status != Status::cancelled) return;
    if (now_.row_of_cancel) recorder_.drop_last();
    now_.row_of_cancel = false;
    now_.status = Status::completed;
    now_.message.clear();
  }

  // ---- the course of a run -------------------------------------------------------------------
  // Runs to `day`, with the scenario's events on their days.
  bool run_to(double day, const ProgressCallback& progress) {
    go_on();
    if (now_.status != Status::completed) return false;
    const HostWatch::Call call = listening(progress);
    if (now_.unsettled != EyeState::Unsettled::nothing && !settle_and_record(now_.unsettled)) return false;
    const double last = std::min(day, scenario_.duration_days);
    if (next_event_due() && !recorder_.has_day(now_.day)) record(EventSide::before);  // cancelled on its day
    for (;;) {
      if (next_event_due()) {
        if (!act_on_due_events()) return false;
        continue;
      }
      if (now_.day >= last - same_day) return true;
      const double stop = now_.next_event < events_.size() ? std::min(events_[now_.next_event].day, last) : last;
      if (!advance(stop, progress)) return false;
      if (next_event_due()) record(EventSide::before);
    }
  }

  // Integrates to `stop`, recording the output days on the way (and the last day of the run).
  bool advance(double stop, const ProgressCallback& progress) {
    begin_steps();
    while (now_.day < stop - same_day) {
      if (now_.diagnostics.steps >= scenario_.numerics.max_steps) return end_by_steps();
      if (!step(stop)) return false;
      if (!record_inside_step(stop)) return false;
      now_.day = stepper_.day();
      now_.tissue = stepper_.state();
      const bool last = now_.day >= scenario_.duration_days - same_day;
      const double interval = scenario_.output_every_days;
      const bool due_now = std::abs(now_.day - interval * std::round(now_.day / interval)) < 1e-7;
      // Between rows and stops the positions are those of the step's own equilibrium, for the predicted state.
      const bool wanted = last || due_now || now_.day >= stop - same_day || scenario_.zonule.failure_elongation_mm;
      if (wanted ? !equilibrate(now_.day, now_.tissue) : !put_back()) return end_by_equilibrium("after a time step");
      if (wanted) watch(&RunWatcher::row_at_end);
      now_.diagnostics.last_good_day = now_.day;
      now_.next_step_days = stepper_.next_step();
      if (fail_bundles()) {
        steps_go_on_ = false;
        now_.next_step_days = EyeState::first_step_days;
        if (!settle("after bundles of the zonule failed")) return false;
        begin_steps();
      }
      const bool event_day = next_event_due();
      if (!event_day && (last || due_now)) record(EventSide::none);
      if (progress &&
          !progress({now_.day, scenario_.duration_days, recorder_.opening_area_mm2(now_.positions, open_layers_)})) {
        if (!equilibrate_unasked(now_.day, now_.tissue)) return end_by_equilibrium("after a time step");
        now_.status = Status::cancelled;
        now_.message = "cancelled on day " + number(now_.day);
        if (event_day || !(last || due_now)) record_cancel();
        return false;
      }
    }
    return true;
  }

  // The stepper goes on where it stood unless something has jumped since; positions and factorization start anew, so
  // that a fork and a restored state take the same path.
  void begin_steps() {
    trail_.restart(now_.day, now_.positions);
    equilibrium_.forget_factor();
    if (steps_go_on_) return;
    parts_.stretches(now_.positions, stretches_);
    stepper_.start(now_.day, now_.tissue, stretches_, now_.next_step_days);
    steps_go_on_ = true;
    watch(&RunWatcher::steps_begin);
  }

  // One accepted step; what ended the run when there is none.
  bool step(double stop) {
    const long rejected = stepper_.rejected(), rates = stepper_.rates();
    SplitStepper::Outcome outcome{};
    std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
    try {
      outcome = stepper_.step(stop, rate_, rest_);
    } catch (...) {  // of the host
      go_back();
      throw;
    }
    now_.diagnostics.rejected_steps += stepper_.rejected() - rejected;
    now_.diagnostics.right_hand_sides += stepper_.rates() - rates;
    switch (outcome) {
      case SplitStepper::Outcome::accepted:
        std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
        ++now_.diagnostics.steps;
        watch(&RunWatcher::stepped, stepper_, stop);
        return true;
      case SplitStepper::Outcome::no_rest:
        if (last_report_.end == EquilibriumEnd::interrupted) return cancel_inside_step();
        return end_by_equilibrium("with the smallest time step");
      case SplitStepper::Outcome::non_finite:
        now_.status = Status::non_finite;
        now_.message = "a number in the tissue's state under the law " + name_of_law() + " is not finite after day " +
                       number(now_.day) + "; look for a rate or a weight of contraction that is far from usual";
        keep_last_day();
        return false;
      case SplitStepper::Outcome::step_too_small:
        now_.status = Status::step_too_small;
        now_.message = "the time step fell below 1e-6 day after day " + number(now_.day) +
                       ": the tissue changes faster than the time tolerance of " +
                       number(scenario_.numerics.time_tolerance) + " lets it be followed; try a larger one";
        keep_last_day();
        return false;
    }
    return false;
  }

  // To the last completed step, from the middle of one; the stepper starts anew from there.
  void go_back() {
    (void)put_back();
    steps_go_on_ = false;
  }

  bool cancel_inside_step() {
    go_back();
    now_.status = Status::cancelled;
    now_.message = "cancelled on day " + number(now_.day) + ", inside a time step";
    if (!recorder_.has_day(now_.day) && equilibrate_unasked(now_.day, now_.tissue)) record_cancel();
    return false;
  }

  // A row that the course of the run does not have.
  void record_cancel() {
    record(EventSide::none);
    now_.row_of_cancel = true;
  }

  // Rows on the output days inside the last step, each an equilibrium that is not left half made: the host is asked
  // between them.
  bool record_inside_step(double stop) {
    constexpr double many_rows = 3;
    trail_.forget_row();
    const double interval = scenario_.output_every_days;
    double due = interval * (std::floor(now_.day / interval + 1e-9) + 1);
    // Many rows are nearer to rest when they lie on the way to the rest of the corrected state.
    if (std::min(stepper_.day(), stop) - due > (many_rows - 1) * interval &&
        !equilibrate_unasked(stepper_.day(), stepper_.state()))
      return end_by_equilibrium("after a time step");
    for (; due < stepper_.day() - same_day && due < stop - same_day; due += interval) {
      if (watcher_ != nullptr && watcher_->passes_over_row()) {
        watcher_->passed_over_row();
        continue;
      }
      stepper_.state_at(due, rate_, row_tissue_);
      if (!equilibrate_unasked(due, row_tissue_, true)) return end_by_equilibrium("on output day " + number(due));
      now_.day = due;
      std::swap(now_.tissue, row_tissue_);
      watch(&RunWatcher::row_inside, due);
      record(EventSide::none);
      if (!ask_at_row()) return cancel_at_row();
      std::swap(now_.tissue, row_tissue_);
    }
    return true;
  }

  bool ask_at_row() {
    try {
      return ask();
    } catch (...) {  // of the host
      stay_at_row();
      throw;
    }
  }

  // The state of a row inside the last step is the one to go on from, with steps that start anew.
  void stay_at_row() {
    std::copy(now_.positions.begin(), now_.positions.end(), step_positions_.begin());
    steps_go_on_ = false;
    now_.diagnostics.last_good_day = now_.day;
  }

  bool cancel_at_row() {
    stay_at_row();
    now_.status = Status::cancelled;
    now_.message = "cancelled on day " + number(now_.day);
    return false;
  }

  [[nodiscard]] bool ask() { return watch_.ask(now_.day, scenario_.duration_days, equilibrium_.counts().work()); }

  bool equilibrate_unasked(double day, const std::vector<double>& y, bool inside_step = false) {
    const HostWatch::Quiet quiet(watch_);
    return equilibrate(day, y, inside_step);
  }

  // The positions and parts of the end of the step, after rows inside it.
  bool put_back() {
    std::copy(step_positions_.begin(), step_positions_.end(), now_.positions.begin());
    parts_.put_tissue(now_.tissue);
    parts_.set_day(now_.day);
    return true;
  }

  bool end_by_steps() {
    if (!equilibrate(now_.day, now_.tissue)) return end_by_equilibrium("after a time step");
    now_.status = Status::too_many_steps;
    now_.message = "more than " + std::to_string(scenario_.numerics.max_steps) + " time steps; reached day " +
                   number(now_.day) + "; try more numerics.max_steps";
    if (!recorder_.has_day(now_.day)) record(EventSide::none);
    return false;
  }

  bool rest(double day, const std::vector<double>& y, std::vector<double>& stretches) {
    if (!equilibrate(day, y)) return false;
    parts_.stretches(now_.positions, stretches);
    if (watcher_ != nullptr) watcher_->tried(y, now_.positions);
    return true;
  }

  // Equilibrium at a given day and tissue state, from the positions that the ones before lead to.
  bool equilibrate(double day, const std::vector<double>& y, bool inside_step = false) {
    parts_.put_tissue(y);
    parts_.set_day(day);
    if (inside_step) {
      trail_.between(day, now_.positions);
    } else {
      trail_.cut(day);
      trail_.extrapolate(day, now_.positions);
    }
    find_rest();
    if (ended_for_good(last_report_.end)) return false;
    if (!last_report_.converged()) {
      trail_.latest(now_.positions);  // the extrapolation may have overshot
      find_rest();
      if (!last_report_.converged()) return false;
    }
    now_.diagnostics.max_newton_iterations =
        std::max<long>(now_.diagnostics.max_newton_iterations, last_report_.iterations);
    if (inside_step)
      trail_.push_row(day, now_.positions);
    else
      trail_.push(day, now_.positions);
    return true;
  }

  void find_rest() {
    last_report_ = equilibrium_.solve(now_.positions);
    Diagnostics& d = now_.diagnostics;
    // Not a number where nobody looked; an ordered comparison with it would trap in a host that traps.
    if (last_report_.converged() && !std::isnan(last_report_.least_pivot_mN_per_mm))
      d.least_pivot_mN_per_mm = last_report_.least_pivot_mN_per_mm;
    d.saddles_left += last_report_.saddles_left;
  }

  static bool ended_for_good(EquilibriumEnd end) {
    return end == EquilibriumEnd::interrupted || end == EquilibriumEnd::too_much_work;
  }

  // ---- events --------------------------------------------------------------------------------
  bool act_on_due_events() {
    const std::size_t first = now_.next_event;
    while (next_event_due()) ++now_.next_event;
    return act(std::span(events_).subspan(first, now_.next_event - first), first);
  }

  // Acts on the eye today, finds its rest and records it: the one way for events of the scenario and for the caller's
  // actions.
  bool act(std::span<const PlacedAction> actions, std::size_t first_event = 0) {
    for (const PlacedAction& placed : actions) {
      for (const std::size_t cut : placed.cuts) open_cut(cut);
      if (const auto* damage = std::get_if<ZonuleDamage>(&placed.action))
        parts_.damage_zonule(scenario_, *damage, now_);
      else if (const auto* ring = std::get_if<TensionRingSpec>(&placed.action))
        parts_.insert_ring(*model_, *ring, now_);
      else if (const auto* change = std::get_if<ContractionChange>(&placed.action))
        parts_.change_contraction(*change, now_);
    }
    watch(&RunWatcher::acted, first_event, actions.size());
    connect();
    now_.next_step_days = EyeState::first_step_days;
    steps_go_on_ = false;
    return settle_and_record(EyeState::Unsettled::event);
  }

  void open_cut(std::size_t planned) {
    const PlannedCut& cut = model_->cuts()[planned];
    now_.cuts.push_back(
        {planned, length_along_leaf_mm(model_->mesh(), now_.positions, cut.line, cut.layers), now_.day});
    open_layers_ = open_layers(*model_, now_.cuts);
  }

  bool fail_bundles() {
    if (!scenario_.zonule.failure_elongation_mm) return false;
    bool any = false;
    while (parts_.fail_bundles(*scenario_.zonule.failure_elongation_mm, now_)) {
      any = true;
      equilibrium_.forget_factor();
      find_rest();
      if (!last_report_.converged()) break;
    }
    return any;
  }

  // ---- the system ----------------------------------------------------------------------------
  void connect() {
    list_.clear();
    parts_.each([this](Part& part) { list_.push_back(&part); });
    parts_.set_day(now_.day);  // a row recorded before the next step sees the lens of today
    const bool ring = parts_.ring() != nullptr;
    equilibrium_.settings().tolerance_mN = now_.diagnostics.tolerance_mN;
    equilibrium_.settings().shift_mN_per_mm = 1e-8 * model_->force_scale_mN();
    equilibrium_.settings().step_cap_mm = ring ? 0.1 : 0.2;
    // The stiff wire leaves a kept factorization quickly behind.
    equilibrium_.settings().max_work = share_of_one * scenario_.numerics.max_work;
    equilibrium_.settings().all_work = scenario_.numerics.max_work - worked_;
    equilibrium_.watch([this] { return ask(); });
    equilibrium_.share_patterns(model_->patterns());
    equilibrium_.set_system(list_, model_->dof_map(open_layers_, parts_.lens() != nullptr, ring));
    reserve_rows();
  }

  // Equilibrium after a jump.
  bool settle(std::string_view when) {
    parts_.put_tissue(now_.tissue);
    parts_.set_day(now_.day);
    equilibrium_.forget_factor();
    find_rest();
    if (!last_report_.converged()) return end_by_equilibrium(when);
    if (fail_bundles() && !last_report_.converged())
      return end_by_equilibrium("after bundles of the zonule failed, " + std::string(when));
    now_.diagnostics.last_good_day = now_.day;
    trail_.restart(now_.day, now_.positions);
    watch(&RunWatcher::settled);
    return true;
  }

  bool end_by_equilibrium(std::string_view when) {
    if (last_report_.end == EquilibriumEnd::interrupted) {
      now_.status = Status::cancelled;
      now_.message = "cancelled " + std::string(when) + ", on day " + number(now_.day);
      return false;
    }
    find_worst_element(now_.diagnostics);
    now_.status = status_of(last_report_);
    const std::string failed = what_failed() + " " + std::string(when), why = why_it_failed(), remedy = what_to_try();
    keep_last_day();
    now_.message = failed + " (last good day " + number(now_.diagnostics.last_good_day) + "): " + why + "; " + remedy;
    return false;
  }

  /// The part, other than a leaf, whose numbers spoilt the last try; a leaf may fold.
  [[nodiscard]] static const Part* part_at_fault(const EquilibriumReport& report) noexcept {
    return dynamic_cast<const Leaf*>(report.not_finite) == nullptr ? report.not_finite : nullptr;
  }

  // An energy without end is a fold in a leaf, and a shape that is not allowed elsewhere.
  [[nodiscard]] static Status status_of(const EquilibriumReport& report) noexcept {
    switch (report.end) {
      case EquilibriumEnd::folded:
        return part_at_fault(report) == nullptr ? Status::folded_element : Status::no_equilibrium;
      case EquilibriumEnd::not_finite:
        return Status::non_finite;
      case EquilibriumEnd::too_much_work:
        return Status::too_much_work;
      default:
        return Status::no_equilibrium;
    }
  }

  [[nodiscard]] bool tissue_is_finite() const {
    return std::all_of(now_.tissue.begin(), now_.tissue.end(), [](double v) { return std::isfinite(v); });
  }

  [[nodiscard]] std::string name_of_law() const { return '"' + std::string(parts_.law()->name()) + '"'; }

  // The row of the last day that was reached, where the failed step began and no row is yet.
  void keep_last_day() {
    if (recorder_.rows() == 0 || recorder_.has_day(now_.day) || now_.unsettled != EyeState::Unsettled::nothing) return;
    const EquilibriumReport failed = last_report_;
    const Status status = now_.status;
    EquilibriumSettings& settings = equilibrium_.settings();
    const EquilibriumSettings kept = settings;
    settings.max_work = work_for_last_day;
    settings.all_work = equilibrium_.counts().work() + 2 * work_for_last_day;
    const HostWatch::Quiet quiet(watch_);
    static_cast<void>(put_back());
    if (equilibrate(now_.day, now_.tissue)) {
      now_.diagnostics.last_good_day = now_.day;
      record(EventSide::none);
    } else {
      static_cast<void>(put_back());
    }
    settings = kept;
    last_report_ = failed;
    now_.status = status;
  }

  [[nodiscard]] std::string what_failed() const {
    switch (now_.status) {
      case Status::folded_element:
        return "an element would fold";
      case Status::non_finite:
        if (!tissue_is_finite()) return "the state that the law " + name_of_law() + " has given is not finite";
        if (const Part* part = last_report_.not_finite)
          return "a force or energy of the part \"" + std::string(part->name()) + "\" is not a number";
        return "the stiffness is not a finite number";
      case Status::too_much_work: {
        const bool all = worked_ + equilibrium_.counts().work() >= scenario_.numerics.max_work;
        return std::string(all ? "the run took more than " : "one equilibrium took more than a tenth of ") +
               "numerics.max_work = " + number(scenario_.numerics.max_work) + " factorizations";
      }
      default:
        return "no equilibrium was found";
    }
  }

  // With the place where the leaf gives a hint of it.
  [[nodiscard]] std::string why_it_failed() const {
    if (!tissue_is_finite()) return "the part that it drives has no force";
    if (const Part* part = part_at_fault(last_report_))
      return "the part \"" + std::string(part->name()) + "\" " +
             (now_.status == Status::non_finite ? "gave it"
                                                : "has an energy without end at the shapes that were tried");
    std::string text = now_.status == Status::too_much_work ? "the eye is near a state in which it turns or gives way"
                       : last_report_.end == EquilibriumEnd::folded || last_report_.end == EquilibriumEnd::not_finite
                           ? "no step on the way to rest left all elements whole"
                           : "unbalanced force " + number(last_report_.residual_mN) + " mN against a limit of " +
                                 number(now_.diagnostics.tolerance_mN) + " mN";
    return text + "; the most distorted element lies at " + number(now_.diagnostics.worst_element_hour) +
           " o'clock with " + number(now_.diagnostics.worst_element_ratio) + " of its area";
  }

  [[nodiscard]] std::string what_to_try() const {
    if (!tissue_is_finite()) return "look at that law";
    if (part_at_fault(last_report_) != nullptr) return "look at that part";
    switch (now_.status) {
      case Status::folded_element:
        return "try a finer or a coarser mesh.level, or a softer edge of the tissue (contraction.edge_width_mm)";
      case Status::non_finite:
        return "look for a number of the scenario that is far from usual";
      case Status::too_much_work:
        return "try more numerics.max_work or another mesh.level";
      default:
        return "try another mesh.level, or less contraction or pull";
    }
  }

  void find_worst_element(Diagnostics& d) const {
    const Patch& leaf = model_->mesh().anterior();
    double worst = 1e9;
    for (int e = 0; e < leaf.elements(); ++e)
      for (int q = 0; q < leaf.points_per_element; ++q) {
        const auto f = deformation_gradient(leaf, now_.positions, e, q);
        const double ratio = f[0] * f[3] - f[1] * f[2];
        if (ratio < worst) {
          worst = ratio;
          const Point p = leaf.at(now_.positions, e, q);
          d.worst_element_hour = hour_of_angle(std::atan2(p[1], p[0]));
        }
      }
    d.worst_element_ratio = worst;
  }

  void record(EventSide side) {
    Snapshot s = parts_.seen();
    s.day = now_.day;
    s.side = side;
    s.x = now_.positions;
    s.parts = list_;
    s.open_layers = open_layers_;
    s.energy = last_report_.energy;
    s.residual_mN = last_report_.residual_mN;
    now_.diagnostics.residual_mN = last_report_.residual_mN;
    recorder_.record(s);
    watch(&RunWatcher::recorded, side);
  }

  /// Tells the watcher, if there is one.
  template <class... Parameters, class... Arguments>
  void watch(void (RunWatcher::*tell)(const RunWatcher::Eye&, Parameters...), Arguments&&... arguments) {
    if (watcher_ != nullptr) (watcher_->*tell)({now_, parts_, open_layers_}, std::forward<Arguments>(arguments)...);
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
