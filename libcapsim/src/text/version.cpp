// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/version.hpp"

#include "build_identity.hpp"  // made by cmake/build_identity.cmake

// Under fast-math a compiler may drop the checks for NaN and infinity by which a failed run is
// recognised, and reorder sums so that equal scenarios no longer give equal results.
#if defined(__FAST_MATH__) || defined(_M_FP_FAST) || (defined(__FINITE_MATH_ONLY__) && __FINITE_MATH_ONLY__)
#error "libcapsim can't be built with -ffast-math, -ffinite-math-only, -Ofast or /fp:fast"
#endif

namespace capsim {

std::string_view version() noexcept { return CAPSIM_VERSION; }
std::string_view build() noexcept { return CAPSIM_BUILD; }
std::string_view commit() noexcept { return CAPSIM_COMMIT; }

}  // namespace capsim
