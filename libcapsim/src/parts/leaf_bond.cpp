// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/leaf_bond.hpp"

#include <algorithm>
#include <array>

#include "capsim/capsule.hpp"
#include "capsim/frame.hpp"
#include "parts/cell_kinetics.hpp"

namespace capsim {
namespace {

Point difference(const LeafBond::Pair& pair, std::span<const double> x) noexcept {
  const std::size_t a = 2 * static_cast<std::size_t>(pair.anterior), p = 2 * static_cast<std::size_t>(pair.posterior);
  return {x[a] - x[p] - pair.offset[0], x[a + 1] - x[p + 1] - pair.offset[1]};
}

}  // namespace

LeafBond::LeafBond(const Patch& anterior, int first_element, std::vector<Pair> pairs, std::vector<Share> shares,
                   double bond)
    : anterior_(&anterior),
      first_element_(first_element),
      pairs_(std::move(pairs)),
      shares_(std::move(shares)),
      fraction_(pairs_.size(), 0.0),
      laid_(pairs_.size(), Point{0, 0}),
      bond_(bond) {
  std::stable_sort(shares_.begin(), shares_.end(), [](const Share& a, const Share& b) { return a.pair < b.pair; });
}
LeafBond::~LeafBond() = default;
LeafBond::LeafBond(const LeafBond&) = default;

std::unique_ptr<Part> LeafBond::clone() const { return std::make_unique<LeafBond>(*this); }

void LeafBond::slip(std::span<const double> x, std::span<double> out) const noexcept {
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    const Point s = difference(pairs_[i], x);
    out[2 * i] = s[0];
    out[2 * i + 1] = s[1];
  }
}

void LeafBond::laid_rate(std::span<const double> fraction_rate, std::span<const double> slip,
                         std::span<double> rate) const noexcept {
  auto share = shares_.begin();
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    double grows = 0;
    for (; share != shares_.end() && static_cast<std::size_t>(share->pair) == i; ++share)
      grows += share->weight * fraction_rate[static_cast<std::size_t>(share->point)];
    rate[2 * i] = grows * slip[2 * i];
    rate[2 * i + 1] = grows * slip[2 * i + 1];
  }
}

void LeafBond::set_tissue(std::span<const double> at_points, std::span<const double> laid) noexcept {
  std::fill(fraction_.begin(), fraction_.end(), 0.0);
  for (const Share& s : shares_)
    fraction_[static_cast<std::size_t>(s.pair)] += s.weight * at_points[static_cast<std::size_t>(s.point)];
  for (std::size_t i = 0; i < pairs_.size(); ++i)
    laid_[i] =
        fraction_[i] > no_tissue ? Point{laid[2 * i] / fraction_[i], laid[2 * i + 1] / fraction_[i]} : Point{0, 0};
}

Point LeafBond::load(std::size_t i, std::span<const double> x) const noexcept {
  const Point s = difference(pairs_[i], x);
  return {s[0] - laid_[i][0], s[1] - laid_[i][1]};
}

void LeafBond::couplings(std::span<const double>, Cliques& cliques) {
  for (const Pair& p : pairs_) {
    const std::array<int, 4> c{2 * p.anterior, 2 * p.anterior + 1, 2 * p.posterior, 2 * p.posterior + 1};
    cliques.add(c);
  }
}

double LeafBond::energy(std::span<const double> x) const {
  double total = 0;
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    const Point s = load(i, x);
    total += 0.5 * bond_ * pairs_[i].area_mm2 * fraction_[i] * (s[0] * s[0] + s[1] * s[1]);
  }
  return total;
}

double LeafBond::gradient(std::span<const double> x, std::span<double> g) const {
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    const Point s = load(i, x);
    const double stiffness = bond_ * pairs_[i].area_mm2 * fraction_[i];
    const std::size_t a = 2 * static_cast<std::size_t>(pairs_[i].anterior),
                      p = 2 * static_cast<std::size_t>(pairs_[i].posterior);
    for (std::size_t k = 0; k < 2; ++k) {
      g[a + k] += stiffness * s[k];
      g[p + k] -= stiffness * s[k];
    }
  }
  return energy(x);
}

void LeafBond::hessian(std::span<const double>, Curvature, Tangent& tangent) const {
  for (std::size_t i = 0; i < pairs_.size(); ++i) {
    const double k = bond_ * pairs_[i].area_mm2 * fraction_[i];
    const double h[16] = {k, 0, -k, 0, 0, k, 0, -k, -k, 0, k, 0, 0, -k, 0, k};
    tangent.add(i, h);
  }
}

// As for the bond to the optic (lens.cpp): the leaf that comes to a place is that from s behind it, so that the slip
// there changes by -F s.
double LeafBond::energy_by_tip_growth(std::span<const double> x, std::span<const double> shift) const {
  double total = 0;
  for (const Share& s : shares_) {
    const auto pair = static_cast<std::size_t>(s.pair);
    const int per = anterior_->points_per_element, element = first_element_ + s.point / per, point = s.point % per;
    const Point moved = anterior_->at(shift, element, point);
    if (moved[0] == 0 && moved[1] == 0) continue;
    const Point slip = load(pair, x);
    const auto f = deformation_gradient(*anterior_, x, element, point);
    total -= bond_ * pairs_[pair].area_mm2 * s.weight * fraction_[pair] *
             (slip[0] * (f[0] * moved[0] + f[1] * moved[1]) + slip[1] * (f[2] * moved[0] + f[3] * moved[1]));
  }
  return total;
}

void LeafBond::move_anchors(double angle, Point) {
  for (Pair& p : pairs_) p.offset = moved(p.offset, angle, {0, 0});
  for (Point& laid : laid_) laid = moved(laid, angle, {0, 0});
}

}  // namespace capsim
