// SPDX-License-Identifier: BSD-3-Clause
// From where the search stands to the unloaded shape beside it: a fixed point, and Newton's method.
#include "run/shape_search.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"
#include "solve/fixed_point.hpp"

namespace capsim {

ShapeSearch::Standing ShapeSearch::accelerated(Standing here) {
  FixedPoint accelerator(6);
  Standing best = here;
  double mark = here.error_mm;
  for (int since = 0; since < most_idle && !done(here); ++since, ++shape_.iterations) {
    Standing next;
    if (!corrected(here, accelerator.next(here.z, correction(here)), next)) break;
    here = std::move(next);
    if (here.error_mm < 0.5 * mark) {
      mark = here.error_mm;
      since = 0;
    }
    if (here.error_mm < best.error_mm || done(here)) best = here;
  }
  stand(best);
  return best;
}

std::vector<double> ShapeSearch::correction(const Standing& here) {
  std::vector<double> r = here.missing;
  r[0] *= shape_.equator_radius_mm / (key_.equator_radius_mm - here.missing[0]);
  const std::vector<double>& x = stated().x;
  const Point center = key_.center;
  for (std::size_t c = 0; c < unknowns_.columns; ++c) {
    const std::size_t node = 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c)));
    const double stretch = std::hypot(x[node] - center[0], x[node + 1] - center[1]) /
                           std::hypot(shape_.rim[c][0] - center[0], shape_.rim[c][1] - center[1]);
    for (std::size_t i = 0; i < 2; ++i) r[ShapeUnknowns::rim(c, i)] /= stretch;
  }
  const double leaf_width = key_.equator_radius_mm - key_.rim_radius_mm();
  for (std::size_t i = 0; i < unknowns_.insertions; ++i) r[unknowns_.insertion(i)] /= -leaf_width;
  return r;
}

bool ShapeSearch::corrected(const Standing& from, std::vector<double> z, Standing& to) {
  double longest = 0;
  for (std::size_t i = 0; i < z.size(); ++i) longest = std::max(longest, std::abs(z[i] - from.z[i]));
  if (!(longest < 1e3)) return false;
  const double scale = longest > longest_correction ? longest_correction / longest : 1;
  for (std::size_t i = 0; i < z.size(); ++i) z[i] = from.z[i] + scale * (z[i] - from.z[i]);
  for (int halving = 0; halving < 5; ++halving) {
    stand(from);
    if (tried(z, halving < 3 ? from.next_fractions : from.fractions)) {
      to = measured();
      return true;
    }
    for (std::size_t i = 0; i < z.size(); ++i) z[i] = 0.5 * (z[i] + from.z[i]);
  }
  stand(from);
  return false;
}

bool ShapeSearch::newton(Standing here, int most_creeping) {
  bool fresh = false;
  double mark = here.merit_mm();
  for (int i = 0, creeping = 0; i < most_corrections && creeping < most_creeping && !spent(); ++i, ++creeping) {
    ++shape_.iterations;
    if (here.merit_mm() < 0.5 * mark) {
      mark = here.merit_mm();
      creeping = 0;
    }
    shape_.error_mm = here.error_mm;
    if (done(here) || (creeping >= most_idle && here.error_mm < still_good_mm)) return true;
    if (!tangent_) {
      if (!renew_tangent(here)) return false;
      fresh = true;
    }
    const double before = std::max({here.error_mm, lines_move * here.lines_mm, wanted_mm()});
    Standing next;
    if (!step(here, next, fresh ? least_scale : 1.0)) {
      stand(here);
      if (fresh) return here.error_mm < still_good_mm;
      tangent_.reset();
      continue;
    }
    if ((next.error_mm > quick * before && next.error_mm > wanted_mm()) || next.held != here.held) tangent_.reset();
    fresh = false;
    here = std::move(next);
  }
  stand(here);
  return here.error_mm < still_good_mm;
}

bool ShapeSearch::step(const Standing& from, Standing& to, double shortest) {
  const Eigen::VectorXd move = tangent_->solve(
      Eigen::Map<const Eigen::VectorXd>(from.missing.data(), static_cast<Eigen::Index>(from.missing.size())));
  if (!move.allFinite()) return false;
  const double longest = move.cwiseAbs().maxCoeff();
  double scale = longest > longest_correction ? longest_correction / longest : 1;
  const auto better = [&](const std::vector<double>& fractions) {
    std::vector<double> z = from.z;
    for (std::size_t i = 0; i < z.size(); ++i) z[i] += scale * move[static_cast<Eigen::Index>(i)];
    stand(from);
    if (!tried(z, fractions)) return false;
    to = measured();
    return to.error_mm < wanted_mm() || to.error_mm < (1 - 0.1 * scale) * from.error_mm ||
           to.merit_mm() < (1 - 0.1 * scale) * from.merit_mm();
  };
  if (better(from.next_fractions)) return true;
  const bool only_lines = from.error_mm < lines_move * from.lines_mm;
  for (; !only_lines && scale >= shortest; scale *= 0.5) {
    if (better(from.fractions)) return true;
    if (shortest == 1) return false;
  }
  return only_lines && lines_settle(from, to);
}

bool ShapeSearch::lines_settle(const Standing& from, Standing& to) {
  for (double part = 1; part >= least_part; part *= 0.5) {
    std::vector<double> fractions = from.fractions;
    for (std::size_t i = 0; i < fractions.size(); ++i) fractions[i] += part * (from.next_fractions[i] - fractions[i]);
    stand(from);
    if (!tried(from.z, fractions)) continue;
    to = measured();
    if (to.lines_mm < (1 - 0.1 * part) * from.lines_mm && to.error_mm < from.lines_mm) return true;
  }
  return false;
}

bool ShapeSearch::tried(const std::vector<double>& z, const std::vector<double>& fractions) {
  const std::vector<double> old_reference = mesh_.reference();
  take(z);
  shape_.fractions = fractions;
  if (!place()) return false;
  const std::vector<double> healthy_before = healthy_.x;
  for (std::size_t i = 0; i < old_reference.size(); ++i) healthy_.x[i] += mesh_.reference()[i] - old_reference[i];
  if (!settle(healthy_)) return false;
  if (!two_states_) return true;
  // The stated rest moves as the healthy one did, as far as it is pulled like that, and else as the reference.
  const double like_healthy = std::clamp(zonule_strength(key_.stated, 0, 2 * pi), 0.0, 1.0);
  for (std::size_t i = 0; i < old_reference.size(); ++i)
    own_.x[i] += like_healthy * (healthy_.x[i] - healthy_before[i]) +
                 (1 - like_healthy) * (mesh_.reference()[i] - old_reference[i]);
  return settle(own_);
}

void ShapeSearch::stand(const Standing& s) {
  take(s.z);
  shape_.fractions = s.fractions;
  shape_.error_mm = s.error_mm;
  healthy_.x = s.x_healthy;
  own_.x = s.x_own;
  if (!place()) throw InternalError("the unloaded shape the search stood at folds");
}

void ShapeSearch::take(std::span<const double> z) {
  shape_.equator_radius_mm = z[ShapeUnknowns::radius()];
  for (std::size_t c = 0; c < unknowns_.columns; ++c)
    for (std::size_t i = 0; i < 2; ++i) shape_.rim[c][i] = z[ShapeUnknowns::rim(c, i)];
  for (std::size_t i = 0; i < unknowns_.insertions; ++i)
    shape_.insertions[i] = std::clamp(z[unknowns_.insertion(i)], least_insertion, most_insertion);
}

bool ShapeSearch::renew_tangent(const Standing& here) {
  stand(here);
  std::vector<std::vector<double>> healthy, own;
  if (!rates(healthy_, here, healthy) || (two_states_ && !rates(own_, here, own))) return false;
  const std::vector<std::vector<double>>& stated = two_states_ ? own : healthy;
  const Eigen::Index n = static_cast<Eigen::Index>(unknowns_.size());
  Eigen::MatrixXd answer = Eigen::MatrixXd::Zero(n, n);
  for (Eigen::Index j = 0; j < n; ++j) {
    const std::vector<double>&h = healthy[static_cast<std::size_t>(j)], &s = stated[static_cast<std::size_t>(j)];
    answer(0, j) = mean_equator_rate(h);
    for (std::size_t c = 0; c < unknowns_.columns; ++c)
      for (std::size_t i = 0; i < 2; ++i)
        answer(static_cast<Eigen::Index>(ShapeUnknowns::rim(c, i)), j) =
            at_dof(s, 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c))) + i);
    for (std::size_t i = 0; i < unknowns_.insertions; ++i)
      answer(static_cast<Eigen::Index>(unknowns_.insertion(i)), j) = -insertion_rate(i, h);
  }
  for (std::size_t i = 0; i < unknowns_.insertions; ++i) {
    const Eigen::Index k = static_cast<Eigen::Index>(unknowns_.insertion(i));
    answer(k, k) -= insertion_slide(i);
    if (here.held[i] == 0) continue;
    answer.row(k).setZero();
    answer(k, k) = 1;
  }
  tangent_.emplace(answer);
  stand(here);
  return true;
}

double ShapeSearch::at_dof(const std::vector<double>& v, std::size_t coordinate) const {
  return v[static_cast<std::size_t>(healthy_.dof[coordinate])];  // contents come after the bag
}

bool ShapeSearch::rates(RestState& s, const Standing& here, std::vector<std::vector<double>>& result) {
  if (!as_connected(s.zonule->bundles(), s)) connect(s);
  if (!s.equilibrium.factorize_at(s.x)) return false;
  const std::vector<double> x = s.x;
  std::vector<double> steps(unknowns_.size(), 1e-6 * key_.equator_radius_mm);
  for (std::size_t i = 0; i < unknowns_.insertions; ++i) steps[unknowns_.insertion(i)] = 1e-6;
  std::vector<double> forces;
  result = rest_shape_rates(
      mesh_, unknowns_, s.dof, here.z, steps,
      [&](std::span<const double> z) {
        take(z);
        place();  // so near to a sound shape it cannot fold
        fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
        if (!shape_.insertions.empty())
          s.zonule->put(zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm));
        return s.equilibrium.forces(x);
      },
      [&](std::vector<double>& b) {
        s.equilibrium.apply_inverse(b);
        tangent_work_ += solve_work;
      });
  return true;
}

double ShapeSearch::mean_equator_rate(const std::vector<double>& rate) const {
  const int cols = mesh_.columns();
  double sum = 0;
  for (int c = 0; c < cols; ++c) {
    const std::size_t k = 2 * static_cast<std::size_t>(mesh_.equator_nodes()[static_cast<std::size_t>(c)]);
    const double r = std::hypot(healthy_.x[k], healthy_.x[k + 1]);
    sum += column_width(mesh_, c) * (healthy_.x[k] * at_dof(rate, k) + healthy_.x[k + 1] * at_dof(rate, k + 1)) / r;
  }
  return sum / (2 * pi);
}

double ShapeSearch::insertion_rate(std::size_t i, const std::vector<double>& rate) const {
  const std::vector<Zonule::Bundle>& bundles = healthy_.zonule->bundles();
  const Zonule::Bundle& b = bundles[bundles.size() - unknowns_.insertions + i];
  const Point p = insertion_at(i);
  double along = 0;
  for (std::size_t a = 0; a < static_cast<std::size_t>(b.count); ++a)
    for (std::size_t k = 0; k < 2; ++k)
      along += b.share[a] * at_dof(rate, 2 * static_cast<std::size_t>(b.nodes[a]) + k) * p[k];
  return along / std::hypot(p[0], p[1]);
}

double ShapeSearch::insertion_slide(std::size_t i) const {
  constexpr double step = 1e-5;
  double radius[2];
  for (const int side : {0, 1}) {
    std::vector<double> moved = shape_.insertions;
    moved[i] += side == 0 ? -step : step;
    const auto bundles = zonule_bundles_at(mesh_, moved, pulling(key_.healthy), key_.equator_radius_mm);
    const Point p = insertion_point(bundles[bundles.size() - moved.size() + i], healthy_.x);
    radius[side] = std::hypot(p[0], p[1]);
  }
  return (radius[1] - radius[0]) / (2 * step);
}

}  // namespace capsim
