// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Sums and magnitudes of long vectors, without a chain from each number to the next.
///
/// Bits.    A sum has sixteen partial sums on every machine, see lanes.hpp.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <limits>
#include <span>

#include "geometry/lanes.hpp"

namespace capsim {

namespace vector_sums {

[[nodiscard]] CAPSIM_INLINE double dot_product(std::span<const double> a, std::span<const double> b) noexcept {
  Lanes sum[4];
  std::size_t i = 0;
  for (; i + 16 <= a.size(); i += 16)
    for (std::size_t k = 0; k < 4; ++k) sum[k] += Lanes::from(&a[i + 4 * k]) * Lanes::from(&b[i + 4 * k]);
  double rest = ((sum[0] + sum[1]) + (sum[2] + sum[3])).sum();
  for (; i < a.size(); ++i) rest += a[i] * b[i];
  return rest;
}

CAPSIM_INLINE void add_scaled(double scale, std::span<const double> a, std::span<double> sum) noexcept {
  std::size_t i = 0;
  for (; i + 4 <= a.size(); i += 4) (Lanes::from(&sum[i]) + scale * Lanes::from(&a[i])).to(&sum[i]);
  for (; i < a.size(); ++i) sum[i] += scale * a[i];
}

#if CAPSIM_HAS_WIDE_LANES
[[nodiscard]] CAPSIM_WIDE_LANES inline double dot_product_wide(std::span<const double> a,
                                                               std::span<const double> b) noexcept {
  return dot_product(a, b);
}
CAPSIM_WIDE_LANES inline void add_scaled_wide(double scale, std::span<const double> a, std::span<double> sum) noexcept {
  add_scaled(scale, a, sum);
}
#endif

}  // namespace vector_sums

/// Of two vectors of one length.
[[nodiscard]] inline double dot_product(std::span<const double> a, std::span<const double> b) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes()) return vector_sums::dot_product_wide(a, b);
#endif
  return vector_sums::dot_product(a, b);
}

/// sum += scale a
inline void add_scaled(double scale, std::span<const double> a, std::span<double> sum) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (wide_lanes()) return vector_sums::add_scaled_wide(scale, a, sum);
#endif
  vector_sums::add_scaled(scale, a, sum);
}

/// The largest magnitude of a vector; +inf when a number of it is not finite.
[[nodiscard]] inline double largest_magnitude(std::span<const double> v) noexcept {
  // Without the sign bit numbers are in the order of their bits, and what is not finite comes after them.
  constexpr std::uint64_t magnitude = ~(std::uint64_t{1} << 63);
  std::uint64_t most[4] = {};
  const auto see = [&](std::size_t i, std::size_t k) {
    std::uint64_t bits = 0;
    std::memcpy(&bits, &v[i], sizeof bits);
    most[k] = std::max(most[k], bits & magnitude);
  };
  std::size_t i = 0;
  for (; i + 4 <= v.size(); i += 4)
    for (std::size_t k = 0; k < 4; ++k) see(i + k, k);
  for (; i < v.size(); ++i) see(i, 0);
  const std::uint64_t bits = std::max(std::max(most[0], most[1]), std::max(most[2], most[3]));
  double largest = 0;
  std::memcpy(&largest, &bits, sizeof largest);
  constexpr double infinite = std::numeric_limits<double>::infinity();
  return largest < infinite ? largest : infinite;
}

}  // namespace capsim
