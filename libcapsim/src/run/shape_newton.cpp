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
  if (!done(here)) learn_size_answer(here);
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

Point ShapeSearch::outward(std::size_t c) const {
  const double x = key_.stated_rim[c][0] - key_.center[0], y = key_.stated_rim[c][1] - key_.center[1];
  const double r = std::hypot(x, y);
  return {x / r, y / r};
}

Eigen::Vector2d ShapeSearch::sizes_of(const std::vector<double>& z) const {
  double sum = 0;
  for (std::size_t c = 0; c < unknowns_.columns; ++c) {
    const Point n = outward(c);
    const double along = z[ShapeUnknowns::rim(c, 0)] * n[0] + z[ShapeUnknowns::rim(c, 1)] * n[1];
    sum += column_width(mesh_, static_cast<int>(c)) * along;
  }
  return {z[ShapeUnknowns::radius()], sum / (2 * pi)};
}

void ShapeSearch::change_sizes(std::vector<double>& z, const Eigen::Vector2d& change) const {
  z[ShapeUnknowns::radius()] += change[0];
  for (std::size_t c = 0; c < unknowns_.columns; ++c)
    for (std::size_t i = 0; i < 2; ++i) z[ShapeUnknowns::rim(c, i)] += change[1] * outward(c)[i];
}

void ShapeSearch::learn_size_answer(const Standing& here) {
  const std::array<std::vector<double>, 2> healthy = size_rates(healthy_, here);
  const std::array<std::vector<double>, 2> own = two_states_ ? size_rates(own_, here) : healthy;
  stand(here);
  Eigen::Matrix2d answer;
  std::vector<double> by_unknown(unknowns_.size());
  for (std::size_t k = 0; k < 2; ++k) {
    by_unknown[ShapeUnknowns::radius()] = mean_equator_rate(healthy[k]);
    for (std::size_t c = 0; c < unknowns_.columns; ++c)
      for (std::size_t i = 0; i < 2; ++i)
        by_unknown[ShapeUnknowns::rim(c, i)] =
            at_dof(own[k], 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c))) + i);
    answer.col(static_cast<Eigen::Index>(k)) = sizes_of(by_unknown);
  }
  size_answer_.reset();
  if (answer.allFinite() && answer.determinant() > least_answer) size_answer_ = answer;
}

std::array<std::vector<double>, 2> ShapeSearch::size_rates(RestState& s, const Standing& here) {
  const double step = 1e-6 * key_.equator_radius_mm;
  const std::vector<double> x = s.x;
  std::span<const double> forces = forces_at(s, here.z, x);
  const std::vector<double> before(forces.begin(), forces.end());
  std::array<std::vector<double>, 2> rates;
  for (std::size_t k = 0; k < 2; ++k) {
    std::vector<double> z = here.z;
    change_sizes(z, step * Eigen::Vector2d::Unit(static_cast<Eigen::Index>(k)));
    forces = forces_at(s, z, x);
    rates[k].resize(before.size());
    for (std::size_t i = 0; i < before.size(); ++i) rates[k][i] = (before[i] - forces[i]) / step;
    s.equilibrium.apply_inverse(rates[k]);  // of the rest just found: near enough
    tangent_work_ += solve_work;
  }
  return rates;
}

std::vector<double> ShapeSearch::correction(const Standing& here) {
  std::vector<double> r = here.missing;
  const Eigen::Vector2d sizes = sizes_of(r);
  if (size_answer_) change_sizes(r, -sizes);
  const std::vector<double>& x = stated().x;
  const Point center = key_.center;
  for (std::size_t c = 0; c < unknowns_.columns; ++c) {
    const std::size_t node = 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c)));
    const double stretch = std::hypot(x[node] - center[0], x[node + 1] - center[1]) /
                           std::hypot(shape_.rim[c][0] - center[0], shape_.rim[c][1] - center[1]);
    for (std::size_t i = 0; i < 2; ++i) r[ShapeUnknowns::rim(c, i)] /= stretch;
  }
  if (size_answer_) change_sizes(r, size_answer_->inverse() * sizes);
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
    const double work_before = work();
    if (!tangent_) {
      if (!renew_tangent(here)) return false;
      fresh = true;
    }
    const double tangent_cost = fresh ? work() - work_before : tangent_cost_;
    const double before = std::max({here.error_mm, lines_move * here.lines_mm, wanted_mm()});
    Standing next;
    if (!step(here, next, fresh ? least_scale : 1.0)) {
      stand(here);
      if (fresh) return here.error_mm < still_good_mm;
      tangent_.reset();
      continue;
    }
    tangent_cost_ = tangent_cost;
    const double step_cost = work() - work_before - (fresh ? tangent_cost : 0);
    if (creeping >= most_idle) damp_lines(here, next);
    if (slow(next.error_mm, before, step_cost) || next.held != here.held) tangent_.reset();
    fresh = false;
    here = std::move(next);
  }
  stand(here);
  return here.error_mm < still_good_mm;
}

bool ShapeSearch::slow(double error_mm, double before_mm, double step_cost) const {
  if (error_mm <= wanted_mm() || error_mm <= quick * before_mm) return false;
  const double steps_left = std::log(wanted_mm() / error_mm) / std::log(std::min(error_mm / before_mm, slowest));
  return steps_left * step_cost > tangent_cost_;
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
  if (better(lines_ahead(from))) return true;
  const bool only_lines = from.error_mm < lines_move * from.lines_mm;
  for (; !only_lines && scale >= shortest; scale *= 0.5) {
    if (better(from.fractions)) return true;
    if (shortest == 1) return false;
  }
  return only_lines && lines_settle(from, to);
}

std::vector<double> ShapeSearch::lines_ahead(const Standing& from) const {
  if (line_part_ == 1) return from.next_fractions;
  std::vector<double> ahead = from.fractions;
  for (std::size_t i = 0; i < ahead.size(); ++i) ahead[i] += line_part_ * (from.next_fractions[i] - ahead[i]);
  return ahead;
}

void ShapeSearch::damp_lines(const Standing& before, const Standing& now) {
  if (now.lines_mm < lines_settled_mm() || now.lines_mm < lines_shrink * before.lines_mm) return;
  // Aitken's relaxation: the part that would have left nothing had the lines swung along one direction.
  double along = 0, turned = 0;
  for (std::size_t i = 0; i < now.fractions.size(); ++i) {
    const double asked = before.next_fractions[i] - before.fractions[i];
    const double change = asked - (now.next_fractions[i] - now.fractions[i]);
    along += asked * change;
    turned += change * change;
  }
  if (before.fractions == now.fractions || !(turned > 0)) return;
  line_part_ = std::clamp(line_part_ * along / turned, least_part, 1.0);
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
  healthy_.x = carried_along(mesh_, old_reference, healthy_.x);
  const std::vector<double> healthy_before = healthy_.x;
  if (!settle(healthy_)) return false;
  if (!two_states_) return true;
  // The stated rest moves as the healthy one did, as far as it is pulled like that.
  own_.x = carried_along(mesh_, old_reference, own_.x);
  const double like_healthy = std::clamp(zonule_strength(key_.stated, 0, 2 * pi), 0.0, 1.0);
  for (std::size_t i = 0; i < old_reference.size(); ++i)
    own_.x[i] += like_healthy * (healthy_.x[i] - healthy_before[i]);
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
  const std::vector<double> slides = insertion_slides();
  for (std::size_t i = 0; i < unknowns_.insertions; ++i) {
    const Eigen::Index k = static_cast<Eigen::Index>(unknowns_.insertion(i));
    answer(k, k) -= slides[i];
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
  result = rest_shape_rates(
      mesh_, unknowns_, s.dof, here.z, steps, Differences::central,
      [&](std::span<const double> z) { return forces_at(s, z, x); },
      [&](std::vector<double>& b) {
        s.equilibrium.apply_inverse_four(b);
        tangent_work_ += four_work;
        if (go_on_ && !go_on_()) cancelled();
      });
  return true;
}

std::span<const double> ShapeSearch::forces_at(RestState& s, std::span<const double> z, std::span<const double> x) {
  take(z);
  place();  // so near to a sound shape it cannot fold
  fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
  if (!shape_.insertions.empty())
    s.zonule->put(zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm));
  return s.equilibrium.forces(x);
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

std::vector<double> ShapeSearch::insertion_slides() const {
  constexpr double step = 1e-5;
  const std::size_t n = shape_.insertions.size();
  std::vector<double> slides(n, 0.0);
  for (const double side : {-1.0, 1.0}) {
    std::vector<double> moved = shape_.insertions;
    for (double& m : moved) m += side * step;
    const auto bundles = zonule_bundles_at(mesh_, moved, pulling(key_.healthy), key_.equator_radius_mm);
    for (std::size_t i = 0; i < n; ++i) {
      const Point p = insertion_point(bundles[bundles.size() - n + i], healthy_.x);
      slides[i] += side * std::hypot(p[0], p[1]) / (2 * step);
    }
  }
  return slides;
}

}  // namespace capsim
