// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Sums over arrays of doubles for the steppers of odeint, four numbers at a time where the processor can.
///
/// Bits.    Every number is the sum that odeint's range_algebra forms, in its order.

#include <cstddef>
#include <vector>

#include "geometry/lanes.hpp"

namespace capsim {

/// An algebra of odeint: what it is written to is none of the arrays that are read.
struct ArrayAlgebra {
  using State = std::vector<double>;

  template <class Op>
  static void for_each3(State& out, const State& a, const State& b, Op op) {
    each(op, out, a, b);
  }
  template <class Op>
  static void for_each4(State& out, const State& a, const State& b, const State& c, Op op) {
    each(op, out, a, b, c);
  }
  template <class Op>
  static void for_each5(State& out, const State& a, const State& b, const State& c, const State& d, Op op) {
    each(op, out, a, b, c, d);
  }
  template <class Op>
  static void for_each6(State& out, const State& a, const State& b, const State& c, const State& d, const State& e,
                        Op op) {
    each(op, out, a, b, c, d, e);
  }
  template <class Op>
  static void for_each7(State& out, const State& a, const State& b, const State& c, const State& d, const State& e,
                        const State& f, Op op) {
    each(op, out, a, b, c, d, e, f);
  }
  template <class Op>
  static void for_each8(State& out, const State& a, const State& b, const State& c, const State& d, const State& e,
                        const State& f, const State& g, Op op) {
    each(op, out, a, b, c, d, e, f, g);
  }

 private:
  template <class Op, class... Pointers>
  static CAPSIM_INLINE void loop(const Op& op, std::size_t n, double* __restrict out, Pointers... in) noexcept {
    for (std::size_t i = 0; i < n; ++i) op(out[i], in[i]...);
  }
#if CAPSIM_HAS_WIDE_LANES
  template <class Op, class... Pointers>
  CAPSIM_WIDE_LANES static void loop_wide(const Op& op, std::size_t n, double* out, Pointers... in) noexcept {
    loop(op, n, out, in...);
  }
#endif
  template <class Op, class... States>
  static void each(const Op& op, State& out, const States&... in) noexcept {
#if CAPSIM_HAS_WIDE_LANES
    if (wide_lanes()) return loop_wide(op, out.size(), out.data(), in.data()...);
#endif
    loop(op, out.size(), out.data(), in.data()...);
  }
};

}  // namespace capsim
