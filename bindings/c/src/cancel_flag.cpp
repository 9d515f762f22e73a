// SPDX-License-Identifier: BSD-3-Clause
#include "cancel_flag.hpp"

#include <new>

extern "C" {

capsim_cancel_flag* capsim_cancel_flag_create(void) { return new (std::nothrow) capsim_cancel_flag; }
void capsim_cancel_flag_destroy(capsim_cancel_flag* flag) { delete flag; }
void capsim_cancel_flag_raise(capsim_cancel_flag* flag) {
  if (flag != nullptr) flag->raised.store(true);
}
void capsim_cancel_flag_lower(capsim_cancel_flag* flag) {
  if (flag != nullptr) flag->raised.store(false);
}
int32_t capsim_cancel_flag_is_raised(const capsim_cancel_flag* flag) {
  return flag != nullptr && flag->raised.load() ? 1 : 0;
}

}  // extern "C"
