// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/lens.hpp"

#include <algorithm>
#include <cmath>

#include "parts/equator_arc.hpp"
#include "parts/surface.hpp"

namespace capsim {
namespace {

struct Press {
  double dx, dy;         // d, turned with the optic
  double along, across;  // (x - c) . d and (x - c) . d'
  double depth;          // R - along, positive when pressed
  Press(const Lens::Contact& k, const double* x, const double* optic, double free_radius) noexcept {
    double px = -optic[0], py = -optic[1];
    for (int a = 0; a < k.count; ++a) {
      px += k.share[a] * x[2 * k.nodes[a]];
      py += k.share[a] * x[2 * k.nodes[a] + 1];
    }
    const double angle = k.direction + optic[2];
    dx = std::cos(angle);
    dy = std::sin(angle);
    along = px * dx + py * dy;
    across = -px * dy + py * dx;
    depth = free_radius - along;
  }
};

// Hessian of k/2 ((x - c).d' - a)^2, added to the n x n matrix h over optic and nodes.
void add_hold(const Lens::Contact& k, const Press& p, double stiffness, Curvature curvature, double* h, int n) {
  double v[9] = {p.dy, -p.dx, -p.along};  // gradient of (x - c).d'
  for (int a = 0; a < k.count; ++a) {
    v[3 + 2 * a] = -k.share[a] * p.dy;
    v[4 + 2 * a] = k.share[a] * p.dx;
  }
  for (int r = 0; r < n; ++r)
    for (int c = 0; c < n; ++c) h[r * n + c] += stiffness * v[r] * v[c];
  if (curvature == Curvature::positive) return;
  const double force = stiffness * (p.across - k.along), by_place[2] = {-p.dx, -p.dy};
  h[2 * n + 2] -= force * p.across;
  for (int d = 0; d < 2; ++d) {
    h[2 * n + d] -= force * by_place[d];
    h[d * n + 2] -= force * by_place[d];
    for (int a = 0; a < k.count; ++a) {
      h[2 * n + 3 + 2 * a + d] += force * k.share[a] * by_place[d];
      h[(3 + 2 * a + d) * n + 2] += force * k.share[a] * by_place[d];
    }
  }
}

// Hessian of the spring that is pressed by p.depth > 0, added to the n x n matrix h over optic and nodes.
void add_press(const Lens::Contact& k, const Press& p, double stiffness, Curvature curvature, double* h, int n) {
  double v[9] = {-p.dx, -p.dy, p.across};  // gradient of (x - c).d
  for (int a = 0; a < k.count; ++a) {
    v[3 + 2 * a] = k.share[a] * p.dx;
    v[4 + 2 * a] = k.share[a] * p.dy;
  }
  for (int r = 0; r < n; ++r)
    for (int c = 0; c < n; ++c) h[r * n + c] += stiffness * v[r] * v[c];
  // Second derivatives of (x - c).d: by rotation twice, and by rotation and position.
  const double force = stiffness * p.depth;
  h[2 * n + 2] += force * std::max(p.along, curvature == Curvature::positive ? 0.0 : p.along);
  if (curvature == Curvature::positive) return;
  const double mixed[2] = {-p.dy, p.dx};
  for (int d = 0; d < 2; ++d) {
    h[2 * n + d] += force * mixed[d];
    h[d * n + 2] += force * mixed[d];
    for (int a = 0; a < k.count; ++a) {
      h[2 * n + 3 + 2 * a + d] -= force * k.share[a] * mixed[d];
      h[(3 + 2 * a + d) * n + 2] -= force * k.share[a] * mixed[d];
    }
  }
}

// Hessian of w/2 |r|^2 over optic and nodes, n x n, r = x - c - place turned with the optic.
void bond_hessian(const Patch& leaf, const Lens::Bond& b, double w, std::span<const double> x, const double* optic,
                  Curvature curvature, double* h) {
  const int nodes = leaf.nodes_per_element, n = 3 + 2 * nodes;
  const double c = std::cos(optic[2]), s = std::sin(optic[2]);
  const double ax = c * b.place[0] - s * b.place[1], ay = s * b.place[0] + c * b.place[1];
  const Point p = leaf.at(x, b.element, b.point);
  std::fill(h, h + n * n, 0.0);
  for (int d = 0; d < 2; ++d) {
    double v[19] = {};  // gradient of residual component d
    v[d] = -1;
    v[2] = d == 0 ? ay : -ax;
    for (int a = 0; a < nodes; ++a) v[3 + 2 * a + d] = leaf.shape[static_cast<std::size_t>(b.point) * nodes + a];
    for (int r = 0; r < n; ++r)
      for (int q = 0; q < n; ++q) h[r * n + q] += w * v[r] * v[q];
  }
  const double turn = w * ((p[0] - optic[0] - ax) * ax + (p[1] - optic[1] - ay) * ay);
  h[2 * n + 2] += curvature == Curvature::positive ? std::max(turn, 0.0) : turn;
}

}  // namespace

Lens::Lens(int first_coordinate, double stiffness, double free_radius, double relaxed_fraction, double relaxation_days,
           std::vector<Contact> contacts)
    : first_(first_coordinate),
      stiffness_(stiffness),
      free_radius_(free_radius),
      relaxed_fraction_(relaxed_fraction),
      relaxation_days_(relaxation_days),
      contacts_(std::move(contacts)) {
  for (const Contact& k : contacts_) contact_cliques_ = std::max(contact_cliques_, k.clique + 1);
}
Lens::~Lens() = default;
Lens::Lens(const Lens&) = default;

void Lens::bond(const Patch& anterior, std::vector<Bond> bonds, double stiffness) {
  anterior_ = &anterior;
  bonds_ = std::move(bonds);
  bond_stiffness_ = stiffness;
}

void Lens::fuse(std::span<const double> x, double stiffness) {
  fusion_ = stiffness;
  for (Contact& k : contacts_) k.along = Press(k, x.data(), &x[static_cast<std::size_t>(first_)], free_radius_).across;
}

std::unique_ptr<Part> Lens::clone() const { return std::make_unique<Lens>(*this); }

void Lens::kinks(std::span<const double> x, KinkValues& values) const {
  for (const Contact& k : contacts_)
    values.add(Kink::contact, Press(k, x.data(), &x[static_cast<std::size_t>(first_)], free_radius_).depth);
}

void Lens::set_day(double day) {
  factor_ = relaxed_fraction_ + (1 - relaxed_fraction_) * std::exp(-day / relaxation_days_);
}

void Lens::couplings(std::span<const double>, Cliques& cliques) {
  int last = -1;
  for (const Contact& k : contacts_) {
    if (k.clique == last) continue;
    last = k.clique;
    std::array<int, 9> c{first_, first_ + 1, first_ + 2};
    for (int a = 0; a < k.count; ++a) {
      c[3 + 2 * a] = 2 * k.nodes[a];
      c[4 + 2 * a] = 2 * k.nodes[a] + 1;
    }
    cliques.add({c.data(), 3 + 2 * static_cast<std::size_t>(k.count)});
  }
  for (const Bond& b : bonds_) {
    const int n = anterior_->nodes_per_element;
    std::array<int, 19> c{first_, first_ + 1, first_ + 2};
    for (int a = 0; a < n; ++a) {
      c[3 + 2 * a] = 2 * anterior_->nodes[static_cast<std::size_t>(b.element) * n + a];
      c[4 + 2 * a] = c[3 + 2 * a] + 1;
    }
    cliques.add({c.data(), 3 + 2 * static_cast<std::size_t>(n)});
  }
}

double Lens::energy(std::span<const double> x) const {
  const double* optic = &x[static_cast<std::size_t>(first_)];
  double total = 0;
  for (const Contact& k : contacts_) {
    const Press p(k, x.data(), optic, free_radius_);
    const double depth = std::max(p.depth, 0.0), slid = p.across - k.along;
    total += 0.5 * factor_ * stiffness_ * k.weight * depth * depth;
    total += 0.5 * fusion_ * fused_ * k.weight * slid * slid;
  }
  const double c = std::cos(optic[2]), s = std::sin(optic[2]);
  for (const Bond& b : bonds_) {
    const Point p = anterior_->at(x, b.element, b.point);
    const double rx = p[0] - optic[0] - c * b.place[0] + s * b.place[1];
    const double ry = p[1] - optic[1] - s * b.place[0] - c * b.place[1];
    total += 0.5 * bond_stiffness_ * b.weight * (rx * rx + ry * ry);
  }
  return total;
}

double Lens::gradient(std::span<const double> x, std::span<double> g) const {
  const std::size_t o = static_cast<std::size_t>(first_);
  const double* optic = &x[o];
  double total = 0;
  for (const Contact& k : contacts_) {
    const Press p(k, x.data(), optic, free_radius_);
    if (const double held = fusion_ * fused_ * k.weight * (p.across - k.along); held != 0) {
      total += 0.5 * held * (p.across - k.along);
      for (int a = 0; a < k.count; ++a) {
        g[2 * static_cast<std::size_t>(k.nodes[a])] -= held * p.dy * k.share[a];
        g[2 * static_cast<std::size_t>(k.nodes[a]) + 1] += held * p.dx * k.share[a];
      }
      g[o] += held * p.dy;
      g[o + 1] -= held * p.dx;
      g[o + 2] -= held * p.along;
    }
    if (!(p.depth > 0)) continue;
    const double force = factor_ * stiffness_ * k.weight * p.depth;
    total += 0.5 * force * p.depth;
    for (int a = 0; a < k.count; ++a) {
      g[2 * static_cast<std::size_t>(k.nodes[a])] -= force * p.dx * k.share[a];
      g[2 * static_cast<std::size_t>(k.nodes[a]) + 1] -= force * p.dy * k.share[a];
    }
    g[o] += force * p.dx;
    g[o + 1] += force * p.dy;
    g[o + 2] -= force * p.across;
  }
  const double c = std::cos(optic[2]), s = std::sin(optic[2]);
  for (const Bond& b : bonds_) {
    const Point p = anterior_->at(x, b.element, b.point);
    const double ax = c * b.place[0] - s * b.place[1], ay = s * b.place[0] + c * b.place[1];
    const double rx = p[0] - optic[0] - ax, ry = p[1] - optic[1] - ay, w = bond_stiffness_ * b.weight;
    total += 0.5 * w * (rx * rx + ry * ry);
    const int n = anterior_->nodes_per_element;
    for (int a = 0; a < n; ++a) {
      const double share = anterior_->shape[static_cast<std::size_t>(b.point) * n + a];
      const std::size_t node = static_cast<std::size_t>(anterior_->nodes[static_cast<std::size_t>(b.element) * n + a]);
      g[2 * node] += w * rx * share;
      g[2 * node + 1] += w * ry * share;
    }
    g[o] -= w * rx;
    g[o + 1] -= w * ry;
    g[o + 2] -= w * (ry * ax - rx * ay);
  }
  return total;
}

void Lens::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  const double* optic = &x[static_cast<std::size_t>(first_)];
  double h[19 * 19];
  for (std::size_t first = 0; first < contacts_.size();) {
    const int clique = contacts_[first].clique, n = 3 + 2 * contacts_[first].count;
    std::fill(h, h + n * n, 0.0);
    std::size_t i = first;
    for (; i < contacts_.size() && contacts_[i].clique == clique; ++i) {
      const Contact& k = contacts_[i];
      const Press p(k, x.data(), optic, free_radius_);
      if (fusion_ * fused_ > 0) add_hold(k, p, fusion_ * fused_ * k.weight, curvature, h, n);
      if (p.depth > 0) add_press(k, p, factor_ * stiffness_ * k.weight, curvature, h, n);
    }
    tangent.add(static_cast<std::size_t>(clique), h);
    first = i;
  }
  for (std::size_t i = 0; i < bonds_.size(); ++i) {
    bond_hessian(*anterior_, bonds_[i], bond_stiffness_ * bonds_[i].weight, x, optic, curvature, h);
    tangent.add(static_cast<std::size_t>(contact_cliques_) + i, h);
  }
}

// With e = b/2 |r|^2 per area at X, r = x - x_bonded: the derivative is the integral of e div(s) + (change of x_bonded
// with the place) less what leaves over the border of the bond; by parts, that of -b r . F s.
double Lens::energy_by_tip_growth(std::span<const double> x, std::span<const double> shift) const {
  const double* optic = &x[static_cast<std::size_t>(first_)];
  const double c = std::cos(optic[2]), s = std::sin(optic[2]);
  double total = 0;
  for (const Bond& b : bonds_) {
    const Point moved = anterior_->at(shift, b.element, b.point);
    if (moved[0] == 0 && moved[1] == 0) continue;
    const Point p = anterior_->at(x, b.element, b.point);
    const double rx = p[0] - optic[0] - c * b.place[0] + s * b.place[1];
    const double ry = p[1] - optic[1] - s * b.place[0] - c * b.place[1];
    const auto f = deformation_gradient(*anterior_, x, b.element, b.point);
    total -= bond_stiffness_ * b.weight *
             (rx * (f[0] * moved[0] + f[1] * moved[1]) + ry * (f[2] * moved[0] + f[3] * moved[1]));
  }
  return total;
}

double Lens::push_mN(std::span<const double> x) const noexcept {
  double total = 0;
  for (const Contact& k : contacts_)
    total += factor_ * stiffness_ * k.weight *
             std::max(Press(k, x.data(), &x[static_cast<std::size_t>(first_)], free_radius_).depth, 0.0);
  return total;
}

std::vector<Lens::Contact> haptic_contacts(const Mesh& mesh, int haptics, double axis, double arc) {
  std::vector<Lens::Contact> contacts;
  for (int h = 0; h < haptics; ++h)
    for (const ArcPoint& at : arc_points(mesh, axis + 2 * pi * h / haptics, arc)) {
      const EquatorPlace place = place_on_equator(mesh, at);
      Lens::Contact k;
      k.clique = at.sector;
      k.count = place.count;
      k.nodes = place.nodes;
      k.share = place.share;
      k.direction = at.at;
      k.weight = at.width / arc;
      contacts.push_back(k);
    }
  // One clique for each sector that a haptic touches.
  std::stable_sort(contacts.begin(), contacts.end(), [](const auto& a, const auto& b) { return a.clique < b.clique; });
  int clique = -1, sector = -1;
  for (Lens::Contact& k : contacts) {
    if (k.clique != sector) ++clique;
    sector = k.clique;
    k.clique = clique;
  }
  return contacts;
}

}  // namespace capsim
