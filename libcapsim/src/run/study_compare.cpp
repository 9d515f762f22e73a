// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "run/outcome_list.hpp"
#include "run/study_crowd.hpp"
#include "run/study_json.hpp"

namespace capsim {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

std::vector<std::string> default_quantities() {
  return {"clear_circle_diameter_mm", "opening_area_mm2",     "area_loss_percent",
          "opening_decentration_mm",  "lens_decentration_mm", "zonule_load_max_mN"};
}

/// Names of the outcomes there are, with unit and description: those of the plans on the day of surgery, which needs no
/// run of a year. What cuts give is named by their day and is not there in all plans; it is left out.
std::vector<Outcome> outcomes_there_are(const std::vector<Scenario>& plans, BeforeFirstRun& before) {
  std::vector<Outcome> all;
  for (Scenario plan : plans) {
    const double last = plan.duration_days;
    plan.duration_days = 0;
    plan.events.clear();
    for (const Outcome& o : outcomes(simulate(plan, before.watch())).values)
      if (std::none_of(all.begin(), all.end(), [&](const Outcome& known) { return known.name == o.name; }))
        all.push_back(o);
    for (const double day : loss_days)
      if (last >= day && plan == plans.front()) {
        const KnownOutcome loss = known_loss(day);
        all.push_back({loss.name, loss.unit, 0, loss.description});
      }
  }
  return all;
}

void check_quantities(const std::vector<std::string>& names, const std::vector<Outcome>& there,
                      std::vector<Violation>& found) {
  for (std::size_t q = 0; q < names.size(); ++q) {
    const std::string at = "quantities[" + std::to_string(q) + "]";
    if (std::none_of(there.begin(), there.end(), [&](const Outcome& o) { return o.name == names[q]; })) {
      std::string known;
      for (const Outcome& o : there) known += (known.empty() ? "" : ", ") + o.name;
      found.push_back({at, names[q], "an outcome of the plans: " + known, ""});
    }
    if (std::count(names.begin(), names.end(), names[q]) > 1) found.push_back({at, names[q], "each once", ""});
  }
}

bool has_cuts(const std::vector<Scenario>& plans) {
  return std::any_of(plans.begin(), plans.end(), [](const Scenario& plan) {
    return std::any_of(plan.events.begin(), plan.events.end(),
                       [](const Event& e) { return std::holds_alternative<RelaxingCuts>(e.action); });
  });
}

void check_names(const std::vector<Scenario>& plans, std::vector<Violation>& found) {
  for (std::size_t p = 0; p < plans.size(); ++p)
    for (std::size_t k = 0; k < p; ++k)
      if (plans[k].name == plans[p].name)
        found.push_back({"plans[" + std::to_string(p) + "].name", plans[p].name, "a name of its own",
                         "plans[" + std::to_string(k) + "] has it, too"});
}

}  // namespace

Comparison compare(const std::vector<Scenario>& plans, const Population& population,
                   std::vector<std::string> quantities, const StudyOptions& options) {
  std::vector<Violation> found;
  check_names(plans, found);
  const Crowd crowd = make_crowd(plans, population, options, std::move(found));
  Comparison result;
  result.population = crowd.name();
  for (const Scenario& plan : plans) result.plans.push_back(plan.name);
  result.laws = crowd.laws;
  result.eyes = crowd.eyes;
  result.cautions = study_cautions(has_cuts(plans));
  const std::size_t laws = crowd.laws.size(), runs = laws * plans.size() * crowd.eyes;
  result.status.assign(runs, "not run");
  BeforeFirstRun before(options, runs);
  const std::vector<Outcome> there = outcomes_there_are(plans, before);
  if (before.ended()) {  // no quantity is known yet
    result.cancelled = true;
    return result;
  }
  if (quantities.empty()) {
    quantities = default_quantities();
    std::erase_if(quantities, [&](const std::string& name) {
      return std::none_of(there.begin(), there.end(), [&](const Outcome& o) { return o.name == name; });
    });
  }
  check_quantities(quantities, there, found = {});
  if (!found.empty()) throw ScenarioError(std::move(found));

  result.quantities = quantities;
  for (const std::string& name : quantities) {
    const auto o = std::find_if(there.begin(), there.end(), [&](const Outcome& known) { return known.name == name; });
    result.units.push_back(o->unit);
    result.descriptions.push_back(o->description);
    result.better.push_back(better_way(name));
  }
  result.values.assign(quantities.size() * runs, nothing);
  // Eyes one after the other, each under every plan and law: a cancel leaves whole pairs.
  const auto run = [&](std::size_t index, const std::function<bool()>& go_on) {
    const std::size_t eye = index / (laws * plans.size()), law = index / plans.size() % laws,
                      plan = index % plans.size();
    const History history =
        simulate(crowd.eye(law, plan, eye), [&](const Progress&) { return go_on(); }, crowd.library);
    const std::size_t place = (law * plans.size() + plan) * crowd.eyes + eye;
    if (history.status() == Status::cancelled) return;
    result.status[place] = to_string(history.status());
    if (history.status() != Status::completed) return;
    const Outcomes all = outcomes(history);
    for (std::size_t q = 0; q < quantities.size(); ++q)
      if (all.has(quantities[q])) result.values[q * runs + place] = all[quantities[q]];
  };
  result.cancelled = !run_tasks(runs, options, run);
  return result;
}

double Comparison::value(std::size_t quantity, std::size_t law, std::size_t plan, std::size_t eye) const {
  if (quantity >= quantities.size() || law >= laws.size() || plan >= plans.size() || eye >= eyes)
    throw InternalError("comparison: an index lies beyond its names");
  return values[((quantity * laws.size() + law) * plans.size() + plan) * eyes + eye];
}

Quantiles Comparison::of(std::size_t quantity, std::size_t law, std::size_t plan) const {
  std::vector<double> all;
  for (std::size_t eye = 0; eye < eyes; ++eye) all.push_back(value(quantity, law, plan, eye));
  return quantiles(std::move(all));
}

PairedDifference Comparison::difference(std::size_t quantity, std::size_t law, std::size_t first,
                                        std::size_t second) const {
  PairedDifference pair{quantity, law, first, second, {}, {}, {}};
  std::vector<double> differences;
  std::size_t larger = 0, smaller = 0;
  for (std::size_t eye = 0; eye < eyes; ++eye) {
    const double d = value(quantity, law, second, eye) - value(quantity, law, first, eye);
    if (!std::isfinite(d)) continue;
    differences.push_back(d);
    larger += d > 0;
    smaller += d < 0;
  }
  const std::size_t n = differences.size();
  pair.difference = quantiles(std::move(differences));
  const bool up = better[quantity] != Better::smaller;
  pair.first_better = proportion(up ? smaller : larger, n);
  pair.second_better = proportion(up ? larger : smaller, n);
  return pair;
}

Agreement Comparison::agreement(std::size_t quantity, std::size_t first, std::size_t second) const {
  std::size_t says_first = 0, says_second = 0;
  for (std::size_t law = 0; law < laws.size(); ++law) {
    const PairedDifference pair = difference(quantity, law, first, second);
    says_first += pair.first_better.low > 0.5;
    says_second += pair.second_better.low > 0.5;
  }
  if (says_first == laws.size()) return Agreement::first;
  if (says_second == laws.size()) return Agreement::second;
  return says_first > 0 && says_second > 0 ? Agreement::disagree : Agreement::open;
}

std::string Comparison::to_json() const {
  StudyJson json{{"format", "capsim-comparison"},
                 {"version", 1},
                 {"population", population},
                 {"eyes", eyes},
                 {"cancelled", cancelled},
                 {"plans", plans},
                 {"laws", laws}};
  json["quantities"] = StudyJson::array();
  for (std::size_t q = 0; q < quantities.size(); ++q)
    json["quantities"].push_back({{"name", quantities[q]},
                                  {"unit", units[q]},
                                  {"description", descriptions[q]},
                                  {"better", to_string(better[q])}});
  json["shape"] = {quantities.size(), laws.size(), plans.size(), eyes};
  json["values"] = as_json(values);
  json["status"] = status;
  json["quantiles"] = StudyJson::array();
  json["pairs"] = StudyJson::array();
  json["agreement"] = StudyJson::array();
  for (std::size_t q = 0; q < quantities.size(); ++q) {
    for (std::size_t l = 0; l < laws.size(); ++l)
      for (std::size_t p = 0; p < plans.size(); ++p) {
        StudyJson row{{"quantity", quantities[q]}, {"law", laws[l]}, {"plan", plans[p]}};
        row.update(as_json(of(q, l, p)));
        json["quantiles"].push_back(std::move(row));
      }
    for (std::size_t a = 0; a < plans.size(); ++a)
      for (std::size_t b = a + 1; b < plans.size(); ++b) {
        for (std::size_t l = 0; l < laws.size(); ++l) {
          const PairedDifference pair = difference(q, l, a, b);
          json["pairs"].push_back({{"quantity", quantities[q]},
                                   {"law", laws[l]},
                                   {"first", plans[a]},
                                   {"second", plans[b]},
                                   {"difference", as_json(pair.difference)},
                                   {"first_better", as_json(pair.first_better)},
                                   {"second_better", as_json(pair.second_better)}});
        }
        json["agreement"].push_back({{"quantity", quantities[q]},
                                     {"first", plans[a]},
                                     {"second", plans[b]},
                                     {"laws", to_string(agreement(q, a, b))}});
      }
  }
  json["cautions"] = cautions;
  return json.dump();
}

}  // namespace capsim
