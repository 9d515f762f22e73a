// SPDX-License-Identifier: BSD-3-Clause
#include "parts/equator_curve.hpp"

#include <cmath>

#include "capsim/error.hpp"
#include "capsim/frame.hpp"

namespace capsim {
namespace {

using Cubic = std::array<double, 4>;  // coefficients of 1, t, t^2, t^3

// (a + b t) p, of what stays below the fourth power.
Cubic times_line(double a, double b, const Cubic& p) noexcept {
  return {a * p[0], a * p[1] + b * p[0], a * p[2] + b * p[1], a * p[3] + b * p[2]};
}

void add(Cubic& to, const Cubic& p, double factor = 1) noexcept {
  for (std::size_t i = 0; i < 4; ++i) to[i] += factor * p[i];
}

// The four B-splines that are not zero on a span, by Cox and de Boor; knots[0..5] with the span between 2 and 3.
std::array<Cubic, 4> splines(const std::array<double, 6>& knots) noexcept {
  const double h = knots[3] - knots[2];
  std::array<Cubic, 4> n{};
  n[0] = {1, 0, 0, 0};
  for (std::size_t j = 1; j <= 3; ++j) {
    Cubic saved{};
    for (std::size_t r = 0; r < j; ++r) {
      const double right = knots[3 + r], left = knots[3 + r - j];
      Cubic scaled = n[r];
      for (double& c : scaled) c /= right - left;
      n[r] = saved;
      add(n[r], times_line(right - knots[2], -h, scaled));  // right - u
      saved = times_line(knots[2] - left, h, scaled);       // u - left
    }
    n[j] = saved;
  }
  return n;
}

// Weights of three neighbouring nodes in a coefficient; u < 0 < v are the outer ones' distances from the middle one.
std::array<double, 3> coefficient(double u, double v) noexcept {
  const double by_v = (u + v) / (3 * v);
  return {-v * v / (3 * u * (u - v)), 1 - by_v - v / (3 * u), by_v - v / (3 * (v - u))};
}

}  // namespace

EquatorCurve::EquatorCurve(int count)
    : EquatorCurve([count] {
        std::vector<double> angles;
        for (int k = 0; k < count; ++k) angles.push_back(2 * pi * k / count);
        return angles;
      }()) {}

EquatorCurve::EquatorCurve(const std::vector<double>& angles) {
  const int m = static_cast<int>(angles.size());
  if (m < 6) throw InternalError("the curve through the equator needs six nodes");
  for (int k = 0; k < m; ++k) {
    const double next = angles[static_cast<std::size_t>((k + 1) % m)],
                 width = next - angles[static_cast<std::size_t>(k)];
    width_.push_back(width > 0 ? width : width + 2 * pi);
    if (!(width_.back() > 0 && width_.back() < pi)) throw InternalError("the equator's nodes do not run round it");
  }
  const auto width = [&](int k) { return width_[wrapped(k)]; };
  for (int i = 0; i < m; ++i) {
    std::array<double, 6> knots{};
    knots[2] = 0;
    for (int k = 3; k < 6; ++k)
      knots[static_cast<std::size_t>(k)] = knots[static_cast<std::size_t>(k - 1)] + width(i + k - 3);
    for (int k = 1; k >= 0; --k)
      knots[static_cast<std::size_t>(k)] = knots[static_cast<std::size_t>(k + 1)] - width(i + k - 2);
    const auto b = splines(knots);
    std::array<Cubic, 6> node{};
    for (int j = 0; j < 4; ++j) {  // the spline about node i - 1 + j
      const auto c = coefficient(-width(i - 2 + j), width(i - 1 + j));
      for (std::size_t k = 0; k < 3; ++k)
        add(node[static_cast<std::size_t>(j) + k], b[static_cast<std::size_t>(j)], c[k]);
    }
    weights_.push_back(node);
  }
}

EquatorCurve::Weights EquatorCurve::at(int span, double t) const noexcept {
  Weights w;
  const auto& node = weights_[wrapped(span)];
  for (std::size_t k = 0; k < 6; ++k) {
    const Cubic& c = node[k];
    w.n[k] = c[0] + t * (c[1] + t * (c[2] + t * c[3]));
    w.d[k] = c[1] + t * (2 * c[2] + t * 3 * c[3]);
    w.dd[k] = 2 * c[2] + t * 6 * c[3];
  }
  return w;
}

double EquatorCurve::moved(int span, double t, double step) const noexcept {
  const double to = t + step;
  if (to < 0) return span + to * width_[wrapped(span)] / width_[wrapped(span - 1)];
  if (to > 1) return span + 1 + (to - 1) * width_[wrapped(span)] / width_[wrapped(span + 1)];
  return span + to;
}

}  // namespace capsim
