// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The flag by which any thread ends runs.

#include <atomic>

#include "capsim.h"

struct capsim_cancel_flag {
  std::atomic<bool> raised{false};
  static_assert(std::atomic<bool>::is_always_lock_free, "a signal handler may raise the flag");
};
