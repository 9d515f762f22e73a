// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The largest pull of the zonule that the capsule of a stated bag can carry.
///
/// Model.   Bag and opening are stated at rest, the bag of radius R under the healthy pull P. The two capsules take it
///          up together: P / (2 pi R) = T, a tension per length of the equator at rest. A neo-Hookean sheet of modulus
///          E and thickness t, stretched without end, comes to T = mu t, mu = E / 3, and not beyond (mu t (1 - l^-6)
///          at the stretch l); an annulus of unloaded radii a < b to mu t (b^2 - a^2) / (b^2 + a^2), since its forces
///          become those of springs: r = c (R + a^2 / R). So
///            P < 2 pi R mu (t_front + t_back)
///          whatever the opening is. Where no zonule holds the eye its opening is stated unloaded, a is known, and
///            P < 2 pi R mu max over b of (t_front (b^2 - a^2) / (b^2 + a^2) + t_back (1 - (b / R)^6)).
/// Assumes. An even pull on the equator. What inserts on the leaf is held by its hoops, which have no such end.
/// Reference. Theory: section 11; figures: decisions/stress_free_shape.md.

#include "capsim/scenario.hpp"

namespace capsim {

/// [mN]; infinite where nothing limits it: the exponential law stiffens without end, and an opening that is stated
/// stress-free is not stated under the pull. The fields it needs must lie between their limits.
[[nodiscard]] double most_carried_pull_mN(const Scenario& scenario);

}  // namespace capsim
