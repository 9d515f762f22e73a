// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/history.hpp"

#include "caller_memory.hpp"
#include "handles.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

/// Runs `work` on the history, when there is one.
template <class Work>
capsim_status with(const capsim_history* handle, Work work) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!handle->result) return CAPSIM_NOT_FOUND;
  return guarded([&] { return work(handle->result->history); });
}

/// Runs `work` on the named series, when there is one.
template <class Work>
capsim_status with_series(const capsim_history* handle, const char* name, Work work) noexcept {
  if (name == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with(handle, [&](const capsim::History& history) -> capsim_status {
    if (!history.has(name)) return CAPSIM_NOT_FOUND;
    return work(history.series(name));
  });
}

}  // namespace

extern "C" {

capsim_history* capsim_history_create(void) {
  try {
    return new capsim_history;
  } catch (...) {
    return nullptr;
  }
}

void capsim_history_destroy(capsim_history* history) {
  if (history == nullptr || history->busy) return;  // from inside its own callback: the run needs it still
  delete history;
}

capsim_status capsim_history_error(const capsim_history* history, char* text, size_t size, size_t* needed) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(history->error.text, text, size, needed);
}
size_t capsim_history_violation_count(const capsim_history* history) {
  return history == nullptr ? 0 : history->error.violations.size();
}
capsim_status capsim_history_violation(const capsim_history* history, size_t index, capsim_violation_part part,
                                       char* text, size_t size, size_t* needed) {
  if (history == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(history->error, index, part, text, size, needed); });
}

// ---- the run as a whole ------------------------------------------------------------------------

capsim_end capsim_history_end(const capsim_history* history) {
  if (history == nullptr || !history->result) return CAPSIM_END_NONE;
  return static_cast<capsim_end>(history->result->history.status());
}
capsim_status capsim_history_message(const capsim_history* history, char* text, size_t size, size_t* needed) {
  return with(history, [&](const auto& h) { return copy_text(h.message(), text, size, needed); });
}
capsim_status capsim_history_version(const capsim_history* history, char* text, size_t size, size_t* needed) {
  return with(history, [&](const auto& h) { return copy_text(h.version(), text, size, needed); });
}
capsim_status capsim_history_scenario(const capsim_history* history, capsim_scenario* scenario) {
  if (scenario == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with(history, [&](const auto& h) {
    return guarded(scenario->error, [&] {
      scenario->scenario = h.scenario();
      return CAPSIM_OK;
    });
  });
}

capsim_status capsim_history_diagnostics(const capsim_history* history, capsim_diagnostics* diagnostics) {
  return with(history, [&](const auto& h) {
    const capsim::Diagnostics& d = h.diagnostics();
    capsim_diagnostics value{};
#define CAPSIM_FIELD(name, unit, sentence) value.name = d.name;
    CAPSIM_DIAGNOSTICS(CAPSIM_FIELD, CAPSIM_FIELD)
#undef CAPSIM_FIELD
    return fill_struct(diagnostics, value, CAPSIM_SIZE_UP_TO(capsim_diagnostics, wall_seconds));
  });
}

size_t capsim_diagnostic_count(void) { return capsim::diagnostic_fields().size(); }
// Literals of the list, each with a NUL at its end.
const char* capsim_diagnostic_name(size_t index) {
  return index < capsim_diagnostic_count() ? capsim::diagnostic_fields()[index].name.data() : nullptr;
}
const char* capsim_diagnostic_unit(size_t index) {
  return index < capsim_diagnostic_count() ? capsim::diagnostic_fields()[index].unit.data() : nullptr;
}
const char* capsim_diagnostic_description(size_t index) {
  return index < capsim_diagnostic_count() ? capsim::diagnostic_fields()[index].description.data() : nullptr;
}
capsim_status capsim_history_diagnostic(const capsim_history* history, const char* name, double* value) {
  if (name == nullptr || value == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with(history, [&](const auto& h) -> capsim_status {
    for (const capsim::DiagnosticField& field : capsim::diagnostic_fields())
      if (field.name == name) {
        *value = field.of(h.diagnostics());
        return CAPSIM_OK;
      }
    return CAPSIM_NOT_FOUND;
  });
}

size_t capsim_history_cut_count(const capsim_history* history) {
  return history == nullptr || !history->result ? 0 : history->result->history.cuts().size();
}
capsim_status capsim_history_cut(const capsim_history* history, size_t index, capsim_cut* cut) {
  return with(history, [&](const auto& h) -> capsim_status {
    if (index >= h.cuts().size()) return CAPSIM_NOT_FOUND;
    const capsim::CutRecord& c = h.cuts()[index];
    return fill_struct(cut, capsim_cut{sizeof(capsim_cut), c.hour, c.length_mm, c.length_on_day_mm, c.day},
                       CAPSIM_SIZE_UP_TO(capsim_cut, day));
  });
}

// ---- rows and series ---------------------------------------------------------------------------

size_t capsim_history_rows(const capsim_history* history) {
  return history == nullptr || !history->result ? 0 : history->result->history.rows();
}
capsim_status capsim_history_row_at(const capsim_history* history, double day, size_t* row) {
  if (row == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with(history, [&](const auto& h) -> capsim_status {
    if (h.rows() == 0) return CAPSIM_NOT_FOUND;
    *row = h.row_at(day);
    return CAPSIM_OK;
  });
}

size_t capsim_history_series_count(const capsim_history* history) {
  return history == nullptr || !history->result ? 0 : history->result->history.all_series().size();
}
capsim_status capsim_history_series_name(const capsim_history* history, size_t index, char* text, size_t size,
                                         size_t* needed) {
  return with(history, [&](const auto& h) -> capsim_status {
    if (index >= h.all_series().size()) return CAPSIM_NOT_FOUND;
    return copy_text(h.all_series()[index].name, text, size, needed);
  });
}
capsim_status capsim_history_series_unit(const capsim_history* history, const char* name, char* text, size_t size,
                                         size_t* needed) {
  return with_series(history, name, [&](const auto& s) { return copy_text(s.unit, text, size, needed); });
}
capsim_status capsim_history_series_description(const capsim_history* history, const char* name, char* text,
                                                size_t size, size_t* needed) {
  return with_series(history, name, [&](const auto& s) { return copy_text(s.description, text, size, needed); });
}
capsim_status capsim_history_columns(const capsim_history* history, const char* name, size_t* columns) {
  if (columns == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with_series(history, name, [&](const auto& s) {
    *columns = s.columns;
    return CAPSIM_OK;
  });
}
capsim_status capsim_history_values(const capsim_history* history, const char* name, double* values, size_t size,
                                    size_t* needed) {
  return with_series(history, name, [&](const auto& s) { return copy_numbers(s.values, values, size, needed); });
}
capsim_status capsim_history_value(const capsim_history* history, const char* name, size_t row, size_t column,
                                   double* value) {
  if (value == nullptr) return CAPSIM_BAD_ARGUMENT;
  return with_series(history, name, [&](const auto& s) -> capsim_status {
    if (row >= history->result->history.rows() || column >= s.columns) return CAPSIM_NOT_FOUND;
    *value = s.values[row * s.columns + column];
    return CAPSIM_OK;
  });
}
capsim_status capsim_history_outline_mm(const capsim_history* history, size_t row, double* xy, size_t size,
                                        size_t* needed) {
  return with(history, [&](const auto& h) -> capsim_status {
    if (row >= h.rows()) return CAPSIM_NOT_FOUND;
    const std::vector<capsim::Point> points = h.outline_mm(row);
    std::vector<double> flat;
    flat.reserve(2 * points.size());
    for (const capsim::Point& point : points) flat.insert(flat.end(), point.begin(), point.end());
    return copy_numbers(flat, xy, size, needed);
  });
}

}  // extern "C"
