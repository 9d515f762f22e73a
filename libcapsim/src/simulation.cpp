// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include "capsim/cuts.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/version.hpp"
#include "recorder.hpp"
#include "time_stepper.hpp"

namespace capsim {
namespace {

constexpr double same_day = 1e-9;

std::string number(double v) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", v);
  return text;
}

// Positions found before, from which the next ones are extrapolated.
class Trail {
 public:
  void clear() { points_.clear(); }
  void push(double day, std::span<const double> x) {
    if (!points_.empty() && std::abs(points_.back().day - day) < same_day) {
      points_.back().x.assign(x.begin(), x.end());
      return;
    }
    if (points_.size() == depth) {
      std::rotate(points_.begin(), points_.begin() + 1, points_.end());
      points_.back().day = day;
      points_.back().x.assign(x.begin(), x.end());
      return;
    }
    points_.push_back({day, {x.begin(), x.end()}});
  }
  // Forgets what lies after `day` (a step that was rejected).
  void cut(double day) {
    while (!points_.empty() && points_.back().day > day + same_day) points_.pop_back();
  }
  void latest(std::span<double> x) const {
    if (!points_.empty()) std::copy(points_.back().x.begin(), points_.back().x.end(), x.begin());
  }
  void extrapolate(double day, std::span<double> x) const {
    if (points_.empty()) return;
    // The latest point, and up to two earlier ones that are well apart.
    std::array<const Found*, 3> use{};
    int count = 0;
    for (auto p = points_.rbegin(); p != points_.rend() && count < 3; ++p) {
      const double reach = std::abs(day - points_.back().day);
      if (count > 0 && std::abs(p->day - use[count - 1]->day) < 0.34 * reach) continue;
      use[count++] = &*p;
    }
    std::array<double, 3> weight{1, 0, 0};
    for (int i = 0; i < count; ++i) {
      weight[i] = 1;
      for (int j = 0; j < count; ++j)
        if (j != i) weight[i] *= (day - use[j]->day) / (use[i]->day - use[j]->day);
    }
    for (std::size_t c = 0; c < x.size(); ++c) {
      double v = 0;
      for (int i = 0; i < count; ++i) v += weight[i] * use[i]->x[c];
      x[c] = v;
    }
  }

 private:
  struct Found {
    double day;
    std::vector<double> x;
  };
  static constexpr std::size_t depth = 8;
  std::vector<Found> points_;
};

class Run {
 public:
  Run(std::shared_ptr<const Model> model, const ProgressCallback& progress)
      : model_(std::move(model)), scenario_(model_->scenario()), progress_(progress), recorder_(*model_),
        zonule_spec_(scenario_.zonule) {
    anterior_ = model_->make_anterior_leaf();
    posterior_ = model_->make_posterior_leaf();
    zonule_ = model_->make_zonule(zonule_spec_);
    backing_ = model_->make_backing();
    tissue_ = model_->make_fibrous_tissue();
    lens_ = model_->make_lens();
    law_ = make_contraction_law(scenario_.contraction);
    open_layers_.assign(model_->mesh().plan().cuts.size(), 0);
    x_ = model_->rest_as_stated();
    x_.resize(static_cast<std::size_t>(model_->coordinates()), 0.0);
    EquilibriumSettings& settings = equilibrium_.settings();
    settings.tolerance_mN = scenario_.numerics.force_tolerance * model_->force_scale_mN();
    settings.shift_mN_per_mm = 1e-8 * model_->force_scale_mN();
    diagnostics_.tolerance_mN = settings.tolerance_mN;
  }

  History finish(std::chrono::steady_clock::time_point start) {
    run();
    const EquilibriumCounts& c = equilibrium_.counts();
    diagnostics_.equilibria = c.equilibria;
    diagnostics_.newton_iterations = c.iterations;
    diagnostics_.factorizations = c.factorizations;
    diagnostics_.projected_factorizations = c.projected;
    diagnostics_.seconds_elements = c.seconds_elements;
    diagnostics_.seconds_factor = c.seconds_factor;
    diagnostics_.seconds_solve = c.seconds_solve;
    find_worst_element();
    diagnostics_.wall_seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    return History::assemble(scenario_, status_, message_, std::string(version()), diagnostics_, std::move(cuts_),
                             std::move(recorder_).take());
  }

 private:
  // ---- the course of a run -------------------------------------------------------------------
  void run() {
    if (tissue_) {
      y_.assign(law_->variables() * tissue_->points(), 0.0);
      law_->start(model_->initial_cells(), y_);
      stretches_.resize(fibre_families * tissue_->points());
    } else {
      y_.assign(1, 0.0);
    }
    if (scenario_.tension_ring) insert_ring(*scenario_.tension_ring);
    connect();
    if (!settle("at the end of surgery")) return;
    std::vector<Event> events = scenario_.events;
    std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.day < b.day; });
    std::size_t next = 0;
    const bool event_at_start = !events.empty() && events[0].day < same_day;
    record(event_at_start ? EventSide::before : EventSide::none);
    while (true) {
      if (next < events.size() && events[next].day < day_ + same_day) {
        if (!apply_events(events, next)) return;
        record(EventSide::after);
        continue;
      }
      if (day_ >= scenario_.duration_days - same_day) break;
      const double stop = next < events.size() ? events[next].day : scenario_.duration_days;
      if (!advance(stop)) return;
      if (next < events.size() && events[next].day < day_ + same_day) record(EventSide::before);
    }
    status_ = Status::completed;
    message_ = "completed " + number(scenario_.duration_days) + " days";
  }

  // Integrates to `stop`, recording the output days on the way (and the last day of the run).
  bool advance(double stop) {
    TimeStepper stepper(scenario_.numerics.time_tolerance, std::min(scenario_.numerics.max_step_days, 365.0));
    const auto rate = [this](double day, const std::vector<double>& y, std::vector<double>& dydt) { return this->rate(day, y, dydt); };
    trail_.clear();
    trail_.push(day_, x_);
    if (!stepper.start(day_, y_, rate)) return end_by_equilibrium("after restarting");
    const double interval = scenario_.output_every_days;
    while (day_ < stop - same_day) {
      if (diagnostics_.steps >= scenario_.numerics.max_steps) {
        status_ = Status::too_many_steps;
        message_ = "more than " + std::to_string(scenario_.numerics.max_steps) + " time steps; reached day " + number(day_);
        return false;
      }
      const long rejected = stepper.rejected();
      const TimeStepper::Outcome outcome = stepper.step(stop, rate);
      diagnostics_.rejected_steps += stepper.rejected() - rejected;
      if (outcome == TimeStepper::Outcome::non_finite) {
        status_ = Status::non_finite;
        message_ = "a number in the tissue's state is not finite after day " + number(day_);
        return false;
      }
      if (outcome == TimeStepper::Outcome::step_too_small) return end_by_equilibrium("with the smallest time step");
      ++diagnostics_.steps;
      // Output days inside the step, by the method's own interpolant.
      double due = interval * (std::floor(day_ / interval + 1e-9) + 1);
      for (; due < stepper.day() - same_day && due < stop - same_day; due += interval) {
        stepper.interpolate(due, y_output_);
        if (!equilibrate(due, y_output_, true)) return end_by_equilibrium("on output day " + number(due));
        day_ = due;
        std::swap(y_, y_output_);
        record(EventSide::none);
        std::swap(y_, y_output_);
      }
      day_ = stepper.day();
      y_ = stepper.state();
      if (!equilibrate(day_, y_)) return end_by_equilibrium("after a time step");
      diagnostics_.last_good_day = day_;
      if (fail_bundles()) {
        if (!settle("after bundles of the zonule failed")) return false;
        trail_.clear();
        trail_.push(day_, x_);
        if (!stepper.start(day_, y_, rate)) return end_by_equilibrium("after bundles of the zonule failed");
      }
      const bool last = day_ >= scenario_.duration_days - same_day;
      const bool due_now = std::abs(day_ - interval * std::round(day_ / interval)) < 1e-7;
      const bool event_day = std::any_of(scenario_.events.begin(), scenario_.events.end(), [&](const Event& e) { return std::abs(e.day - day_) < same_day; });
      if (!event_day && (last || due_now)) record(EventSide::none);
      if (progress_ && !progress_({day_, scenario_.duration_days, opening_area_mm2(model_->mesh(), x_, open_layers_)})) {
        status_ = Status::cancelled;
        message_ = "cancelled on day " + number(day_);
        if (event_day || !(last || due_now)) record(EventSide::none);
        return false;
      }
    }
    return true;
  }

  bool rate(double day, const std::vector<double>& y, std::vector<double>& dydt) {
    ++diagnostics_.right_hand_sides;
    if (!tissue_) {
      std::fill(dydt.begin(), dydt.end(), 0.0);
      return true;
    }
    if (!equilibrate(day, y)) return false;
    tissue_->stretches(x_, stretches_);
    law_->rate(day, y, stretches_, dydt);
    return true;
  }

  // Equilibrium at a given day and tissue state, from the extrapolated positions.
  bool equilibrate(double day, const std::vector<double>& y, bool inside_step = false) {
    if (tissue_) law_->apply(y, tissue_->fields());
    for (Part* part : parts_) part->set_day(day);
    if (!inside_step) trail_.cut(day);
    trail_.extrapolate(day, x_);
    last_report_ = equilibrium_.solve(x_);
    if (!last_report_.converged()) {
      trail_.latest(x_);  // the extrapolation may have overshot
      last_report_ = equilibrium_.solve(x_);
      if (!last_report_.converged()) return false;
    }
    diagnostics_.max_newton_iterations = std::max<long>(diagnostics_.max_newton_iterations, last_report_.iterations);
    trail_.push(day, x_);
    return true;
  }

  // ---- events --------------------------------------------------------------------------------
  bool apply_events(const std::vector<Event>& events, std::size_t& next) {
    for (; next < events.size() && events[next].day < day_ + same_day; ++next) {
      const Event& event = events[next];
      if (const auto* cuts = std::get_if<RelaxingCuts>(&event.action)) {
        for (const double hour : cuts->hours) open_cut(hour, event.day);
      } else if (const auto* damage = std::get_if<ZonuleDamage>(&event.action)) {
        for (const auto& [hour, strength] : damage->strength_by_hour) zonule_spec_.strength_by_hour[hour] = strength;
        zonule_->set_strength(zonule_spec_);
      } else {
        insert_ring(std::get<TensionRingSpec>(event.action));
      }
    }
    connect();
    return settle("after the event of day " + number(day_));
  }

  void open_cut(double hour, double day) {
    for (const PlannedCut& cut : model_->cuts()) {
      if (cut.hour != hour || cut.day != day) continue;
      int& layers = open_layers_[static_cast<std::size_t>(cut.line)];
      layers = std::max(layers, cut.layers);
      cuts_.push_back({cut.hour, cut.length_mm, length_along_leaf_mm(model_->mesh(), x_, cut.line, cut.layers), day_});
    }
  }

  void insert_ring(const TensionRingSpec& spec) {
    ring_ = model_->make_tension_ring(spec);
    ring_->set_insertion_day(day_);
    // Concentric in the bag as it lies, just inside the equator.
    const Mesh& mesh = model_->mesh();
    Point center{0, 0};
    const double n = static_cast<double>(mesh.equator_nodes().size());
    for (const int node : mesh.equator_nodes())
      for (int i = 0; i < 2; ++i) center[i] += x_[2 * static_cast<std::size_t>(node) + i] / n;
    double radius = 1e9;
    for (const int node : mesh.equator_nodes())
      radius = std::min(radius, std::hypot(x_[2 * static_cast<std::size_t>(node)] - center[0], x_[2 * static_cast<std::size_t>(node) + 1] - center[1]));
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
      if (!equilibrium_.solve(x_).converged()) break;
    }
    return any;
  }

  // ---- the system ----------------------------------------------------------------------------
  void connect() {
    parts_.clear();
    for (Part* part : std::initializer_list<Part*>{anterior_.get(), posterior_.get(), tissue_.get(), zonule_.get(), backing_.get(), lens_.get(), ring_.get()})
      if (part != nullptr) parts_.push_back(part);
    equilibrium_.settings().step_cap_mm = ring_ ? 0.1 : 0.2;
    // The stiff wire leaves a kept factorization quickly behind.
    equilibrium_.settings().chord_steps_worth = ring_ ? 1.0 : 8.0;
    equilibrium_.set_system(parts_, model_->dof_map(open_layers_, lens_ != nullptr, ring_ != nullptr));
  }

  // Equilibrium after a jump.
  bool settle(const std::string& when) {
    if (tissue_) law_->apply(y_, tissue_->fields());
    for (Part* part : parts_) part->set_day(day_);
    equilibrium_.forget_factor();
    last_report_ = equilibrium_.solve(x_);
    if (!last_report_.converged()) return end_by_equilibrium(when);
    diagnostics_.last_good_day = day_;
    trail_.clear();
    trail_.push(day_, x_);
    return true;
  }

  bool end_by_equilibrium(const std::string& when) {
    find_worst_element();
    status_ = last_report_.end == EquilibriumEnd::folded ? Status::folded_element
              : last_report_.end == EquilibriumEnd::not_finite ? Status::non_finite
                                                               : Status::no_equilibrium;
    message_ = std::string(status_ == Status::folded_element ? "an element would fold " : "no equilibrium was found ") + when +
               " (last good day " + number(diagnostics_.last_good_day) + "): unbalanced force " + number(last_report_.residual_mN) +
               " mN against a limit of " + number(diagnostics_.tolerance_mN) + " mN; the most distorted element lies at " +
               number(diagnostics_.worst_element_hour) + " o'clock with " + number(diagnostics_.worst_element_ratio) + " of its area";
    return false;
  }

  void find_worst_element() {
    const Patch& leaf = model_->mesh().anterior();
    double worst = 1e9;
    for (int e = 0; e < leaf.elements(); ++e)
      for (int q = 0; q < leaf.points_per_element; ++q) {
        const auto f = deformation_gradient(leaf, x_, e, q);
        const double ratio = f[0] * f[3] - f[1] * f[2];
        if (ratio < worst) {
          worst = ratio;
          const Point p = leaf.at(x_, e, q);
          diagnostics_.worst_element_hour = hour_of_angle(std::atan2(p[1], p[0]));
        }
      }
    diagnostics_.worst_element_ratio = worst;
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

  std::shared_ptr<const Model> model_;
  const Scenario& scenario_;
  const ProgressCallback& progress_;
  Recorder recorder_;
  ZonuleSpec zonule_spec_;
  std::unique_ptr<Leaf> anterior_, posterior_;
  std::unique_ptr<Zonule> zonule_;
  std::unique_ptr<Backing> backing_;
  std::unique_ptr<FibrousTissue> tissue_;
  std::unique_ptr<Lens> lens_;
  std::unique_ptr<TensionRing> ring_;
  std::unique_ptr<ContractionLaw> law_;
  std::vector<Part*> parts_;
  Equilibrium equilibrium_;
  EquilibriumReport last_report_;
  std::vector<int> open_layers_;
  std::vector<CutRecord> cuts_;
  Trail trail_;
  double day_ = 0;
  std::vector<double> x_, y_, y_output_, stretches_;
  Diagnostics diagnostics_;
  Status status_ = Status::completed;
  std::string message_;
};

}  // namespace

History simulate(std::shared_ptr<const Model> model, const ProgressCallback& progress) {
  const auto start = std::chrono::steady_clock::now();
  return Run(std::move(model), progress).finish(start);
}

History simulate(const Scenario& scenario, const ProgressCallback& progress) {
  const auto start = std::chrono::steady_clock::now();
  std::shared_ptr<const Model> model;
  try {
    model = std::make_shared<const Model>(scenario);
  } catch (const ModelError& error) {
    // No rest state: a history without rows that says why.
    Diagnostics diagnostics;
    diagnostics.wall_seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    return History::assemble(scenario, Status::no_equilibrium, error.what(), std::string(version()), diagnostics, {},
                             {{"day", "d", "Days since the end of surgery.", 1, {}}, {"event_side", "1", "Side of an event.", 1, {}}});
  }
  return Run(std::move(model), progress).finish(start);
}

}  // namespace capsim
