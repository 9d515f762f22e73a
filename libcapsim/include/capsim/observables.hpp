// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The quantities that a run records: name, unit, what the values of one row are, and one sentence.
///
/// The list itself, with the way each one is computed, is `src/run/observables.cpp`. Result files, the bindings and
/// the declarations in other languages are made from it.

#include <array>
#include <span>
#include <string_view>

namespace capsim {

/// What the values of one row of a series are.
enum class Axis {
  one,            ///< A single value.
  xy,             ///< A point: x, y.
  clock_hour,     ///< One value for each clock hour: 12, 1, 2 ... 11.
  pupil,          ///< One value for each of `pupil_diameters_mm`.
  cut,            ///< One value for each line on which a cut is or may be made; none without such lines.
  rim_point,      ///< x y of each point of the rim.
  equator_point,  ///< x y of each point of the equator.
  ring_point,     ///< x y of each node of the tension ring; none without a ring.
  other           ///< Of a series that another version of the library recorded.
};

/// "one", "xy", "clock_hour" ...
[[nodiscard]] std::string_view to_string(Axis axis) noexcept;
/// The axis of that name; `other` for a name that is none.
[[nodiscard]] Axis axis_named(std::string_view name) noexcept;
/// For a reader who has only the file: "row, clock hour (12, 1, 2 ... 11)".
[[nodiscard]] std::string_view dimensions(Axis axis) noexcept;

/// Diameters of the pupils that a clear fraction is given for [mm]: bright light, dim light, darkness.
inline constexpr std::array<double, 3> pupil_diameters_mm{2.2, 4.0, 5.0};

/// One quantity of the list.
struct Observable {
  std::string_view name;  ///< With the unit as suffix, `opening_area_mm2`.
  std::string_view unit;
  Axis axis;
  std::string_view description;  ///< One sentence.
};

/// All of them, in the order of a history; one whose axis has no values in a run is not recorded there.
[[nodiscard]] std::span<const Observable> observables() noexcept;

}  // namespace capsim
