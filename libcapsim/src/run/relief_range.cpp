// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/relief_range.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/error.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study_cuts.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
constexpr std::string_view code = "relief_range";

Scenario with_lengths_times(Scenario scenario, double factor) {
  for (Event& event : scenario.events)
    if (auto* cuts = std::get_if<RelaxingCuts>(&event.action)) cuts->length_mm *= factor;
  return scenario;
}

std::vector<double> days_of_cuts(const Scenario& scenario) {
  std::vector<double> days;
  for (const Event& event : scenario.events)
    if (std::holds_alternative<RelaxingCuts>(event.action)) days.push_back(event.day);
  std::sort(days.begin(), days.end());
  days.erase(std::unique(days.begin(), days.end()), days.end());
  return days;
}

bool tells_of_relief(std::string_view name) {
  return name.starts_with("relief_day_") || name.starts_with("relief_kept_day_") || name == "area_loss_percent";
}

/// Puts what one run gave in its place; a quantity that no run before it had begins here.
void add(ReliefRange& range, const Outcomes& found, std::size_t place) {
  for (const Outcome& outcome : found.values) {
    if (!tells_of_relief(outcome.name)) continue;
    auto& all = range.quantities;
    auto quantity =
        std::find_if(all.begin(), all.end(), [&](const ReliefQuantity& q) { return q.name == outcome.name; });
    if (quantity == all.end())
      quantity = all.insert(all.end(), {outcome.name, outcome.unit, outcome.description,
                                        std::vector<double>(range.status.size(), nothing)});
    quantity->values[place] = outcome.value;
  }
}

double extreme(const std::vector<double>& values, bool largest) {
  double found = nothing;
  for (const double v : values)
    if (std::isfinite(v) && !(largest ? v <= found : v >= found)) found = v;
  return found;
}

/// "3 to 13 %", or "none" where no run gave a value.
std::string words_of(const ReliefQuantity* quantity) {
  if (quantity == nullptr || !std::isfinite(quantity->low())) return "nothing that can be told";
  return with_numbers("%.1f", {quantity->low()}) + with_numbers(" to %.1f ", {quantity->high()}) + quantity->unit;
}

}  // namespace

double ReliefQuantity::low() const noexcept { return extreme(values, false); }
double ReliefQuantity::high() const noexcept { return extreme(values, true); }

const ReliefQuantity& ReliefRange::operator[](std::string_view name) const {
  std::string names;
  for (const ReliefQuantity& q : quantities) {
    if (q.name == name) return q;
    names += (names.empty() ? "" : ", ") + q.name;
  }
  throw ArgumentError("no quantity \"" + std::string(name) + "\" of relief; there are: " + names);
}

Flag ReliefRange::flag() const {
  std::string text = "With the cuts at half to one and a half times their length";
  text += laws.size() > 1 ? ", and under either law of contraction: " : ": ";
  for (const ReliefQuantity& q : quantities)
    if (q.name.starts_with("relief_day_") && q.unit == "%")
      text += "those of day " + q.name.substr(11, q.name.size() - 11 - 8) + " give back " + words_of(&q) +
              " of the area at once; ";
  const auto loss = std::find_if(quantities.begin(), quantities.end(),
                                 [](const ReliefQuantity& q) { return q.name == "area_loss_percent"; });
  text += "on the last day " + words_of(loss == quantities.end() ? nullptr : &*loss) + " of the first area are lost.";
  const auto failed =
      std::count_if(status.begin(), status.end(), [](const std::string& s) { return s != "completed"; });
  if (failed > 0)
    text += with_numbers(" %.0f of the ", {static_cast<double>(failed)}) +
            with_numbers("%.0f runs gave no value.", {static_cast<double>(status.size())});
  return {std::string(code), text};
}

ReliefRange relief_range(const Scenario& scenario, const Population& population, const std::function<bool()>& go_on) {
  if (std::vector<Violation> wrong = scenario.violations(); !wrong.empty()) throw ScenarioError(std::move(wrong));
  if (days_of_cuts(scenario).empty())
    throw ArgumentError("a scenario without relaxing cuts has no range of relief: add an event with relaxing_cuts");
  ReliefRange range;
  range.population = population.name() + " " + population.edition();
  range.laws = population.laws();
  range.factors.assign(length_factors.begin(), length_factors.end());
  range.status.assign(range.laws.size() * range.factors.size(), "not run");
  const auto asked = [&](const Progress&) { return !go_on || go_on(); };
  for (std::size_t place = 0; place < range.status.size(); ++place) {
    if (!asked({})) break;
    const Scenario one = with_lengths_times(population.under(scenario, range.laws[place / range.factors.size()]),
                                            range.factors[place % range.factors.size()]);
    if (const std::vector<Violation> wrong = one.violations(); !wrong.empty()) {
      range.status[place] = wrong.front().path + " = " + wrong.front().value + ", limit " + wrong.front().limit;
      continue;
    }
    const History history = simulate(one, asked);
    if (history.status() == Status::cancelled) break;
    range.status[place] = to_string(history.status());
    if (history.status() == Status::completed) add(range, outcomes(history), place);
  }
  return range;
}

ReliefRange relief_range(const Scenario& scenario, const std::function<bool()>& go_on) {
  const BagTissueSpec& bag = scenario.bag_tissue;
  const bool whole_bag = bag.fibre_modulus_kPa > 0 || bag.active_tension_mN_per_mm > 0;
  return relief_range(scenario, population(whole_bag ? "age_related_cataract_whole_bag" : "age_related_cataract"),
                      go_on);
}

Outcomes with_relief_range(Outcomes outcomes, const ReliefRange& range) {
  std::erase_if(outcomes.flags, [](const Flag& flag) { return flag.code == code; });
  outcomes.flags.push_back(range.flag());
  return outcomes;
}

}  // namespace capsim
