// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/model.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "capsim/model_library.hpp"
#include "geometry/layer_plan.hpp"
#include "run/bag_parts.hpp"
#include "run/bag_sites.hpp"
#include "run/leaf_plan.hpp"
#include "run/stress_free_shape.hpp"
#include "scenario/opening_outline.hpp"
#include "scenario/scenario_checks.hpp"
#include "solve/system_pattern.hpp"

namespace capsim {
namespace {

constexpr double unfitted_edge_mm = 0.025;  // softness of an edge that is not on a mesh line
constexpr int segments_of_ring = 80;
constexpr double no_cells = 1e-9,
                 few_cells = 1e-3;  // of the largest number: where the zone, and a band without end, end

void check_input(const Scenario& scenario, const std::vector<RelaxingCuts>& possible_cuts) {
  scenario.validate();
  ViolationList found;
  check_possible_cuts(scenario, possible_cuts, found);
  if (!found.empty()) throw ScenarioError(found.take());
}

/// Layers from the rim to the contact edge, which is a line of its own or the line of tips that lie on it.
int layers_to_contact_edge(const std::vector<LayerLine>& lines, const StatedRim& rim) {
  int layer = 0, found = 0;
  for (const LayerLine& line : lines) {
    layer += line.layers_before;
    const bool tips_on_edge =
        line.kind == LayerLine::tip && rim.constant_edge() && std::abs(line.distance_mm - rim.edge_mean()) < 1e-9;
    if (line.kind == LayerLine::edge || tips_on_edge) found = layer;
  }
  return found;
}

/// Whether the eye has a tension ring, or gets one.
bool has_ring(const Scenario& scenario) {
  return scenario.tension_ring || std::any_of(scenario.events.begin(), scenario.events.end(), [](const Event& event) {
           return std::holds_alternative<TensionRingSpec>(event.action);
         });
}

}  // namespace

Model::Model(Scenario scenario, std::vector<RelaxingCuts> possible_cuts, bool ring_possible,
             const std::shared_ptr<ModelLibrary>& library, const std::function<bool()>& go_on)
    : scenario_(std::move(scenario)), patterns_(library ? library->patterns() : std::make_shared<PatternStore>()) {
  const auto start = std::chrono::steady_clock::now();
  check_input(scenario_, possible_cuts);
  plan_mesh(possible_cuts, ring_possible);
  find_force_scale();
  const ShapeKey key = shape_key();
  take_shape(library ? library->shape_of(key, go_on)
                     : std::make_shared<const StressFreeShape>(find_stress_free_shape(key, patterns_, go_on)));
  place_tissue();
  build_seconds_ = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

Model::Model(const Model& here, Scenario nearby) : scenario_(std::move(nearby)), patterns_(here.patterns_) {
  plan_mesh({}, here.ring_segments_ > 0);
  find_force_scale();
}

Model::~Model() = default;
Model::Model(Model&&) noexcept = default;
Model& Model::operator=(Model&&) noexcept = default;

double Model::anatomical_equator_radius_mm() const noexcept { return 0.5 * scenario_.bag.equator_diameter_mm; }

const PlannedCut* Model::find_cut(double hour, double length_mm) const noexcept {
  for (const PlannedCut& cut : cuts_)
    if (std::abs(angle_difference(angle_of_hour(cut.hour), angle_of_hour(hour))) < 1e-9 &&
        std::abs(cut.length_mm - length_mm) < merge_mm)
      return &cut;
  return nullptr;
}

double Model::contact_diameter_mm() const noexcept {
  if (scenario_.contraction.contact_diameter_mm) return *scenario_.contraction.contact_diameter_mm;
  return scenario_.lens ? scenario_.lens->optic_diameter_mm : 6.0;
}

int Model::coordinates() const noexcept {
  return ring_coordinate() + (ring_segments_ > 0 ? 2 * (ring_segments_ + 1) : 0);
}

void Model::plan_mesh(const std::vector<RelaxingCuts>& possible_cuts, bool ring_possible) {
  MeshPlan plan;
  const MeshSpec& spec = scenario_.mesh;
  plan.order = spec.order;
  plan.posterior_layers = scenario_.capsule.posterior_thickness_um > 0 ? std::max(1, spec.radial / 3) : 0;

  // Around: columns with a ray at each hour that has cuts.
  cuts_ = planned_cuts(scenario_, possible_cuts);
  const std::vector<double> angles = cut_angles(cuts_);
  std::vector<int> rays;
  plan.column_angle = column_angles(spec.around, spec.order, angles, rays);
  plan.around = static_cast<int>(plan.column_angle.size()) / spec.order;

  // From rim to equator: lines, the layers between them, and the cuts on both.
  StatedRim rim =
      stated_rim(scenario_.opening, plan.column_angle, 0.5 * contact_diameter_mm(), anatomical_equator_radius_mm());
  std::vector<double> tips = tip_distances(cuts_);
  fitted_edge_ = fit_contact_edge(rim, tips);
  lines_ = leaf_lines(rim, tips, fitted_edge_);
  spacing_ = share_layers(lines_, spec.radial + spec.tip_layers * static_cast<int>(tips.size()));
  // Where a ring keeps the leaves apart their tissue ends.
  if (scenario_.tension_ring && fused_from_mm() < anatomical_equator_radius_mm())
    put_line_at(1 - scenario_.bag_tissue.clear_zone_mm / (lines_.back().distance_mm - lines_.end()[-2].distance_mm),
                spacing_.back());
  plan.layers = 0;
  for (const LayerLine& line : lines_) plan.layers += line.layers_before;
  plan.cuts = cut_lines(angles, rays, lines_, cuts_);

  // Where tissue ends.
  const int layers_to_edge = fitted_edge_ ? layers_to_contact_edge(lines_, rim) : 0;
  const bool sharp = fitted_edge_ || rim.edge_most <= narrow_zone_mm;
  soft_edge_ = scenario_.contraction.edge_width_mm > 0 ? scenario_.contraction.edge_width_mm
               : sharp                                 ? 0
                                                       : unfitted_edge_mm;
  contact_layers_ = soft_edge_ > 0 && rim.edge_most > -20 * soft_edge_ ? plan.layers : layers_to_edge;
  tissue_layers_ = scenario_.contraction.cells_beyond_contact > 0 ? plan.layers : contact_layers_;

  stated_rim_ = std::move(rim.points);
  plan_posterior(plan);
  mesh_ = std::make_unique<Mesh>(std::move(plan));
  ring_segments_ = ring_possible || has_ring(scenario_) ? segments_of_ring : 0;
}

void Model::find_force_scale() {
  force_scale_ =
      std::max(shape_key().force_scale_mN(), make_contraction_law(scenario_.contraction)->force_scale_mN_per_mm());
  if (fused_from_mm() < anatomical_equator_radius_mm())
    force_scale_ =
        std::max(force_scale_,
                 make_contraction_law(made_of(scenario_.contraction, scenario_.bag_tissue))->force_scale_mN_per_mm());
}

ShapeKey Model::shape_key() const {
  ShapeKey key;
  key.plan = mesh_->plan();
  key.lines = lines_;
  key.spacing = spacing_;
  key.stated_rim = stated_rim_;
  key.center = opening_center(scenario_.opening);
  key.contact_diameter_mm = contact_diameter_mm();
  key.equator_radius_mm = anatomical_equator_radius_mm();
  key.unloaded = scenario_.opening.measured_under == MeasuredUnder::stress_free;
  key.capsule = scenario_.capsule;
  key.healthy = scenario_.zonule;
  key.healthy.failure_elongation_mm.reset();
  key.stated = key.healthy;
  key.healthy.strength = 1;
  key.healthy.strength_by_hour.clear();
  const MeasuredUnder under = scenario_.opening.measured_under;
  if (under == MeasuredUnder::full_strength_zonule || key.unloaded) key.stated = key.healthy;
  // A bare bag under a healthy zonule leans on nothing.
  if (under == MeasuredUnder::end_of_surgery &&
      (scenario_.lens || scenario_.tension_ring || !(key.stated == key.healthy)))
    key.contents = contents();
  key.force_tolerance = scenario_.numerics.force_tolerance;
  key.max_work = scenario_.numerics.max_work;
  return key;
}

// What decides how lens and ring press on day 0, and nothing else of them: two eyes that differ in the rest have one
// unloaded shape.
BagContents Model::contents() const {
  BagContents in;
  if (scenario_.lens) {
    const LensSpec& lens = *scenario_.lens;
    in.lens.emplace();
    in.lens->haptics = lens.haptics;
    in.lens->axis_hour = lens.axis_hour;
    in.lens->haptic_force_mN = lens.haptic_force_mN;
    in.lens->overall_diameter_mm = lens.overall_diameter_mm;
    in.lens->haptic_arc_degrees = lens.haptic_arc_degrees;
  }
  if (scenario_.tension_ring) {
    in.ring = scenario_.tension_ring;
    in.ring->creep_fraction = TensionRingSpec{}.creep_fraction;
    in.ring->creep_time_days = TensionRingSpec{}.creep_time_days;
    in.ring_segments = ring_segments_;
  }
  return in;
}

void Model::take_shape(std::shared_ptr<const StressFreeShape> shape) {
  shape_ = shape;
  place_unloaded(*mesh_, *shape);
  equator_radius_ = shape->equator_radius_mm;
  insertions_ = shape->insertions;
  rest_full_ = shape->rest_healthy;
  const auto nodal = shape->rest_stated.begin() + 2 * static_cast<std::ptrdiff_t>(mesh_->nodes());
  rest_stated_.assign(shape->rest_stated.begin(), nodal);
  contents_stated_.assign(nodal, shape->rest_stated.end());
  in_situ_iterations_ = shape->iterations;
  in_situ_work_ = shape->work;
  in_situ_error_ = shape->error_mm;
  outline_off_ = shape->outline_off_mm;
}

// Where the shape is known, so is where cells lie: under the rim, and outside the optic.
void Model::place_tissue() {
  fill_cells();
  beyond_ = rim_layers(nullptr) == tissue_layers_
                ? nullptr
                : std::make_unique<const Patch>(mesh_->anterior().with_four_points(mesh_->reference()));
  find_bag_sites();
}

// Cells of the rim at the points of whole layers.
std::vector<double> Model::rim_cells(const Patch& leaf, int first_layer, int last_layer) const {
  const double contact = 0.5 * contact_diameter_mm();
  const ContractionSpec& spec = scenario_.contraction;
  std::vector<double> cells;
  for (int l = first_layer; l < last_layer; ++l)
    for (int s = 0; s < mesh_->plan().around; ++s)
      for (int q = 0; q < leaf.points_per_element; ++q) {
        const Point p = leaf.at(rest_stated_, mesh_->element(l, s), q);
        const double r = std::hypot(p[0], p[1]), angle = std::atan2(p[1], p[0]);
        double zone = soft_edge_ > 0 ? 1 / (1 + std::exp((r - contact) / soft_edge_)) : l < contact_layers_ ? 1 : 0;
        zone += (1 - zone) * spec.cells_beyond_contact;
        if (spec.band_width_mm) {
          const Point center = opening_center(scenario_.opening);
          const double from_center = std::hypot(p[0] - center[0], p[1] - center[1]);
          const double rim = rim_distance(scenario_.opening, std::atan2(p[1] - center[1], p[0] - center[0]));
          zone *= std::exp(-std::max(from_center - rim, 0.0) / *spec.band_width_mm);
        }
        if (!has_area(leaf, mesh_->element(l, s), q)) zone = 0;
        cells.push_back(zone *
                        by_hour_average(spec.cells_left_by_hour, spec.cells_left, spec.interpolation, angle, 0.02));
      }
  return cells;
}

void Model::fill_cells() {
  const Patch& leaf = mesh_->anterior();
  cells_ = rim_cells(leaf, 0, tissue_layers_);
  const double most = cells_.empty() ? 0 : *std::max_element(cells_.begin(), cells_.end());
  // Layers without any cells hold no tissue.
  const std::size_t per_layer = static_cast<std::size_t>(mesh_->plan().around) * leaf.points_per_element;
  while (tissue_layers_ > 0) {
    const auto last = cells_.end() - static_cast<std::ptrdiff_t>(per_layer);
    if (*std::max_element(last, cells_.end()) >
        (scenario_.contraction.cells_beyond_contact > 0 ? few_cells * most : no_cells))
      break;
    cells_.erase(last, cells_.end());
    --tissue_layers_;
  }
}

std::vector<int> Model::dof_map(std::span<const int> open_layers, bool lens, bool ring) const {
  return eye_dofs(*mesh_, open_layers, lens, ring_segments_, ring);
}

std::unique_ptr<Leaf> Model::make_anterior_leaf() const {
  return capsim::make_anterior_leaf(*mesh_, scenario_.capsule, equator_radius_);
}

std::unique_ptr<Leaf> Model::make_posterior_leaf() const {
  return capsim::make_posterior_leaf(*mesh_, scenario_.capsule);
}

std::unique_ptr<Zonule> Model::make_zonule(const ZonuleSpec& spec) const {
  return std::make_unique<Zonule>(zonule_bundles_at(*mesh_, insertions_, spec, anatomical_equator_radius_mm()));
}

std::unique_ptr<FibrousTissue> Model::make_fibrous_tissue(const ContractionLaw* law) const {
  if (tissue_layers_ == 0) return nullptr;
  const std::optional<TissueMaterial> material = law != nullptr ? law->material() : std::nullopt;
  return make_tissue({&mesh_->anterior(), 0, rim_layers(law) * mesh_->plan().around, scenario_.contraction, {}},
                     material.value_or(tissue_material(scenario_.contraction)));
}

// Layers from the rim whose tissue has the leaf's own points.
int Model::rim_layers(const ContractionLaw* law) const noexcept {
  const bool whole = contact_layers_ == 0 || (law != nullptr && law->grows_leaf());
  return whole ? tissue_layers_ : std::min(contact_layers_, tissue_layers_);
}

std::optional<TissueSite> Model::rim_beyond(const ContractionLaw* law) const {
  const int first = rim_layers(law), around = mesh_->plan().around;
  if (first == tissue_layers_) return std::nullopt;
  return TissueSite{beyond_.get(), first * around, tissue_layers_ * around, scenario_.contraction,
                    rim_cells(*beyond_, first, tissue_layers_)};
}

std::unique_ptr<FibrousTissue> Model::make_tissue(const TissueSite& site, const TissueMaterial& material) const {
  const Patch& patch = *site.patch;
  const int n = patch.nodes_per_element;
  std::vector<double> hoop;
  for (int e = site.first; e < site.last; ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      // Direction of increasing eta in the reference: along the layer lines.
      double tx = 0, ty = 0;
      for (int a = 0; a < n; ++a) {
        const double d = patch.local_gradient[(static_cast<std::size_t>(q) * n + a) * 2 + 1];
        const std::size_t node = static_cast<std::size_t>(patch.nodes[static_cast<std::size_t>(e) * n + a]);
        tx += d * mesh_->reference()[2 * node];
        ty += d * mesh_->reference()[2 * node + 1];
      }
      const double t = std::hypot(tx, ty);
      hoop.push_back(tx / t);
      hoop.push_back(ty / t);
    }
  return std::make_unique<FibrousTissue>(patch, site.first, site.last, std::move(hoop), material);
}

std::unique_ptr<Lens> Model::make_lens() const {
  if (!scenario_.lens) return nullptr;
  const LensSpec& spec = *scenario_.lens;
  auto lens = make_free_lens(*mesh_, spec, anatomical_equator_radius_mm());
  const std::vector<double> x = eye_as_stated();
  if (spec.adhesion_kPa_per_mm > 0) {
    const double* optic = &x[static_cast<std::size_t>(lens_coordinate())];
    const double c = std::cos(optic[2]), s = std::sin(optic[2]);
    std::vector<Lens::Bond> bonds;
    const Patch& leaf = mesh_->anterior();
    for (int e = 0; e < leaf.elements(); ++e)
      for (int q = 0; q < leaf.points_per_element; ++q) {
        const Point p = leaf.at(x, e, q), from{p[0] - optic[0], p[1] - optic[1]};
        if (std::hypot(from[0], from[1]) < 0.5 * spec.optic_diameter_mm)
          bonds.push_back({e,
                           q,
                           {c * from[0] + s * from[1], c * from[1] - s * from[0]},
                           leaf.weights[static_cast<std::size_t>(e) * leaf.points_per_element + q]});
      }
    lens->bond(leaf, std::move(bonds), spec.adhesion_kPa_per_mm);
  }
  if (!bag_sites_.empty() && scenario_.bag_tissue.haptic_bond_mN_per_mm > 0)
    lens->fuse(x, scenario_.bag_tissue.haptic_bond_mN_per_mm);
  return lens;
}

std::unique_ptr<TensionRing> Model::make_tension_ring(const TensionRingSpec& spec) const {
  return make_ring(*mesh_, spec, ring_segments_, anatomical_equator_radius_mm());
}

std::vector<double> Model::eye_as_stated() const {
  std::vector<double> x = rest_stated_;
  x.insert(x.end(), contents_stated_.begin(), contents_stated_.end());
  x.resize(static_cast<std::size_t>(coordinates()), 0.0);
  return x;
}

bool Model::stated_with_ring() const noexcept {
  return scenario_.tension_ring && scenario_.opening.measured_under == MeasuredUnder::end_of_surgery;
}

}  // namespace capsim
