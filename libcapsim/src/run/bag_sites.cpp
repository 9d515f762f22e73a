// SPDX-License-Identifier: BSD-3-Clause
// Where the two leaves fuse outside the optic: mesh lines of the posterior leaf, sites of the tissue, pairs of the
// bond.
#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/model.hpp"
#include "run/bag_sites.hpp"

namespace capsim {
namespace {

constexpr double same_line_mm = 0.02;
constexpr double sliver = 0.05;     // a share below which a point counts as bare
constexpr double innermost = 0.35;  // of the posterior ring, as a share of the equator's radius

}  // namespace

ContractionSpec made_of(const ContractionSpec& contraction, const BagTissueSpec& tissue) {
  ContractionSpec spec = contraction;
  spec.fibre_modulus_kPa = tissue.fibre_modulus_kPa;
  spec.active_tension_mN_per_mm = tissue.active_tension_mN_per_mm;
  spec.tissue_thickness_mm = tissue.tissue_thickness_mm;
  spec.hoop_weight = tissue.hoop_weight;
  spec.diagonal_weight = tissue.diagonal_weight;
  spec.radial_weight = tissue.radial_weight;
  spec.active_radial_share = tissue.hoop_weight > 0 ? tissue.radial_weight / tissue.hoop_weight : 1;
  return spec;
}

double Model::fused_from_mm() const noexcept {
  const BagTissueSpec& tissue = scenario_.bag_tissue;
  const bool pulls = make_contraction_law(made_of(scenario_.contraction, tissue))->force_scale_mN_per_mm() > 0;
  if (!pulls || scenario_.capsule.posterior_thickness_um <= 0) return std::numeric_limits<double>::infinity();
  if (tissue.inner_diameter_mm) return 0.5 * *tissue.inner_diameter_mm;
  return scenario_.lens ? 0.5 * scenario_.lens->optic_diameter_mm : std::numeric_limits<double>::infinity();
}

// Behind every layer line of the anterior leaf outside the optic lies one of the posterior leaf, and one at the optic's
// edge; further in the ring goes on to where the fan begins.
void Model::plan_posterior(MeshPlan& plan) {
  const double edge = fused_from_mm(), equator = anatomical_equator_radius_mm();
  if (!(edge < equator - same_line_mm) || plan.posterior_layers == 0) return;
  std::vector<double> lines{1};
  const double leaf = lines_.back().distance_mm;
  std::vector<double> radii;  // of the anterior layer lines in situ, from the rim outward
  for (std::size_t i = 1; i < lines_.size(); ++i)
    for (const double share : spacing_[i - 1])
      radii.push_back(equator - leaf + lines_[i - 1].distance_mm +
                      share * (lines_[i].distance_mm - lines_[i - 1].distance_mm));
  paired_rows_ = 0;
  for (auto radius = radii.rbegin(); radius != radii.rend() && *radius > edge - same_line_mm; ++radius) {
    if (*radius > equator * lines.back() - same_line_mm) continue;  // the equator, and ends of intervals given twice
    lines.push_back(*radius / equator);
    ++paired_rows_;
  }
  if (equator * lines.back() > edge + same_line_mm) lines.push_back(edge / equator);
  const double left = lines.back() - innermost;
  const int inner =
      left < 0.05 ? 0
                  : std::max(1, static_cast<int>(std::lround(scenario_.mesh.radial / 3.0 * left / (1 - innermost))));
  const double last = lines.back();
  for (int k = 1; k <= inner; ++k) lines.push_back(last - left * k / inner);
  plan.posterior_layers = static_cast<int>(lines.size()) - 1;
  plan.posterior_lines = std::move(lines);
}

namespace {

// Share of what one of 2 x 2 points stands for, half of its element across, that lies between two circles at rest.
double covered(const Patch& patch, std::span<const double> rest, int element, int point, double inner, double outer) {
  if (!has_area(patch, element, point)) return 0;
  const int n = patch.nodes_per_element;
  const double eta = GaussLine(2).at[point % 2];
  const auto radius_at = [&](double xi) {
    double shape[8], p[2] = {};
    quad_shape(n == 4 ? 1 : 2, xi, eta, shape);
    for (int a = 0; a < n; ++a) {
      const auto node = static_cast<std::size_t>(patch.nodes[static_cast<std::size_t>(element * n + a)]);
      for (std::size_t k = 0; k < 2; ++k) p[k] += shape[a] * rest[2 * node + k];
    }
    return std::hypot(p[0], p[1]);
  };
  const double from = radius_at(point / 2 - 1), to = radius_at(point / 2);
  const double share = (std::min(to, outer) - std::max(from, inner)) / (to - from);
  return share < sliver ? 0 : std::min(share, 1.0);
}

}  // namespace

// A circle that tissue ends at need not be a mesh line: the posterior leaf of a bag under a weak zonule lies further in
// than it was meshed for.
void Model::find_bag_sites() {
  const double edge = fused_from_mm(), equator = anatomical_equator_radius_mm();
  bag_sites_.clear();
  fused_.clear();
  if (!(edge < equator - same_line_mm)) return;
  const BagTissueSpec& tissue = scenario_.bag_tissue;
  const double outer =
      scenario_.tension_ring ? equator - tissue.clear_zone_mm : std::numeric_limits<double>::infinity();
  const auto site = [&](const Patch& leaf) {
    auto patch = std::make_unique<Patch>(leaf.with_four_points(mesh_->reference()));
    TissueSite found{patch.get(), 0, 0, made_of(scenario_.contraction, tissue), {}};
    const int around = mesh_->plan().around, per = patch->points_per_element;
    std::vector<double> layer;
    for (int first = 0; first < patch->elements(); first += around) {  // whole layers
      layer.clear();
      for (int e = first; e < first + around; ++e)
        for (int q = 0; q < per; ++q) {
          const Point p = patch->at(rest_stated_, e, q);
          const double share = covered(*patch, rest_stated_, e, q, edge, outer);
          patch->cover(e, q, share);
          layer.push_back(share > 0 ? by_hour_average(tissue.cells_left_by_hour, tissue.cells_left,
                                                      scenario_.contraction.interpolation, std::atan2(p[1], p[0]), 0.02)
                                    : 0);
        }
      if (!(*std::max_element(layer.begin(), layer.end()) > 0)) {
        if (found.last > 0) break;
        continue;
      }
      if (found.last == 0) found.first = first;
      found.last = first + around;
      found.cells.insert(found.cells.end(), layer.begin(), layer.end());
    }
    if (found.last == 0) return;
    bag_sites_.push_back(std::move(found));
    fused_.push_back(std::move(patch));
  };
  site(mesh_->anterior());
  site(mesh_->posterior_ring());
}

std::unique_ptr<LeafBond> Model::make_leaf_bond() const {
  if (bag_sites_.size() < 2 || !(scenario_.bag_tissue.bond_kPa_per_mm > 0) || paired_rows_ == 0) return nullptr;
  const TissueSite& site = bag_sites_.front();
  const Patch& leaf = *site.patch;
  const int order = mesh_->plan().order, rows = mesh_->rows(), cols = mesh_->columns();
  std::vector<int> pair_of(static_cast<std::size_t>(mesh_->nodes()), -1);
  std::vector<LeafBond::Pair> pairs;
  for (int back = 1; back <= paired_rows_ * order; ++back)
    for (int c = 0; c < cols; ++c)
      for (int lip = 0; lip < 2; ++lip) {
        const int a = mesh_->node(rows - 1 - back, c, lip), p = mesh_->posterior_node(back, c);
        if (a < 0 || p < 0 || pair_of[static_cast<std::size_t>(a)] >= 0) continue;
        pair_of[static_cast<std::size_t>(a)] = static_cast<int>(pairs.size());
        LeafBond::Pair pair{a, p, 0, {}};
        for (std::size_t k = 0; k < 2; ++k)
          pair.offset[k] =
              rest_stated_[2 * static_cast<std::size_t>(a) + k] - rest_stated_[2 * static_cast<std::size_t>(p) + k];
        pairs.push_back(pair);
      }
  // The area of an element goes to its nodes by the squares of their shape functions, which are never negative.
  std::vector<LeafBond::Share> shares;
  for (int e = site.first; e < site.last; ++e) {
    const int n = leaf.nodes_per_element, per = leaf.points_per_element;
    double area = 0, squares = 0;
    const auto at = [&](int q, int a) { return leaf.shape[static_cast<std::size_t>(q) * n + a]; };
    for (int q = 0; q < per; ++q) {
      const double w = leaf.weights[static_cast<std::size_t>(e) * per + q];
      area += w;
      for (int a = 0; a < n; ++a) squares += w * at(q, a) * at(q, a);
    }
    for (int a = 0; a < n; ++a) {
      const int pair = pair_of[static_cast<std::size_t>(leaf.nodes[static_cast<std::size_t>(e) * n + a])];
      if (pair < 0) continue;
      for (int q = 0; q < per; ++q) {
        const double w = leaf.weights[static_cast<std::size_t>(e) * per + q] * at(q, a) * at(q, a) * area / squares;
        if (!(w > 0)) continue;  // bare
        shares.push_back({pair, (e - site.first) * per + q, w});
        pairs[static_cast<std::size_t>(pair)].area_mm2 += w;
      }
    }
  }
  for (LeafBond::Share& s : shares) s.weight /= pairs[static_cast<std::size_t>(s.pair)].area_mm2;
  return std::make_unique<LeafBond>(leaf, site.first, std::move(pairs), std::move(shares),
                                    scenario_.bag_tissue.bond_kPa_per_mm);
}

}  // namespace capsim
