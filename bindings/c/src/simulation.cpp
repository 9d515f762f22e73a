// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/simulation.hpp"

#include "handles.hpp"
#include "run_options.hpp"

namespace capsim::c_interface {

capsim::ProgressCallback callback_of(const capsim_run_options* given) {
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  if (given != nullptr && read_struct(given, options, CAPSIM_SIZE_UP_TO(capsim_run_options, user)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT,
                  "the run options have a struct_size, or ask for something, that this library does not know");
  if (options.progress == nullptr) return {};
  return [options](const capsim::Progress& now) {
    const capsim_progress told{sizeof(capsim_progress), now.day, now.duration_days, now.opening_area_mm2};
    try {
      return options.progress(&told, options.user) == CAPSIM_CONTINUE;
    } catch (const std::exception& thrown) {
      throw Refusal(CAPSIM_CALLBACK_FAILED, std::string("the progress callback threw: ") + thrown.what());
    } catch (...) {
      throw Refusal(CAPSIM_CALLBACK_FAILED, "the progress callback threw an exception");
    }
  };
}

}  // namespace capsim::c_interface

using namespace capsim::c_interface;

extern "C" {

capsim_status capsim_simulate(const capsim_scenario* scenario, const capsim_run_options* options,
                              capsim_history* history) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  history->result.reset();
  return guarded(history->error, [&]() -> capsim_status {
    if (scenario == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "scenario is NULL");
    history->result.emplace(capsim::simulate(scenario->scenario, callback_of(options)));
    const capsim::History& made = history->result->history;
    if (made.status() == capsim::Status::completed) return CAPSIM_OK;
    return history->error.keep(CAPSIM_NOT_COMPLETED, made.message().c_str());
  });
}

}  // extern "C"
