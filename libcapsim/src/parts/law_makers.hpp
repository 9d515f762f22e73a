// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How each law of the list in scenario.hpp is made: make_<word>, defined in the law's own file.

#include <memory>

#include "capsim/contraction_law.hpp"

namespace capsim {

#define CAPSIM_LAW(word) std::unique_ptr<ContractionLaw> make_##word(const ContractionSpec& spec);
CAPSIM_CONTRACTION_LAWS(CAPSIM_LAW)
#undef CAPSIM_LAW

}  // namespace capsim
