// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The two halves of checking a scenario: each field by itself, then fields against each other.

#include <vector>

#include "capsim/scenario.hpp"
#include "text/violation_list.hpp"

namespace capsim {

/// Adds every field that lies outside its own limits (scenario_fields.hpp).
void check_limits(const Scenario& scenario, ViolationList& found);

/// Adds every disagreement between usable fields: an opening that does not fit the bag, a cut
/// longer than the leaf, a zonule that is taut before it is stretched, ...
void check_consistency(const Scenario& scenario, ViolationList& found);

/// Adds what is wrong with cuts that may be made later in the eye of a valid scenario, under the paths
/// `possible_cuts[k].hours[i]` and `possible_cuts[k].length_mm`: each set is checked as an event of its own.
void check_possible_cuts(const Scenario& scenario, const std::vector<RelaxingCuts>& possible, ViolationList& found);

}  // namespace capsim
