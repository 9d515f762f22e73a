// SPDX-License-Identifier: BSD-3-Clause
#include <string>
#include <utility>

#include "scenario/scenario_checks.hpp"

namespace capsim {
namespace {

/// `text` with every mention of an event's cuts replaced by the place where the caller gave them.
std::string renamed(std::string text, const std::string& event, const std::string& place) {
  for (std::size_t at = text.find(event); at != std::string::npos; at = text.find(event, at + place.size()))
    text.replace(at, event.size(), place);
  return text;
}

}  // namespace

void check_possible_cuts(const Scenario& scenario, const std::vector<RelaxingCuts>& possible, ViolationList& found) {
  const std::string event = "events[0].relaxing_cuts";
  for (std::size_t k = 0; k < possible.size(); ++k) {
    const std::string place = item_path("possible_cuts", k);
    Scenario alone = scenario;
    alone.events = {{0, possible[k]}};
    for (Violation& violation : alone.violations())
      if (violation.path.starts_with(event))
        found.add({renamed(std::move(violation.path), event, place), std::move(violation.value),
                   std::move(violation.limit), renamed(std::move(violation.hint), event, place)});
  }
}

}  // namespace capsim
