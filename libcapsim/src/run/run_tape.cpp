// SPDX-License-Identifier: BSD-3-Clause
#include "run/run_tape.hpp"

#include <algorithm>
#include <utility>

#include "run/placed_action.hpp"
#include "run/simulation_state.hpp"

namespace capsim {

void RunTape::ring_laid(const Eye&) { told_.emplace_back(RingLaid{}); }

void RunTape::acted(const Eye& eye, std::size_t first_event, std::size_t count) {
  told_.emplace_back(
      Acted{first_event, count, eye.state.day, std::vector<int>(eye.open_layers.begin(), eye.open_layers.end())});
}

void RunTape::settled(const Eye& eye) { told_.emplace_back(Settled{rest_of(eye)}); }

void RunTape::steps_begin(const Eye&) { told_.emplace_back(StepsBegin{}); }

void RunTape::tried(const std::vector<double>& tissue, std::span<const double> x) {
  std::swap(tried_[0], tried_[1]);
  tried_[1].tissue = tissue;
  tried_[1].x.assign(x.begin(), x.end());
}

void RunTape::stepped(const Eye& eye, const StepTaken& step) {
  Step kept{eye.state.day, step, {}, {}};
  for (std::size_t i = 0; i < step.integrations; ++i)
    kept.inner_days[i].assign(step.inner_days[i].begin(), step.inner_days[i].end());
  const std::size_t rests = step.integrations - 1;
  for (std::size_t i = tried_.size() - rests; i < tried_.size(); ++i) kept.rests.push_back(std::move(tried_[i]));
  told_.emplace_back(std::move(kept));
}

void RunTape::row_inside(const Eye& eye, double) { told_.emplace_back(RowInside{rest_of(eye)}); }

void RunTape::row_at_end(const Eye& eye) { told_.emplace_back(RowAtEnd{rest_of(eye)}); }

void RunTape::recorded(const Eye& eye, EventSide side) {
  const std::size_t row = rows_++;
  if (!told_.empty() && std::holds_alternative<RowInside>(told_.back())) inside_.push_back({row, told_.size() - 1});
  if (inside_.size() > most_inside_) drop_rows(eye.rows);
  told_.emplace_back(Recorded{side, eye.state.day, eye.state.diagnostics.residual_mN});
}

// Rests of rows inside steps that nobody can ask for any more. Which these are is found from all rows, hence now and
// then.
void RunTape::drop_rows(std::span<const Series> rows) {
  const RowsWanted asked = asked_(rows);
  std::erase_if(inside_, [&](const KeptRow& kept) {
    if (kept.row + 1 == rows_ || asked[kept.row] != RowUse::none) return false;
    std::get<RowInside>(told_[kept.told]).rest = {};
    return true;
  });
  most_inside_ = inside_.size() + usual_inside;
}

/// An eye that stands where the run stood.
class RunTape::Show {
 public:
  Show(const Model& model, const SimulationExtras& extras, const RowsWanted& wanted, RunWatcher& watcher)
      : model_(model),
        wanted_(wanted),
        watcher_(watcher),
        parts_(model, law_of(model.scenario(), extras), extras.parts),
        state_(at_end_of_surgery(model, parts_.tissue())),
        events_(placed_events(model)),
        open_layers_(open_layers(model, {})) {}

  [[nodiscard]] Eye eye() { return {state_, parts_, open_layers_, {}}; }

  void tell(const RingLaid&) {
    parts_.take_first_ring(model_, state_);
    watcher_.ring_laid(eye());
  }
  void tell(const Acted& acted) {
    state_.day = acted.day;
    for (std::size_t i = acted.first_event; i < acted.first_event + acted.count; ++i)
      parts_.act(model_, events_[i].action, state_);
    open_layers_ = acted.open_layers;
    watcher_.acted(eye(), acted.first_event, acted.count);
  }
  void tell(const Settled& settled) {
    stand(settled.rest);
    watcher_.settled(eye());
  }
  void tell(const StepsBegin&) { watcher_.steps_begin(eye()); }
  void tell(const Step& kept) {
    state_.day = kept.from;
    StepTaken step = kept.step;
    for (std::size_t i = 0; i < step.integrations; ++i) step.inner_days[i] = kept.inner_days[i];
    for (const Rest& rest : kept.rests) watcher_.tried(rest.tissue, rest.x);
    watcher_.stepped(eye(), step);
  }
  void tell(const RowInside& inside) {
    passes_over_ = wanted_[row_] == RowUse::none;
    if (passes_over_) return;
    stand(inside.rest);
    watcher_.row_inside(eye(), state_.day);
  }
  void tell(const RowAtEnd& at_end) {
    stand(at_end.rest);
    watcher_.row_at_end(eye());
  }
  void tell(const Recorded& recorded) {
    ++row_;
    if (std::exchange(passes_over_, false)) return watcher_.passed_over_row();
    state_.day = recorded.day;
    state_.diagnostics.residual_mN = recorded.residual_mN;
    watcher_.recorded(eye(), recorded.side);
  }

 private:
  void stand(const Rest& rest) {
    state_.day = rest.day;
    state_.tissue = rest.tissue;
    state_.positions = rest.x;
    parts_.put_tissue(state_.tissue);
    parts_.set_day(state_.day);
  }

  const Model& model_;
  const RowsWanted& wanted_;
  RunWatcher& watcher_;
  EyeParts parts_;
  EyeState state_;
  std::vector<PlacedAction> events_;
  std::vector<int> open_layers_;
  std::size_t row_ = 0;
  bool passes_over_ = false;
};

bool RunTape::show(const Model& model, const SimulationExtras& extras, const RowsWanted& wanted, RunWatcher& watcher,
                   const std::function<bool(const Eye& eye, double day, std::span<const double> x)>& go_on) const {
  Show show(model, extras, wanted, watcher);
  for (const Told& told : told_) {
    if (const Step* step = std::get_if<Step>(&told))
      if (!go_on(show.eye(), step->step.day, step->rests.back().x)) return false;
    std::visit([&](const auto& what) { show.tell(what); }, told);
  }
  return true;
}

}  // namespace capsim
