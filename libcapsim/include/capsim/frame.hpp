// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The frame of the eye: clock hours, angles, and which side is nasal.
///
/// Model.   Seen by the examiner who faces the patient: 12 o'clock up, hours run
///          clockwise, x to the viewer's right, y up, origin at the pupil centre.
///          angle = 90 deg - 30 deg * hour, counter-clockwise from +x.
///          Right eye: 3 o'clock (+x) is nasal. Left eye: 3 o'clock is temporal.
///          Mirror twin: hour -> 12 - hour, x -> -x.

#include <array>
#include <string>

namespace capsim {

/// A point or vector in the frontal plane [mm].
using Point = std::array<double, 2>;

inline constexpr double pi = 3.14159265358979323846;

/// Which eye; only needed where nasal or temporal is printed.
enum class Eye { unspecified, right, left };

/// Angle [rad] of a clock hour (any real number of hours).
[[nodiscard]] constexpr double angle_of_hour(double hour) noexcept { return pi / 2 - pi / 6 * hour; }

/// A point turned by `angle` [rad] about the origin, then shifted.
[[nodiscard]] Point moved(Point point, double angle, Point shift) noexcept;

/// Clock hour in (0, 12] of an angle [rad].
[[nodiscard]] double hour_of_angle(double angle) noexcept;

/// Smallest signed difference a - b of two angles [rad], in (-pi, pi].
[[nodiscard]] double angle_difference(double a, double b) noexcept;

/// "nasal", "superior temporal", ... of a direction; left/right words when the eye is unspecified.
[[nodiscard]] std::string side_in_words(Point direction, Eye eye);

}  // namespace capsim
