// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/zonule.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "parts/equator_arc.hpp"

namespace capsim {
namespace {

Point insertion(const Zonule::Bundle& b, std::span<const double> x) noexcept {
  Point p{0, 0};
  for (int a = 0; a < b.count; ++a) {
    p[0] += b.share[a] * x[2 * static_cast<std::size_t>(b.nodes[a])];
    p[1] += b.share[a] * x[2 * static_cast<std::size_t>(b.nodes[a]) + 1];
  }
  return p;
}

struct Reach {
  double ux, uy, length;  // unit vector from the anchor to the insertion
  Reach(const Zonule::Bundle& b, std::span<const double> x) noexcept {
    const Point p = insertion(b, x);
    ux = p[0] - b.anchor[0];
    uy = p[1] - b.anchor[1];
    length = std::sqrt(ux * ux + uy * uy);  // millimetres: nothing to guard against
    ux /= length;
    uy /= length;
  }
};

}  // namespace

double by_hour_average(const ByHour& values, double elsewhere, HourInterpolation interpolation, double angle,
                       double width) {
  const auto at_hour = [&](int hour) {
    const auto found = values.find((hour - 1) % 12 + 1);
    return found == values.end() ? elsewhere : found->second;
  };
  // Clockwise position in hours, 0 at 12 o'clock.
  const double from = (pi / 2 - angle - width / 2) / (pi / 6), to = from + width / (pi / 6);
  if (interpolation == HourInterpolation::smooth) {
    // Between the middles of two hours the value follows a half cosine; integrated by Gauss points.
    double sum = 0;
    for (const double g : {-0.7745966692414834, 0.0, 0.7745966692414834}) {
      const double hour = 0.5 * (from + to) + 0.5 * (to - from) * g;
      const double base = std::floor(hour), t = 0.5 - 0.5 * std::cos(pi * (hour - base));
      const int k = static_cast<int>(std::lround(base)) + 24;
      sum += (g == 0 ? 8.0 / 18 : 5.0 / 18) * ((1 - t) * at_hour(k) + t * at_hour(k + 1));
    }
    return sum;
  }
  // Stepwise: exact mean over the arc; hour k covers k - 1/2 .. k + 1/2.
  double sum = 0;
  for (int k = static_cast<int>(std::floor(from + 0.5)); k <= static_cast<int>(std::floor(to + 0.5)); ++k) {
    const double overlap = std::min(to, k + 0.5) - std::max(from, k - 0.5);
    if (overlap > 0) sum += overlap * at_hour(k + 36);
  }
  return sum / (to - from);
}

double zonule_strength(const ZonuleSpec& spec, double angle, double width) {
  return by_hour_average(spec.strength_by_hour, spec.strength, spec.interpolation, angle, width);
}

Zonule::Zonule(std::vector<Bundle> bundles) : bundles_(std::move(bundles)), failed_(bundles_.size(), 0) {}
Zonule::~Zonule() = default;
Zonule::Zonule(const Zonule&) = default;

std::unique_ptr<Part> Zonule::clone() const { return std::make_unique<Zonule>(*this); }

void Zonule::couplings(std::span<const double>, Cliques& cliques) {
  int last = -1;
  for (const Bundle& b : bundles_) {
    if (b.clique == last) continue;
    last = b.clique;
    std::array<int, 16> coordinates;
    for (int a = 0; a < b.count; ++a) {
      coordinates[2 * a] = 2 * b.nodes[a];
      coordinates[2 * a + 1] = 2 * b.nodes[a] + 1;
    }
    cliques.add({coordinates.data(), 2 * static_cast<std::size_t>(b.count)});
  }
}

void Zonule::kinks(std::span<const double> x, KinkValues& values) const {
  for (const Bundle& bundle : bundles_)
    values.add(Kink::slack, bundle.strength > 0 ? elongation_mm(bundle, x) : std::numeric_limits<double>::quiet_NaN());
}

double Zonule::elongation_mm(const Bundle& b, std::span<const double> x) const noexcept {
  return Reach(b, x).length - b.slack_length_mm;
}

double Zonule::tension_mN(const Bundle& b, std::span<const double> x) const noexcept {
  return b.strength * b.stiffness_mN_per_mm * std::max(elongation_mm(b, x), 0.0);
}

double Zonule::energy(std::span<const double> x) const {
  double total = 0;
  for (const Bundle& b : bundles_) {
    const double e = std::max(elongation_mm(b, x), 0.0);
    total += 0.5 * b.strength * b.stiffness_mN_per_mm * e * e;
  }
  return total;
}

double Zonule::gradient(std::span<const double> x, std::span<double> g) const {
  double total = 0;
  for (const Bundle& b : bundles_) {
    const Reach r(b, x);
    const double e = r.length - b.slack_length_mm;
    if (!(e > 0) || b.strength == 0) continue;
    const double tension = b.strength * b.stiffness_mN_per_mm * e;
    total += 0.5 * tension * e;
    for (int a = 0; a < b.count; ++a) {
      g[2 * static_cast<std::size_t>(b.nodes[a])] += tension * r.ux * b.share[a];
      g[2 * static_cast<std::size_t>(b.nodes[a]) + 1] += tension * r.uy * b.share[a];
    }
  }
  return total;
}

void Zonule::hessian(std::span<const double> x, Curvature, Tangent& tangent) const {
  double k[256];
  for (std::size_t first = 0; first < bundles_.size();) {
    const int clique = bundles_[first].clique, n = 2 * bundles_[first].count;
    std::fill(k, k + n * n, 0.0);
    std::size_t i = first;
    for (; i < bundles_.size() && bundles_[i].clique == clique; ++i) {
      const Bundle& b = bundles_[i];
      const Reach r(b, x);
      const double e = r.length - b.slack_length_mm;
      if (!(e > 0) || b.strength == 0) continue;
      const double axial = b.strength * b.stiffness_mN_per_mm, across = axial * e / r.length;
      const double h[4] = {axial * r.ux * r.ux + across * r.uy * r.uy, (axial - across) * r.ux * r.uy,
                           (axial - across) * r.ux * r.uy, axial * r.uy * r.uy + across * r.ux * r.ux};
      for (int p = 0; p < b.count; ++p)
        for (int q = 0; q < b.count; ++q) {
          const double s = b.share[p] * b.share[q];
          for (int c = 0; c < 2; ++c)
            for (int d = 0; d < 2; ++d) k[(2 * p + c) * n + 2 * q + d] += s * h[2 * c + d];
        }
    }
    tangent.add(static_cast<std::size_t>(clique), k);
    first = i;
  }
}

void Zonule::move_anchors(double angle, Point shift) {
  for (Bundle& b : bundles_) b.anchor = moved(b.anchor, angle, shift);
}

std::array<double, 12> Zonule::load_by_hour_mN(std::span<const double> x) const noexcept {
  std::array<double, 12> load{};
  for (const Bundle& b : bundles_) {
    const double tension = tension_mN(b, x);
    if (tension == 0) continue;
    const double from = (pi / 2 - b.angle - b.width / 2) / (pi / 6), to = from + b.width / (pi / 6);
    for (int k = static_cast<int>(std::floor(from + 0.5)); k <= static_cast<int>(std::floor(to + 0.5)); ++k) {
      const double overlap = std::min(to, k + 0.5) - std::max(from, k - 0.5);
      if (overlap > 0) load[static_cast<std::size_t>((k + 36) % 12)] += tension * overlap / (to - from);
    }
  }
  return load;
}

double Zonule::radial_pull_mN(std::span<const double> x, Point center) const noexcept {
  double total = 0;
  for (const Bundle& b : bundles_) {
    const Reach r(b, x);
    const Point p = insertion(b, x);
    const double nx = p[0] - center[0], ny = p[1] - center[1], n = std::sqrt(nx * nx + ny * ny);
    total -= tension_mN(b, x) * (r.ux * nx + r.uy * ny) / n;
  }
  return total;
}

void Zonule::set_strength(const ZonuleSpec& spec) {
  for (std::size_t i = 0; i < bundles_.size(); ++i)
    bundles_[i].strength = failed_[i] ? 0 : zonule_strength(spec, bundles_[i].angle, bundles_[i].width);
}

void Zonule::set_failed(std::vector<char> failed) {
  if (failed.size() != bundles_.size()) throw InternalError("zonule: one flag per bundle is needed");
  failed_ = std::move(failed);
  for (std::size_t i = 0; i < bundles_.size(); ++i)
    if (failed_[i]) bundles_[i].strength = 0;
}

int Zonule::fail_beyond(double limit, std::span<const double> x) {
  int count = 0;
  for (std::size_t i = 0; i < bundles_.size(); ++i)
    if (!failed_[i] && bundles_[i].strength > 0 && elongation_mm(bundles_[i], x) > limit) {
      failed_[i] = 1;
      bundles_[i].strength = 0;
      ++count;
    }
  return count;
}

namespace {

// Fraction from rim to equator of layer line `line` at local eta of a sector.
double line_fraction(const Mesh& mesh, int line, int sector, double eta) {
  const int order = mesh.plan().order, cols = mesh.columns(), c = sector * order, row = line * order;
  const double start = mesh.fraction(row, c), end = mesh.fraction(row, (c + order) % cols);
  if (order == 1) return 0.5 * (1 - eta) * start + 0.5 * (1 + eta) * end;
  return -0.5 * eta * (1 - eta) * start + 0.5 * eta * (1 + eta) * end + (1 - eta * eta) * mesh.fraction(row, c + 1);
}

// Makes `b` an insertion on the leaf at `fraction` of the way from rim to equator.
void insert_on_leaf(const Mesh& mesh, int sector, double eta, double fraction, Zonule::Bundle& b) {
  int layer = 0;
  while (layer + 1 < mesh.plan().layers && line_fraction(mesh, layer + 1, sector, eta) < fraction) ++layer;
  const double from = line_fraction(mesh, layer, sector, eta), to = line_fraction(mesh, layer + 1, sector, eta);
  double shape[8];
  quad_shape(mesh.plan().order, 2 * (fraction - from) / (to - from) - 1, eta, shape);
  const Patch& leaf = mesh.anterior();
  b.count = leaf.nodes_per_element;
  for (int a = 0; a < b.count; ++a) {
    b.nodes[a] = leaf.nodes[static_cast<std::size_t>(mesh.element(layer, sector)) * b.count + a];
    b.share[a] = shape[a];
  }
}

}  // namespace

Point insertion_point(const Zonule::Bundle& bundle, std::span<const double> x) noexcept { return insertion(bundle, x); }

std::vector<double> insertion_fractions(const Mesh& mesh, std::span<const double> in_situ, const ZonuleSpec& spec,
                                        double equator_radius) {
  std::vector<double> fractions;
  if (spec.attachment != ZonuleAttachment::split || spec.anterior_share <= 0) return fractions;
  const double target = equator_radius - spec.anterior_inset_mm;
  for (const ArcPoint& at : equator_points(mesh)) {
    double low = 0, high = 1;
    for (int i = 0; i < 50; ++i) {
      const double middle = 0.5 * (low + high);
      Zonule::Bundle b;
      insert_on_leaf(mesh, at.sector, at.eta, middle, b);
      const Point p = insertion(b, in_situ);
      (std::hypot(p[0], p[1]) < target ? low : high) = middle;
    }
    fractions.push_back(0.5 * (low + high));
  }
  return fractions;
}

std::vector<Zonule::Bundle> zonule_bundles_at(const Mesh& mesh, std::span<const double> fractions,
                                              const ZonuleSpec& spec, double equator_radius) {
  const double ciliary = 0.5 * spec.ciliary_ring_diameter_mm, gap = ciliary - equator_radius;
  const double stretch = spec.stiffness_mN_per_mm > 0 ? spec.pull_mN / spec.stiffness_mN_per_mm : 0;
  const double equator_share = fractions.empty() ? 1 : 1 - spec.anterior_share;
  const std::vector<ArcPoint> points = equator_points(mesh);
  std::vector<Zonule::Bundle> bundles;
  int clique = -1, last_sector = -1;
  // `place` fills nodes and shares of the bundle at the k-th of the points.
  const auto distribute = [&](double share, double extra_length, auto&& place) {
    last_sector = -1;
    for (std::size_t k = 0; k < points.size(); ++k) {
      const ArcPoint& at = points[k];
      Zonule::Bundle b;
      place(k, b);
      // Bundles of a sector share a clique while they lie in the same element.
      if (at.sector != last_sector || b.nodes != bundles.back().nodes) ++clique;
      last_sector = at.sector;
      b.clique = clique;
      b.width = at.width;
      b.angle = at.middle;
      b.stiffness_mN_per_mm = share * spec.stiffness_mN_per_mm * b.width / (2 * pi);
      b.slack_length_mm = gap + extra_length - stretch;
      b.strength = zonule_strength(spec, b.angle, b.width);
      b.anchor = {ciliary * std::cos(at.at), ciliary * std::sin(at.at)};
      bundles.push_back(b);
    }
  };
  distribute(equator_share, 0, [&](std::size_t k, Zonule::Bundle& b) {
    const EquatorPlace place = place_on_equator(mesh, points[k]);
    b.count = place.count;
    std::copy(place.nodes.begin(), place.nodes.end(), b.nodes.begin());
    std::copy(place.share.begin(), place.share.end(), b.share.begin());
  });
  if (fractions.empty()) return bundles;
  distribute(spec.anterior_share, spec.anterior_inset_mm, [&](std::size_t k, Zonule::Bundle& b) {
    insert_on_leaf(mesh, points[k].sector, points[k].eta, fractions[k], b);
  });
  return bundles;
}

std::vector<Zonule::Bundle> zonule_bundles(const Mesh& mesh, std::span<const double> in_situ, const ZonuleSpec& spec,
                                           double equator_radius) {
  return zonule_bundles_at(mesh, insertion_fractions(mesh, in_situ, spec, equator_radius), spec, equator_radius);
}

}  // namespace capsim
