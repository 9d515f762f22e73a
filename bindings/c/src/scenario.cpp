// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/scenario.hpp"

#include <new>
#include <string_view>
#include <utility>

#include "caller_memory.hpp"
#include "capsim/scenario_schema.hpp"
#include "field_value.hpp"
#include "handles.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

/// Changes a copy and keeps it when all went well: a refused call leaves the scenario as it was.
template <class Change>
capsim_status change(capsim_scenario* handle, Change apply) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded(handle->error, [&] {
    capsim::Scenario changed = handle->scenario;
    apply(changed);
    handle->scenario = std::move(changed);
    return CAPSIM_OK;
  });
}

/// The same for the field at `path`.
template <class Change>
capsim_status change_field(capsim_scenario* handle, const char* path, Change apply) noexcept {
  return change(handle, [&](capsim::Scenario& scenario) { apply(scenario, given(path, "path")); });
}

template <class Read>
capsim_status read(const capsim_scenario* handle, const char* path, Read work) noexcept {
  if (handle == nullptr || path == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return work(handle->scenario, std::string_view(path)); });
}

capsim::Event& new_event(capsim::Scenario& scenario, double day) {
  capsim::Event& event = scenario.events.emplace_back();
  event.day = day;
  return event;
}

}  // namespace

extern "C" {

capsim_scenario* capsim_scenario_create(void) {
  try {
    return new capsim_scenario;
  } catch (...) {
    return nullptr;
  }
}

capsim_scenario* capsim_scenario_copy(const capsim_scenario* scenario) {
  try {
    return scenario == nullptr ? nullptr : new capsim_scenario{scenario->scenario, {}};
  } catch (...) {
    return nullptr;
  }
}

void capsim_scenario_destroy(capsim_scenario* scenario) { delete scenario; }

capsim_status capsim_scenario_read_json(capsim_scenario* scenario, const char* text, size_t length) {
  return change(scenario, [&](capsim::Scenario& changed) {
    changed = capsim::Scenario::from_json(std::string_view(given(text, "text"), length));
  });
}

capsim_status capsim_scenario_read_file(capsim_scenario* scenario, const char* path) {
  return change(scenario,
                [&](capsim::Scenario& changed) { changed = capsim::Scenario::from_file(given(path, "path")); });
}

capsim_status capsim_scenario_write_json(const capsim_scenario* scenario, int32_t indent, char* text, size_t size,
                                         size_t* needed) {
  if (scenario == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_text(scenario->scenario.to_json(indent), text, size, needed); });
}

// ---- fields ------------------------------------------------------------------------------------

capsim_status capsim_scenario_set_number(capsim_scenario* scenario, const char* path, double value) {
  return change_field(scenario, path, [&](auto& changed, auto where) { set_number(changed, where, value); });
}
capsim_status capsim_scenario_set_integer(capsim_scenario* scenario, const char* path, int64_t value) {
  return change_field(scenario, path, [&](auto& changed, auto where) { set_integer(changed, where, value); });
}
capsim_status capsim_scenario_set_text(capsim_scenario* scenario, const char* path, const char* value) {
  return change_field(scenario, path,
                      [&](auto& changed, auto where) { set_text(changed, where, given(value, "value")); });
}
capsim_status capsim_scenario_set_numbers(capsim_scenario* scenario, const char* path, const double* values,
                                          size_t count) {
  return change_field(scenario, path, [&](auto& changed, auto where) {
    set_numbers(changed, where, given_list(values, count, "values"));
  });
}
capsim_status capsim_scenario_set_null(capsim_scenario* scenario, const char* path) {
  return change_field(scenario, path, [&](auto& changed, auto where) { set_null(changed, where); });
}
capsim_status capsim_scenario_set_default(capsim_scenario* scenario, const char* path) {
  return change_field(scenario, path, [&](auto& changed, auto where) { set_default(changed, where); });
}
capsim_status capsim_scenario_set_present(capsim_scenario* scenario, const char* path) {
  return change_field(scenario, path, [&](auto& changed, auto where) { set_present(changed, where); });
}

capsim_status capsim_scenario_get_number(const capsim_scenario* scenario, const char* path, double* value) {
  if (value == nullptr) return CAPSIM_BAD_ARGUMENT;
  return read(scenario, path, [&](const auto& from, auto where) {
    *value = get_number(from, where);
    return CAPSIM_OK;
  });
}
capsim_status capsim_scenario_get_integer(const capsim_scenario* scenario, const char* path, int64_t* value) {
  if (value == nullptr) return CAPSIM_BAD_ARGUMENT;
  return read(scenario, path, [&](const auto& from, auto where) {
    *value = get_integer(from, where);
    return CAPSIM_OK;
  });
}
capsim_status capsim_scenario_get_text(const capsim_scenario* scenario, const char* path, char* text, size_t size,
                                       size_t* needed) {
  return read(scenario, path,
              [&](const auto& from, auto where) { return copy_text(get_text(from, where), text, size, needed); });
}
capsim_status capsim_scenario_get_numbers(const capsim_scenario* scenario, const char* path, double* values,
                                          size_t size, size_t* needed) {
  return read(scenario, path, [&](const auto& from, auto where) {
    return copy_numbers(get_numbers(from, where), values, size, needed);
  });
}

// ---- events ------------------------------------------------------------------------------------

size_t capsim_scenario_event_count(const capsim_scenario* scenario) {
  return scenario == nullptr ? 0 : scenario->scenario.events.size();
}

capsim_status capsim_scenario_add_relaxing_cuts(capsim_scenario* scenario, double day, const double* hours,
                                                size_t count, double length_mm) {
  return change(scenario, [&](capsim::Scenario& changed) {
    const auto list = given_list(hours, count, "hours");
    new_event(changed, day).action = capsim::RelaxingCuts{{list.begin(), list.end()}, length_mm};
  });
}

capsim_status capsim_scenario_add_zonule_damage(capsim_scenario* scenario, double day, const int32_t* hours,
                                                const double* strengths, size_t count) {
  return change(scenario, [&](capsim::Scenario& changed) {
    const auto hour_list = given_list(hours, count, "hours");
    const auto strength_list = given_list(strengths, count, "strengths");
    capsim::ZonuleDamage damage;
    for (std::size_t k = 0; k < count; ++k) damage.strength_by_hour[hour_list[k]] = strength_list[k];
    new_event(changed, day).action = std::move(damage);
  });
}

capsim_status capsim_scenario_add_tension_ring(capsim_scenario* scenario, double day) {
  return change(scenario,
                [&](capsim::Scenario& changed) { new_event(changed, day).action = capsim::TensionRingSpec{}; });
}

capsim_status capsim_scenario_remove_event(capsim_scenario* scenario, size_t index) {
  return change(scenario, [&](capsim::Scenario& changed) {
    if (index >= changed.events.size())
      throw Refusal(CAPSIM_NOT_FOUND,
                    "there is no event " + std::to_string(index) + " among " + std::to_string(changed.events.size()));
    changed.events.erase(changed.events.begin() + static_cast<std::ptrdiff_t>(index));
  });
}

// ---- as a whole --------------------------------------------------------------------------------

capsim_status capsim_scenario_mirror(capsim_scenario* scenario) {
  return change(scenario, [](capsim::Scenario& changed) { changed = mirrored(changed); });
}
capsim_status capsim_scenario_rotate(capsim_scenario* scenario, int32_t hours) {
  return change(scenario, [&](capsim::Scenario& changed) { changed = rotated(changed, hours); });
}

capsim_status capsim_scenario_check(capsim_scenario* scenario) {
  if (scenario == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded(scenario->error, [&] {
    scenario->scenario.validate();
    return CAPSIM_OK;
  });
}

capsim_status capsim_scenario_error(const capsim_scenario* scenario, char* text, size_t size, size_t* needed) {
  if (scenario == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(scenario->error.text, text, size, needed);
}
size_t capsim_scenario_violation_count(const capsim_scenario* scenario) {
  return scenario == nullptr ? 0 : scenario->error.violations.size();
}
capsim_status capsim_scenario_violation(const capsim_scenario* scenario, size_t index, capsim_violation_part part,
                                        char* text, size_t size, size_t* needed) {
  if (scenario == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(scenario->error, index, part, text, size, needed); });
}

capsim_status capsim_scenario_schema(char* text, size_t size, size_t* needed) {
  return guarded([&] { return copy_text(capsim::scenario_schema(), text, size, needed); });
}

}  // extern "C"
