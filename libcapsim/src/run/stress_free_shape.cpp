// SPDX-License-Identifier: BSD-3-Clause
#include "run/stress_free_shape.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "capsim/capsule.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/zonule.hpp"
#include "run/bag_parts.hpp"
#include "solve/fixed_point.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

double radius(const std::vector<double>& x, int node) {
  return std::hypot(x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]);
}

double mean_equator_radius(const Mesh& mesh, const std::vector<double>& x) {
  // Trapezoidal mean over the column angles, which need not be evenly spaced.
  const int cols = mesh.columns();
  double sum = 0;
  for (int c = 0; c < cols; ++c) {
    const double before = mesh.plan().column_angle[(c + cols - 1) % cols],
                 after = mesh.plan().column_angle[(c + 1) % cols];
    const double width = std::remainder(after - before, 2 * pi) / 2;
    sum += width * radius(x, mesh.equator_nodes()[c]);
  }
  return sum / (2 * pi);
}

/// Why the search for the unloaded leaf found nothing, as far as the scenario tells.
std::string no_unloaded_shape(const ZonuleSpec& zonule, double off_mm) {
  int missing = 0;
  for (int hour = 1; hour <= 12; ++hour) {
    const auto own = zonule.strength_by_hour.find(hour);
    missing += (own == zonule.strength_by_hour.end() ? zonule.strength : own->second) < 0.1 * zonule.strength;
  }
  const std::string text = with_numbers(
      "no unloaded shape of the leaf was found that comes to rest as stated (the best differs by %.4g mm): "
      "zonule.pull_mN = %.4g",
      {off_mm, zonule.pull_mN});
  if (missing == 0) return text + " stretches this leaf too much; take a weaker pull or a stiffer or thicker capsule";
  return text + with_numbers(
                    " and zonule.strength_by_hour with %.0f hours that hold nothing pull it too much to one side; take "
                    "a weaker pull, or "
                    "state the opening under \"full_strength_zonule\"",
                    {static_cast<double>(missing)});
}

// Layer lines by in-situ distance from the rim along each column, as fractions of the reference.
std::vector<double> lines_in_situ(const ShapeKey& key, const Mesh& mesh, std::span<const double> rest,
                                  std::span<const double> fractions) {
  const int cols = mesh.columns(), layers = mesh.plan().layers, order = mesh.plan().order;
  const double contact = 0.5 * key.contact_diameter_mm;
  std::vector<double> next(fractions.size());
  constexpr int pieces = 4;  // straight pieces per layer
  std::vector<double> distance, at, from_pole;
  for (int c = 0; c < cols; ++c) {
    // Positions along the column in situ: on a ray, or through the middle of a sector.
    distance.assign(1, 0.0);
    at.assign(1, 0.0);
    from_pole.clear();
    const bool middle = order == 2 && c % 2 == 1;
    const int sector = middle ? (c - 1) / 2 : c / order;
    Point last{};
    for (int l = 0; l < layers; ++l)
      for (int k = l == 0 ? 0 : 1; k <= pieces; ++k) {
        const double xi = -1 + 2.0 * k / pieces;
        double shape[8];
        quad_shape(order, xi, middle ? 0.0 : -1.0, shape);
        Point p{0, 0};
        const Patch& leaf = mesh.anterior();
        const int n = leaf.nodes_per_element;
        for (int a = 0; a < n; ++a) {
          const std::size_t node =
              static_cast<std::size_t>(leaf.nodes[static_cast<std::size_t>(mesh.element(l, sector)) * n + a]);
          p[0] += shape[a] * rest[2 * node];
          p[1] += shape[a] * rest[2 * node + 1];
        }
        if (l > 0 || k > 0) {
          distance.push_back(distance.back() + std::hypot(p[0] - last[0], p[1] - last[1]));
          at.push_back(fractions[static_cast<std::size_t>(l) * cols + c] +
                       (fractions[static_cast<std::size_t>(l + 1) * cols + c] -
                        fractions[static_cast<std::size_t>(l) * cols + c]) *
                           k / pieces);
        }
        from_pole.push_back(std::hypot(p[0], p[1]));
        last = p;
      }
    const auto interpolate = [](const std::vector<double>& from, const std::vector<double>& to, double value) {
      std::size_t i = 1;
      while (i + 1 < from.size() && from[i] < value) ++i;
      const double t = (value - from[i - 1]) / (from[i] - from[i - 1]);
      return to[i - 1] + t * (to[i] - to[i - 1]);
    };
    // In-situ distance of every mandatory line in this column, then the lines between.
    int line = 0;
    double before = 0;
    next[static_cast<std::size_t>(c)] = 0;
    for (std::size_t i = 1; i < key.lines.size(); ++i) {
      double here = key.lines[i].distance_mm;
      if (key.lines[i].kind == LayerLine::equator) here = distance.back();
      if (key.lines[i].kind == LayerLine::edge) here = interpolate(from_pole, distance, contact);
      here = std::clamp(here, before + 0.02, distance.back());
      for (int k = 1; k <= key.lines[i].layers_before; ++k) {
        const double d = before + key.spacing[i - 1][static_cast<std::size_t>(k)] * (here - before);
        ++line;
        next[static_cast<std::size_t>(line) * cols + c] =
            key.lines[i].kind == LayerLine::equator && k == key.lines[i].layers_before ? 1.0
                                                                                       : interpolate(distance, at, d);
      }
      before = here;
    }
  }
  return next;
}

std::vector<Point> on_circle(const Mesh& mesh, double radius_mm) {
  std::vector<Point> points;
  for (const double angle : mesh.plan().column_angle)
    points.push_back({radius_mm * std::cos(angle), radius_mm * std::sin(angle)});
  return points;
}

/// The equilibrium of the bare bag under one zonule. Parts and factorization are kept while the geometry is corrected,
/// since its stiffness hardly changes.
struct RestState {
  ZonuleSpec spec;
  std::unique_ptr<Leaf> leaf, disc;
  std::unique_ptr<Zonule> zonule;
  Equilibrium equilibrium;
  std::vector<double> x;
};

class ShapeSearch {
 public:
  ShapeSearch(const ShapeKey& key, std::shared_ptr<PatternStore> patterns)
      : key_(key), patterns_(std::move(patterns)), mesh_(key.plan), two_states_(!(key.stated == key.healthy)) {}

  StressFreeShape find() {
    first_guess();
    if (key_.unloaded) return as_stated();
    const std::vector<double> stated_shape = rest_as_far_as_known();
    place_or_refuse();
    shape_.insertions = insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
    start(healthy_, key_.healthy, stated_shape);
    if (two_states_) start(own_, key_.stated, stated_shape);
    for (shape_.iterations = 1; shape_.iterations <= most_corrections; ++shape_.iterations) {
      settle(healthy_);
      if (two_states_) settle(own_);
      measure();
      if (shape_.error_mm < wanted_mm()) break;
      correct();
    }
    if (!(shape_.error_mm < still_good_mm)) refuse();
    shape_.rest_healthy = healthy_.x;
    shape_.rest_stated = two_states_ ? own_.x : healthy_.x;
    return std::move(shape_);
  }

 private:
  static constexpr int most_corrections = 80;
  static constexpr double still_good_mm = 1e-3;       // a stalled search that is this close is taken
  static constexpr double longest_correction = 0.25;  // mm

  /// The stated shape is met to the same digits as the forces: a stricter force tolerance sharpens both. An eye is
  /// some mm wide.
  [[nodiscard]] double wanted_mm() const { return std::clamp(key_.force_tolerance, 1e-12, 1e-6); }
  [[nodiscard]] const std::vector<double>& stated_x() const { return two_states_ ? own_.x : healthy_.x; }
  [[noreturn]] void refuse() const { throw ModelError(no_unloaded_shape(key_.stated, shape_.error_mm)); }

  void first_guess() {
    shape_.rim = key_.stated_rim;
    shape_.equator_radius_mm = key_.equator_radius_mm;
    if (!key_.unloaded) {
      const double e = Membrane(key_.capsule).small_strain_modulus_kPa();
      const double guess = std::clamp(1 - 0.2 * key_.healthy.pull_mN / 60 * 830 / e, 0.6, 1.0);
      for (Point& p : shape_.rim)
        for (int i = 0; i < 2; ++i) p[i] = key_.center[i] + guess * (p[i] - key_.center[i]);
      shape_.equator_radius_mm *= std::clamp(1 - 0.03 * key_.healthy.pull_mN / 60 * 830 / e, 0.9, 1.0);
    }
    const int layers = mesh_.plan().layers, cols = mesh_.columns();
    for (int l = 0; l <= layers; ++l)
      shape_.fractions.insert(shape_.fractions.end(), static_cast<std::size_t>(cols), static_cast<double>(l) / layers);
  }

  bool place() { return mesh_.place(shape_.rim, on_circle(mesh_, shape_.equator_radius_mm), shape_.fractions); }
  void place_or_refuse() {
    if (!place())
      throw ModelError(
          "the mesh of the leaf is folded: the stated opening is too irregular or too close to the equator");
  }

  StressFreeShape as_stated() {
    place_or_refuse();
    shape_.fractions = lines_in_situ(key_, mesh_, mesh_.reference(), shape_.fractions);
    place_or_refuse();
    shape_.rest_healthy = shape_.rest_stated = mesh_.reference();
    shape_.insertions = insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
    return std::move(shape_);
  }

  /// The bag at rest is known almost beforehand: rim and equator as stated, straight columns between them.
  std::vector<double> rest_as_far_as_known() {
    const bool good = mesh_.place(key_.stated_rim, on_circle(mesh_, key_.equator_radius_mm), shape_.fractions);
    return good ? mesh_.reference() : std::vector<double>();
  }

  void start(RestState& s, const ZonuleSpec& spec, const std::vector<double>& stated_shape) {
    s.spec = spec;
    s.leaf = make_anterior_leaf(mesh_, key_.capsule, shape_.equator_radius_mm);
    s.disc = make_posterior_leaf(mesh_, key_.capsule);
    s.x = stated_shape.empty() ? mesh_.reference() : stated_shape;
  }

  void settle(RestState& s) {
    fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
    if (!s.zonule || !shape_.insertions.empty()) {  // an insertion on the leaf moves with the mesh lines
      s.zonule = std::make_unique<Zonule>(zonule_bundles_at(mesh_, shape_.insertions, s.spec, key_.equator_radius_mm));
      std::vector<Part*> parts{s.leaf.get(), s.zonule.get()};
      if (s.disc) parts.push_back(s.disc.get());
      s.equilibrium.settings().tolerance_mN = key_.force_tolerance * key_.force_scale_mN();
      s.equilibrium.settings().shift_mN_per_mm = 1e-8 * key_.force_scale_mN();
      s.equilibrium.share_patterns(patterns_);
      s.equilibrium.set_system(parts, nodal_dofs(mesh_, std::vector<int>(mesh_.plan().cuts.size(), 0)));
    }
    EquilibriumReport report = s.equilibrium.solve(s.x);
    if (!report.converged()) {  // the moved start may be folded where mesh lines lie close; the unloaded shape is not
      s.x = mesh_.reference();
      report = s.equilibrium.solve(s.x);
    }
    if (!report.converged())
      throw ModelError(
          with_numbers("no rest state of the bag under the zonule's pull: the largest unbalanced force stays at "
                       "%.4g mN (limit %.4g); is the pull too strong for the leaf?",
                       {report.residual_mN, s.equilibrium.settings().tolerance_mN}));
  }

  /// How far the rest shape is from what is stated, as a correction of the unknowns.
  void measure() {
    const std::vector<double>& x = stated_x();
    const double mean = mean_equator_radius(mesh_, healthy_.x);
    shape_.error_mm = std::abs(mean - key_.equator_radius_mm);
    unknowns_ = {shape_.equator_radius_mm};
    missing_ = {shape_.equator_radius_mm * (key_.equator_radius_mm / mean - 1)};
    const Point center = key_.center;
    for (int c = 0; c < mesh_.columns(); ++c) {
      const std::size_t k = static_cast<std::size_t>(c), node = 2 * static_cast<std::size_t>(mesh_.node(0, c));
      // The reference moves less than the rest shape, by about the rim's stretch.
      const double stretch = std::hypot(x[node] - center[0], x[node + 1] - center[1]) /
                             std::hypot(shape_.rim[k][0] - center[0], shape_.rim[k][1] - center[1]);
      const Point missing{key_.stated_rim[k][0] - x[node], key_.stated_rim[k][1] - x[node + 1]};
      shape_.error_mm = std::max(shape_.error_mm, std::hypot(missing[0], missing[1]));
      for (int i = 0; i < 2; ++i) {
        unknowns_.push_back(shape_.rim[k][i]);
        missing_.push_back(missing[i] / stretch);
      }
    }
    // Insertions on the leaf lie the stated distance inside the equator of the healthy eye.
    const double leaf_width = key_.equator_radius_mm - key_.rim_radius_mm();
    for (std::size_t i = 0; i < shape_.insertions.size(); ++i) {
      const std::vector<Zonule::Bundle>& bundles = healthy_.zonule->bundles();
      const Point p = insertion_point(bundles[bundles.size() - shape_.insertions.size() + i], healthy_.x);
      const double missing = key_.equator_radius_mm - key_.healthy.anterior_inset_mm - std::hypot(p[0], p[1]);
      shape_.error_mm = std::max(shape_.error_mm, std::abs(missing));
      unknowns_.push_back(shape_.insertions[i]);
      missing_.push_back(missing / leaf_width);
    }
  }

  void take(const std::vector<double>& z) {
    const std::size_t cols = static_cast<std::size_t>(mesh_.columns());
    shape_.equator_radius_mm = z[0];
    for (std::size_t c = 0; c < cols; ++c) shape_.rim[c] = {z[1 + 2 * c], z[2 + 2 * c]};
    for (std::size_t i = 0; i < shape_.insertions.size(); ++i)
      shape_.insertions[i] = std::clamp(z[1 + 2 * cols + i], 0.02, 0.999);
  }

  void correct() {
    const std::vector<double> old_reference = mesh_.reference(), old_fractions = shape_.fractions;
    std::vector<double> z = accelerator_.next(unknowns_, missing_);
    double longest = 0;
    for (std::size_t i = 0; i < z.size(); ++i) longest = std::max(longest, std::abs(z[i] - unknowns_[i]));
    if (longest > longest_correction)
      for (std::size_t i = 0; i < z.size(); ++i)
        z[i] = unknowns_[i] + longest_correction / longest * (z[i] - unknowns_[i]);
    shape_.fractions = lines_in_situ(key_, mesh_, stated_x(), shape_.fractions);
    for (int halving = 0;; ++halving) {  // an accelerated step that folds the mesh is shortened
      take(z);
      if (place()) break;
      if (halving == 4) shape_.fractions = old_fractions;
      if (halving == 8) refuse();
      for (std::size_t i = 0; i < z.size(); ++i) z[i] = 0.5 * (z[i] + unknowns_[i]);
    }
    for (RestState* s : {&healthy_, &own_})
      for (std::size_t i = 0; i < s->x.size(); ++i) s->x[i] += mesh_.reference()[i] - old_reference[i];
  }

  const ShapeKey& key_;
  std::shared_ptr<PatternStore> patterns_;
  Mesh mesh_;
  bool two_states_;
  StressFreeShape shape_;
  RestState healthy_, own_;
  FixedPoint accelerator_{6};
  std::vector<double> unknowns_, missing_;
};

}  // namespace

double ShapeKey::rim_radius_mm() const noexcept {
  return std::hypot(stated_rim[0][0] - center[0], stated_rim[0][1] - center[1]);
}

double ShapeKey::force_scale_mN() const noexcept {
  return std::max(healthy.pull_mN / (2 * pi),
                  Membrane(capsule).small_strain_modulus_kPa() * anterior_thickness_mm(capsule, 0.6) * rim_radius_mm());
}

std::size_t ShapeKey::memory_bytes() const noexcept {
  std::size_t bytes = sizeof(ShapeKey) + plan.column_angle.capacity() * sizeof(double) +
                      plan.cuts.capacity() * sizeof(MeshPlan::CutLine) + lines.capacity() * sizeof(LayerLine) +
                      stated_rim.capacity() * sizeof(Point);
  for (const auto& interval : spacing) bytes += interval.capacity() * sizeof(double);
  return bytes;
}

std::size_t StressFreeShape::memory_bytes() const noexcept {
  return sizeof(StressFreeShape) + rim.capacity() * sizeof(Point) +
         (fractions.capacity() + insertions.capacity() + rest_healthy.capacity() + rest_stated.capacity()) *
             sizeof(double);
}

StressFreeShape find_stress_free_shape(const ShapeKey& key, const std::shared_ptr<PatternStore>& patterns) {
  return ShapeSearch(key, patterns).find();
}

void place_unloaded(Mesh& mesh, const StressFreeShape& shape) {
  if (!mesh.place(shape.rim, on_circle(mesh, shape.equator_radius_mm), shape.fractions))
    throw InternalError("an unloaded shape that was found does not fit its mesh");
}

}  // namespace capsim
