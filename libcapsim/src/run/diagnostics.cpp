// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/diagnostics.hpp"

namespace capsim {

std::span<const DiagnosticField> diagnostic_fields() noexcept {
#define CAPSIM_COUNT(name, unit, sentence) {#name, unit, sentence, &Diagnostics::name, nullptr},
#define CAPSIM_NUMBER(name, unit, sentence) {#name, unit, sentence, nullptr, &Diagnostics::name},
  static constexpr DiagnosticField fields[] = {CAPSIM_DIAGNOSTICS(CAPSIM_COUNT, CAPSIM_NUMBER)};
#undef CAPSIM_COUNT
#undef CAPSIM_NUMBER
  return fields;
}

std::span<const StatusEntry> statuses() noexcept {
#define CAPSIM_STATUS(name, sentence) {Status::name, #name, sentence},
  static constexpr StatusEntry entries[] = {CAPSIM_STATUSES(CAPSIM_STATUS)};
#undef CAPSIM_STATUS
  return entries;
}

std::string_view to_string(Status status) noexcept {
  for (const StatusEntry& entry : statuses())
    if (entry.status == status) return entry.name;
  return "unknown";
}

}  // namespace capsim
