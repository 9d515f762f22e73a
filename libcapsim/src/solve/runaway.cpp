// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/runaway.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "capsim/equilibrium.hpp"
#include "parts/surface.hpp"

namespace capsim {
namespace {

constexpr double ratio = 1.5;          // of neighbouring tensions on the path
constexpr double nearly_closed = 0.1;  // share of the first area that is left
constexpr int refinements = 3;         // of the largest alpha, by parabolas through its neighbours
constexpr double half_root = std::numbers::sqrt2 / 2;
constexpr double family_cosine[fibre_families] = {1, half_root, half_root, 0};
constexpr double family_sine[fibre_families] = {0, half_root, -half_root, 1};

struct Place {
  double log_tension, alpha, area_mm2;
};

/// Where a parabola through three points is largest; the middle one when it has no top between them.
double top(const Place& a, const Place& b, const Place& c) {
  const double u = b.log_tension - a.log_tension, v = c.log_tension - b.log_tension;
  const double rise = (b.alpha - a.alpha) / u, fall = (c.alpha - b.alpha) / v, bend = (fall - rise) / (u + v);
  if (!(bend < 0)) return b.log_tension;
  const double at = b.log_tension - (rise + bend * u) / (2 * bend);
  return std::clamp(at, a.log_tension + 0.1 * u, c.log_tension - 0.1 * v);
}

}  // namespace

std::string_view to_word(RunawayEnd end) noexcept {
  switch (end) {
    case RunawayEnd::tips:
      return "tips";
    case RunawayEnd::closes:
      return "closes";
    case RunawayEnd::holds:
      return "holds";
    case RunawayEnd::not_followed:
      return "not_followed";
    case RunawayEnd::nothing_pulls:
      return "nothing_pulls";
  }
  return "nothing_pulls";
}

struct SustainedDensity {
  const SustainedPull& part;
  std::size_t first_point;

  template <class T>
  struct Fibre {
    T pull, stretch;
    VectorOf<T> d, n;
  };
  template <class At, class T>
  CAPSIM_INLINE Fibre<T> fibre(int i, const At& at, const TensorOf<T>& f) const noexcept {
    const double c = family_cosine[i], s = family_sine[i];
    const VectorOf<T> hoop = surface::vector_at(at, part.hoop_.data());
    Fibre<T> v;
    v.pull = part.factor_ * at.of(part.tension_[i].data());
    v.d = {c * hoop.x + s * hoop.y, c * hoop.y - s * hoop.x};
    v.n = f * v.d;
    v.stretch = sqrt(dot(v.n, v.n));
    return v;
  }

  template <class At, class T>
  CAPSIM_INLINE T energy(const At& at, const TensorOf<T>& f) const noexcept {
    T w(0.0);
    for (int i = 0; i < fibre_families; ++i) {
      const Fibre<T> v = fibre(i, at, f);
      w += v.pull * v.stretch;
    }
    return w;
  }

  template <class At, class T>
  CAPSIM_INLINE T stress(const At& at, const TensorOf<T>& f, TensorOf<T>& stress) const noexcept {
    T w(0.0);
    for (int i = 0; i < fibre_families; ++i) {
      const Fibre<T> v = fibre(i, at, f);
      w += v.pull * v.stretch;
      surface::add_fibre_stress(v.d, v.n, v.stretch, v.pull, stress);
    }
    return w;
  }

  // Nothing along the fibre, its tension across it: never negative.
  template <class At, class T>
  CAPSIM_INLINE void tangent(const At& at, const TensorOf<T>& f, Curvature, Moduli<T>& a) const noexcept {
    for (int i = 0; i < fibre_families; ++i) {
      const Fibre<T> v = fibre(i, at, f);
      surface::add_fibre_tangent(v.d, v.n, v.stretch, v.pull, T(0.0), a);
    }
  }
};

SustainedPull::SustainedPull(const Patch& patch, const FibrousTissue& tissue, std::span<const double> x)
    : patch_(&patch), first_(tissue.first_element()), last_(tissue.last_element()), hoop_(tissue.hoop()) {
  const std::size_t n = tissue.points();
  std::vector<double> stretches(fibre_families * n);
  tissue.stretches(x, stretches);
  for (int i = 0; i < fibre_families; ++i) {
    tension_[i].resize(n);
    for (std::size_t p = 0; p < n; ++p)
      tension_[i][p] = tissue.tension_mN_per_mm(p, i, stretches[static_cast<std::size_t>(i) * n + p]);
  }
}
SustainedPull::~SustainedPull() = default;
SustainedPull::SustainedPull(const SustainedPull&) = default;

std::unique_ptr<Part> SustainedPull::clone() const { return std::make_unique<SustainedPull>(*this); }

double SustainedPull::largest_tension() const noexcept {
  double largest = 0;
  for (const auto& family : tension_)
    for (const double tension : family) largest = std::max(largest, tension);
  return largest;
}

double SustainedPull::sum_mN_mm(std::span<const double> x) const { return energy(x) / factor_; }

void SustainedPull::couplings(std::span<const double>, Cliques& cliques) {
  surface::add_element_cliques(*patch_, first_, last_, cliques);
}

double SustainedPull::energy(std::span<const double> x) const {
  const SustainedDensity density{*this, static_cast<std::size_t>(first_) * patch_->points_per_element};
  return surface::with_kind(
      *patch_, [&](auto kind) { return surface::energy<kind.value>(*patch_, x.data(), first_, last_, density); });
}

double SustainedPull::gradient(std::span<const double> x, std::span<double> g) const {
  const SustainedDensity density{*this, static_cast<std::size_t>(first_) * patch_->points_per_element};
  return surface::with_kind(*patch_, [&](auto kind) {
    return surface::gradient<kind.value>(*patch_, x.data(), g.data(), first_, last_, density);
  });
}

void SustainedPull::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  const SustainedDensity density{*this, static_cast<std::size_t>(first_) * patch_->points_per_element};
  surface::with_kind(*patch_, [&](auto kind) {
    surface::hessian<kind.value>(*patch_, x.data(), curvature, 0, tangent, first_, last_, density);
    return 0.0;
  });
}

namespace {

/// The path of equilibria under growing tension, up to the largest alpha: climb, bracket, refine.
class Ascent {
 public:
  Ascent(RunawayEye& eye, double largest_tension_factor)
      : eye_(eye),
        largest_(std::log(largest_tension_factor)),
        closed_(nearly_closed * eye.first_area_mm2),
        x_(eye.x),
        sum_(sum_of(eye.x)),
        path_{{0, 1, eye.opening_area_mm2(eye.x)}} {
    equilibrium_.settings().tolerance_mN = eye.tolerance_mN;
    equilibrium_.settings().shift_mN_per_mm = 1e-8 * eye.force_scale_mN;
    std::vector<Part*> parts = eye.parts;
    for (SustainedPull& pull : eye.pulls) parts.push_back(&pull);
    equilibrium_.set_system(std::move(parts), eye.dof_of_coordinate);
  }

  RunawayMargin margin() {
    if (path_[0].area_mm2 < closed_) return ended(RunawayEnd::closes, path_[0]);
    if (const auto end = climb()) return *end;
    if (const auto end = bracket()) return *end;
    return ended(RunawayEnd::tips, refined());
  }

 private:
  // Up the path until alpha falls; an eye that is past its largest alpha already has a margin of 1.
  std::optional<RunawayMargin> climb() {
    for (;;) {
      Place next{};
      const double log_tension = path_.back().log_tension + std::log(ratio);
      if (log_tension > largest_) return ended(RunawayEnd::holds, path_.back());
      if (!solve(log_tension, next)) return ended(RunawayEnd::not_followed, path_.back());
      const Place before = path_.back();
      path_.push_back(next);
      if (next.alpha < before.alpha) return std::nullopt;
      if (next.area_mm2 < closed_) return ended(RunawayEnd::closes, closing(before, next));
    }
  }

  // Where the opening is nearly closed: one more look where a straight line from before to next would have it close.
  Place closing(const Place& before, const Place& next) {
    Place trial{};
    const double share = (before.area_mm2 - closed_) / (before.area_mm2 - next.area_mm2);
    if (!solve(before.log_tension + share * (next.log_tension - before.log_tension), trial)) return next;
    const Place& low = trial.area_mm2 < closed_ ? before : trial;
    const Place& high = trial.area_mm2 < closed_ ? trial : next;
    const double s = (low.area_mm2 - closed_) / (low.area_mm2 - high.area_mm2);
    return {0, low.alpha + s * (high.alpha - low.alpha), closed_};
  }

  // Sees to it that the last three places have the largest alpha in their middle.
  std::optional<RunawayMargin> bracket() {
    if (path_.size() > 2) return std::nullopt;
    Place middle = path_[1];  // the largest lies before the first step, or at today
    for (int halving = 0; halving < 8 && middle.alpha <= 1; ++halving) {
      path_[1] = middle;
      if (!solve(0.5 * path_[1].log_tension, middle)) return ended(RunawayEnd::not_followed, path_[0]);
    }
    if (middle.alpha <= 1) return ended(RunawayEnd::tips, path_[0]);
    path_.insert(path_.begin() + 1, middle);
    return std::nullopt;
  }

  Place refined() {
    Place left = path_[path_.size() - 3], best = path_[path_.size() - 2], right = path_.back();
    for (int i = 0; i < refinements; ++i) {
      Place trial{};
      const double at = top(left, best, right);
      if (std::abs(at - best.log_tension) < 1e-4 || !solve(at, trial)) break;
      if (trial.alpha > best.alpha) {
        (trial.log_tension > best.log_tension ? left : right) = best;
        best = trial;
      } else {
        (trial.log_tension > best.log_tension ? right : left) = trial;
      }
    }
    return best;
  }

  bool solve(double log_tension, Place& place) {
    set_factor(std::exp(log_tension));
    ++margin_.equilibria;
    if (!equilibrium_.solve(x_).converged()) return false;
    place = {log_tension, std::exp(log_tension) * sum_of(x_) / sum_, eye_.opening_area_mm2(x_)};
    return true;
  }
  RunawayMargin ended(RunawayEnd end, const Place& place) {
    set_factor(1);
    margin_.end = end;
    margin_.contraction_factor = place.alpha;
    margin_.area_mm2 = place.area_mm2;
    return margin_;
  }
  void set_factor(double factor) {
    for (SustainedPull& pull : eye_.pulls) pull.set_factor(factor);
  }
  [[nodiscard]] double sum_of(std::span<const double> at) const {
    double total = 0;
    for (const SustainedPull& pull : eye_.pulls) total += pull.sum_mN_mm(at);
    return total;
  }

  RunawayEye& eye_;
  double largest_, closed_;
  std::vector<double> x_;
  double sum_;
  std::vector<Place> path_;
  Equilibrium equilibrium_;
  RunawayMargin margin_;
};

}  // namespace

RunawayMargin find_runaway(RunawayEye& eye, double largest_tension_factor) {
  if (std::none_of(eye.pulls.begin(), eye.pulls.end(), [](const auto& pull) { return pull.largest_tension() > 0; }))
    return {};
  return Ascent(eye, largest_tension_factor).margin();
}

}  // namespace capsim
