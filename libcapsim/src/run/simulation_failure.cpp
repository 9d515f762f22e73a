// SPDX-License-Identifier: BSD-3-Clause
// How a simulation ends before its time, and what it says of it.
#include "run/simulation_state.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {

bool Simulation::Impl::end_by_equilibrium(std::string_view when) {
  if (last_report_.end == EquilibriumEnd::interrupted) {
    now_.status = Status::cancelled;
    now_.message = "cancelled " + std::string(when) + ", on day " + number(now_.day);
    return false;
  }
  find_worst_element(now_.diagnostics);
  now_.status = tissue_is_finite() ? status_of(last_report_) : Status::non_finite;
  const std::string failed = what_failed() + " " + std::string(when), why = why_it_failed(), remedy = what_to_try();
  keep_last_day();
  now_.message = failed + " (last good day " + number(now_.diagnostics.last_good_day) + "): " + why + "; " + remedy;
  return false;
}

const Part* Simulation::Impl::part_at_fault(const EquilibriumReport& report) noexcept {
  return dynamic_cast<const Leaf*>(report.not_finite) == nullptr ? report.not_finite : nullptr;
}

Status Simulation::Impl::status_of(const EquilibriumReport& report) noexcept {
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

bool Simulation::Impl::tissue_is_finite() const {
  return std::all_of(now_.tissue.begin(), now_.tissue.end(), [](double v) { return std::isfinite(v); });
}

void Simulation::Impl::keep_last_day() {
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

std::string Simulation::Impl::what_failed() const {
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

std::string Simulation::Impl::why_it_failed() const {
  if (!tissue_is_finite()) return "the part that it drives has no force";
  if (const Part* part = part_at_fault(last_report_))
    return "the part \"" + std::string(part->name()) + "\" " +
           (now_.status == Status::non_finite ? "gave it" : "has an energy without end at the shapes that were tried");
  std::string text = now_.status == Status::too_much_work ? "the eye is near a state in which it turns or gives way"
                     : last_report_.end == EquilibriumEnd::folded || last_report_.end == EquilibriumEnd::not_finite
                         ? "no step on the way to rest left all elements whole"
                         : "unbalanced force " + number(last_report_.residual_mN) + " mN against a limit of " +
                               number(now_.diagnostics.tolerance_mN) + " mN";
  return text + "; the most distorted element lies at " + number(now_.diagnostics.worst_element_hour) +
         " o'clock with " + number(now_.diagnostics.worst_element_ratio) + " of its area";
}

std::string Simulation::Impl::what_to_try() const {
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

void Simulation::Impl::find_worst_element(Diagnostics& d) const {
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

}  // namespace capsim
