// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What is behind the handles.

#include <memory>
#include <optional>
#include <vector>

#include "capsim.h"
#include "capsim/history.hpp"
#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/population.hpp"
#include "capsim/scenario.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"
#include "guest.hpp"
#include "last_error.hpp"

struct capsim_scenario {
  capsim::Scenario scenario;
  capsim::c_interface::LastError error;
};

struct capsim_simulation {
  std::vector<capsim::RelaxingCuts> foreseen_cuts;
  bool foreseen_ring = false;
  std::shared_ptr<const capsim::Model> model;
  std::optional<capsim::Simulation> running;
  capsim::SimulationExtras guests;
  std::shared_ptr<capsim::c_interface::GuestFaults> faults = std::make_shared<capsim::c_interface::GuestFaults>();
  bool busy = false;  ///< A call that changes it has not returned.
  capsim_advance last_advance = CAPSIM_ADVANCE_NONE;
  std::size_t memory_limit_bytes = 0;             ///< 0: none.
  capsim_run_options watch = CAPSIM_RUN_OPTIONS;  ///< For calls that have no options of their own.
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
  bool busy = false;                   ///< A run into it has not returned.
  std::size_t memory_limit_bytes = 0;  ///< 0: none.
  capsim::c_interface::LastError error;
};

struct capsim_population {
  std::optional<capsim::Population> population;
  capsim::c_interface::LastError error;
};

struct capsim_sensitivities {
  std::optional<capsim::Sensitivities> found;
  bool busy = false;                   ///< A run into it has not returned.
  std::size_t memory_limit_bytes = 0;  ///< 0: none.
  capsim::c_interface::LastError error;
};

struct capsim_study {
  /// What studies into this handle ask for; empty: the usual.
  struct Wishes {
    std::vector<std::string> quantities, laws;
    std::vector<capsim::Schedule> schedules;
    std::vector<capsim::CutLayout> layouts;
  };
  Wishes wishes;
  std::string json;
  bool busy = false;                   ///< A study into it has not returned.
  std::size_t memory_limit_bytes = 0;  ///< 0: none.
  capsim::c_interface::LastError error;
};

namespace capsim::c_interface {

/// Runs `work`, which fills the handle and may call the host; a call from inside such a call is refused.
template <class Handle, class Work>
capsim_status at_work(Handle* handle, Work work) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (handle->busy) return CAPSIM_BUSY;
  handle->busy = true;
  const capsim_status status = guarded(handle->error, work);
  handle->busy = false;
  return status;
}

template <class Handle>
capsim_status set_log(Handle* handle, capsim_log_callback log, void* user) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (handle->busy) return CAPSIM_BUSY;
  handle->error.log = log;
  handle->error.log_user = user;
  return CAPSIM_OK;
}

template <class Handle>
capsim_status set_memory_limit(Handle* handle, std::size_t bytes) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (handle->busy) return CAPSIM_BUSY;
  handle->memory_limit_bytes = bytes;
  return CAPSIM_OK;
}

}  // namespace capsim::c_interface
