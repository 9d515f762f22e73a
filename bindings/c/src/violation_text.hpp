// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  One part of one violated constraint, copied out.

#include "caller_memory.hpp"
#include "last_error.hpp"

namespace capsim::c_interface {

inline capsim_status copy_violation(const LastError& error, std::size_t index, capsim_violation_part part, char* text,
                                    std::size_t size, std::size_t* needed) {
  if (index >= error.violations.size()) return CAPSIM_NOT_FOUND;
  const Violation& violation = error.violations[index];
  switch (part) {
    case CAPSIM_VIOLATION_PATH:
      return copy_text(violation.path, text, size, needed);
    case CAPSIM_VIOLATION_VALUE:
      return copy_text(violation.value, text, size, needed);
    case CAPSIM_VIOLATION_LIMIT:
      return copy_text(violation.limit, text, size, needed);
    case CAPSIM_VIOLATION_HINT:
      return copy_text(violation.hint, text, size, needed);
    case CAPSIM_VIOLATION_LINE:
      return copy_text(violation.to_string(), text, size, needed);
    default:
      return CAPSIM_BAD_ARGUMENT;
  }
}

}  // namespace capsim::c_interface
