// SPDX-License-Identifier: BSD-3-Clause
#include "run/tangent_run.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "capsim/contraction_law.hpp"
#include "run/simulation_state.hpp"
#include "solve/trail.hpp"

namespace capsim {

namespace {

/// The host's law; of the library's, whose families of fibres partly do not pull, those that do: nothing follows from
/// the others.
std::shared_ptr<const ContractionLaw> lean_law_of(const Scenario& scenario, const SimulationExtras& extras) {
  std::shared_ptr<const ContractionLaw> law = law_of(scenario, extras);
  if (extras.law) return law;
  std::shared_ptr<const ContractionLaw> lean = law->without_idle_variables();
  return lean ? lean : law;
}

}  // namespace

/// An eye on the tangent of the run, at a nearby value of one parameter.
struct TangentRun::Neighbour {
  std::shared_ptr<const Model> model;
  EyeParts parts;
  EyeState state;
  Recorder recorder;
  std::vector<PlacedAction> events;
  std::vector<std::pair<double, double>> moved_days;  // days of the run's events that are others here
  StretchTrail trail, kept;
  std::vector<Part*> all;  // in the order of the run's
  std::vector<double> tried, corrected, start_rate;
  std::vector<std::vector<double>> row_tissue;  // inside the step under way

  Neighbour(const Direction& d, const std::vector<PlacedAction>& run_events)
      : model(d.model),
        parts(*model, lean_law_of(model->scenario(), d.extras), d.extras.parts),
        state(at_end_of_surgery(*model, parts.tissue())),
        recorder(*model),
        events(placed_events(*model)) {
    for (std::size_t i = 0; i < events.size(); ++i)
      if (events[i].day != run_events[i].day) moved_days.emplace_back(run_events[i].day, events[i].day);
  }
  /// The run's day here: an event may be on another one.
  [[nodiscard]] double day_of(double day) const noexcept {
    for (const auto& [run, here] : moved_days)
      if (std::abs(run - day) < same_day) return here;
    return day;
  }
};

/// One parameter on its way.
struct TangentRun::Carried {
  ParameterStep step;
  Neighbour neighbour;
  std::vector<std::size_t> moving;  // parts whose forces may differ from those of the run's
  std::size_t set = 0;              // the same as one of the sets of them
  HostRate host_rate;
  KinkDistances nearest;
};

TangentRun::TangentRun(std::shared_ptr<const Model> model, const std::vector<Direction>& directions, RowsWanted wanted,
                       bool with_energy)
    : model_(std::move(model)),
      wanted_(std::move(wanted)),
      with_energy_(with_energy),
      kinks_(*model_),
      run_row_(*model_) {
  const std::vector<PlacedAction> events = placed_events(*model_);
  carried_.reserve(directions.size());
  for (const Direction& d : directions) carried_.push_back({d.step, Neighbour(d, events), {}, 0, d.host_rate, {}});
  tangent_.settings().shift_mN_per_mm = 1e-8 * model_->force_scale_mN();
  tangent_.share_patterns(model_->patterns());
  full_.resize(static_cast<std::size_t>(model_->coordinates()));
  told_.resize(full_.size());
}
TangentRun::~TangentRun() = default;

const std::vector<Series>& TangentRun::rows(std::size_t direction) const {
  return carried_[direction].neighbour.recorder.series();
}
const KinkDistances& TangentRun::nearest_kinks(std::size_t direction) const { return carried_[direction].nearest; }

void TangentRun::each(const EachNeighbour& visit) {
  for (Carried& carried : carried_) visit(carried.neighbour);
}

// ---- jumps -----------------------------------------------------------------------------------------------------
void TangentRun::ring_laid(const Eye&) {
  each([](Neighbour& n) { n.parts.take_first_ring(*n.model, n.state); });
}

void TangentRun::acted(const Eye&, std::size_t first_event, std::size_t count) {
  each([&](Neighbour& n) {
    for (std::size_t i = first_event; i < first_event + count; ++i) {
      n.state.day = n.events[i].day;
      n.parts.act(*n.model, n.events[i].action, n.state);
    }
  });
}

// Parts whose numbers are those of the run's eye leave the difference of the forces as it is.
void TangentRun::choose_parts(const Eye& eye, Carried& carried) {
  const Scenario& run = model_->scenario();
  Neighbour& n = carried.neighbour;
  const Scenario& here = n.model->scenario();
  const bool shape = n.model->mesh().reference() != model_->mesh().reference();
  const auto differs = [&](const Part* part) {
    if (part == &n.parts.anterior()) return !(here.capsule == run.capsule) || n.parts.law()->grows_leaf();
    if (part == n.parts.posterior()) return !(here.capsule == run.capsule);
    if (part == &n.parts.zonule())
      return shape || !(here.zonule == run.zonule) || !(here.bag == run.bag) || !(here.events == run.events);
    if (part == n.parts.lens())
      return shape || here.lens != run.lens || !(here.bag == run.bag) || !n.model->bag_sites().empty();
    if (part == n.parts.ring())  // what it is made of, where it is held, and how long it has crept
      return n.state.ring != eye.state.ring || !(here.bag == run.bag) || !n.moved_days.empty();
    if (part == n.parts.tissue().rim()) return true;
    bool fused = false;
    n.parts.tissue().each_beside_rim([&](const Part& beside) { fused = fused || part == &beside; });
    if (fused || n.parts.is_from_host(*part)) return true;
    return n.model->rest_full_strength() != model_->rest_full_strength();  // the backing
  };
  n.all.clear();
  carried.moving.clear();
  n.parts.each([&](Part& part) {
    if (differs(&part)) carried.moving.push_back(n.all.size());
    n.all.push_back(&part);
  });
  const auto same =
      std::find_if(sets_.begin(), sets_.end(), [&](const MovingSet& s) { return s.parts == carried.moving; });
  carried.set = static_cast<std::size_t>(same - sets_.begin());
  if (same == sets_.end()) sets_.push_back({carried.moving, {}});
}

void TangentRun::set_dofs(const std::vector<int>& dof) {
  coordinate_.assign(static_cast<std::size_t>(tangent_.dofs()), dof.size());
  tied_coordinates_.clear();
  for (std::size_t c = 0; c < dof.size(); ++c) {
    if (dof[c] < 0) continue;
    const auto d = static_cast<std::size_t>(dof[c]);
    if (coordinate_[d] == dof.size())
      coordinate_[d] = c;
    else
      tied_coordinates_.emplace_back(d, c);
  }
}

// Every degree of freedom with its coordinates.
template <class Visit>
void TangentRun::each_free(const Visit& visit) const {
  for (std::size_t d = 0; d < coordinate_.size(); ++d) visit(d, coordinate_[d]);
  for (const auto& [d, c] : tied_coordinates_) visit(d, c);
}

// Leaves of the same material on another reference: exact, four parameters at a time.
void TangentRun::find_leaf_rates(const Eye& eye) {
  leaf_rates_.resize((carried_.size() + 3) / 4);
  const auto put = [&](const Leaf& here, const Leaf& beside, const ParameterStep& step,
                       const std::vector<double>& velocity, std::size_t lane, FourLeafRates& rates) {
    std::vector<std::vector<double>> thickness;
    for (std::size_t r = 0; r < here.regions().size(); ++r) {
      thickness.emplace_back();
      for (std::size_t p = 0; p < here.regions()[r].thickness_mm.size(); ++p)
        thickness.back().push_back(step.of(here.regions()[r].thickness_mm[p], beside.regions()[r].thickness_mm[p]));
    }
    put_leaf_rate(here, velocity, thickness, lane, rates);
  };
  for (std::size_t i = 0; i < carried_.size(); ++i) {
    const Carried& c = carried_[i];
    const Neighbour& n = c.neighbour;
    const std::vector<double>&here = model_->mesh().reference(), &there = n.model->mesh().reference();
    if (there == here || !(n.model->scenario().capsule == model_->scenario().capsule)) continue;
    std::vector<double> velocity(here.size());
    for (std::size_t k = 0; k < here.size(); ++k) velocity[k] = c.step.of(here[k], there[k]);
    LeafRates& rates = leaf_rates_[i / 4];
    rates.any = true;
    put(eye.parts.anterior(), n.parts.anterior(), c.step, velocity, i % 4, rates.anterior);
    if (eye.parts.posterior() != nullptr)
      put(*eye.parts.posterior(), *n.parts.posterior(), c.step, velocity, i % 4, rates.posterior);
  }
}

void TangentRun::add_leaf_rates(const Eye& eye, std::size_t group) {
  if (!leaf_rates_[group].any) return;
  leaf_forces_.assign(4 * full_.size(), 0.0);
  anterior_.add(eye.parts.anterior(), leaf_rates_[group].anterior, leaf_forces_);
  if (eye.parts.posterior() != nullptr)
    posterior_.add(*eye.parts.posterior(), leaf_rates_[group].posterior, leaf_forces_);
  each_free([this](std::size_t d, std::size_t c) {
    for (std::size_t lane = 0; lane < 4; ++lane) sides_[4 * d + lane] -= leaf_forces_[4 * c + lane];
  });
}

void TangentRun::settled(const Eye& eye) {
  if (carried_.empty()) return;
  run_parts_.clear();
  eye.parts.each([this](Part& part) { run_parts_.push_back(&part); });
  first_of_host_ = static_cast<std::size_t>(
      std::find_if(run_parts_.begin(), run_parts_.end(), [&](const Part* p) { return eye.parts.is_from_host(*p); }) -
      run_parts_.begin());
  std::vector<Part*> parts = run_parts_;
  // A part in contact keeps the couplings that it told last, and the run's own equilibrium goes by them: a copy tells
  // ours.
  ring_.reset();
  if (eye.parts.ring() != nullptr) {
    ring_ = eye.parts.ring()->clone();
    std::replace_if(
        parts.begin(), parts.end(), [&](const Part* part) { return part == eye.parts.ring(); }, ring_.get());
  }
  const std::vector<int> dof =
      model_->dof_map(eye.open_layers, eye.parts.lens() != nullptr, eye.parts.ring() != nullptr);
  tangent_.set_system(std::move(parts), dof);
  set_dofs(dof);
  sides_.assign(4 * coordinate_.size(), 0.0);
  sets_.clear();
  for (Carried& carried : carried_) choose_parts(eye, carried);
  if (leaf_rates_.empty()) find_leaf_rates(eye);
  kinks_.forget();
  kinks_.follow(eye.parts, eye.state.positions);
  respond(eye, eye.state.day, eye.state.positions, [&](Neighbour& n) {
    n.state.day = n.day_of(eye.state.day);
    n.parts.put_tissue(n.state.tissue);
    n.parts.set_day(n.state.day);
  });
}

// ---- one rest --------------------------------------------------------------------------------------------------
void TangentRun::find_forces_here(std::span<const double> x) {
  forces_here_.resize(run_parts_.size());
  for (std::vector<double>& forces : forces_here_) forces.clear();
  for (MovingSet& set : sets_) {
    set.forces_here.assign(full_.size(), 0.0);
    for (const std::size_t i : set.parts) {
      std::vector<double>& forces = forces_here_[i];
      if (forces.empty()) {
        forces.assign(full_.size(), 0.0);
        run_parts_[i]->gradient(x, forces);
      }
      for (std::size_t c = 0; c < full_.size(); ++c) set.forces_here[c] += forces[c];
    }
  }
}

void TangentRun::put_force_rates(const Carried& carried, std::span<const double> x, std::size_t lane) {
  const double step = carried.step.size;
  const auto told = [&](std::size_t i) {
    return i >= first_of_host_ && carried.host_rate(i - first_of_host_, *run_parts_[i], x, told_);
  };
  std::fill(full_.begin(), full_.end(), 0.0);
  if (!carried.host_rate) {
    for (const std::size_t i : carried.moving) carried.neighbour.all[i]->gradient(x, full_);
    const std::vector<double>& here = sets_[carried.set].forces_here;
    for (std::size_t c = 0; c < full_.size(); ++c) full_[c] = (full_[c] - here[c]) / step;
  } else {
    std::fill(told_.begin(), told_.end(), 0.0);
    for (const std::size_t i : carried.moving) {
      if (told(i)) continue;
      carried.neighbour.all[i]->gradient(x, full_);
      for (std::size_t c = 0; c < full_.size(); ++c) full_[c] -= forces_here_[i][c];
    }
    for (std::size_t c = 0; c < full_.size(); ++c) full_[c] = full_[c] / step + told_[c];
  }
  for (std::size_t d = 0; d < coordinate_.size(); ++d) sides_[4 * d + lane] = -full_[coordinate_[d]];
  for (const auto& [d, c] : tied_coordinates_) sides_[4 * d + lane] -= full_[c];
}

void TangentRun::place(Carried& carried, std::span<const double> x, std::size_t lane) {
  std::vector<double>& there = carried.neighbour.state.positions;
  std::copy(x.begin(), x.end(), there.begin());
  each_free([&](std::size_t d, std::size_t c) { there[c] += carried.step.size * sides_[4 * d + lane]; });
}

// The eye's parts hold the day and the tissue of this rest, and each neighbour's once it has been made ready. Four
// neighbours are seen to at a time, from their tissue to what follows from their places, while they are at hand.
void TangentRun::respond(const Eye& eye, double day, std::span<const double> x, const EachNeighbour& make_ready,
                         const EachNeighbour& go_on) {
  if (!followed_ || carried_.empty()) return;
  if (ring_) ring_->set_day(day);
  if (!tangent_.factorize_at(x)) {
    followed_ = false;
    return;
  }
  if (std::any_of(leaf_rates_.begin(), leaf_rates_.end(), [](const LeafRates& r) { return r.any; })) {
    anterior_.look_at(eye.parts.anterior(), x);
    if (eye.parts.posterior() != nullptr) posterior_.look_at(*eye.parts.posterior(), x);
  }
  find_forces_here(x);
  for (std::size_t first = 0; first < carried_.size(); first += 4) {
    const std::size_t count = std::min<std::size_t>(4, carried_.size() - first);
    if (count < 4) std::fill(sides_.begin(), sides_.end(), 0.0);
    for (std::size_t lane = 0; lane < count; ++lane) {
      make_ready(carried_[first + lane].neighbour);
      put_force_rates(carried_[first + lane], x, lane);
    }
    add_leaf_rates(eye, first / 4);
    tangent_.apply_inverse_four(sides_);
    for (std::size_t lane = 0; lane < count; ++lane) {
      place(carried_[first + lane], x, lane);
      if (go_on) go_on(carried_[first + lane].neighbour);
    }
  }
}

// ---- steps -----------------------------------------------------------------------------------------------------
void TangentRun::steps_begin(const Eye&) {
  each([this](Neighbour& n) {
    n.parts.stretches(n.state.positions, stretches_);
    n.trail.clear();
    n.trail.reserve(stretches_.size());
    n.trail.push(n.state.day, stretches_);
  });
}

void TangentRun::tried(const std::vector<double>& tissue, std::span<const double> x) {
  std::swap(tried_[0], tried_[1]);
  tried_[1].tissue = tissue;
  tried_[1].x.assign(x.begin(), x.end());
}

void TangentRun::integrate(Neighbour& n, const StretchTrail& trail, std::size_t points, std::span<const double> ends,
                           std::span<const double> rows, std::vector<double>& end) {
  ends_.assign(ends.begin(), ends.end());
  ends_.back() = n.day_of(ends_.back());
  const auto rate = [&](double day, const std::vector<double>& tissue, std::vector<double>& change) {
    trail.at(day, points, polynomial_);
    n.parts.tissue_rate(day, tissue, polynomial_, change);
  };
  if (points !=
      StretchTrail::depth) {  // the prediction: where it starts, every polynomial has the stretches found there
    n.start_rate.resize(n.state.tissue.size());
    rate(n.state.day, n.state.tissue, n.start_rate);
  }
  steps_.integrate(n.state.day, n.state.tissue, n.start_rate, ends_, rate, end, rows,
                   [&n](std::size_t row) -> std::vector<double>& {
                     if (row == n.row_tissue.size()) n.row_tissue.emplace_back();
                     return n.row_tissue[row];
                   });
}

// Days of the rows inside a step that are wanted.
std::vector<double> TangentRun::rows_inside(const Eye& eye, const StepTaken& step) const {
  std::vector<double> days;
  const double interval = model_->scenario().output_every_days;
  double due = interval * (std::floor(eye.state.day / interval + 1e-9) + 1);
  for (std::size_t row = rows_; due < step.day - same_day && due < step.stop - same_day; due += interval, ++row)
    if (row_wanted(row)) days.push_back(due);
  return days;
}

void TangentRun::stepped(const Eye& eye, const StepTaken& step) {
  if (!followed_) return;
  const std::size_t rests = step.integrations - 1;
  const std::vector<double> inside = rows_inside(eye, step);
  for (std::size_t rest = 0; rest < rests; ++rest) {
    const Tried& found = tried_[2 - rests + rest];
    const bool last = rest + 1 == rests;
    eye.parts.put_tissue(found.tissue);
    eye.parts.set_day(step.day);
    const auto predict = [&](Neighbour& n) {
      if (rest == 0) integrate(n, n.trail, StretchTrail::depth - 1, step.inner_days[0], {}, n.tried);
      n.parts.put_tissue(n.tried);
      n.parts.set_day(n.day_of(step.day));
    };
    const auto correct = [&](Neighbour& n) {
      n.parts.stretches(n.state.positions, stretches_);
      if (!last) n.kept = n.trail;
      n.trail.push(n.day_of(step.day), stretches_);
      integrate(n, n.trail, StretchTrail::depth, step.inner_days[rest + 1],
                last ? std::span<const double>(inside) : std::span<const double>(), n.corrected);
      if (last) return;
      std::swap(n.trail, n.kept);
      std::swap(n.tried, n.corrected);
    };
    respond(eye, step.day, found.x, predict, correct);
    if (last) kinks_.follow(eye.parts, found.x);
  }
  if (!followed_) return;
  each([&](Neighbour& n) {
    std::swap(n.state.tissue, n.corrected);
    n.state.day = n.day_of(step.day);
  });
  row_in_step_ = 0;
}

// ---- rows ------------------------------------------------------------------------------------------------------
void TangentRun::row_inside(const Eye& eye, double day) {
  if (!next_row_wanted() || !followed_) return;
  const std::size_t row = row_in_step_++;  // of those that are wanted
  respond(eye, day, eye.state.positions, [&](Neighbour& n) {
    n.parts.put_tissue(n.row_tissue[row]);
    n.parts.set_day(day);
  });
}

void TangentRun::passed_over_row() { ++rows_; }

void TangentRun::row_at_end(const Eye& eye) {
  if (!next_row_wanted() || !followed_) return;  // both sides of an event are always wanted
  respond(eye, eye.state.day, eye.state.positions, [](Neighbour& n) {
    n.parts.put_tissue(n.state.tissue);
    n.parts.set_day(n.state.day);
  });
}

void TangentRun::recorded(const Eye& eye, EventSide side) {
  const RowUse use = next_row_wanted() && followed_ ? wanted_[rows_] : RowUse::none;
  const bool area_alone = use == RowUse::area;
  recorded_.push_back({rows_, use});
  ++rows_;
  if (use == RowUse::none) return;
  const double last = model_->scenario().duration_days;
  if (side != EventSide::none || recorded_.size() == 1 || eye.state.day >= last - same_day) find_kinks(eye);
  const auto seen = [&](const EyeParts& parts, double day, std::span<const double> x, std::span<Part* const> all) {
    Snapshot s = parts.seen();
    s.day = day;
    s.side = side;
    s.x = x;
    s.open_layers = eye.open_layers;
    s.parts = {all.begin(), all.end()};
    s.residual_mN = eye.state.diagnostics.residual_mN;
    return s;
  };
  if (!area_alone) run_row_.take_with_places(seen(eye.parts, eye.state.day, eye.state.positions, run_parts_));
  each([&](Neighbour& n) {
    Snapshot s = seen(n.parts, n.day_of(eye.state.day), n.state.positions, n.all);
    if (area_alone) return n.recorder.record_area(s);
    s.run = &run_row_;
    if (with_energy_) n.parts.each([&](const Part& part) { s.energy += part.energy(s.x); });
    n.recorder.record(s);
  });
}

void TangentRun::find_kinks(const Eye& eye) {
  kinks_.look(eye.parts, eye.state.positions, eye.open_layers, kinks_here_);
  for (Carried& carried : carried_) {
    const Neighbour& n = carried.neighbour;
    kinks_.look(n.parts, n.state.positions, eye.open_layers, kinks_beside_);
    KinkWatch::take_nearest(kinks_here_, kinks_beside_, carried.step, carried.nearest);
  }
}

}  // namespace capsim
