// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What a run did, kept so that somebody can go along with it once more, without a search for rest.
///
/// Kept.    Of every jump, accepted step and end of a step: day, tissue and positions at rest, and how the step was
///          integrated. Of rows inside steps, those that may be asked for once more is known.
/// Bits.    Whoever goes along with the tape sees the numbers of the run itself.

#include <array>
#include <cstddef>
#include <functional>
#include <span>
#include <variant>
#include <vector>

#include "capsim/simulation.hpp"
#include "run/rows_wanted.hpp"
#include "run/run_watcher.hpp"

namespace capsim {

class RunTape final : public RunWatcher {
 public:
  /// Which of the rows recorded so far may be asked for; the latest always may.
  using Asked = std::function<RowsWanted(std::span<const Series> rows)>;
  explicit RunTape(Asked asked) : asked_(std::move(asked)) {}

  /// Shows the run to a watcher, beside an eye of the same model and extras. Rows that are not `wanted` are passed
  /// over. `go_on` is asked at every step, with its day and positions; false where it ended the show.
  [[nodiscard]] bool show(
      const Model& model, const SimulationExtras& extras, const RowsWanted& wanted, RunWatcher& watcher,
      const std::function<bool(const Eye& eye, double day, std::span<const double> x)>& go_on) const;

  void ring_laid(const Eye& eye) override;
  void acted(const Eye& eye, std::size_t first_event, std::size_t count) override;
  void settled(const Eye& eye) override;
  void steps_begin(const Eye& eye) override;
  void tried(const std::vector<double>& tissue, std::span<const double> x) override;
  void stepped(const Eye& eye, const StepTaken& step) override;
  [[nodiscard]] bool passes_over_row() const noexcept override { return false; }
  void passed_over_row() override {}
  void row_inside(const Eye& eye, double day) override;
  void row_at_end(const Eye& eye) override;
  void recorded(const Eye& eye, EventSide side) override;

 private:
  struct Rest {
    double day = 0;
    std::vector<double> tissue, x;
  };
  // What is told, in order.
  struct RingLaid {};
  struct Acted {
    std::size_t first_event, count;
    double day;
    std::vector<int> open_layers;
  };
  struct Settled {
    Rest rest;
  };
  struct StepsBegin {};
  struct Step {
    double from;
    StepTaken step;  // its spans are those of inner_days
    std::array<std::vector<double>, 3> inner_days;
    std::vector<Rest> rests;
  };
  struct RowInside {
    Rest rest;
  };
  struct RowAtEnd {
    Rest rest;
  };
  struct Recorded {
    EventSide side;
    double day;
    double residual_mN;
  };
  using Told = std::variant<RingLaid, Acted, Settled, StepsBegin, Step, RowInside, RowAtEnd, Recorded>;
  class Show;

  static constexpr std::size_t usual_inside = 64;  // rests of rows, before it is asked which of them count

  void drop_rows(std::span<const Series> rows);
  [[nodiscard]] static Rest rest_of(const Eye& eye) { return {eye.state.day, eye.state.tissue, eye.state.positions}; }

  Asked asked_;
  std::vector<Told> told_;
  std::array<Rest, 2> tried_;  // the latest last
  struct KeptRow {
    std::size_t row, told;
  };
  std::vector<KeptRow> inside_;  // rows inside steps whose rest is kept
  std::size_t rows_ = 0, most_inside_ = usual_inside;
};

}  // namespace capsim
