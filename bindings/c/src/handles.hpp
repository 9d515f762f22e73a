// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What is behind the two handles.

#include <optional>

#include "capsim.h"
#include "capsim/history.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/scenario.hpp"
#include "last_error.hpp"

struct capsim_scenario {
  capsim::Scenario scenario;
  capsim::c_interface::LastError error;
};

struct capsim_history {
  /// A history together with its outcomes, computed once so that reading them changes nothing.
  struct Result {
    capsim::History history;
    capsim::Outcomes outcomes;
    explicit Result(capsim::History of) : history(std::move(of)), outcomes(capsim::outcomes(history)) {}
  };
  std::optional<Result> result;
  capsim::c_interface::LastError error;
};
