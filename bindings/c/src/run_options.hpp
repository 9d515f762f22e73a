// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The caller's way of running, as the library wants it.

#include "caller_memory.hpp"
#include "capsim/simulation.hpp"

namespace capsim::c_interface {

/// The caller's callback; empty when there is none. Refuses options that this library does not know.
[[nodiscard]] ProgressCallback callback_of(const capsim_run_options* given);

}  // namespace capsim::c_interface
