// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Why no unloaded shape was found: how far the search got, in words for whoever stated the eye.

#include <limits>
#include <string>

#include "run/stress_free_shape.hpp"

namespace capsim {

/// The narrowest place of a leaf.
struct Narrow {
  double width_mm = std::numeric_limits<double>::infinity(), hour = 12;
};
/// How far a search got, and how it stood there.
struct Reached {
  double share = 0;                      ///< Of the pull.
  double off_mm = 0, unbalanced_mN = 0;  ///< Beyond that.
  double stretch = 1;                    ///< Of the equator.
  Narrow narrow;
  double moved = 1;  ///< Share of what lens and ring move the rim by, when the bare bag's shape was found.
};

/// What was too much, as far as the key and where the search got to tell.
[[nodiscard]] std::string no_unloaded_shape(const ShapeKey& key, const Reached& reached);

}  // namespace capsim
