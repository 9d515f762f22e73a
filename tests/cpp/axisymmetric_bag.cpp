// SPDX-License-Identifier: BSD-3-Clause
#include "axisymmetric_bag.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace capsim::test {
namespace {

constexpr int families = 3;  // hoop, diagonal (both of them), radial

/// Energy density by the radial stretch a and the hoop stretch b, with derivatives.
struct Density {
  double w = 0, a = 0, b = 0, aa = 0, ab = 0, bb = 0;
};

void add_full(double mu, double a, double b, double scale, Density& d) {
  const double i = 1 / (a * a * b * b);
  d.w += scale * mu / 2 * (a * a + b * b + i - 3);
  d.a += scale * mu * (a - i / a);
  d.b += scale * mu * (b - i / b);
  d.aa += scale * mu * (1 + 3 * i / (a * a));
  d.ab += scale * mu * 2 * i / (a * b);
  d.bb += scale * mu * (1 + 3 * i / (b * b));
}

void add_uniaxial(double mu, double stretch, double scale, double& w, double& first, double& second) {
  w += scale * mu / 2 * (stretch * stretch + 2 / stretch - 3);
  first += scale * mu * (stretch - 1 / (stretch * stretch));
  second += scale * mu * (1 + 2 / (stretch * stretch * stretch));
}

/// Tension field: nothing when slack, uniaxial when wrinkled.
void add_relaxed(double mu, double a, double b, double scale, Density& d) {
  if (std::max(a, b) <= 1) return;
  if (a * b * b >= 1 && a * a * b >= 1) return add_full(mu, a, b, scale, d);
  if (a > b)
    add_uniaxial(mu, a, scale, d.w, d.a, d.aa);
  else
    add_uniaxial(mu, b, scale, d.w, d.b, d.bb);
}

class Solver {
 public:
  explicit Solver(const AxisymmetricBag& bag) : bag_(bag), law_(bag.law), nodes_(2 * bag.elements + 1) {
    std::vector<double> at(static_cast<std::size_t>(nodes_));
    for (int i = 0; i < nodes_; ++i) at[i] = bag.rim_mm + (bag.equator_mm - bag.rim_mm) * i / (nodes_ - 1);
    r_ = at;
    const double place[3] = {-std::sqrt(0.6), 0, std::sqrt(0.6)}, weight[3] = {5.0 / 9, 8.0 / 9, 5.0 / 9};
    for (int e = 0; e < bag.elements; ++e)
      for (int q = 0; q < 3; ++q) {
        const double t = place[q], half = (at[2 * e + 2] - at[2 * e]) / 2;
        Point p{
            {-t * (1 - t) / 2, 1 - t * t, t * (1 + t) / 2}, {(t - 0.5) / half, -2 * t / half, (t + 0.5) / half}, 0, 0};
        for (int k = 0; k < 3; ++k) p.radius += p.shape[k] * at[2 * e + k];
        p.area = 2 * pi * p.radius * weight[q] * half;
        points_.push_back(p);
      }
    state_.assign((3 + families) * points_.size(), 0.0);
    for (std::size_t p = 0; p < points_.size(); ++p) state_[p] = bag.cells ? bag.cells(points_[p].radius) : 1;
    settle(state_);
  }

  [[nodiscard]] double rim_mm() const { return r_[0]; }

  void advance(double to) {
    while (day_ < to - 1e-9) {
      const double h = std::min(bag_.step_days, to - day_);
      const auto ahead = [&](const State& rate, double by) {
        State s = state_;
        for (std::size_t i = 0; i < s.size(); ++i) s[i] += by * rate[i];
        return s;
      };
      const State k1 = rate(day_, state_), k2 = rate(day_ + h / 2, ahead(k1, h / 2));
      const State k3 = rate(day_ + h / 2, ahead(k2, h / 2)), k4 = rate(day_ + h, ahead(k3, h));
      for (std::size_t i = 0; i < state_.size(); ++i) state_[i] += h / 6 * (k1[i] + 2 * k2[i] + 2 * k3[i] + k4[i]);
      day_ += h;
    }
    settle(state_);
  }

 private:
  // c, m, f, then f times the natural stretch of each family; or of active lock-in, f times the square of the
  // natural stretch along the radius and the hoop
  using State = std::vector<double>;
  struct Point {
    double shape[3], slope[3], radius, area;
  };
  using Band = std::vector<std::array<double, 3>>;  // diagonal and two above it

  [[nodiscard]] double stiffness(int family) const {
    const double weight[families] = {law_.hoop_weight, law_.diagonal_weight, law_.radial_weight};
    return weight[family] * law_.tissue_thickness_mm * law_.fibre_modulus_kPa;
  }

  static std::array<double, families> family_stretches(double a, double b) {
    return {b, std::sqrt((a * a + b * b) / 2), a};
  }

  [[nodiscard]] bool locks_in() const { return law_.law == ContractionKind::active_lock_in; }

  /// A stretch kept above the packing limit, rounded off over 0.01.
  [[nodiscard]] double packed(double stretch) const {
    const double u = stretch - law_.packing_limit;
    return law_.packing_limit + (u + std::sqrt(u * u + 1e-4)) / 2;
  }

  /// Active lock-in. The principal directions never turn here: natural stretches along radius and hoop.
  void add_locked_tissue(std::size_t p, const State& s, double a, double b, Density& d) const {
    const std::size_t n = points_.size();
    const double f = s[2 * n + p], pull = law_.active_tension_mN_per_mm * s[n + p] * f;
    if (f <= 1e-12) return;
    const auto stall = [&](double l, double& length, double& slope, double& bend) {
      const double u = l - law_.packing_limit, q = std::sqrt(u * u + 0.03 * 0.03);
      length = law_.packing_limit + (u + q) / 2;
      slope = (1 + u / q) / 2;
      bend = 0.03 * 0.03 / (2 * q * q * q);
    };
    double length, slope, bend;
    stall(b, length, slope, bend);
    d.w += pull * length, d.b += pull * slope, d.bb += pull * bend;
    stall(a, length, slope, bend);
    const double radial = pull * law_.active_radial_share;
    d.w += radial * length, d.a += radial * slope, d.aa += radial * bend;
    const double na = packed(std::sqrt(std::max(s[3 * n + p] / f, 0.0))),
                 nb = packed(std::sqrt(std::max(s[4 * n + p] / f, 0.0)));
    Density sheet;
    const double thickness = f * law_.tissue_thickness_mm;
    add_relaxed(law_.locked_modulus_kPa / 3, a / na, b / nb, thickness, sheet);
    add_full(law_.matrix_modulus_kPa / 3, a / na, b / nb, thickness, sheet);
    add_relaxed(law_.matrix_modulus_kPa / 3, a / na, b / nb, -thickness, sheet);
    d.w += sheet.w;
    d.a += sheet.a / na;
    d.b += sheet.b / nb;
    d.aa += sheet.aa / (na * na);
    d.ab += sheet.ab / (na * nb);
    d.bb += sheet.bb / (nb * nb);
  }

  /// Rates of f times the natural stretch squared, along the radius and the hoop.
  void lock_in(std::size_t k, double m, double f, double df, double a, double b, const State& s, State& d) const {
    const std::size_t n = points_.size();
    const double stretch[2] = {a, b};
    for (std::size_t i = 0; i < 2; ++i) {
      double laid = stretch[i] * stretch[i], taken_up = 0;
      if (f > 1e-12) {
        const double natural = packed(std::sqrt(std::max(s[(3 + i) * n + k] / f, 0.0)));
        const double shorter = std::min(std::log(packed(stretch[i]) / natural), 0.0);
        taken_up = 2 * law_.lock_in_per_day * m * f * natural * natural * shorter;
        laid = std::pow(natural * std::exp(shorter), 2);
      }
      d[(3 + i) * n + k] = taken_up + df * laid;
    }
  }

  void add_tissue(std::size_t p, const State& s, double a, double b, Density& d) const {
    if (locks_in()) return add_locked_tissue(p, s, a, b, d);
    const std::size_t n = points_.size();
    const double f = s[2 * n + p];
    if (f <= 1e-12) return;
    const auto l = family_stretches(a, b);
    for (int i = 0; i < families; ++i) {
      // Packing limit, rounded off over 0.01.
      const double u = s[(3 + i) * n + p] / f - law_.packing_limit;
      const double natural = law_.packing_limit + (u + std::sqrt(u * u + 1e-4)) / 2;
      const double k = f * stiffness(i), strain = l[i] / natural - 1;
      if (strain <= 0) continue;
      const double w1 = k * strain / natural, w2 = k / (natural * natural);
      const double la = i == 0 ? 0 : i == 2 ? 1 : a / (2 * l[1]), lb = i == 0 ? 1 : i == 2 ? 0 : b / (2 * l[1]);
      const double bend = i == 1 ? w1 / l[1] : 0;  // second derivatives of the diagonal stretch
      d.w += k * strain * strain / 2;
      d.a += w1 * la;
      d.b += w1 * lb;
      d.aa += w2 * la * la + bend * (0.5 - la * la);
      d.ab += w2 * la * lb - bend * la * lb;
      d.bb += w2 * lb * lb + bend * (0.5 - lb * lb);
    }
    const double matrix = law_.matrix_modulus_kPa / 3, thickness = f * law_.tissue_thickness_mm;
    add_full(matrix, a, b, thickness, d);
    add_relaxed(matrix, a, b, -thickness, d);
  }

  double evaluate(const std::vector<double>& r, const State& s, std::vector<double>* gradient, Band* hessian) const {
    const double mu = bag_.modulus_kPa / 3;
    double energy = 0;
    if (gradient) gradient->assign(r.size(), 0.0), hessian->assign(r.size(), {0, 0, 0});
    for (std::size_t k = 0; k < points_.size(); ++k) {
      const Point& p = points_[k];
      const std::size_t first = 2 * (k / 3);
      double a = 0, b = 0;
      for (int i = 0; i < 3; ++i) {
        a += p.slope[i] * r[first + i];
        b += p.shape[i] * r[first + i] / p.radius;
      }
      if (!(a > 0 && b > 0)) return std::numeric_limits<double>::infinity();
      Density d;
      add_full(mu, a, b, bag_.compression * bag_.anterior_mm, d);
      add_relaxed(mu, a, b, (1 - bag_.compression) * bag_.anterior_mm, d);
      add_tissue(k, s, a, b, d);
      energy += p.area * d.w;
      if (!gradient) continue;
      for (int i = 0; i < 3; ++i) {
        const double ai = p.slope[i], bi = p.shape[i] / p.radius;
        (*gradient)[first + i] += p.area * (d.a * ai + d.b * bi);
        for (int j = i; j < 3; ++j) {
          const double aj = p.slope[j], bj = p.shape[j] / p.radius;
          (*hessian)[first + i][j - i] += p.area * (d.aa * ai * aj + d.ab * (ai * bj + bi * aj) + d.bb * bi * bj);
        }
      }
    }
    const double b = bag_.equator_mm, pulled = bag_.zonule_stretch_mm + b - r.back();
    const double k = pulled > 0 ? bag_.zonule_stiffness_mN_per_mm : 0;
    Density disc;
    const double volume = pi * b * b * bag_.posterior_mm, even = r.back() / b;
    add_full(mu, even, even, bag_.posterior_compression * volume, disc);
    add_relaxed(mu, even, even, (1 - bag_.posterior_compression) * volume, disc);
    if (gradient) {
      gradient->back() += (disc.a + disc.b) / b - k * pulled;
      hessian->back()[0] += (disc.aa + 2 * disc.ab + disc.bb) / (b * b) + k;
    }
    return energy + disc.w + k * pulled * pulled / 2;
  }

  /// Newton's method from the last radii.
  void settle(const State& s) {
    constexpr double balanced_mN = 1e-9;
    std::vector<double> g, trial(r_.size()), step(r_.size());
    Band h;
    double energy = evaluate(r_, s, &g, &h);
    for (int iteration = 0; iteration < 100; ++iteration) {
      double most = 0, slope = 0;
      for (const double v : g) most = std::max(most, std::abs(v));
      if (most < balanced_mN) return;
      for (std::size_t i = 0; i < g.size(); ++i) step[i] = -g[i];
      for (std::size_t i = 0; i < g.size(); ++i)
        for (std::size_t k = 1; k <= 2 && i + k < g.size(); ++k) {
          const double l = h[i][k] / h[i][0];
          for (std::size_t j = k; j <= 2; ++j) h[i + k][j - k] -= l * h[i][j];
          step[i + k] -= l * step[i];
        }
      for (std::size_t i = g.size(); i-- > 0;) {
        for (std::size_t k = 1; k <= 2 && i + k < g.size(); ++k) step[i] -= h[i][k] * step[i + k];
        step[i] /= h[i][0];
        slope += step[i] * g[i];
      }
      double part = 1;
      for (;; part /= 2) {
        for (std::size_t i = 0; i < g.size(); ++i) trial[i] = r_[i] + part * step[i];
        if (evaluate(trial, s, nullptr, nullptr) <= energy + 1e-4 * part * slope + 1e-12 * std::abs(energy)) break;
        if (part < 1e-8) throw std::runtime_error("axisymmetric bag: the line search stalls");
      }
      r_ = trial;
      energy = evaluate(r_, s, &g, &h);
    }
    throw std::runtime_error("axisymmetric bag: no equilibrium");
  }

  State rate(double day, const State& s) {
    settle(s);
    const std::size_t n = points_.size();
    const double signal = std::exp(-day / law_.signal_days) + law_.chronic_signal;
    State d(s.size());
    for (std::size_t k = 0; k < n; ++k) {
      const Point& p = points_[k];
      const double c = s[k], m = s[n + k], f = s[2 * n + k];
      d[k] = law_.regrowth_per_day * signal * c * (1 - c);
      d[n + k] = law_.activation_per_day * signal * c * (1 - m) - law_.deactivation_per_day * m;
      d[2 * n + k] = law_.tissue_per_day * m * (1 - f);
      double a = 0, b = 0;
      for (int i = 0; i < 3; ++i) {
        a += p.slope[i] * r_[2 * (k / 3) + i];
        b += p.shape[i] * r_[2 * (k / 3) + i] / p.radius;
      }
      if (locks_in()) {
        lock_in(k, m, f, d[2 * n + k], a, b, s, d);
        continue;
      }
      const auto l = family_stretches(a, b);
      for (int i = 0; i < families; ++i) {
        const double laid = l[i] / law_.laying_stretch;
        d[(3 + i) * n + k] = m / law_.remodelling_days * (f * laid - s[(3 + i) * n + k]) + d[2 * n + k] * laid;
      }
    }
    return d;
  }

  const AxisymmetricBag& bag_;
  const ContractionSpec& law_;
  int nodes_;
  std::vector<Point> points_;
  std::vector<double> r_;
  State state_;
  double day_ = 0;
};

}  // namespace

AxisymmetricBag axisymmetric(const Scenario& s) {
  AxisymmetricBag bag;
  bag.rim_mm = s.opening.diameter_mm / 2;
  bag.equator_mm = s.bag.equator_diameter_mm / 2;
  bag.modulus_kPa = s.capsule.modulus_kPa;
  bag.anterior_mm = 1e-3 * s.capsule.anterior_thickness_um;
  bag.posterior_mm = 1e-3 * s.capsule.posterior_thickness_um;
  bag.compression = bag.posterior_compression = s.capsule.compression_fraction;
  bag.zonule_stiffness_mN_per_mm = s.zonule.stiffness_mN_per_mm * s.zonule.strength;
  bag.zonule_stretch_mm = s.zonule.pull_mN / s.zonule.stiffness_mN_per_mm;
  bag.law = s.contraction;
  const double contact = s.contraction.contact_diameter_mm.value_or(6.0) / 2, edge = s.contraction.edge_width_mm;
  bag.cells = [contact, edge](double radius) { return 1 / (1 + std::exp((radius - contact) / edge)); };
  return bag;
}

double rim_on_day_0_mm(const AxisymmetricBag& bag) { return Solver(bag).rim_mm(); }

std::vector<double> area_loss_percent(const AxisymmetricBag& bag, const std::vector<double>& days) {
  Solver solver(bag);
  const double start = solver.rim_mm();
  std::vector<double> loss;
  for (const double day : days) {
    solver.advance(day);
    loss.push_back(100 * (1 - solver.rim_mm() * solver.rim_mm() / (start * start)));
  }
  return loss;
}

}  // namespace capsim::test
