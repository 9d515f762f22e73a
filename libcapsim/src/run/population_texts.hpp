// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The files of libcapsim/data/populations, built into the library: it needs no path at run time.

#include <span>
#include <string_view>

namespace capsim {

/// The text of each file, in the order in which libcapsim/cmake/populations.cmake lists them.
[[nodiscard]] std::span<const std::string_view> population_texts() noexcept;

}  // namespace capsim
