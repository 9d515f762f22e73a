// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Places for tests of single parts: a small annulus, stretched and shaken.

#include <array>
#include <random>
#include <vector>

#include "annulus.hpp"
#include "part_checks.hpp"

namespace capsim::checks {

inline const AnnulusShape small{2.4, 5.0, 6, 2, 2, 1, {}, {{1, 1}}, {0, 0}};

inline AnnulusShape of_order(int order) {
  AnnulusShape shape = small;
  shape.order = order;
  return shape;
}

/// Positions x -> (sx x, sy y), with every coordinate off by up to `noise`.
inline Vector stretched(const Mesh& mesh, double sx, double sy, double noise, unsigned seed, std::size_t more = 0) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> spread(-noise, noise);
  Vector x = mesh.reference();
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = (i % 2 == 0 ? sx : sy) * x[i] + spread(random);
  x.resize(x.size() + more, 0.0);
  return x;
}

/// States of a leaf, named after what most of it is.
struct State {
  const char* name;
  double sx, sy, noise;
};
inline constexpr State states[] = {
    {"taut", 1.25, 1.2, 0.02}, {"wrinkled", 1.2, 0.75, 0.02}, {"slack", 0.85, 0.9, 0.02}, {"mixed", 1.02, 0.99, 0.12}};

}  // namespace capsim::checks
