// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Dormand-Prince steps whose ends are given, with dense output: what TimeStepper does once its steps are
/// chosen.

#include <boost/numeric/odeint/algebra/range_algebra.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <span>
#include <utility>
#include <vector>

namespace capsim {

class FixedSteps {
 public:
  using State = std::vector<double>;

  /// Integrates rate(day, y, dydt) from y at day `from` over steps that end at `ends`; `seen(i, state)` is called with
  /// the state on day rows[i], in order, for rows inside the steps.
  template <class Rate, class Seen>
  void integrate(double from, const State& y, std::span<const double> ends, const Rate& rate, State& end,
                 std::span<const double> rows, const Seen& seen) {
    const auto system = [&](const State& state, State& dydt, double day) { rate(day, state, dydt); };
    for (State* v : {&y_new_, &dydt_, &dydt_new_, &error_, &row_}) v->resize(y.size());
    y_ = y;
    stepper_.adjust_size(y);
    rate(from, y_, dydt_);
    std::size_t row = 0;
    for (const double to : ends) {
      stepper_.do_step(system, y_, dydt_, from, y_new_, dydt_new_, to - from, error_);
      for (; row < rows.size() && rows[row] < to; ++row) {
        stepper_.calc_state(rows[row], row_, y_, dydt_, from, y_new_, dydt_new_, to);
        seen(row, row_);
      }
      std::swap(y_, y_new_);
      std::swap(dydt_, dydt_new_);
      from = to;
    }
    end = y_;
  }

 private:
  boost::numeric::odeint::runge_kutta_dopri5<State> stepper_;
  State y_, y_new_, dydt_, dydt_new_, error_, row_;
};

}  // namespace capsim
