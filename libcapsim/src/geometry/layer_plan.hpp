// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Where mesh lines go: graded spacing around and from rim to equator.

#include <vector>

namespace capsim {

/// Divides [0, length] into `count` intervals whose size grows with the distance from both marked
/// ends: a point t of the result is its share 0..1 of the way. `start` and `end` tell which ends
/// are marked; `ratio` is the size at a marked end over that far from it, reached after `reach`.
[[nodiscard]] std::vector<double> graded(double length, int count, bool start, bool end, double ratio, double reach);

/// Column angles [rad], `order` per element, increasing from the first ray: `around` elements,
/// with a ray on every angle in `marks` (graded towards them), or from 12 o'clock when empty.
/// `mark_rays[k]` receives the ray of mark k.
[[nodiscard]] std::vector<double> column_angles(int around, int order, const std::vector<double>& marks,
                                                std::vector<int>& mark_rays);

}  // namespace capsim
