// SPDX-License-Identifier: BSD-3-Clause
#include <iterator>

#include "capsim/observables.hpp"

namespace capsim {
namespace {

struct Words {
  Axis axis;
  std::string_view name, dimensions;
};
constexpr Words words[] = {
    {Axis::one, "one", "row"},
    {Axis::xy, "xy", "row, xy"},
    {Axis::clock_hour, "clock_hour", "row, clock hour (12, 1, 2 ... 11)"},
    {Axis::pupil, "pupil", "row, pupil (2.2, 4.0, 5.0 mm)"},
    {Axis::cut, "cut", "row, cut"},
    {Axis::rim_point, "rim_point", "row, x y of each point"},
    {Axis::equator_point, "equator_point", "row, x y of each point"},
    {Axis::ring_point, "ring_point", "row, x y of each point"},
    {Axis::other, "other", "row, column"},
};
static_assert(std::size(words) == static_cast<std::size_t>(Axis::other) + 1, "an axis has no words");

}  // namespace

std::string_view to_string(Axis axis) noexcept { return words[static_cast<std::size_t>(axis)].name; }

Axis axis_named(std::string_view name) noexcept {
  for (const Words& line : words)
    if (line.name == name) return line.axis;
  return Axis::other;
}

std::string_view dimensions(Axis axis) noexcept { return words[static_cast<std::size_t>(axis)].dimensions; }

}  // namespace capsim
