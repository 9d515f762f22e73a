// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The version of the library: of this header, known to the preprocessor, and of what is linked.

#include <string_view>

/// Version of this header, in parts and as one number: 10000 major + 100 minor + patch.
// from the library's list: version
#define CAPSIM_VERSION_MAJOR 0
#define CAPSIM_VERSION_MINOR 1
#define CAPSIM_VERSION_PATCH 0
#define CAPSIM_VERSION_NUMBER 100
// end of the list: version

namespace capsim {

/// "major.minor.patch" of the library that is linked.
[[nodiscard]] std::string_view version() noexcept;

/// Which build is linked: 16 hexadecimal digits over every source file of the library, the compiler and its options.
/// Two builds that agree in it give the same numbers, bit for bit, on one machine.
[[nodiscard]] std::string_view build() noexcept;

/// The commit that the sources were taken from, 40 hexadecimal digits, with "+" behind them where files had been
/// changed; empty where the sources were in no repository.
[[nodiscard]] std::string_view commit() noexcept;

}  // namespace capsim
