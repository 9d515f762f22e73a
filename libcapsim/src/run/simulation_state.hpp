// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// All that a simulation holds between two days, and its way from one to the next. Private to simulation*.cpp.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capsim/cuts.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"
#include "capsim/simulation.hpp"
#include "capsim/version.hpp"
#include "run/recorder.hpp"
#include "solve/split_stepper.hpp"
#include "solve/trail.hpp"
#include "text/number_in_text.hpp"

namespace capsim {

struct Simulation::Impl {
  /// What still has to come to rest, because the host stopped it there.
  enum class Unsettled { nothing, day_0, event };

  static std::string number(double v) { return with_numbers("%.4g", {v}); }

  Impl(std::shared_ptr<const Model> model, SimulationExtras extras)
      : model_(std::move(model)),
        scenario_(model_->scenario()),
        extras_(std::move(extras)),
        recorder_(*model_),
        zonule_spec_(scenario_.zonule),
        stepper_(new_stepper()) {
    anterior_ = model_->make_anterior_leaf();
    posterior_ = model_->make_posterior_leaf();
    zonule_ = model_->make_zonule(zonule_spec_);
    backing_ = model_->make_backing();
    tissue_ = model_->make_fibrous_tissue();
    lens_ = model_->make_lens();
    law_ =
        extras_.law ? extras_.law : std::shared_ptr<const ContractionLaw>(make_contraction_law(scenario_.contraction));
    for (const auto& part : extras_.parts) more_.push_back(part->clone());
    open_layers_.assign(model_->mesh().plan().cuts.size(), 0);
    x_ = model_->rest_as_stated();
    x_.resize(static_cast<std::size_t>(model_->coordinates()), 0.0);
    if (tissue_) {
      y_.assign(law_->variables() * tissue_->points(), 0.0);
      law_->start(model_->initial_cells(), y_);
      stretches_.resize(fibre_families * tissue_->points());
    } else {
      y_.assign(1, 0.0);
    }
    y_output_ = y_;
    x_of_step_ = x_;
    events_ = scenario_.events;
    std::stable_sort(events_.begin(), events_.end(), [](const Event& a, const Event& b) { return a.day < b.day; });
    diagnostics_.tolerance_mN = scenario_.numerics.force_tolerance * model_->force_scale_mN();
  }

  [[nodiscard]] SplitStepper new_stepper() const {
    return {scenario_.numerics.time_tolerance, std::min(scenario_.numerics.max_step_days, 365.0)};
  }

  // Rows from here to the last day: output days, both sides of events, and one of an end that is none of these.
  void reserve_rows() {
    const double days = std::max(scenario_.duration_days - day_, 0.0);
    recorder_.reserve(static_cast<std::size_t>(days / scenario_.output_every_days) +
                      2 * (events_.size() - next_event_) + 3);
  }

  // A fork: own parts in the same state, the same positions and records, a fresh factorization.
  Impl(const Impl& other)
      : model_(other.model_),
        scenario_(model_->scenario()),
        extras_(other.extras_),
        recorder_(other.recorder_),
        zonule_spec_(other.zonule_spec_),
        law_(other.law_),
        counted_(other.counts()),
        last_report_(other.last_report_),
        open_layers_(other.open_layers_),
        cuts_(other.cuts_),
        events_(other.events_),
        next_event_(other.next_event_),
        day_(other.day_),
        next_step_(other.next_step_),
        stepper_(new_stepper()),
        steps_go_on_(other.steps_go_on_),
        x_(other.x_),
        x_of_step_(other.x_),
        y_(other.y_),
        y_output_(other.y_),
        stretches_(other.stretches_),
        diagnostics_(other.diagnostics_),
        ring_spec_(other.ring_spec_),
        ring_day_(other.ring_day_),
        status_(other.status_),
        message_(other.message_),
        unsettled_(other.unsettled_) {
    const auto copy = [](const auto& part) {
      using Kind = std::remove_cvref_t<decltype(*part)>;
      return part ? std::make_unique<Kind>(*part) : nullptr;
    };
    anterior_ = copy(other.anterior_);
    posterior_ = copy(other.posterior_);
    zonule_ = copy(other.zonule_);
    backing_ = copy(other.backing_);
    tissue_ = copy(other.tissue_);
    lens_ = copy(other.lens_);
    ring_ = copy(other.ring_);
    for (const auto& part : other.more_) more_.push_back(part->clone());
    connect();
    trail_.restart(day_, x_);
    if (steps_go_on_) stepper_.resume(day_, y_, other.stepper_.trail(), next_step_);
  }

  void begin(const ProgressCallback& progress) {
    const Watching watching(*this, progress);
    if (scenario_.tension_ring) insert_ring(*scenario_.tension_ring);
    connect();
    (void)settle_and_record(Unsettled::day_0);
  }

  // The host is asked in the middle of long solves, too, as long as this lives.
  struct Watching {
    Watching(Impl& impl, const ProgressCallback& progress) : impl_(impl) {
      if (!progress) return;
      impl_.progress_ = &progress;
      impl_.stop_asked_ = false;
      impl_.asked_at_work_ = impl_.equilibrium_.counts().work();
      impl_.area_ = impl_.recorder_.opening_area_mm2(impl_.x_, impl_.open_layers_);
    }
    ~Watching() { impl_.progress_ = nullptr; }
    Watching(const Watching&) = delete;
    Watching& operator=(const Watching&) = delete;
    Impl& impl_;
  };

  [[nodiscard]] bool go_on() {
    if (progress_ == nullptr || quiet_) return true;
    if (stop_asked_) return false;
    const double work = equilibrium_.counts().work();
    if (work - asked_at_work_ < work_between_looks) return true;
    asked_at_work_ = work;
    stop_asked_ = !(*progress_)({day_, scenario_.duration_days, area_});
    return !stop_asked_;
  }

  // The first equilibrium after a jump, and the row that shows it. When the host stops it, it is solved when the run
  // goes on.
  bool settle_and_record(Unsettled where) {
    unsettled_ = where;
    if (!settle(where == Unsettled::day_0 ? "at the end of surgery" : "after the event of day " + number(day_)))
      return false;
    unsettled_ = Unsettled::nothing;
    record(where == Unsettled::event ? EventSide::after : next_event_due() ? EventSide::before : EventSide::none);
    return true;
  }

  [[nodiscard]] bool next_event_due() const {
    return next_event_ < events_.size() && events_[next_event_].day < day_ + same_day;
  }

  [[nodiscard]] EquilibriumCounts counts() const {
    EquilibriumCounts c = equilibrium_.counts();
    c.equilibria += counted_.equilibria;
    c.iterations += counted_.iterations;
    c.factorizations += counted_.factorizations;
    c.projected += counted_.projected;
    c.evaluations += counted_.evaluations;
    c.seconds_elements += counted_.seconds_elements;
    c.seconds_factor += counted_.seconds_factor;
    c.seconds_solve += counted_.seconds_solve;
    return c;
  }

  [[nodiscard]] History history(std::vector<Series> series) const {
    Diagnostics d = diagnostics_;
    const EquilibriumCounts c = counts();
    d.equilibria = c.equilibria;
    d.newton_iterations = c.iterations;
    d.factorizations = c.factorizations;
    d.projected_factorizations = c.projected;
    d.seconds_elements = c.seconds_elements;
    d.seconds_factor = c.seconds_factor;
    d.seconds_solve = c.seconds_solve;
    d.work = c.work();
    find_worst_element(d);
    std::string message = message_;
    if (message.empty())
      message = day_ >= scenario_.duration_days - same_day ? "completed " + number(scenario_.duration_days) + " days"
                                                           : "on its way, day " + number(day_);
    return History::assemble(scenario_, status_, message, std::string(version()), d, cuts_, std::move(series));
  }

  // ---- the course of a run -------------------------------------------------------------------
  // Runs to `day`, with the scenario's events on their days.
  bool run_to(double day, const ProgressCallback& progress) {
    if (status_ == Status::cancelled) {
      status_ = Status::completed;
      message_.clear();
    }
    if (status_ != Status::completed) return false;
    const Watching watching(*this, progress);
    if (unsettled_ != Unsettled::nothing && !settle_and_record(unsettled_)) return false;
    const double last = std::min(day, scenario_.duration_days);
    for (;;) {
      if (next_event_due()) {
        if (!apply_due_events()) return false;
        continue;
      }
      if (day_ >= last - same_day) return true;
      const double stop = next_event_ < events_.size() ? std::min(events_[next_event_].day, last) : last;
      if (!advance(stop, progress)) return false;
      if (next_event_due()) record(EventSide::before);
    }
  }

  // Integrates to `stop`, recording the output days on the way (and the last day of the run).
  bool advance(double stop, const ProgressCallback& progress) {
    begin_steps();
    while (day_ < stop - same_day) {
      if (diagnostics_.steps >= scenario_.numerics.max_steps) return end_by_steps();
      if (!step(stop)) return false;
      if (!record_inside_step(stop)) return false;
      day_ = stepper_.day();
      y_ = stepper_.state();
      const bool last = day_ >= scenario_.duration_days - same_day;
      const double interval = scenario_.output_every_days;
      const bool due_now = std::abs(day_ - interval * std::round(day_ / interval)) < 1e-7;
      // Between rows and stops the positions are those of the step's own equilibrium, for the predicted state.
      const bool wanted = last || due_now || day_ >= stop - same_day || scenario_.zonule.failure_elongation_mm;
      if (wanted ? !equilibrate(day_, y_) : !put_back()) return end_by_equilibrium("after a time step");
      diagnostics_.last_good_day = day_;
      next_step_ = stepper_.next_step();
      if (fail_bundles()) {
        steps_go_on_ = false;
        next_step_ = first_step;
        if (!settle("after bundles of the zonule failed")) return false;
        begin_steps();
      }
      const bool event_day = next_event_due();
      if (!event_day && (last || due_now)) record(EventSide::none);
      if (progress && !progress({day_, scenario_.duration_days, recorder_.opening_area_mm2(x_, open_layers_)})) {
        if (!equilibrate(day_, y_)) return end_by_equilibrium("after a time step");
        status_ = Status::cancelled;
        message_ = "cancelled on day " + number(day_);
        if (event_day || !(last || due_now)) record(EventSide::none);
        return false;
      }
    }
    return true;
  }

  // The stepper goes on where it stood unless something has jumped since; positions and factorization start anew, so
  // that a fork and a restored state take the same path.
  void begin_steps() {
    trail_.restart(day_, x_);
    equilibrium_.forget_factor();
    if (steps_go_on_) return;
    if (tissue_) tissue_->stretches(x_, stretches_);
    stepper_.start(day_, y_, stretches_, next_step_);
    steps_go_on_ = true;
  }

  // One accepted step; what ended the run when there is none.
  bool step(double stop) {
    const long rejected = stepper_.rejected(), rates = stepper_.rates();
    SplitStepper::Outcome outcome;
    std::copy(x_.begin(), x_.end(), x_of_step_.begin());
    try {
      outcome = stepper_.step(stop, rate_, rest_);
    } catch (...) {  // of the host
      go_back();
      throw;
    }
    diagnostics_.rejected_steps += stepper_.rejected() - rejected;
    diagnostics_.right_hand_sides += stepper_.rates() - rates;
    switch (outcome) {
      case SplitStepper::Outcome::accepted:
        std::copy(x_.begin(), x_.end(), x_of_step_.begin());
        ++diagnostics_.steps;
        return true;
      case SplitStepper::Outcome::no_rest:
        if (last_report_.end == EquilibriumEnd::interrupted) return cancel_inside_step();
        return end_by_equilibrium("with the smallest time step");
      case SplitStepper::Outcome::non_finite:
        status_ = Status::non_finite;
        message_ = "a number in the tissue's state is not finite after day " + number(day_);
        return false;
      case SplitStepper::Outcome::step_too_small:
        status_ = Status::step_too_small;
        message_ = "the time step fell below 1e-6 day after day " + number(day_) +
                   ": the tissue changes faster than the time tolerance of " +
                   number(scenario_.numerics.time_tolerance) + " lets it be followed";
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
    status_ = Status::cancelled;
    message_ = "cancelled on day " + number(day_) + ", inside a time step";
    if (!recorder_.has_day(day_)) {
      quiet_ = true;
      if (equilibrate(day_, y_)) record(EventSide::none);
      quiet_ = false;
    }
    return false;
  }

  // Rows on the output days inside the last step.
  bool record_inside_step(double stop) {
    const double interval = scenario_.output_every_days;
    double due = interval * (std::floor(day_ / interval + 1e-9) + 1);
    for (; due < stepper_.day() - same_day && due < stop - same_day; due += interval) {
      stepper_.state_at(due, rate_, y_output_);
      quiet_ = true;  // a row is one equilibrium beside those of the step, and is not left half made
      const bool good = equilibrate(due, y_output_, true);
      quiet_ = false;
      if (!good) return end_by_equilibrium("on output day " + number(due));
      day_ = due;
      std::swap(y_, y_output_);
      record(EventSide::none);
      std::swap(y_, y_output_);
    }
    return true;
  }

  // The positions and parts of the end of the step, after rows inside it.
  bool put_back() {
    std::copy(x_of_step_.begin(), x_of_step_.end(), x_.begin());
    put_state(y_);
    for (Part* part : parts_) part->set_day(day_);
    return true;
  }

  bool end_by_steps() {
    if (!equilibrate(day_, y_)) return end_by_equilibrium("after a time step");
    status_ = Status::too_many_steps;
    message_ = "more than " + std::to_string(scenario_.numerics.max_steps) + " time steps; reached day " + number(day_);
    if (!recorder_.has_day(day_)) record(EventSide::none);
    return false;
  }

  void rate(double day, const std::vector<double>& y, const std::vector<double>& stretches,
            std::vector<double>& dydt) const {
    if (tissue_)
      law_->rate(day, y, stretches, dydt);
    else
      std::fill(dydt.begin(), dydt.end(), 0.0);
  }

  bool rest(double day, const std::vector<double>& y, std::vector<double>& stretches) {
    if (!equilibrate(day, y)) return false;
    stretches.resize(stretches_.size());
    if (tissue_) tissue_->stretches(x_, stretches);
    return true;
  }

  // Puts the law's state into tissue and leaf.
  void put_state(const std::vector<double>& y) {
    if (!tissue_) return;
    law_->apply(y, tissue_->fields());
    if (!law_->grows_leaf()) return;
    std::vector<double>& growth = anterior_->regions().front().growth;
    if (growth.empty())
      for (int p = 0; p < anterior_->regions().front().patch->points(); ++p) growth.insert(growth.end(), {1, 0, 0, 1});
    law_->grow_leaf(y, std::span(growth).first(4 * tissue_->points()));  // tissue starts at the rim, as the leaf does
  }

  // Equilibrium at a given day and tissue state, from the extrapolated positions.
  bool equilibrate(double day, const std::vector<double>& y, bool inside_step = false) {
    put_state(y);
    for (Part* part : parts_) part->set_day(day);
    if (!inside_step) trail_.cut(day);
    trail_.extrapolate(day, x_);
    find_rest();
    if (ended_for_good(last_report_.end)) return false;
    if (!last_report_.converged()) {
      trail_.latest(x_);  // the extrapolation may have overshot
      find_rest();
      if (!last_report_.converged()) return false;
    }
    diagnostics_.max_newton_iterations = std::max<long>(diagnostics_.max_newton_iterations, last_report_.iterations);
    trail_.push(day, x_);
    return true;
  }

  void find_rest() {
    last_report_ = equilibrium_.solve(x_);
    if (last_report_.converged() && last_report_.least_pivot_mN_per_mm > 0)
      diagnostics_.least_pivot_mN_per_mm = last_report_.least_pivot_mN_per_mm;
    diagnostics_.saddles_left += last_report_.saddles_left;
  }

  static bool ended_for_good(EquilibriumEnd end) {
    return end == EquilibriumEnd::interrupted || end == EquilibriumEnd::too_much_work;
  }

  // ---- events --------------------------------------------------------------------------------
  bool apply_due_events() {
    while (next_event_due()) act(events_[next_event_++].action);
    connect();
    next_step_ = first_step;
    steps_go_on_ = false;
    return settle_and_record(Unsettled::event);
  }

  void act(const std::variant<RelaxingCuts, ZonuleDamage, TensionRingSpec>& action) {
    if (const auto* cuts = std::get_if<RelaxingCuts>(&action)) {
      for (const double hour : cuts->hours) open_cut(hour, cuts->length_mm);
    } else if (const auto* damage = std::get_if<ZonuleDamage>(&action)) {
      for (const auto& [hour, strength] : damage->strength_by_hour) zonule_spec_.strength_by_hour[hour] = strength;
      zonule_->set_strength(zonule_spec_);
    } else {
      insert_ring(std::get<TensionRingSpec>(action));
    }
  }

  void open_cut(double hour, double length) {
    const PlannedCut* cut = model_->find_cut(hour, length);
    if (cut == nullptr) throw InternalError("a relaxing cut has no mesh line");
    int& layers = open_layers_[static_cast<std::size_t>(cut->line)];
    layers = std::max(layers, cut->layers);
    cuts_.push_back(
        {cut->hour, cut->length_mm, length_along_leaf_mm(model_->mesh(), x_, cut->line, cut->layers), day_});
  }

  void insert_ring(const TensionRingSpec& spec) {
    ring_ = model_->make_tension_ring(spec);
    ring_->set_insertion_day(day_);
    ring_spec_ = spec;
    ring_day_ = day_;
    // Concentric in the bag as it lies, just inside the equator.
    const Mesh& mesh = model_->mesh();
    std::vector<Point> equator;
    for (const int node : mesh.equator_nodes())
      equator.push_back({x_[2 * static_cast<std::size_t>(node)], x_[2 * static_cast<std::size_t>(node) + 1]});
    const Point center = measure_opening(equator, mesh.plan().order, false).center_mm;  // of area: nodes may crowd
    double radius = 1e9;
    for (const int node : mesh.equator_nodes())
      radius = std::min(radius, std::hypot(x_[2 * static_cast<std::size_t>(node)] - center[0],
                                           x_[2 * static_cast<std::size_t>(node) + 1] - center[1]));
    const double free_radius = 0.5 * spec.free_diameter_mm;
    const auto positions = ring_positions(spec, model_->ring_segments(), std::min(radius - 0.02, free_radius), center);
    std::copy(positions.begin(), positions.end(), x_.begin() + model_->ring_coordinate());
    ring_->hold_where_it_lies(x_);
  }

  bool fail_bundles() {
    if (!scenario_.zonule.failure_elongation_mm) return false;
    bool any = false;
    while (zonule_->fail_beyond(*scenario_.zonule.failure_elongation_mm, x_) > 0) {
      any = true;
      equilibrium_.forget_factor();
      find_rest();
      if (!last_report_.converged()) break;
    }
    return any;
  }

  // ---- the system ----------------------------------------------------------------------------
  void connect() {
    parts_.clear();
    for (Part* part : std::initializer_list<Part*>{anterior_.get(), posterior_.get(), tissue_.get(), zonule_.get(),
                                                   backing_.get(), lens_.get(), ring_.get()})
      if (part != nullptr) parts_.push_back(part);
    for (const auto& part : more_) parts_.push_back(part.get());
    for (Part* part : parts_) part->set_day(day_);  // a fork's first row sees the lens of today, too
    equilibrium_.settings().tolerance_mN = diagnostics_.tolerance_mN;
    equilibrium_.settings().shift_mN_per_mm = 1e-8 * model_->force_scale_mN();
    equilibrium_.settings().step_cap_mm = ring_ ? 0.1 : 0.2;
    // The stiff wire leaves a kept factorization quickly behind.
    equilibrium_.settings().chord_steps_worth = ring_ ? 1.0 : 8.0;
    equilibrium_.settings().max_work = share_of_one * scenario_.numerics.max_work;
    equilibrium_.settings().all_work = scenario_.numerics.max_work - counted_.work();
    equilibrium_.watch([this] { return go_on(); });
    equilibrium_.share_patterns(model_->patterns());
    equilibrium_.set_system(parts_, model_->dof_map(open_layers_, lens_ != nullptr, ring_ != nullptr));
    reserve_rows();
  }

  // Equilibrium after a jump.
  bool settle(std::string_view when) {
    put_state(y_);
    for (Part* part : parts_) part->set_day(day_);
    equilibrium_.forget_factor();
    find_rest();
    if (!last_report_.converged()) return end_by_equilibrium(when);
    diagnostics_.last_good_day = day_;
    trail_.restart(day_, x_);
    return true;
  }

  bool end_by_equilibrium(std::string_view when) {
    if (last_report_.end == EquilibriumEnd::interrupted) {
      status_ = Status::cancelled;
      message_ = "cancelled " + std::string(when) + ", on day " + number(day_);
      return false;
    }
    find_worst_element(diagnostics_);
    if (last_report_.end == EquilibriumEnd::too_much_work) {
      const bool all = counts().work() >= scenario_.numerics.max_work;
      status_ = Status::too_much_work;
      message_ = std::string(all ? "the run" : "one equilibrium") + " took more than " + (all ? "" : "a tenth of ") +
                 "numerics.max_work = " + number(scenario_.numerics.max_work) + " factorizations " + std::string(when) +
                 " (last good day " + number(diagnostics_.last_good_day) +
                 "): the eye is near a state in which it turns or gives way; the most distorted element lies at " +
                 number(diagnostics_.worst_element_hour) + " o'clock with " + number(diagnostics_.worst_element_ratio) +
                 " of its area";
      return false;
    }
    status_ = last_report_.end == EquilibriumEnd::folded       ? Status::folded_element
              : last_report_.end == EquilibriumEnd::not_finite ? Status::non_finite
                                                               : Status::no_equilibrium;
    message_ = std::string(status_ == Status::folded_element ? "an element would fold " : "no equilibrium was found ") +
               std::string(when) + " (last good day " + number(diagnostics_.last_good_day) + "): unbalanced force " +
               number(last_report_.residual_mN) + " mN against a limit of " + number(diagnostics_.tolerance_mN) +
               " mN; the most distorted element lies at " + number(diagnostics_.worst_element_hour) + " o'clock with " +
               number(diagnostics_.worst_element_ratio) + " of its area";
    return false;
  }

  void find_worst_element(Diagnostics& d) const {
    const Patch& leaf = model_->mesh().anterior();
    double worst = 1e9;
    for (int e = 0; e < leaf.elements(); ++e)
      for (int q = 0; q < leaf.points_per_element; ++q) {
        const auto f = deformation_gradient(leaf, x_, e, q);
        const double ratio = f[0] * f[3] - f[1] * f[2];
        if (ratio < worst) {
          worst = ratio;
          const Point p = leaf.at(x_, e, q);
          d.worst_element_hour = hour_of_angle(std::atan2(p[1], p[0]));
        }
      }
    d.worst_element_ratio = worst;
  }

  void record(EventSide side) {
    Snapshot s;
    s.day = day_;
    s.side = side;
    s.x = x_;
    s.leaf = anterior_.get();
    s.zonule = zonule_.get();
    s.tissue = tissue_.get();
    s.lens = lens_.get();
    s.ring = ring_.get();
    s.open_layers = open_layers_;
    s.energy = last_report_.energy;
    s.residual_mN = last_report_.residual_mN;
    diagnostics_.residual_mN = last_report_.residual_mN;
    recorder_.record(s);
  }

  static constexpr double first_step = 0.5;         // days, at the start and after an event
  static constexpr double share_of_one = 0.1;       // of the budget, for one equilibrium
  static constexpr double work_between_looks = 48;  // factorizations; a tenth of a second on the standard mesh

  std::shared_ptr<const Model> model_;
  const Scenario& scenario_;
  SimulationExtras extras_;
  Recorder recorder_;
  ZonuleSpec zonule_spec_;
  std::unique_ptr<Leaf> anterior_, posterior_;
  std::unique_ptr<Zonule> zonule_;
  std::unique_ptr<Backing> backing_;
  std::unique_ptr<FibrousTissue> tissue_;
  std::unique_ptr<Lens> lens_;
  std::unique_ptr<TensionRing> ring_;
  std::vector<std::unique_ptr<Part>> more_;
  std::shared_ptr<const ContractionLaw> law_;
  std::vector<Part*> parts_;
  Equilibrium equilibrium_;
  EquilibriumCounts counted_;  // before this copy was made
  EquilibriumReport last_report_;
  std::vector<int> open_layers_;
  std::vector<CutRecord> cuts_;
  std::vector<Event> events_;  // by day
  std::size_t next_event_ = 0;
  Trail trail_;
  double day_ = 0, next_step_ = first_step;
  SplitStepper stepper_;
  bool steps_go_on_ = false;  // the stepper's equilibria are those of the parts as they are
  std::vector<double> x_, x_of_step_, y_, y_output_, stretches_;
  // Bound once: a run makes no functions.
  const SplitStepper::Rate rate_ = [this](double day, const auto& y, const auto& l, auto& dydt) {
    rate(day, y, l, dydt);
  };
  const SplitStepper::Rest rest_ = [this](double day, const auto& y, auto& l) { return rest(day, y, l); };
  Diagnostics diagnostics_;
  std::optional<TensionRingSpec> ring_spec_;
  double ring_day_ = 0;
  Status status_ = Status::completed;
  std::string message_;
  Unsettled unsettled_ = Unsettled::nothing;
  const ProgressCallback* progress_ = nullptr;  // while a call of the host lasts
  double asked_at_work_ = 0, area_ = 0;
  bool quiet_ = false, stop_asked_ = false;
};

}  // namespace capsim
