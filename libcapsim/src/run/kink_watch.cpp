// SPDX-License-Identifier: BSD-3-Clause
#include "run/kink_watch.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "capsim/lens.hpp"
#include "capsim/zonule.hpp"

namespace capsim {
namespace {

void take(double here, double beside, const ParameterStep& step, double& nearest) {
  const double rate = std::abs(step.of(here, beside));
  if (std::abs(here) < nearest * rate) nearest = std::abs(here) / rate;  // not with a number that is none
}

/// The smallest of all stays where it is until another that is the smallest among its neighbours gets below it.
void take_jump(const std::vector<double>& here, const std::vector<double>& beside, const ParameterStep& step,
               double& nearest) {
  if (here.empty() || here.size() != beside.size()) return;
  const std::size_t n = here.size();
  const auto least = static_cast<std::size_t>(std::min_element(here.begin(), here.end()) - here.begin());
  for (std::size_t k = 0; k < n; ++k) {
    const bool low = here[k] <= here[(k + 1) % n] && here[k] <= here[(k + n - 1) % n];
    if (k != least && low) take(here[k] - here[least], beside[k] - beside[least], step, nearest);
  }
}

}  // namespace

void KinkWatch::follow(const EyeParts& parts, std::span<const double> x) {
  now_.clear();
  parts.each([&](const Part& part) { part.kinks(x, now_); });
  const std::array<long*, kink_kinds> counts{&passed_.slack, &passed_.wrinkle, &passed_.contact};
  for (std::size_t kind = 0; kind < kink_kinds; ++kind) {
    const std::span<const double> was = before_.of(kind), is = now_.of(kind);
    if (was.size() != is.size()) continue;
    for (std::size_t i = 0; i < is.size(); ++i)
      if (was[i] * is[i] < 0) ++*counts[kind];
  }
  std::swap(before_, now_);
}

// Chords through the centroid, as rows measure them.
void KinkWatch::put_chords(std::span<const Point> nodes, int order, std::vector<double>& least,
                           std::vector<double>& most) {
  static_cast<void>(measure_opening(nodes, order, false, opening_));
  constexpr std::size_t meridians = chord_meridians;
  least.resize(meridians);
  most.resize(meridians);
  for (std::size_t k = 0; k < meridians; ++k) {
    least[k] = opening_.profile[k] + opening_.profile[k + meridians];
    most[k] = -least[k];
  }
}

void KinkWatch::look(const EyeParts& parts, std::span<const double> x, std::span<const int> open_layers,
                     KinksSeen& seen) {
  seen.values.clear();
  parts.each([&](const Part& part) { part.kinks(x, seen.values); });
  const auto put_nodes = [&](std::span<const int> nodes) {
    nodes_.clear();
    for (const int n : nodes)
      nodes_.push_back({x[2 * static_cast<std::size_t>(n)], x[2 * static_cast<std::size_t>(n) + 1]});
  };
  const Mesh& mesh = model_->mesh();
  const int order = mesh.plan().order;
  put_nodes(mesh.equator_nodes());
  put_chords(nodes_, order, seen.places[KinksSeen::equator_least], seen.places[KinksSeen::equator_most]);
  put_nodes(mesh.outline_nodes(open_layers));
  put_chords(nodes_, order, seen.places[KinksSeen::rim_least], seen.places[KinksSeen::rim_most]);
  const std::vector<Point>& rim = opening_.polygon;  // measured last
  radial_profile(rim, {0, 0}, chord_rays_, seen.places[KinksSeen::clear_circle]);
  const auto optic = static_cast<std::size_t>(model_->lens_coordinate());
  radial_profile(rim, parts.lens() != nullptr ? Point{x[optic], x[optic + 1]} : Point{0, 0}, overlap_rays_,
                 seen.places[KinksSeen::overlap]);
  for (double& distance : seen.places[KinksSeen::overlap]) distance = -distance;  // least overlap: the rim is farthest
  const std::array<double, 12> loads = parts.zonule().load_by_hour_mN(x);
  seen.places[KinksSeen::load].assign(loads.begin(), loads.end());
  for (double& v : seen.places[KinksSeen::load]) v = -v;
}

void KinkWatch::take_nearest(const KinksSeen& here, const KinksSeen& beside, const ParameterStep& step,
                             KinkDistances& nearest) {
  const std::array<double*, kink_kinds> distances{&nearest.slack, &nearest.wrinkle, &nearest.contact};
  for (std::size_t kind = 0; kind < kink_kinds; ++kind) {
    const std::span<const double> a = here.values.of(kind), b = beside.values.of(kind);
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) take(a[i], b[i], step, *distances[kind]);
  }
  for (std::size_t k = 0; k < here.places.size(); ++k) take_jump(here.places[k], beside.places[k], step, nearest.jump);
}

}  // namespace capsim
