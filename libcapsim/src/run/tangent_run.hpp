// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The tangent of a run: goes along with it, or with its tape, and carries the derivatives by every parameter.
///
/// Model.   Each parameter p has a neighbour, an eye at p + step. Its tissue is integrated over the very steps that the
///          run takes, outer and inner, with its own law and its own polynomials. It never searches for a rest: where
///          the run has found one, g(x, y, p) = 0,
///            dx/dp = -K^-1 (dg/dp at held x),   x_neighbour = x + step dx/dp,
///          with K factorized at x, once for all parameters. dg/dp is the difference of the neighbour's forces at x and
///          the run's, and holds what changes with p: stress-free shape, parts, tissue. So every neighbour stays on the
///          tangent of the discrete solution, and whatever is measured at both has a derivative, smooth in p.
/// Error.   Half the step times the second derivative, and rounding over the step: see decisions/tangent_of_a_run.md.
/// Kinks.   Slack bundles, wrinkles and contact keep the branch that the run has taken, but for what lies within a step
///          of the kink. KinkWatch tells how far the next ones are.

#include <array>
#include <functional>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "capsim/simulation.hpp"
#include "parts/leaf_force_rates.hpp"
#include "run/kink_watch.hpp"
#include "run/parameter_step.hpp"
#include "run/placed_action.hpp"
#include "run/recorder.hpp"
#include "run/rows_wanted.hpp"
#include "run/run_watcher.hpp"
#include "solve/fixed_steps.hpp"
#include "solve/stretch_trail.hpp"

namespace capsim {

class TangentRun final : public RunWatcher {
 public:
  /// Adds the derivative of the forces of a host's part, which stands as `here` in the run; false: it is not told.
  using HostRate =
      std::function<bool(std::size_t part, const Part& here, std::span<const double> x, std::span<double> rate)>;
  /// One parameter: its step, the model of its neighbour, and what a host adds to that.
  struct Direction {
    ParameterStep step;
    std::shared_ptr<const Model> model;
    SimulationExtras extras;
    HostRate host_rate;  ///< Null: parts of the host are differenced.
  };
  /// `wanted` says for each row of the run whether its derivatives are asked for; `with_energy`, whether that of the
  /// energy is among them.
  TangentRun(std::shared_ptr<const Model> model, const std::vector<Direction>& directions, RowsWanted wanted,
             bool with_energy);
  ~TangentRun() override;

  /// Rows of a neighbour: those that were wanted, in order.
  [[nodiscard]] const std::vector<Series>& rows(std::size_t direction) const;
  /// For each row that the run recorded, which of its rows that is, those that were passed over counted too, and
  /// what of it the neighbours have.
  struct Recorded {
    std::size_t number = 0;
    RowUse beside = RowUse::none;
  };
  [[nodiscard]] const std::vector<Recorded>& recorded_rows() const noexcept { return recorded_; }
  /// How much parameter `direction` would have to change for the next kink of each kind on some row, to first order.
  [[nodiscard]] const KinkDistances& nearest_kinks(std::size_t direction) const;
  /// How many kinks of each kind the run went through from one of its rests to the next.
  [[nodiscard]] const KinkCounts& kinks_passed() const noexcept { return kinks_.passed(); }
  /// True where the run need not come to rest for its next row, since nobody asks for it.
  [[nodiscard]] bool passes_over_row() const noexcept override { return !next_row_wanted(); }
  /// False from where the exact tangent was not positive definite: rows after that are missing.
  [[nodiscard]] bool followed() const noexcept { return followed_; }

  void ring_laid(const Eye& eye) override;
  void acted(const Eye& eye, std::size_t first_event, std::size_t count) override;
  void settled(const Eye& eye) override;
  void steps_begin(const Eye& eye) override;
  void tried(const std::vector<double>& tissue, std::span<const double> x) override;
  void stepped(const Eye& eye, const StepTaken& step) override;
  void row_inside(const Eye& eye, double day) override;
  void row_at_end(const Eye& eye) override;
  void recorded(const Eye& eye, EventSide side) override;
  void passed_over_row() override;

 private:
  struct Neighbour;
  struct Carried;
  struct Tried {
    std::vector<double> tissue, x;
  };
  using EachNeighbour = std::function<void(Neighbour&)>;

  void each(const EachNeighbour& visit);
  void choose_parts(const Eye& eye, Carried& carried);
  void find_leaf_rates(const Eye& eye);
  void add_leaf_rates(const Eye& eye, std::size_t group);
  void set_dofs(const std::vector<int>& dof);
  template <class Visit>
  void each_free(const Visit& visit) const;
  void respond(const Eye& eye, double day, std::span<const double> x, const EachNeighbour& make_ready,
               const EachNeighbour& go_on = {});
  void find_forces_here(std::span<const double> x);
  void put_force_rates(const Carried& carried, std::span<const double> x, std::size_t lane);
  void place(Carried& carried, std::span<const double> x, std::size_t lane);
  void find_kinks(const Eye& eye);
  [[nodiscard]] bool row_wanted(std::size_t row) const noexcept {
    return row < wanted_.size() && wanted_[row] != RowUse::none;
  }
  [[nodiscard]] bool next_row_wanted() const noexcept { return row_wanted(rows_); }
  [[nodiscard]] std::vector<double> rows_inside(const Eye& eye, const StepTaken& step) const;
  void integrate(Neighbour& n, const StretchTrail& trail, std::size_t points, std::span<const double> ends,
                 std::span<const double> rows, std::vector<double>& end);

  std::shared_ptr<const Model> model_;
  std::vector<Carried> carried_;
  RowsWanted wanted_;
  bool with_energy_, followed_ = true;
  std::size_t rows_ = 0, row_in_step_ = 0;
  std::vector<Recorded> recorded_;
  Equilibrium tangent_;
  std::unique_ptr<Part> ring_;  // a copy of the run's, whose contact has couplings of its own
  // The first coordinate of each degree of freedom; and the degree of freedom and place of every other one tied to it.
  std::vector<std::size_t> coordinate_;
  std::vector<std::pair<std::size_t, std::size_t>> tied_coordinates_;
  std::array<Tried, 2> tried_;  // the latest last
  FixedSteps steps_;
  /// The two leaves' answer to a moving reference, for four parameters at a time; empty where no leaf's changes.
  struct LeafRates {
    FourLeafRates anterior, posterior;
    bool any = false;
  };
  std::vector<LeafRates> leaf_rates_;
  LeafForceRates anterior_, posterior_;
  KinkWatch kinks_;
  KinksSeen kinks_here_, kinks_beside_;
  RowMeasures run_row_;  // what ties in it, neighbours' rows choose from
  std::vector<Part*> run_parts_;
  std::size_t first_of_host_ = 0;                 // among them
  std::vector<std::vector<double>> forces_here_;  // of each of them, where some neighbour's is another
  struct MovingSet {
    std::vector<std::size_t> parts;
    std::vector<double> forces_here;  // of all of them
  };
  std::vector<MovingSet> sets_;  // of parts that differ: neighbours share a few
  std::vector<double> full_, told_, sides_, leaf_forces_, polynomial_, stretches_, ends_;
};

}  // namespace capsim
