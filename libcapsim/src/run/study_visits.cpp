// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/study_visits.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>

#include "capsim/simulation.hpp"
#include "run/study_crowd.hpp"
#include "run/study_json.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

struct Derived {
  const char *name, *unit, *series;
};
/// What an examiner measures, and thresholds may be put on beside the series of one column.
constexpr std::array<Derived, 5> derived{{{"area_loss_percent", "%", "opening_area_mm2"},
                                          {"opening_decentration_mm", "mm", "opening_center_mm"},
                                          {"lens_decentration_mm", "mm", "lens_center_mm"},
                                          {"opening_shift_mm", "mm", "opening_center_mm"},
                                          {"lens_shift_mm", "mm", "lens_center_mm"}}};
constexpr std::array<const char*, 6> measurements{"opening_diameter_mm",  "clear_circle_diameter_mm",
                                                  "area_loss_percent",    "opening_decentration_mm",
                                                  "lens_decentration_mm", "opening_min_diameter_mm"};

/// The quantity on every row; empty when the history has no such quantity.
std::vector<double> course(const History& history, const std::string& name) {
  if (history.has(name) && history.series(name).columns == 1) return history.series(name).values;
  const auto found = std::find_if(derived.begin(), derived.end(), [&](const Derived& d) { return name == d.name; });
  if (found == derived.end() || !history.has(found->series)) return {};
  std::vector<double> values;
  const bool moved = name.find("_shift_") != std::string::npos;
  for (std::size_t row = 0; row < history.rows(); ++row) {
    if (name == "area_loss_percent") {
      const double start = history.value(found->series, 0);
      values.push_back(start > 0 ? 100 * (1 - history.value(found->series, row) / start) : 0);
    } else {
      const double x0 = moved ? history.value(found->series, 0, 0) : 0,
                   y0 = moved ? history.value(found->series, 0, 1) : 0;
      values.push_back(
          std::hypot(history.value(found->series, row, 0) - x0, history.value(found->series, row, 1) - y0));
    }
  }
  return values;
}

std::string unit_of(const History& history, const std::string& name) {
  for (const Derived& d : derived)
    if (name == d.name) return d.unit;
  return history.series(name).unit;
}

void check_schedules(const std::vector<Schedule>& schedules, double last, std::vector<Violation>& found) {
  for (std::size_t s = 0; s < schedules.size(); ++s) {
    const std::string at = "schedules[" + std::to_string(s) + "].days";
    const std::vector<double>& days = schedules[s].days;
    if (days.empty()) found.push_back({at, "none", "at least one visit", ""});
    for (std::size_t i = 0; i < days.size(); ++i) {
      const std::string value = with_numbers("%g", {days[i]});
      if (!(days[i] > 0 && days[i] <= last))
        found.push_back({item_path(at, i), value, with_numbers("> 0 and <= %g, the plan's last day", {last}), ""});
      else if (i > 0 && !(days[i] > days[i - 1]))
        found.push_back({item_path(at, i), value, with_numbers("> %g, the visit before", {days[i - 1]}),
                         "visits in order of their days"});
    }
  }
}

/// Days, quantity and measurements of one eye.
struct Course {
  std::vector<double> days, quantity, diameter;
  std::vector<std::vector<double>> measured;  // [measurement]
  bool completed = false;
};

class Study {
 public:
  Study(VisitStudy& result, const std::vector<Course>& courses) : result_(&result), courses_(&courses) {}

  void crossings() {
    const std::size_t eyes = result_->eyes;
    for (const Course& c : *courses_)
      result_->crossing_day.push_back(first_crossing(c.days, c.quantity, limit(), result_->threshold.below));
    for (std::size_t l = 0; l < result_->laws.size(); ++l) {
      std::size_t crossed = 0, followed = 0;
      for (std::size_t e = 0; e < eyes; ++e) {
        const bool crosses = std::isfinite(day(l, e));
        crossed += crosses;
        followed += crosses || course_of(l, e).completed;
      }
      result_->crosses.push_back(proportion(crossed, followed));
      const auto from = result_->crossing_day.begin() + static_cast<std::ptrdiff_t>(l * eyes);
      result_->day_quantiles.push_back(quantiles({from, from + static_cast<std::ptrdiff_t>(eyes)}));
    }
  }

  [[nodiscard]] ScheduleResult schedule(const Schedule& of, std::size_t law) const {
    ScheduleResult found{of.name, result_->laws[law], of.days, {}, {}, {}, {}, {}, {}};
    std::vector<std::vector<double>> late_at(of.days.size()), diameters_at(of.days.size());
    std::vector<double> late, diameters;
    std::size_t crossing = 0;
    for (std::size_t e = 0; e < result_->eyes; ++e) {
      const double crossed = day(law, e);
      if (!std::isfinite(crossed)) continue;
      ++crossing;
      const Course& c = course_of(law, e);
      for (std::size_t v = 0; v < of.days.size(); ++v) {
        if (of.days[v] < crossed || !beyond(value_on(c.days, c.quantity, of.days[v]))) continue;
        late_at[v].push_back(of.days[v] - crossed);
        diameters_at[v].push_back(value_on(c.days, c.diameter, of.days[v]));
        break;
      }
    }
    for (std::size_t v = 0; v < of.days.size(); ++v) {
      late.insert(late.end(), late_at[v].begin(), late_at[v].end());
      diameters.insert(diameters.end(), diameters_at[v].begin(), diameters_at[v].end());
      found.found.push_back(proportion(late_at[v].size(), crossing));
      found.days_late_at.push_back(quantiles(std::move(late_at[v])));
      found.opening_diameter_mm_at.push_back(quantiles(std::move(diameters_at[v])));
    }
    found.ever_found = proportion(late.size(), crossing);
    found.days_late = quantiles(std::move(late));
    found.opening_diameter_mm = quantiles(std::move(diameters));
    return found;
  }

  [[nodiscard]] EarlySign sign(std::size_t measurement, double on) const {
    const std::vector<Case> cases = cases_on(measurement, on);
    EarlySign found;
    found.measurement = measurements[measurement];
    found.day = on;
    const Rule all = best_rule(cases, 2);
    found.cut = all.cut;
    found.below = all.below;
    const std::array<Rule, 2> by_half{best_rule(cases, 1), best_rule(cases, 0)};  // learnt on the other half
    for (std::size_t l = 0; l <= result_->laws.size(); ++l) {
      std::size_t ill = 0, told = 0, well = 0, spared = 0;
      for (const Case& c : cases) {
        if (l < result_->laws.size() && c.law != l) continue;
        const bool says = by_half[c.half].says(c.value);
        (c.crosses ? ill : well) += 1;
        told += c.crosses && says;
        spared += !c.crosses && !says;
      }
      found.sensitivity.push_back(proportion(told, ill));
      found.specificity.push_back(proportion(spared, well));
    }
    return found;
  }

 private:
  struct Case {
    double value;
    bool crosses;
    std::size_t law, half;
  };
  struct Rule {
    double cut = nothing;
    bool below = true;
    [[nodiscard]] bool says(double value) const { return below ? value < cut : value > cut; }
  };

  [[nodiscard]] double limit() const { return result_->threshold.limit; }
  [[nodiscard]] bool beyond(double v) const { return result_->threshold.below ? v < limit() : v > limit(); }
  [[nodiscard]] double day(std::size_t law, std::size_t eye) const {
    return result_->crossing_day[law * result_->eyes + eye];
  }
  [[nodiscard]] const Course& course_of(std::size_t law, std::size_t eye) const {
    return (*courses_)[law * result_->eyes + eye];
  }
  /// Parity of the digits of the eye's number in base 2: both halves cover the population evenly, where even and odd
  /// numbers would be the two halves of the first spread (Halton points of base 2).
  [[nodiscard]] static std::size_t half_of(std::size_t eye) noexcept {
    return static_cast<std::size_t>(std::popcount(eye + 1) % 2);
  }
  /// The eyes that have not crossed by a day. One eye under two laws is in one half.
  [[nodiscard]] std::vector<Case> cases_on(std::size_t measurement, double on) const {
    std::vector<Case> cases;
    for (std::size_t l = 0; l < result_->laws.size(); ++l)
      for (std::size_t e = 0; e < result_->eyes; ++e) {
        const Course& c = course_of(l, e);
        const double crossed = day(l, e);
        if (c.measured.empty() || (!c.completed && !std::isfinite(crossed)) || crossed <= on) continue;
        const double value = value_on(c.days, c.measured[measurement], on);
        if (std::isfinite(value)) cases.push_back({value, std::isfinite(crossed), l, half_of(e)});
      }
    return cases;
  }
  /// The cut with the largest sensitivity + specificity over the cases of a half (2: of both).
  [[nodiscard]] static Rule best_rule(const std::vector<Case>& cases, std::size_t half) {
    std::vector<Case> own;
    std::size_t ill = 0;
    for (const Case& c : cases)
      if (half == 2 || c.half == half) {
        own.push_back(c);
        ill += c.crosses;
      }
    Rule best;
    const std::size_t well = own.size() - ill;
    if (ill == 0 || well == 0) return best;
    std::sort(own.begin(), own.end(), [](const Case& a, const Case& b) { return a.value < b.value; });
    double most = -2;
    std::size_t ill_below = 0, well_below = 0;
    for (std::size_t k = 0; k + 1 < own.size(); ++k) {
      (own[k].crosses ? ill_below : well_below) += 1;
      if (!(own[k].value < own[k + 1].value)) continue;
      const double youden = static_cast<double>(ill_below) / static_cast<double>(ill) -
                            static_cast<double>(well_below) / static_cast<double>(well);
      if (std::abs(youden) > most) {
        most = std::abs(youden);
        best = {0.5 * (own[k].value + own[k + 1].value), youden > 0};
      }
    }
    return best;
  }

  VisitStudy* result_;
  const std::vector<Course>* courses_;
};

/// The plan on the day of surgery, to know quantities and the threshold's side.
History day_of_surgery(Scenario plan, BeforeFirstRun& before) {
  plan.duration_days = 0;
  plan.events.clear();
  return simulate(plan, before.watch());
}

/// Throws where the plan has crossed the threshold on that day under a law, whose histories these are.
void check_threshold(const std::vector<History>& under_laws, const Threshold& threshold) {
  for (const History& first : under_laws) {
    if (first.rows() == 0) continue;
    const std::vector<double> values = course(first, threshold.quantity);
    if (values.empty()) {
      std::string known = "a series of one column, or";
      for (const Derived& d : derived) known += std::string(d.name == derived[0].name ? " " : ", ") + d.name;
      throw ScenarioError({{"threshold.quantity", threshold.quantity, known, ""}});
    }
    const double v = values.front();
    if (!std::isfinite(threshold.limit) || (threshold.below ? v < threshold.limit : v > threshold.limit))
      throw ScenarioError(
          {{"threshold.limit", with_numbers("%g", {threshold.limit}),
            with_numbers(
                threshold.below ? "<= %.4g, which the plan has on day 0" : ">= %.4g, which the plan has on day 0", {v}),
            "a threshold that the plan has not crossed on the day of surgery"}});
  }
}

Course course_of(const History& history, const std::string& quantity) {
  Course c;
  c.days.assign(history.day().begin(), history.day().end());
  c.quantity = course(history, quantity);
  c.diameter = history.series("opening_diameter_mm").values;
  for (const char* name : measurements) c.measured.push_back(course(history, name));
  c.completed = history.status() == Status::completed;
  return c;
}

/// The schedules for a plan that ends on `last`.
std::vector<Schedule> schedules_for(std::vector<Schedule> given, double last) {
  if (!given.empty()) return given;
  Schedule usual = usual_schedule();
  std::erase_if(usual.days, [last](double day) { return day > last; });
  return {usual};
}

}  // namespace

Schedule usual_schedule() { return {"1 day, 1 week, 1, 3, 6, 12 months", {1, 7, 30, 90, 180, 365}}; }

std::vector<Schedule> one_more_or_less(const Schedule& schedule) {
  std::vector<Schedule> all{schedule};
  const std::size_t n = schedule.days.size();
  for (std::size_t v = 0; v < n && n > 1; ++v) {
    Schedule less{with_numbers("without day %g", {schedule.days[v]}), schedule.days};
    less.days.erase(less.days.begin() + static_cast<std::ptrdiff_t>(v));
    all.push_back(std::move(less));
  }
  for (std::size_t v = 0; v + 1 < n; ++v) {
    const double middle = std::round(0.5 * (schedule.days[v] + schedule.days[v + 1]));
    if (!(middle > schedule.days[v] && middle < schedule.days[v + 1])) continue;
    Schedule more{with_numbers("with day %g", {middle}), schedule.days};
    more.days.insert(more.days.begin() + static_cast<std::ptrdiff_t>(v) + 1, middle);
    all.push_back(std::move(more));
  }
  return all;
}

VisitStudy visits(const Scenario& plan, const Population& population, const Threshold& threshold,
                  std::vector<Schedule> schedules, const StudyOptions& options) {
  schedules = schedules_for(std::move(schedules), plan.duration_days);
  std::vector<Violation> found;
  check_schedules(schedules, plan.duration_days, found);
  Crowd crowd = make_crowd({plan}, population, options, std::move(found));
  const std::size_t laws = crowd.laws.size();
  BeforeFirstRun before(options, laws * crowd.eyes);
  std::vector<History> on_the_day;
  for (const std::vector<Scenario>& plans : crowd.middle) on_the_day.push_back(day_of_surgery(plans.front(), before));
  if (!before.ended()) check_threshold(on_the_day, threshold);
  for (std::vector<Scenario>& of_law : crowd.middle) of_law.front().output_every_days = tracking_days;

  VisitStudy result;
  result.population = crowd.name();
  result.plan = plan.name;
  result.threshold = threshold;
  result.laws = crowd.laws;
  result.eyes = crowd.eyes;
  result.duration_days = plan.duration_days;
  const bool cuts = std::any_of(plan.events.begin(), plan.events.end(),
                                [](const Event& e) { return std::holds_alternative<RelaxingCuts>(e.action); });
  result.cautions = study_cautions(cuts);
  result.status.assign(laws * crowd.eyes, "not run");
  std::vector<Course> courses(laws * crowd.eyes);
  const auto run = [&](std::size_t index, const std::function<bool()>& go_on) {
    const auto [eye, law] = crowd.eye_and_law(index);
    const std::size_t place = law * crowd.eyes + eye;
    const History history = simulate(crowd.eye(law, 0, eye), [&](const Progress&) { return go_on(); }, crowd.library);
    if (history.status() == Status::cancelled) return;
    result.status[place] = to_string(history.status());
    if (history.rows() > 0) courses[place] = course_of(history, threshold.quantity);
  };
  result.cancelled = before.ended() || !run_tasks(courses.size(), options, run);

  Study study(result, courses);
  study.crossings();
  for (const Schedule& schedule : schedules)
    for (std::size_t l = 0; l < laws; ++l) result.schedules.push_back(study.schedule(schedule, l));
  const History& first = on_the_day.front();
  for (std::size_t m = 0; m < measurements.size(); ++m)
    for (const double day : schedules.front().days) {
      EarlySign sign = study.sign(m, day);
      if (!std::isfinite(sign.cut) || day >= plan.duration_days) continue;
      sign.unit = unit_of(first, sign.measurement);
      result.signs.push_back(std::move(sign));
    }
  const auto merit = [](const EarlySign& s) { return s.sensitivity.back().share + s.specificity.back().share; };
  std::stable_sort(result.signs.begin(), result.signs.end(),
                   [&](const EarlySign& a, const EarlySign& b) { return merit(a) > merit(b); });
  return result;
}

std::string VisitStudy::to_json() const {
  StudyJson json{
      {"format", "capsim-visit-study"},
      {"version", 1},
      {"population", population},
      {"plan", plan},
      {"threshold", {{"quantity", threshold.quantity}, {"limit", threshold.limit}, {"below", threshold.below}}},
      {"laws", laws},
      {"eyes", eyes},
      {"duration_days", duration_days},
      {"cancelled", cancelled},
      {"shape", {laws.size(), eyes}},
      {"crossing_day", as_json(crossing_day)},
      {"status", status},
      {"crosses", as_json(crosses)}};
  json["day_quantiles"] = as_json(day_quantiles);
  json["schedules"] = StudyJson::array();
  for (const ScheduleResult& s : schedules)
    json["schedules"].push_back({{"schedule", s.schedule},
                                 {"law", s.law},
                                 {"days", s.days},
                                 {"found", as_json(s.found)},
                                 {"ever_found", as_json(s.ever_found)},
                                 {"days_late", as_json(s.days_late)},
                                 {"opening_diameter_mm", as_json(s.opening_diameter_mm)},
                                 {"days_late_at", as_json(s.days_late_at)},
                                 {"opening_diameter_mm_at", as_json(s.opening_diameter_mm_at)}});
  json["signs"] = StudyJson::array();
  for (const EarlySign& s : signs)
    json["signs"].push_back({{"measurement", s.measurement},
                             {"unit", s.unit},
                             {"day", s.day},
                             {"cut", s.cut},
                             {"below", s.below},
                             {"sensitivity", as_json(s.sensitivity)},
                             {"specificity", as_json(s.specificity)}});
  json["cautions"] = cautions;
  return json.dump();
}

}  // namespace capsim
