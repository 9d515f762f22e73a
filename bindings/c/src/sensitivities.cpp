// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/sensitivities.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include "caller_memory.hpp"
#include "handles.hpp"
#include "memory_limit.hpp"
#include "run_options.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

capsim_sensitivity_options known_of(const capsim_sensitivity_options* given_options) {
  capsim_sensitivity_options known = CAPSIM_SENSITIVITY_OPTIONS;
  if (given_options != nullptr &&
      read_struct(given_options, known, CAPSIM_SIZE_UP_TO(capsim_sensitivity_options, series_day_count)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT,
                  "the sensitivity options have a struct_size, or ask for something, that this library does not know");
  return known;
}

capsim::SensitivityOptions options_of(const capsim_sensitivity_options& known) {
  capsim::SensitivityOptions options;
  options.outcomes = known.no_outcomes == 0;
  for (const char* name : given_list(known.series, known.series_count, "series"))
    options.series.emplace_back(given(name, "a name in series"));
  const auto days = given_list(known.series_days, known.series_day_count, "series_days");
  options.series_days.assign(days.begin(), days.end());
  return options;
}

/// Runs `work` on what the handle holds, if it does.
template <class Work>
capsim_status with_found(const capsim_sensitivities* handle, Work work) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  return handle->found ? work(*handle->found) : CAPSIM_NOT_FOUND;
}

template <class Work>
capsim_status with_parameter(const capsim_sensitivities* handle, std::size_t index, Work work) noexcept {
  return with_found(handle, [&](const capsim::Sensitivities& found) -> capsim_status {
    return index < found.parameters.size() ? work(found.parameters[index]) : CAPSIM_NOT_FOUND;
  });
}

}  // namespace

extern "C" {

capsim_sensitivities* capsim_sensitivities_create(void) {
  try {
    return new capsim_sensitivities;
  } catch (...) {
    return nullptr;
  }
}
void capsim_sensitivities_destroy(capsim_sensitivities* sensitivities) {
  if (sensitivities == nullptr || sensitivities->busy) return;  // from inside its own log: the run needs it still
  delete sensitivities;
}

capsim_status capsim_sensitivities_set_log(capsim_sensitivities* handle, capsim_log_callback log, void* user) {
  return set_log(handle, log, user);
}
capsim_status capsim_sensitivities_set_memory_limit(capsim_sensitivities* handle, size_t bytes) {
  return set_memory_limit(handle, bytes);
}

capsim_status capsim_sensitivities_run(capsim_sensitivities* handle, const capsim_scenario* scenario,
                                       const char* const* paths, size_t count,
                                       const capsim_sensitivity_options* options) {
  return at_work(handle, [&]() -> capsim_status {
    handle->found.reset();
    if (scenario == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "scenario is NULL");
    std::vector<std::string> by;
    for (const char* path : given_list(paths, count, "paths")) by.emplace_back(given(path, "a path"));
    const capsim_sensitivity_options known = known_of(options);
    capsim::SensitivityOptions how = options_of(known);
    RunControl control(known.cancel, known.deadline_seconds);
    how.progress = control.callback();
    refuse_beyond(handle->memory_limit_bytes, estimated_memory_bytes(scenario->scenario, by.size()),
                  "this run with its derivatives", "fewer parameters at a time, or a coarser mesh");
    const std::string what = std::to_string(by.size()) + " parameters";
    handle->error.tell(CAPSIM_LOG_INFO,
                       "run of \"" + scenario->scenario.name + "\" and its derivatives by " + what + " begins");
    handle->found.emplace(capsim::sensitivities(scenario->scenario, by, how));
    const std::string& message = handle->found->message;
    if (!message.empty()) return handle->error.keep(CAPSIM_NOT_COMPLETED, control.reason(message).c_str());
    handle->error.tell(CAPSIM_LOG_INFO, handle->found->history.message() + ", with derivatives by " + what);
    return CAPSIM_OK;
  });
}

capsim_status capsim_sensitivities_history(const capsim_sensitivities* handle, capsim_history* history) {
  if (handle == nullptr || history == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (history->busy) return CAPSIM_BUSY;
  history->result.reset();
  return guarded(history->error, [&]() -> capsim_status {
    if (!handle->found) throw Refusal(CAPSIM_NOT_FOUND, "there are no sensitivities: run them first");
    history->result.emplace(handle->found->history);
    return CAPSIM_OK;
  });
}

size_t capsim_sensitivities_parameter_count(const capsim_sensitivities* handle) {
  return handle == nullptr || !handle->found ? 0 : handle->found->parameters.size();
}
capsim_status capsim_sensitivities_parameter(const capsim_sensitivities* handle, size_t index,
                                             capsim_sensitivity_parameter* parameter) {
  return with_parameter(handle, index, [&](const capsim::SensitivityParameter& one) {
    return fill_struct(
        parameter,
        capsim_sensitivity_parameter{sizeof(capsim_sensitivity_parameter), one.value, one.one_sided ? 1 : 0,
                                     one.nearest_slack, one.nearest_wrinkle, one.nearest_contact, one.nearest_jump},
        CAPSIM_SIZE_UP_TO(capsim_sensitivity_parameter, nearest_slack));
  });
}
capsim_status capsim_sensitivities_parameter_path(const capsim_sensitivities* handle, size_t index, char* text,
                                                  size_t size, size_t* needed) {
  return with_parameter(handle, index, [&](const auto& one) { return copy_text(one.path, text, size, needed); });
}
capsim_status capsim_sensitivities_parameter_unit(const capsim_sensitivities* handle, size_t index, char* text,
                                                  size_t size, size_t* needed) {
  return with_parameter(handle, index, [&](const auto& one) { return copy_text(one.unit, text, size, needed); });
}

capsim_status capsim_sensitivities_of_outcome(const capsim_sensitivities* handle, const char* name, double* values,
                                              size_t size, size_t* needed) {
  if (name == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with_found(handle, [&](const capsim::Sensitivities& found) -> capsim_status {
    const auto& all = found.outcomes.values;
    const auto outcome = std::find_if(all.begin(), all.end(), [&](const auto& one) { return one.name == name; });
    const std::size_t parameters = found.parameters.size();
    if (outcome == all.end() || found.by_outcome.empty()) return CAPSIM_NOT_FOUND;
    const auto first = static_cast<std::size_t>(outcome - all.begin()) * parameters;
    return copy_numbers(std::span(found.by_outcome).subspan(first, parameters), values, size, needed);
  });
}
capsim_status capsim_sensitivities_of_series(const capsim_sensitivities* handle, const char* name, double* values,
                                             size_t size, size_t* needed) {
  if (name == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with_found(handle, [&](const capsim::Sensitivities& found) -> capsim_status {
    for (const auto& series : found.by_series)
      if (series.name == name) return copy_numbers(series.values, values, size, needed);
    return CAPSIM_NOT_FOUND;
  });
}
capsim_status capsim_sensitivities_kinks_passed(const capsim_sensitivities* handle, capsim_kink_counts* counts) {
  return with_found(handle, [&](const capsim::Sensitivities& found) -> capsim_status {
    const capsim::KinkCounts& passed = found.kinks_passed;
    return fill_struct(counts,
                       capsim_kink_counts{sizeof(capsim_kink_counts), passed.slack, passed.wrinkle, passed.contact},
                       CAPSIM_SIZE_UP_TO(capsim_kink_counts, contact));
  });
}
capsim_status capsim_sensitivities_message(const capsim_sensitivities* handle, char* text, size_t size,
                                           size_t* needed) {
  return with_found(handle, [&](const auto& found) { return copy_text(found.message, text, size, needed); });
}

capsim_status capsim_sensitivities_error(const capsim_sensitivities* handle, char* text, size_t size, size_t* needed) {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(handle->error.text, text, size, needed);
}
size_t capsim_sensitivities_violation_count(const capsim_sensitivities* handle) {
  return handle == nullptr ? 0 : handle->error.violations.size();
}
capsim_status capsim_sensitivities_violation(const capsim_sensitivities* handle, size_t index,
                                             capsim_violation_part part, char* text, size_t size, size_t* needed) {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(handle->error, index, part, text, size, needed); });
}

}  // extern "C"
