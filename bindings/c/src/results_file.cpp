// SPDX-License-Identifier: BSD-3-Clause
#include "caller_memory.hpp"
#include "handles.hpp"

#ifdef CAPSIM_C_RESULTS_FILE
#include "capsim/results_file.hpp"
#endif

using namespace capsim::c_interface;

extern "C" {

capsim_status capsim_history_save(capsim_history* history, const char* path) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded(history->error, [&] {
    const std::string file = given(path, "path");
    if (!history->result) throw Refusal(CAPSIM_NOT_FOUND, "there is no history to save");
#ifdef CAPSIM_C_RESULTS_FILE
    capsim::save(history->result->history, file);
    return CAPSIM_OK;
#else
    throw Refusal(CAPSIM_NOT_BUILT, capsim_status_text(CAPSIM_NOT_BUILT));
    return CAPSIM_NOT_BUILT;
#endif
  });
}

capsim_status capsim_history_load(capsim_history* history, const char* path) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (history->busy) return CAPSIM_BUSY;
  history->result.reset();
  return guarded(history->error, [&] {
    const std::string file = given(path, "path");
#ifdef CAPSIM_C_RESULTS_FILE
    history->result.emplace(capsim::load(file));
    return CAPSIM_OK;
#else
    throw Refusal(CAPSIM_NOT_BUILT, capsim_status_text(CAPSIM_NOT_BUILT));
    return CAPSIM_NOT_BUILT;
#endif
  });
}

}  // extern "C"
