// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include <cmath>

#include "cancel_flag.hpp"
#include "handles.hpp"
#include "memory_limit.hpp"
#include "run_options.hpp"

namespace capsim::c_interface {

RunControl::RunControl(const capsim_run_options* given) {
  if (given != nullptr && read_struct(given, options_, CAPSIM_SIZE_UP_TO(capsim_run_options, user)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT,
                  "the run options have a struct_size, or ask for something, that this library does not know");
  check();
}

RunControl::RunControl(const capsim_cancel_flag* cancel, double deadline_seconds) {
  options_.cancel = cancel;
  options_.deadline_seconds = deadline_seconds;
  check();
}

void RunControl::check() const {
  if (!(options_.deadline_seconds >= 0))
    throw Refusal(CAPSIM_BAD_ARGUMENT, "deadline_seconds must be 0 (none) or more");
}

ProgressCallback RunControl::callback() {
  if (options_.progress == nullptr && options_.cancel == nullptr && options_.deadline_seconds == 0) return {};
  return [this](const Progress& now) { return go_on(now); };
}

std::string RunControl::reason(const std::string& message) const {
  return stopped_by_.empty() ? message : stopped_by_ + ": " + message;
}

bool RunControl::go_on(const Progress& now) {
  if (capsim_cancel_flag_is_raised(options_.cancel) != 0) {
    stopped_by_ = "the cancel flag is raised";
    return false;
  }
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start_;
  if (options_.deadline_seconds > 0 && taken.count() > options_.deadline_seconds) {
    stopped_by_ = "the deadline has passed";
    return false;
  }
  if (options_.progress == nullptr) return true;
  const capsim_progress told{sizeof(capsim_progress), now.day, now.duration_days, now.opening_area_mm2};
  try {
    return options_.progress(&told, options_.user) == CAPSIM_CONTINUE;
  } catch (const std::exception& thrown) {
    throw Refusal(CAPSIM_CALLBACK_FAILED, std::string("the progress callback threw: ") + thrown.what());
  } catch (...) {
    throw Refusal(CAPSIM_CALLBACK_FAILED, "the progress callback threw an exception");
  }
}

}  // namespace capsim::c_interface

using namespace capsim::c_interface;

extern "C" {

capsim_status capsim_simulate(const capsim_scenario* scenario, const capsim_run_options* options,
                              capsim_history* history) {
  return at_work(history, [&]() -> capsim_status {
    history->result.reset();
    if (scenario == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "scenario is NULL");
    RunControl control(options);
    refuse_beyond(history->memory_limit_bytes, scenario->scenario);
    history->error.tell(CAPSIM_LOG_INFO, "run of \"" + scenario->scenario.name + "\" begins");
    history->result.emplace(capsim::simulate(scenario->scenario, control.callback()));
    const capsim::History& made = history->result->history;
    if (made.status() != capsim::Status::completed)
      return history->error.keep(CAPSIM_NOT_COMPLETED, control.reason(made.message()).c_str());
    history->error.tell(CAPSIM_LOG_INFO, made.message() + " in " + std::to_string(made.diagnostics().wall_seconds) +
                                             " s, " + std::to_string(made.diagnostics().steps) + " steps");
    return CAPSIM_OK;
  });
}

capsim_status capsim_history_set_log(capsim_history* history, capsim_log_callback log, void* user) {
  return set_log(history, log, user);
}
capsim_status capsim_history_set_memory_limit(capsim_history* history, size_t bytes) {
  return set_memory_limit(history, bytes);
}

}  // extern "C"
