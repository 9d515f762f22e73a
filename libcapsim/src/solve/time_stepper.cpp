// SPDX-License-Identifier: BSD-3-Clause
#include "solve/time_stepper.hpp"

#include <algorithm>
#include <boost/numeric/odeint/algebra/range_algebra.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>

#include "geometry/lanes.hpp"

namespace capsim {
namespace {

using State = std::vector<double>;
using Dopri5 = boost::numeric::odeint::runge_kutta_dopri5<State>;

constexpr double smallest_step = 1e-6;  // days

// 0 times a number is 0, or no number at all where it is not finite; four sums, so that none waits for another.
CAPSIM_INLINE bool sums_to_nothing(const State& v) noexcept {
  Lanes a(0.0), b(0.0), c(0.0), d(0.0);
  const Lanes zero(0.0);
  std::size_t i = 0;
  for (; i + 16 <= v.size(); i += 16) {
    a += zero * Lanes::from(&v[i]);
    b += zero * Lanes::from(&v[i + 4]);
    c += zero * Lanes::from(&v[i + 8]);
    d += zero * Lanes::from(&v[i + 12]);
  }
  double rest = ((a + b) + (c + d)).sum();
  for (; i < v.size(); ++i) rest += 0 * v[i];
  return rest == 0;
}
#if CAPSIM_HAS_WIDE_LANES
CAPSIM_WIDE_LANES bool sums_to_nothing_wide(const State& v) noexcept { return sums_to_nothing(v); }
#endif

bool all_finite(const State& v) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes()) return sums_to_nothing_wide(v);
#endif
  return sums_to_nothing(v);
}

}  // namespace

struct TimeStepper::Impl {
  double tolerance, max_step;
  Dopri5 stepper;
  State y, dydt, y_new, dydt_new, error, y_old, dydt_old;
  double day = 0, day_old = 0, dt = 0.5;
  long accepted = 0, rejected = 0;

  void begin(double at, const State& state, double first_step) {
    day = day_old = at;
    y = state;  // y_old is not looked at before there was a step
    for (State* v : {&dydt, &y_new, &dydt_new, &error, &y_old, &dydt_old}) v->resize(state.size());
    dt = std::min(max_step, first_step);
    stepper.adjust_size(state);
  }
};

TimeStepper::TimeStepper(double tolerance, double max_step) : impl_(std::make_unique<Impl>()) {
  impl_->tolerance = tolerance;
  impl_->max_step = max_step;
}
TimeStepper::~TimeStepper() = default;
TimeStepper::TimeStepper(TimeStepper&&) noexcept = default;
TimeStepper& TimeStepper::operator=(TimeStepper&&) noexcept = default;

void TimeStepper::reserve(std::size_t variables) {
  Impl& m = *impl_;
  for (State* v : {&m.y, &m.dydt, &m.y_new, &m.dydt_new, &m.error, &m.y_old, &m.dydt_old}) v->resize(variables);
  m.stepper.adjust_size(m.y);
}

bool TimeStepper::start(double day, const std::vector<double>& y, const Rate& rate, double first_step) {
  impl_->begin(day, y, first_step);
  return rate(day, impl_->y, impl_->dydt) && all_finite(impl_->dydt);
}

bool TimeStepper::start(double day, const std::vector<double>& y, const std::vector<double>& rate_there,
                        double first_step) {
  impl_->begin(day, y, first_step);
  impl_->dydt = rate_there;
  return all_finite(rate_there);
}

TimeStepper::Outcome TimeStepper::step(double limit, const Rate& rate) {
  Impl& m = *impl_;
  bool finite = true, refused = false;
  // After a refusal the method's other stages are passed over; its step is not looked at.
  const auto system = [&](const State& y, State& dydt, double day) {
    if (refused) return;
    finite = all_finite(y);
    refused = !finite || !rate(day, y, dydt);
    if (refused) return;
    finite = all_finite(dydt);
    refused = !finite;
  };
  for (;;) {
    // Never leave a sliver of a step before the limit.
    const double left = limit - m.day;
    double dt = std::min({m.dt, m.max_step, left});
    if (dt < left && left < 1.2 * dt) dt = 0.5 * left;
    const double end = dt >= left ? limit : m.day + dt;
    finite = true;
    refused = false;
    double error = 0;
    m.stepper.do_step(system, m.y, m.dydt, m.day, m.y_new, m.dydt_new, dt, m.error);
    bool tried = !refused;
    if (tried) {
      for (std::size_t i = 0; i < m.y.size(); ++i) {
        const double scale = m.tolerance * (1 + std::max(std::abs(m.y[i]), std::abs(m.y_new[i])));
        const double e = std::abs(m.error[i]) / scale;
        if (!(e <= error)) error = e;  // also catches a NaN
      }
      if (!std::isfinite(error)) {
        tried = false;
        finite = false;
      }
    }
    if (tried && error <= 1) {
      std::swap(m.y_old, m.y);
      std::swap(m.y, m.y_new);
      std::swap(m.dydt_old, m.dydt);
      std::swap(m.dydt, m.dydt_new);
      m.day_old = m.day;
      m.day = end;
      ++m.accepted;
      const double growth = std::clamp(0.9 * std::pow(std::max(error, 1e-10), -0.2), 0.3, 4.0);
      // A step that was cut short by the limit says nothing against the longer one.
      m.dt = dt < m.dt && growth >= 1 ? std::max(m.dt, growth * dt) : growth * dt;
      m.dt = std::min(m.dt, m.max_step);
      return Outcome::accepted;
    }
    ++m.rejected;
    m.dt = dt * (tried ? std::clamp(0.9 * std::pow(error, -0.2), 0.2, 0.9) : 0.25);
    if (m.dt < smallest_step) return finite ? Outcome::step_too_small : Outcome::non_finite;
  }
}

double TimeStepper::next_step() const noexcept { return impl_->dt; }
double TimeStepper::day() const noexcept { return impl_->day; }
double TimeStepper::previous_day() const noexcept { return impl_->day_old; }
const std::vector<double>& TimeStepper::state() const noexcept { return impl_->y; }
long TimeStepper::accepted() const noexcept { return impl_->accepted; }
long TimeStepper::rejected() const noexcept { return impl_->rejected; }

void TimeStepper::interpolate(double day, std::vector<double>& y) const {
  Impl& m = *impl_;
  y.resize(m.y.size());
  if (day >= m.day || m.day == m.day_old) {
    y = m.y;
    return;
  }
  m.stepper.calc_state(day, y, m.y_old, m.dydt_old, m.day_old, m.y, m.dydt, m.day);
}

}  // namespace capsim
