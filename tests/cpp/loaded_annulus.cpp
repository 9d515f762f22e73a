// SPDX-License-Identifier: BSD-3-Clause
#include "loaded_annulus.hpp"

#include <cmath>
#include <memory>

#include "capsim/equilibrium.hpp"
#include "capsim/zonule.hpp"
#include "dead_load.hpp"

namespace capsim::checks {
namespace {

std::vector<double> growth_tensors(const Mesh& mesh, const std::function<std::array<double, 2>(double)>& growth) {
  const std::vector<double> hoop = hoop_directions(mesh, 0, mesh.anterior().elements()), radii = point_radii(mesh);
  std::vector<double> tensors;
  for (std::size_t p = 0; p < radii.size(); ++p) {
    const auto [along, across] = growth(radii[p]);
    const double tx = hoop[2 * p], ty = hoop[2 * p + 1];
    // along t t + across n n, n = (ty, -tx)
    const double off = (along - across) * tx * ty;
    tensors.insert(tensors.end(), {along * tx * tx + across * ty * ty, off, off, along * ty * ty + across * tx * tx});
  }
  return tensors;
}

FibrousTissue active_tissue(const Mesh& mesh, const std::function<std::array<double, 2>(double)>& active,
                            double factor) {
  const int elements = mesh.anterior().elements();
  FibrousTissue tissue(mesh.anterior(), 0, elements, hoop_directions(mesh, 0, elements),
                       tissue_material(ContractionSpec{}));
  const std::vector<double> radii = point_radii(mesh);
  for (auto& tension : tissue.fields().active) tension.assign(radii.size(), 0.0);
  for (std::size_t p = 0; p < radii.size(); ++p) {
    const auto [along, across] = active(radii[p]);
    tissue.fields().active[0][p] = factor * along;   // hoop family
    tissue.fields().active[3][p] = factor * across;  // radial family
  }
  return tissue;
}

Zonule springs(const Mesh& mesh, const Loads& loads, double factor, double outer) {
  ZonuleSpec spec;
  spec.stiffness_mN_per_mm = 2 * pi * outer * loads.foundation;
  spec.pull_mN = 2 * pi * outer * loads.pull * factor;
  // Far anchors: the springs stay radial, and their pull turns no displacement into a force across.
  spec.ciliary_ring_diameter_mm = 2 * (outer + 100);
  std::vector<Zonule::Bundle> bundles = zonule_bundles(mesh, mesh.reference(), spec, outer);
  const Zonule built(bundles);
  for (Zonule::Bundle& bundle : bundles) {
    // A quadratic edge misses the circle by 1e-6 mm, which is not small against scaled loads.
    bundle.slack_length_mm += built.elongation_mm(bundle, mesh.reference()) - factor * loads.pull / loads.foundation;
    if (loads.foundation_factor)
      bundle.strength = loads.foundation_factor(std::atan2(bundle.anchor[1], bundle.anchor[0]));
  }
  return Zonule(std::move(bundles));
}

std::vector<int> index_map(const Mesh& mesh, const Loads& loads) {
  std::vector<int> dof(2 * static_cast<std::size_t>(mesh.nodes()), 0);
  const int columns = mesh.columns();
  for (int r = 0; r < mesh.rows(); ++r)
    for (int quarter = 0; quarter < 4; ++quarter) {
      const int node = mesh.node(r, quarter * columns / 4);
      const bool on_x_axis = quarter % 2 == 0;
      if (node >= 0 && loads.mirror_axes >= (on_x_axis ? 1 : 2))
        dof[static_cast<std::size_t>(2 * node + (on_x_axis ? 1 : 0))] = -1;
    }
  if (loads.hold_outer_at > 0)
    for (const int node : mesh.equator_nodes())
      dof[static_cast<std::size_t>(2 * node)] = dof[static_cast<std::size_t>(2 * node + 1)] = -1;
  renumber(dof);
  return dof;
}

}  // namespace

Solved LoadedAnnulus::solve(const Loads& loads, double factor) const {
  Leaf leaf = anterior_leaf(mesh_, membrane_, thickness_);
  if (loads.growth) leaf.regions().front().growth = growth_tensors(mesh_, loads.growth);
  std::vector<std::unique_ptr<Part>> others;
  if (loads.active) others.push_back(std::make_unique<FibrousTissue>(active_tissue(mesh_, loads.active, factor)));
  if (loads.foundation > 0) others.push_back(std::make_unique<Zonule>(springs(mesh_, loads, factor, outer_)));
  if (loads.traction) {
    DeadLoad load = equator_traction(mesh_, loads.traction);
    load.scale(factor);
    others.push_back(std::make_unique<DeadLoad>(load));
  }
  std::vector<Part*> parts{&leaf};
  for (const auto& part : others) parts.push_back(part.get());

  Solved solved;
  solved.x = loads.start.empty() ? mesh_.reference() : loads.start;
  if (loads.hold_outer_at > 0)
    for (const int node : mesh_.equator_nodes())
      for (const int d : {0, 1}) {
        const std::size_t i = static_cast<std::size_t>(2 * node + d);
        solved.x[i] = mesh_.reference()[i] * (1 + (loads.hold_outer_at - 1) * factor);
      }
  Equilibrium equilibrium;
  equilibrium.set_system(parts, index_map(mesh_, loads));
  equilibrium.settings().tolerance_mN = 1e-7 * equilibrium.residual(solved.x);
  const EquilibriumReport report = equilibrium.solve(solved.x);
  solved.converged = report.converged();
  solved.energy = report.energy;
  std::vector<double> g(solved.x.size(), 0.0);
  for (Part* part : parts) part->gradient(solved.x, g);
  for (const int node : mesh_.equator_nodes()) {
    const std::size_t i = static_cast<std::size_t>(2 * node);
    solved.outer_force_mN +=
        (g[i] * solved.x[i] + g[i + 1] * solved.x[i + 1]) / std::hypot(solved.x[i], solved.x[i + 1]);
  }
  return solved;
}

std::vector<double> LoadedAnnulus::linear_displacement(const Loads& loads) const {
  // Small enough that what the extrapolation leaves is of order (factor x strain)^2 = 1e-8, large enough
  // that forces stand 1e8 above the rounding of the positions they are computed from.
  constexpr double factor = 1e-2;
  const Solved whole = solve(loads, factor), half = solve(loads, 0.5 * factor);
  if (!whole.converged || !half.converged) return {};
  std::vector<double> displacement(whole.x.size());
  for (std::size_t i = 0; i < displacement.size(); ++i) {
    const double a = (whole.x[i] - mesh_.reference()[i]) / factor,
                 b = (half.x[i] - mesh_.reference()[i]) / (0.5 * factor);
    displacement[i] = 2 * b - a;
  }
  return displacement;
}

double LoadedAnnulus::radial(const std::vector<double>& u, int n, bool outer) const {
  const int columns = mesh_.columns();
  double sum = 0;
  for (int c = 0; c < columns; ++c) {
    const double angle = mesh_.plan().column_angle[static_cast<std::size_t>(c)];
    const std::size_t i = 2 * static_cast<std::size_t>(mesh_.node(outer ? mesh_.rows() - 1 : 0, c));
    sum += (u[i] * std::cos(angle) + u[i + 1] * std::sin(angle)) * std::cos(n * angle);
  }
  return sum / columns * (n == 0 ? 1 : 2);
}

double LoadedAnnulus::hoop(const std::vector<double>& u, int n, bool outer) const {
  const int columns = mesh_.columns();
  double sum = 0;
  for (int c = 0; c < columns; ++c) {
    const double angle = mesh_.plan().column_angle[static_cast<std::size_t>(c)];
    const std::size_t i = 2 * static_cast<std::size_t>(mesh_.node(outer ? mesh_.rows() - 1 : 0, c));
    sum += (u[i + 1] * std::cos(angle) - u[i] * std::sin(angle)) * std::sin(n * angle);
  }
  return sum / columns * 2;
}

double LoadedAnnulus::mean_radius(const std::vector<double>& x, bool outer) const { return radial(x, 0, outer); }

}  // namespace capsim::checks
