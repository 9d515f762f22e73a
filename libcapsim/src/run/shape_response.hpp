// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How the unloaded shape answers to what it was searched for.
///
/// Model.   The search ends where m(x; z, f) = m_stated, g(x; z, f) = 0 and f = L(x, f): rim points, equator and
///          insertions as stated, the bag at rest, mesh lines f at their in-situ distance. For a key that depends on a
///          parameter p the derivatives dz, df, dx of that point follow from linear equations, solved by
///            dx = -K^-1 (dg at held x),   dz += M^-1 d(m_stated - m),   df = dL
///          with K and M = dm/dz exact and taken once. M leaves out that moved mesh lines discretise the bag anew, so
///          that the iteration gains some digits each time. dg, dm and dL are differences between the key and its
///          neighbour at held or linearly moved positions: nothing is searched for, so they are smooth.

#include <memory>

#include "run/parameter_step.hpp"
#include "run/stress_free_shape.hpp"

namespace capsim {

class ShapeResponse {
 public:
  /// `shape` is the one found for `key`.
  ShapeResponse(const ShapeKey& key, const StressFreeShape& shape, std::shared_ptr<PatternStore> patterns);
  ~ShapeResponse();

  /// The shape of a neighbouring key, on the tangent of the searched shape.
  [[nodiscard]] StressFreeShape beside(const ShapeKey& neighbour, const ParameterStep& step);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace capsim
