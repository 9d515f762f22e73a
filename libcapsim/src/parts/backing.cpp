// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/backing.hpp"

#include <array>

namespace capsim {
namespace {

constexpr double stiffness_of_vitreous_mN_per_mm = 0.02;

}  // namespace

Backing::Backing(std::vector<int> nodes, std::vector<double> rest, double total_stiffness_mN_per_mm)
    : nodes_(std::move(nodes)),
      rest_(std::move(rest)),
      stiffness_(nodes_.empty() ? 0 : total_stiffness_mN_per_mm / static_cast<double>(nodes_.size())) {}
Backing::~Backing() = default;
Backing::Backing(const Backing&) = default;

std::unique_ptr<Part> Backing::clone() const { return std::make_unique<Backing>(*this); }

void Backing::couplings(std::span<const double>, Cliques& cliques) {
  for (const int n : nodes_) {
    const std::array<int, 2> c{2 * n, 2 * n + 1};
    cliques.add(c);
  }
}

double Backing::energy(std::span<const double> x) const {
  double total = 0;
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    for (std::size_t k = 0; k < 2; ++k) {
      const double d = x[2 * static_cast<std::size_t>(nodes_[i]) + k] - rest_[2 * i + k];
      total += 0.5 * stiffness_ * d * d;
    }
  return total;
}

double Backing::gradient(std::span<const double> x, std::span<double> g) const {
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    for (std::size_t k = 0; k < 2; ++k) {
      const std::size_t c = 2 * static_cast<std::size_t>(nodes_[i]) + k;
      g[c] += stiffness_ * (x[c] - rest_[2 * i + k]);
    }
  return energy(x);
}

void Backing::hessian(std::span<const double>, Curvature, Tangent& tangent) const {
  const double h[4] = {stiffness_, 0, 0, stiffness_};
  for (std::size_t i = 0; i < nodes_.size(); ++i) tangent.add(i, h);
}

void Backing::rest_at(std::span<const double> x) {
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    for (std::size_t k = 0; k < 2; ++k) rest_[2 * i + k] = x[2 * static_cast<std::size_t>(nodes_[i]) + k];
}

void Backing::move_anchors(double angle, Point shift) {
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    const Point p = moved({rest_[2 * i], rest_[2 * i + 1]}, angle, shift);
    rest_[2 * i] = p[0];
    rest_[2 * i + 1] = p[1];
  }
}

std::unique_ptr<Backing> make_backing(const Mesh& mesh, std::span<const double> rest) {
  std::vector<double> equator;
  for (const int n : mesh.equator_nodes())
    for (std::size_t k = 0; k < 2; ++k) equator.push_back(rest[2 * static_cast<std::size_t>(n) + k]);
  return std::make_unique<Backing>(mesh.equator_nodes(), std::move(equator), stiffness_of_vitreous_mN_per_mm);
}

}  // namespace capsim
