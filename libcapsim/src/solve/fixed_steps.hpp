// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Dormand-Prince steps whose ends are given, with dense output: what TimeStepper does once its steps are
/// chosen.

#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <span>
#include <utility>
#include <vector>

#include "solve/array_algebra.hpp"

namespace capsim {

class FixedSteps {
 public:
  using State = std::vector<double>;

  /// Integrates rate(day, y, dydt) from y at day `from`, where it is `rate_there`, over steps that end at `ends`.
  /// `row(i)` is where the state on day rows[i] goes, asked for in order, for rows inside the steps.
  template <class Rate, class Row>
  void integrate(double from, const State& y, const State& rate_there, std::span<const double> ends, const Rate& rate,
                 State& end, std::span<const double> rows, const Row& row) {
    int asked = 0;  // in this step, for rates
    bool last_is_wanted = true;
    const auto system = [&](const State& state, State& dydt, double day) {
      if (++asked < rates_in_a_step || last_is_wanted) rate(day, state, dydt);
    };
    for (State* v : {&y_, &y_new_, &dydt_, &dydt_new_}) v->resize(y.size());
    stepper_.adjust_size(y);
    const State *at = &y, *rate_at = &rate_there;
    std::size_t next = 0;
    for (const double& to : ends) {
      // The rate at the end is for the next step, and for rows inside this one.
      last_is_wanted = &to != &ends.back() || (next < rows.size() && rows[next] < to);
      asked = 0;
      stepper_.do_step(system, *at, *rate_at, from, y_new_, dydt_new_, to - from);
      for (; next < rows.size() && rows[next] < to; ++next) {
        State& state = row(next);
        state.resize(y.size());
        stepper_.calc_state(rows[next], state, *at, *rate_at, from, y_new_, dydt_new_, to);
      }
      std::swap(y_, y_new_);
      std::swap(dydt_, dydt_new_);
      at = &y_;
      rate_at = &dydt_;
      from = to;
    }
    std::swap(end, y_);
  }

 private:
  static constexpr int rates_in_a_step = 6;  // the last at its end
  boost::numeric::odeint::runge_kutta_dopri5<State, double, State, double, ArrayAlgebra> stepper_;
  State y_, y_new_, dydt_, dydt_new_;
};

}  // namespace capsim
