// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Vectors and tensors of the plane, for any number type (lanes.hpp), so that formulas read as on the theory
/// page.
///
/// Order.   F.xy is dx/dY: the first letter is the row. In memory xx xy yx yy, which the theory page calls 11 12 21 22.
/// Bits.    A product adds its terms in the order of the indices: (a b)_ij = a_ix b_xj + a_iy b_yj.

#include <array>

#include "geometry/lanes.hpp"

namespace capsim {

template <class T>
struct VectorOf {
  T x = T(0.0), y = T(0.0);
  CAPSIM_INLINE VectorOf& operator+=(const VectorOf& b) noexcept {
    x += b.x;
    y += b.y;
    return *this;
  }
};
using PlaneVector = VectorOf<double>;

template <class T>
struct TensorOf {
  T xx = T(0.0), xy = T(0.0), yx = T(0.0), yy = T(0.0);

  [[nodiscard]] static CAPSIM_INLINE TensorOf identity() noexcept { return {T(1.0), T(0.0), T(0.0), T(1.0)}; }
  [[nodiscard]] CAPSIM_INLINE T determinant() const noexcept { return xx * yy - xy * yx; }
  CAPSIM_INLINE TensorOf& operator+=(const TensorOf& b) noexcept {
    xx += b.xx;
    xy += b.xy;
    yx += b.yx;
    yy += b.yy;
    return *this;
  }
  CAPSIM_INLINE TensorOf& operator-=(const TensorOf& b) noexcept {
    xx -= b.xx;
    xy -= b.xy;
    yx -= b.yx;
    yy -= b.yy;
    return *this;
  }
  CAPSIM_INLINE TensorOf& operator*=(const T& s) noexcept {
    xx *= s;
    xy *= s;
    yx *= s;
    yy *= s;
    return *this;
  }
  CAPSIM_INLINE TensorOf operator-() const noexcept { return {-xx, -xy, -yx, -yy}; }
};
using Tensor = TensorOf<double>;

/// From four numbers that stand in the order of memory.
[[nodiscard]] CAPSIM_INLINE Tensor tensor(const double* a) noexcept { return {a[0], a[1], a[2], a[3]}; }
[[nodiscard]] CAPSIM_INLINE Tensor tensor(const std::array<double, 4>& a) noexcept { return tensor(a.data()); }

/// a . b
template <class T>
[[nodiscard]] CAPSIM_INLINE T dot(const VectorOf<T>& a, const VectorOf<T>& b) noexcept {
  return a.x * b.x + a.y * b.y;
}
/// (a b^T)_ij = a_i b_j
template <class T>
[[nodiscard]] CAPSIM_INLINE TensorOf<T> dyad(const VectorOf<T>& a, const VectorOf<T>& b) noexcept {
  return {a.x * b.x, a.x * b.y, a.y * b.x, a.y * b.y};
}
template <class T>
[[nodiscard]] CAPSIM_INLINE VectorOf<T> operator*(const T& s, const VectorOf<T>& v) noexcept {
  return {s * v.x, s * v.y};
}
template <class T>
[[nodiscard]] CAPSIM_INLINE VectorOf<T> operator*(const TensorOf<T>& a, const VectorOf<T>& v) noexcept {
  return {a.xx * v.x + a.xy * v.y, a.yx * v.x + a.yy * v.y};
}
template <class T>
[[nodiscard]] CAPSIM_INLINE TensorOf<T> operator*(const TensorOf<T>& a, const TensorOf<T>& b) noexcept {
  return {a.xx * b.xx + a.xy * b.yx, a.xx * b.xy + a.xy * b.yy, a.yx * b.xx + a.yy * b.yx, a.yx * b.xy + a.yy * b.yy};
}
template <class T>
[[nodiscard]] CAPSIM_INLINE TensorOf<T> transposed(const TensorOf<T>& a) noexcept {
  return {a.xx, a.yx, a.xy, a.yy};
}
template <class T>
[[nodiscard]] CAPSIM_INLINE TensorOf<T> inverse(const TensorOf<T>& a) noexcept {
  const T determinant = a.determinant();
  return {a.yy / determinant, -a.xy / determinant, -a.yx / determinant, a.xx / determinant};
}

/// The number of an entry of F, of P = dW/dF, and of a row or column of A = d2W/dF2.
namespace entry {
inline constexpr int xx = 0, xy = 1, yx = 2, yy = 3;
}

/// A = d2W/dF2, symmetric; by two entries of F, in either order.
template <class T>
struct Moduli {
  T value[10] = {};
  static constexpr int slot[4][4] = {{0, 1, 2, 3}, {1, 4, 5, 6}, {2, 5, 7, 8}, {3, 6, 8, 9}};
  CAPSIM_INLINE T& operator()(int i, int j) noexcept { return value[slot[i][j]]; }
  CAPSIM_INLINE const T& operator()(int i, int j) const noexcept { return value[slot[i][j]]; }

  /// The derivatives by the rows i and k of F: A_iJkL as a tensor of J and L.
  [[nodiscard]] CAPSIM_INLINE TensorOf<T> block(int i, int k) const noexcept {
    const Moduli& a = *this;
    return {a(2 * i, 2 * k), a(2 * i, 2 * k + 1), a(2 * i + 1, 2 * k), a(2 * i + 1, 2 * k + 1)};
  }
  CAPSIM_INLINE Moduli& operator+=(const Moduli& b) noexcept {
    for (int n = 0; n < 10; ++n) value[n] += b.value[n];
    return *this;
  }
  CAPSIM_INLINE Moduli& operator*=(const T& s) noexcept {
    for (T& v : value) v *= s;
    return *this;
  }
  /// Adds s g g.
  CAPSIM_INLINE void add_dyad(const T& s, const TensorOf<T>& g) noexcept {
    const T v[4] = {g.xx, g.xy, g.yx, g.yy};
    Moduli& a = *this;
    for (int i = 0; i < 4; ++i)
      for (int j = i; j < 4; ++j) a(i, j) += s * v[i] * v[j];
  }
  /// Adds the same symmetric tensor for either row: 1_ik s_JL.
  CAPSIM_INLINE void add_to_rows(const TensorOf<T>& s) noexcept {
    using namespace entry;
    Moduli& a = *this;
    a(xx, xx) += s.xx;
    a(xx, xy) += s.xy;
    a(xy, xy) += s.yy;
    a(yx, yx) += s.xx;
    a(yx, yy) += s.xy;
    a(yy, yy) += s.yy;
  }
};

/// From the derivatives by F M to those by F: A_iJkL = Ae_iMkN M_JM M_LN.
template <class T>
[[nodiscard]] CAPSIM_INLINE Moduli<T> pulled_back(const Moduli<T>& ae, const TensorOf<T>& m) noexcept {
  using namespace entry;
  const TensorOf<T> to = transposed(m);
  const TensorOf<T> x = m * (ae.block(0, 0) * to), mixed = m * (ae.block(0, 1) * to), y = m * (ae.block(1, 1) * to);
  Moduli<T> a;
  a(xx, xx) = x.xx;
  a(xx, xy) = x.xy;
  a(xy, xy) = x.yy;
  a(xx, yx) = mixed.xx;
  a(xx, yy) = mixed.xy;
  a(xy, yx) = mixed.yx;
  a(xy, yy) = mixed.yy;
  a(yx, yx) = y.xx;
  a(yx, yy) = y.xy;
  a(yy, yy) = y.yy;
  return a;
}

}  // namespace capsim
