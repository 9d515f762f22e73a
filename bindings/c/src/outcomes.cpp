// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/outcomes.hpp"

#include <string_view>

#include "caller_memory.hpp"
#include "handles.hpp"

namespace {

using capsim::Outcome;
using capsim::Outcomes;
using namespace capsim::c_interface;

const Outcomes* outcomes_of(const capsim_history* handle) noexcept {
  return handle == nullptr || !handle->result ? nullptr : &handle->result->outcomes;
}

/// Runs `work` on item `index` of the list that `member` names.
template <class Item, class Work>
capsim_status with_item(const capsim_history* handle, std::vector<Item> Outcomes::* member, std::size_t index,
                        Work work) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  const Outcomes* all = outcomes_of(handle);
  if (all == nullptr || index >= (all->*member).size()) return CAPSIM_NOT_FOUND;
  return work((all->*member)[index]);
}

template <class Work>
capsim_status with_named(const capsim_history* handle, const char* name, Work work) noexcept {
  if (handle == nullptr || name == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (const Outcomes* all = outcomes_of(handle))
    for (const Outcome& outcome : all->values)
      if (outcome.name == std::string_view(name)) return work(outcome);
  return CAPSIM_NOT_FOUND;
}

}  // namespace

extern "C" {

size_t capsim_history_outcome_count(const capsim_history* history) {
  const Outcomes* all = outcomes_of(history);
  return all == nullptr ? 0 : all->values.size();
}
capsim_status capsim_history_outcome_name(const capsim_history* history, size_t index, char* text, size_t size,
                                          size_t* needed) {
  return with_item(history, &Outcomes::values, index,
                   [&](const Outcome& outcome) { return copy_text(outcome.name, text, size, needed); });
}
capsim_status capsim_history_outcome_unit(const capsim_history* history, const char* name, char* text, size_t size,
                                          size_t* needed) {
  return with_named(history, name, [&](const Outcome& outcome) { return copy_text(outcome.unit, text, size, needed); });
}
capsim_status capsim_history_outcome_description(const capsim_history* history, const char* name, char* text,
                                                 size_t size, size_t* needed) {
  return with_named(history, name,
                    [&](const Outcome& outcome) { return copy_text(outcome.description, text, size, needed); });
}
capsim_status capsim_history_outcome_value(const capsim_history* history, const char* name, double* value) {
  if (value == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with_named(history, name, [&](const Outcome& outcome) {
    *value = outcome.value;
    return CAPSIM_OK;
  });
}

capsim_status capsim_history_set_runaway_margin(capsim_history* history, const capsim_runaway_margin* margin) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded(history->error, [&]() -> capsim_status {
    capsim_runaway_margin known{};
    if (read_struct(margin, known, CAPSIM_SIZE_UP_TO(capsim_runaway_margin, equilibria)) != CAPSIM_OK ||
        known.end < CAPSIM_RUNAWAY_TIPS || known.end > CAPSIM_RUNAWAY_NOTHING_PULLS)
      throw Refusal(CAPSIM_BAD_ARGUMENT, "the margin is NULL, or not one that capsim_simulation_runaway_margin filled");
    if (!history->result) throw Refusal(CAPSIM_NOT_FOUND, "there is no history to put a margin into");
    history->result->outcomes =
        capsim::outcomes(history->result->history,
                         capsim::RunawayMargin{static_cast<capsim::RunawayEnd>(known.end), known.contraction_factor,
                                               known.area_mm2, static_cast<int>(known.equilibria)});
    return CAPSIM_OK;
  });
}

size_t capsim_history_flag_count(const capsim_history* history) {
  const Outcomes* all = outcomes_of(history);
  return all == nullptr ? 0 : all->flags.size();
}
capsim_status capsim_history_flag_code(const capsim_history* history, size_t index, char* text, size_t size,
                                       size_t* needed) {
  return with_item(history, &Outcomes::flags, index,
                   [&](const capsim::Flag& flag) { return copy_text(flag.code, text, size, needed); });
}
capsim_status capsim_history_flag_text(const capsim_history* history, size_t index, char* text, size_t size,
                                       size_t* needed) {
  return with_item(history, &Outcomes::flags, index,
                   [&](const capsim::Flag& flag) { return copy_text(flag.text, text, size, needed); });
}

size_t capsim_history_caution_count(const capsim_history* history) {
  const Outcomes* all = outcomes_of(history);
  return all == nullptr ? 0 : all->cautions.size();
}
capsim_status capsim_history_caution(const capsim_history* history, size_t index, char* text, size_t size,
                                     size_t* needed) {
  return with_item(history, &Outcomes::cautions, index,
                   [&](const std::string& caution) { return copy_text(caution, text, size, needed); });
}

}  // extern "C"
