// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How the largest or smallest of several numbers changes with a parameter where some of them tie.
///
/// Model.   max_k q_k(p) has a derivative towards larger p also where several q_k are the largest: the largest of
///          their derivatives; of a minimum, the smallest. In an eye that is alike all round its hours, meridians and
///          points tie but for rounding, which must not choose among them.
/// Error.   Numbers tie that are apart by less than `tied` of their size: those of a symmetric eye at rest differ by
///          3e-9 from hour to hour.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>

namespace capsim {

inline constexpr double tied = 1e-7;
/// A distance [mm] that is none: what is left of that between points that symmetry puts into one place.
inline constexpr double no_distance_mm = 1e-6;

/// How much the largest of numbers grows from `here` to `beside`, a step towards larger values of a parameter.
[[nodiscard]] inline double growth_of_largest(std::span<const double> here, std::span<const double> beside) noexcept {
  const auto most = std::max_element(here.begin(), here.end());
  double growth = beside[static_cast<std::size_t>(most - here.begin())] - *most;
  for (std::size_t k = 0; k < here.size(); ++k)
    if (*most - here[k] < tied * std::abs(*most)) growth = std::max(growth, beside[k] - here[k]);
  return growth;
}

/// The same of the smallest.
[[nodiscard]] inline double growth_of_smallest(std::span<const double> here, std::span<const double> beside) noexcept {
  const auto least = std::min_element(here.begin(), here.end());
  double growth = beside[static_cast<std::size_t>(least - here.begin())] - *least;
  for (std::size_t k = 0; k < here.size(); ++k)
    if (here[k] - *least < tied * std::abs(*least)) growth = std::min(growth, beside[k] - here[k]);
  return growth;
}

/// Whether the largest stands at several places.
[[nodiscard]] inline bool largest_ties(std::span<const double> numbers) noexcept {
  const double most = *std::max_element(numbers.begin(), numbers.end());
  return std::count_if(numbers.begin(), numbers.end(), [&](double v) { return most - v < tied * std::abs(most); }) > 1;
}
[[nodiscard]] inline bool smallest_ties(std::span<const double> numbers) noexcept {
  const double least = *std::min_element(numbers.begin(), numbers.end());
  return std::count_if(numbers.begin(), numbers.end(), [&](double v) { return v - least < tied * std::abs(least); }) >
         1;
}

/// The same of the length of a vector.
[[nodiscard]] inline double growth_of_length(double x, double y, double x_beside, double y_beside) noexcept {
  const double length = std::hypot(x, y);
  return length < no_distance_mm ? std::hypot(x_beside - x, y_beside - y) : std::hypot(x_beside, y_beside) - length;
}

}  // namespace capsim
