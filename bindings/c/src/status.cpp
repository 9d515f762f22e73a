// SPDX-License-Identifier: BSD-3-Clause
// The library's own texts: names of statuses and ends, versions, cautions.
#include <algorithm>
#include <array>
#include <string_view>

#include "capsim.h"
#include "capsim/history.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/version.hpp"

namespace {

struct StatusWords {
  capsim_status status;
  const char* name;
  const char* text;
};

constexpr std::array<StatusWords, 19> words{{
    {CAPSIM_OK, "CAPSIM_OK", "Done as asked."},
    {CAPSIM_NOT_COMPLETED, "CAPSIM_NOT_COMPLETED", "The run ended before its last day; what came before is there."},
    {CAPSIM_BAD_ARGUMENT, "CAPSIM_BAD_ARGUMENT", "A NULL or a NaN that must not be, or a struct_size that can't be."},
    {CAPSIM_NOT_FOUND, "CAPSIM_NOT_FOUND", "There is nothing of that name or number."},
    {CAPSIM_BUFFER_TOO_SMALL, "CAPSIM_BUFFER_TOO_SMALL", "The buffer is too small; nothing was copied."},
    {CAPSIM_UNKNOWN_FIELD, "CAPSIM_UNKNOWN_FIELD", "The scenario has no field of that path."},
    {CAPSIM_WRONG_TYPE, "CAPSIM_WRONG_TYPE", "The field does not hold that kind of value."},
    {CAPSIM_IS_NULL, "CAPSIM_IS_NULL", "The field, or the section around it, is null."},
    {CAPSIM_INVALID_SCENARIO, "CAPSIM_INVALID_SCENARIO", "The scenario can't be run; each violation can be read."},
    {CAPSIM_FILE_ERROR, "CAPSIM_FILE_ERROR", "The file can't be written or read."},
    {CAPSIM_NOT_BUILT, "CAPSIM_NOT_BUILT", "The library was built without result files (HDF5)."},
    {CAPSIM_CALLBACK_FAILED, "CAPSIM_CALLBACK_FAILED",
     "A callback threw an exception, or an executor left jobs undone."},
    {CAPSIM_OUT_OF_MEMORY, "CAPSIM_OUT_OF_MEMORY", "There is not enough memory."},
    {CAPSIM_INTERNAL_ERROR, "CAPSIM_INTERNAL_ERROR", "A broken invariant of the library: please report it."},
    {CAPSIM_NO_REST_STATE, "CAPSIM_NO_REST_STATE", "No shape at rest was found for this eye."},
    {CAPSIM_NOT_STARTED, "CAPSIM_NOT_STARTED", "The simulation has not been started."},
    {CAPSIM_BAD_GUEST, "CAPSIM_BAD_GUEST", "A part or law of your own broke its contract."},
    {CAPSIM_BUSY, "CAPSIM_BUSY", "The handle is at work: a callback called back into it."},
    {CAPSIM_BAD_CHECKPOINT, "CAPSIM_BAD_CHECKPOINT", "These bytes are no checkpoint of this scenario and version."},
}};

const StatusWords* words_of(capsim_status status) noexcept {
  for (const StatusWords& entry : words)
    if (entry.status == status) return &entry;
  return nullptr;
}

// The numbers of capsim_end are those of the library's list, in its order.
static_assert(static_cast<int>(capsim::Status::completed) == CAPSIM_END_COMPLETED);

}  // namespace

extern "C" {

int32_t capsim_c_api(void) { return CAPSIM_C_API; }

// These texts are literals, so that they end with a NUL and never change.
const char* capsim_version(void) { return capsim::version().data(); }
int32_t capsim_version_number(void) {
  int32_t parts[3] = {};
  std::size_t part = 0;
  for (const char c : capsim::version())
    if (c == '.')
      part = std::min<std::size_t>(part + 1, 2);
    else if (c >= '0' && c <= '9')
      parts[part] = 10 * parts[part] + (c - '0');
  return 10000 * parts[0] + 100 * parts[1] + parts[2];
}
const char* capsim_research_caution(void) { return capsim::research_caution().data(); }
const char* capsim_relaxing_cut_caution(void) { return capsim::relaxing_cut_caution().data(); }

int32_t capsim_has_results_file(void) {
#ifdef CAPSIM_C_RESULTS_FILE
  return 1;
#else
  return 0;
#endif
}

const char* capsim_status_name(capsim_status status) {
  const StatusWords* found = words_of(status);
  return found == nullptr ? "unknown status" : found->name;
}
const char* capsim_status_text(capsim_status status) {
  const StatusWords* found = words_of(status);
  return found == nullptr ? "A status that this version does not know." : found->text;
}

const char* capsim_end_name(capsim_end end) {
  const auto known = capsim::statuses();
  if (end < CAPSIM_END_COMPLETED || static_cast<std::size_t>(end) >= known.size()) return "none";
  return known[static_cast<std::size_t>(end)].name.data();
}

}  // extern "C"
