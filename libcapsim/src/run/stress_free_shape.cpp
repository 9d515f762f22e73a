// SPDX-License-Identifier: BSD-3-Clause
// From the stated opening and bag to the unloaded leaf: the part of a model that solves for its own reference shape.
#include <algorithm>
#include <cmath>
#include <string>

#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "scenario/opening_outline.hpp"
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

}  // namespace

// Layer lines by in-situ distance from the rim along each column, as fractions of the reference.
void Model::place_lines(std::span<const double> rest, std::vector<double>& fractions) const {
  const Mesh& mesh = *mesh_;
  const int cols = mesh.columns(), layers = mesh.plan().layers, order = mesh.plan().order;
  const double contact = 0.5 * contact_diameter_mm();
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
    for (std::size_t i = 1; i < lines_.size(); ++i) {
      double here = lines_[i].distance_mm;
      if (lines_[i].kind == Line::equator) here = distance.back();
      if (lines_[i].kind == Line::edge) here = interpolate(from_pole, distance, contact);
      here = std::clamp(here, before + 0.02, distance.back());
      for (int k = 1; k <= lines_[i].layers_before; ++k) {
        const double d = before + spacing_[i - 1][static_cast<std::size_t>(k)] * (here - before);
        ++line;
        next[static_cast<std::size_t>(line) * cols + c] =
            lines_[i].kind == Line::equator && k == lines_[i].layers_before ? 1.0 : interpolate(distance, at, d);
      }
      before = here;
    }
  }
  fractions = std::move(next);
}

void Model::find_stress_free() {
  Mesh& mesh = *mesh_;
  const int cols = mesh.columns();
  const double equator_target = anatomical_equator_radius_mm();
  const bool stress_free = scenario_.opening.measured_under == MeasuredUnder::stress_free;
  ZonuleSpec full = scenario_.zonule;
  full.strength = 1;
  full.strength_by_hour.clear();
  const bool own = scenario_.opening.measured_under == MeasuredUnder::own_zonule;
  const ZonuleSpec stated = own ? scenario_.zonule : full;
  const bool two_states = !(stated == full);

  const double e = Membrane(scenario_.capsule).small_strain_modulus_kPa();
  const double rim_radius = std::hypot(stated_rim_[0][0] - opening_center(scenario_.opening)[0],
                                       stated_rim_[0][1] - opening_center(scenario_.opening)[1]);
  force_scale_ =
      std::max({scenario_.zonule.pull_mN / (2 * pi), e * anterior_thickness_mm(scenario_.capsule, 0.6) * rim_radius,
                make_contraction_law(scenario_.contraction)->force_scale_mN_per_mm()});

  std::vector<Point> rim = stated_rim_, equator(static_cast<std::size_t>(cols));
  equator_radius_ = equator_target;
  if (!stress_free) {
    const double guess = std::clamp(1 - 0.2 * scenario_.zonule.pull_mN / 60 * 830 / e, 0.6, 1.0);
    const Point center = opening_center(scenario_.opening);
    for (Point& p : rim)
      for (int i = 0; i < 2; ++i) p[i] = center[i] + guess * (p[i] - center[i]);
    equator_radius_ *= std::clamp(1 - 0.03 * scenario_.zonule.pull_mN / 60 * 830 / e, 0.9, 1.0);
  }
  const int layers = mesh.plan().layers;
  std::vector<double> fractions(static_cast<std::size_t>(layers + 1) * cols);
  for (int l = 0; l <= layers; ++l)
    for (int c = 0; c < cols; ++c) fractions[static_cast<std::size_t>(l) * cols + c] = static_cast<double>(l) / layers;
  const auto place = [&] {
    for (int c = 0; c < cols; ++c)
      equator[c] = {equator_radius_ * std::cos(mesh.plan().column_angle[c]),
                    equator_radius_ * std::sin(mesh.plan().column_angle[c])};
    return mesh.place(rim, equator, fractions);
  };
  const char* const folded_mesh =
      "the mesh of the leaf is folded: the stated opening is too irregular or too close to the equator";
  if (!place()) throw ModelError(folded_mesh);
  if (stress_free) {
    place_lines(mesh.reference(), fractions);
    if (!place()) throw ModelError(folded_mesh);
    rest_full_ = rest_stated_ = mesh.reference();
    insertions_ = insertion_fractions(mesh, mesh.reference(), full, equator_target);
    return;
  }

  // The equilibrium of the bare bag: the parts and the factorization are kept while the geometry
  // is corrected, since its stiffness hardly changes.
  const std::vector<int> closed(mesh.plan().cuts.size(), 0);
  struct State {
    ZonuleSpec spec;
    std::unique_ptr<Leaf> leaf, disc;
    std::unique_ptr<Zonule> zonule;
    Equilibrium equilibrium;
    std::vector<double> x;
  };
  const auto make_state = [&](const ZonuleSpec& spec) {
    State s;
    s.spec = spec;
    s.leaf = make_anterior_leaf();
    s.disc = make_posterior_leaf();
    s.x = mesh.reference();
    s.x.resize(static_cast<std::size_t>(coordinates()));
    return s;
  };
  insertions_ = insertion_fractions(mesh, mesh.reference(), full, equator_target);
  const auto settle = [&](State& s) {
    fill_thickness(*s.leaf);
    if (!s.zonule || !insertions_.empty()) {  // an insertion on the leaf moves with the mesh lines
      s.zonule = std::make_unique<Zonule>(zonule_bundles_at(mesh, insertions_, s.spec, equator_target));
      std::vector<Part*> parts{s.leaf.get(), s.zonule.get()};
      if (s.disc) parts.push_back(s.disc.get());
      s.equilibrium.settings().tolerance_mN = scenario_.numerics.force_tolerance * force_scale_;
      s.equilibrium.settings().shift_mN_per_mm = 1e-8 * force_scale_;
      s.equilibrium.set_system(parts, dof_map(closed, false, false));
    }
    EquilibriumReport report = s.equilibrium.solve(s.x);
    if (!report.converged()) {  // the moved start may be folded where mesh lines lie close; the unloaded shape is not
      std::copy(mesh.reference().begin(), mesh.reference().end(), s.x.begin());
      report = s.equilibrium.solve(s.x);
    }
    if (!report.converged())
      throw ModelError(
          with_numbers("no rest state of the bag under the zonule's pull: the largest unbalanced force stays at "
                       "%.4g mN (limit %.4g); is the pull too strong for the leaf?",
                       {report.residual_mN, s.equilibrium.settings().tolerance_mN}));
  };
  State healthy = make_state(full), own_state;
  if (two_states) own_state = make_state(stated);
  const Point center = opening_center(scenario_.opening);
  const double leaf_width = equator_target - rim_radius;
  FixedPoint accelerator(6);
  // The stated shape is met to the same digits as the forces: a stricter force tolerance sharpens both.
  const double wanted = std::clamp(scenario_.numerics.force_tolerance, 1e-12, 1e-6);  // mm, an eye being some mm wide
  constexpr double longest_correction = 0.25;                                         // mm
  for (in_situ_iterations_ = 1; in_situ_iterations_ <= 80; ++in_situ_iterations_) {
    settle(healthy);
    if (two_states) settle(own_state);
    const std::vector<double>& x_stated = two_states ? own_state.x : healthy.x;
    const double mean = mean_equator_radius(mesh, healthy.x);
    in_situ_error_ = std::abs(mean - equator_target);
    std::vector<double> z{equator_radius_}, r{equator_radius_ * (equator_target / mean - 1)};
    for (int c = 0; c < cols; ++c) {
      const std::size_t node = 2 * static_cast<std::size_t>(mesh.node(0, c));
      // The reference moves less than the rest shape, by about the rim's stretch.
      const double stretch = std::hypot(x_stated[node] - center[0], x_stated[node + 1] - center[1]) /
                             std::hypot(rim[c][0] - center[0], rim[c][1] - center[1]);
      const Point missing{stated_rim_[c][0] - x_stated[node], stated_rim_[c][1] - x_stated[node + 1]};
      in_situ_error_ = std::max(in_situ_error_, std::hypot(missing[0], missing[1]));
      for (int i = 0; i < 2; ++i) {
        z.push_back(rim[c][i]);
        r.push_back(missing[i] / stretch);
      }
    }
    // Insertions on the leaf lie the stated distance inside the equator of the healthy eye.
    for (std::size_t i = 0; i < insertions_.size(); ++i) {
      const std::vector<Zonule::Bundle>& bundles = healthy.zonule->bundles();
      const Point p = insertion_point(bundles[bundles.size() - insertions_.size() + i], healthy.x);
      const double missing = equator_target - scenario_.zonule.anterior_inset_mm - std::hypot(p[0], p[1]);
      in_situ_error_ = std::max(in_situ_error_, std::abs(missing));
      z.push_back(insertions_[i]);
      r.push_back(missing / leaf_width);
    }
    if (in_situ_error_ < wanted) break;
    const std::vector<double> old_reference = mesh.reference(), here = z, old_fractions = fractions;
    z = accelerator.next(z, r);
    double longest = 0;
    for (std::size_t i = 0; i < z.size(); ++i) longest = std::max(longest, std::abs(z[i] - here[i]));
    if (longest > longest_correction)
      for (std::size_t i = 0; i < z.size(); ++i) z[i] = here[i] + longest_correction / longest * (z[i] - here[i]);
    place_lines(x_stated, fractions);
    for (int halving = 0;; ++halving) {  // an accelerated step that folds the mesh is shortened
      equator_radius_ = z[0];
      for (int c = 0; c < cols; ++c)
        rim[c] = {z[1 + 2 * static_cast<std::size_t>(c)], z[2 + 2 * static_cast<std::size_t>(c)]};
      for (std::size_t i = 0; i < insertions_.size(); ++i)
        insertions_[i] = std::clamp(z[1 + 2 * static_cast<std::size_t>(cols) + i], 0.02, 0.999);
      if (place()) break;
      if (halving == 4) fractions = old_fractions;
      if (halving == 8) throw ModelError(no_unloaded_shape(scenario_.zonule, in_situ_error_));
      for (std::size_t i = 0; i < z.size(); ++i) z[i] = 0.5 * (z[i] + here[i]);
    }
    for (State* s : {&healthy, &own_state})
      for (std::size_t i = 0; i < std::min(s->x.size(), old_reference.size()); ++i)
        s->x[i] += mesh.reference()[i] - old_reference[i];
  }
  if (!(in_situ_error_ < 1e-3)) throw ModelError(no_unloaded_shape(scenario_.zonule, in_situ_error_));
  rest_full_ = std::move(healthy.x);
  rest_stated_ = two_states ? std::move(own_state.x) : rest_full_;
  for (auto* rest : {&rest_full_, &rest_stated_}) rest->resize(2 * static_cast<std::size_t>(mesh.nodes()));
}

}  // namespace capsim
