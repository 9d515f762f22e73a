// SPDX-License-Identifier: BSD-3-Clause
#include "annulus.hpp"

#include <cmath>
#include <stdexcept>

namespace capsim::checks {

Mesh annulus(const AnnulusShape& shape) {
  MeshPlan plan;
  plan.around = shape.around;
  plan.layers = shape.layers;
  plan.order = shape.order;
  plan.posterior_layers = shape.posterior_layers;
  plan.cuts = shape.cuts;
  const int columns = shape.around * shape.order;
  std::vector<Point> rim, equator;
  for (int c = 0; c < columns; ++c) {
    const double angle = 2 * pi * c / columns;
    plan.column_angle.push_back(angle);
    rim.push_back({shape.inner_center_mm[0] + shape.inner_mm * std::cos(angle),
                   shape.inner_center_mm[1] + shape.inner_mm * std::sin(angle)});
    equator.push_back({shape.outer_mm * std::cos(angle), shape.outer_mm * std::sin(angle)});
  }
  std::vector<double> fractions;
  for (int line = 0; line <= shape.layers; ++line) {
    const double even = static_cast<double>(line) / shape.layers;
    const double fraction = shape.lines.empty() ? even
                                                : (shape.lines[static_cast<std::size_t>(line)] - shape.inner_mm) /
                                                      (shape.outer_mm - shape.inner_mm);
    fractions.insert(fractions.end(), static_cast<std::size_t>(columns), fraction);
  }
  Mesh mesh(std::move(plan));
  if (!mesh.place(rim, equator, fractions)) throw std::logic_error("the annulus of a test is folded");
  return mesh;
}

std::vector<double> growing_radii(double inner, double outer, int layers) {
  std::vector<double> radii;
  for (int line = 0; line <= layers; ++line)
    radii.push_back(inner * std::pow(outer / inner, static_cast<double>(line) / layers));
  return radii;
}

namespace {

Leaf leaf_on(std::string_view name, const Membrane& membrane, double thickness,
             std::initializer_list<const Patch*> patches) {
  std::vector<Leaf::Region> regions;
  for (const Patch* patch : patches)
    regions.push_back({patch, std::vector<double>(static_cast<std::size_t>(patch->points()), thickness), {}});
  return {name, membrane, std::move(regions)};
}

}  // namespace

Leaf anterior_leaf(const Mesh& mesh, const Membrane& membrane, double thickness) {
  return leaf_on("anterior leaf", membrane, thickness, {&mesh.anterior()});
}

Leaf posterior_leaf(const Mesh& mesh, const Membrane& membrane, double thickness) {
  return leaf_on("posterior leaf", membrane, thickness, {&mesh.posterior_ring(), &mesh.posterior_fan()});
}

std::vector<double> hoop_directions(const Mesh& mesh, int first, int last) {
  std::vector<double> hoop;
  for (int e = first; e < last; ++e)
    for (int q = 0; q < mesh.anterior().points_per_element; ++q) {
      const Point p = mesh.anterior().at(mesh.reference(), e, q);
      const double r = std::hypot(p[0], p[1]);
      hoop.push_back(-p[1] / r);
      hoop.push_back(p[0] / r);
    }
  return hoop;
}

std::vector<double> point_radii(const Mesh& mesh) {
  std::vector<double> radii;
  for (int e = 0; e < mesh.anterior().elements(); ++e)
    for (int q = 0; q < mesh.anterior().points_per_element; ++q) {
      const Point p = mesh.anterior().at(mesh.reference(), e, q);
      radii.push_back(std::hypot(p[0], p[1]));
    }
  return radii;
}

Membrane hookean(double modulus, double poisson) {
  Membrane membrane;
  membrane.law = CapsuleLaw::fung;
  membrane.a1 = 1;
  membrane.a2 = poisson;
  membrane.c_kPa = modulus / (1 - poisson * poisson);
  membrane.compression_fraction = 1;
  return membrane;
}

Membrane neo_hookean(double mu) {
  Membrane membrane;
  membrane.law = CapsuleLaw::neo_hookean;
  membrane.mu_kPa = mu;
  membrane.compression_fraction = 1;
  return membrane;
}

std::vector<int> all_free(const Mesh& mesh) {
  std::vector<int> dof(2 * static_cast<std::size_t>(mesh.nodes()), 0);
  renumber(dof);
  return dof;
}

void renumber(std::vector<int>& dof) {
  int next = 0;
  for (int& d : dof)
    if (d >= 0) d = next++;
}

}  // namespace capsim::checks
