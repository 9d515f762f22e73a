// SPDX-License-Identifier: BSD-3-Clause
#include "run/row_measures.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "geometry/edge_distances.hpp"
#include "parts/surface.hpp"
#include "run/tied_places.hpp"

namespace capsim {
namespace {

Point position(int node, std::span<const double> x) {
  return {x[2 * static_cast<std::size_t>(node)], x[2 * static_cast<std::size_t>(node) + 1]};
}

void positions(std::span<const int> nodes, std::span<const double> x, std::vector<Point>& points) {
  points.clear();
  for (const int n : nodes) points.push_back(position(n, x));
}

bool any_open(std::span<const int> open_layers) {
  return std::any_of(open_layers.begin(), open_layers.end(), [](int n) { return n > 0; });
}

// `stretches`: null, or where those of all points go.
RowMeasures::Rim rim_state(const Model& model, const Snapshot& s, std::vector<double>* stretches) {
  const Mesh& mesh = model.mesh();
  const Patch& patch = mesh.anterior();
  const int per = patch.points_per_element, side = mesh.plan().order + 1;
  const Leaf::Region& region = s.leaf->regions().front();
  RowMeasures::Rim state;
  double area = 0;
  for (int e = 0; e < mesh.plan().around; ++e)
    for (int q = 0; q < side; ++q) {  // points of the innermost column, the first ones of an element
      const std::size_t p = static_cast<std::size_t>(e) * per + q;
      const auto entries = deformation_gradient(patch, s.x, e, q);
      const Tensor f = tensor(entries);
      PlaneVector hoop;
      if (s.tissue != nullptr && e < s.tissue->last_element()) {
        hoop = {s.tissue->hoop()[2 * p], s.tissue->hoop()[2 * p + 1]};
      } else {
        const Point at = patch.at(mesh.reference(), e, q);
        const double r = std::sqrt(at[0] * at[0] + at[1] * at[1]);
        hoop = {-at[1] / r, at[0] / r};
      }
      const PlaneVector along = f * hoop;
      const double stretch = std::sqrt(dot(along, along));
      Tensor stress, elastic = f, inverse_growth;
      double thickness = region.thickness_mm[p];
      if (!region.growth.empty()) {
        const Tensor growth = tensor(&region.growth[4 * p]);
        thickness *= growth.determinant();
        inverse_growth = inverse(growth);
        elastic = f * inverse_growth;
      }
      const surface::Split<double> split(elastic);
      surface::add_isotropic_stress(split, s.leaf->membrane().blended(split.l1(), split.l2()), thickness, stress);
      if (!region.growth.empty()) stress = stress * transposed(inverse_growth);
      double tension = dot(along, stress * hoop) / stretch;
      if (s.tissue != nullptr && e < s.tissue->last_element())
        tension += s.tissue->tension_mN_per_mm(p, 0, stretch) + s.tissue->sheet_tension_mN_per_mm(p, entries);
      const double w = patch.weights[p];
      area += w;
      state.mean_stretch += w * stretch;
      state.tension += w * tension;
      state.most_stretch = std::max(state.most_stretch, stretch);
      if (stretches != nullptr) stretches->push_back(stretch);
    }
  state.mean_stretch /= area;
  state.tension /= area;
  return state;
}

}  // namespace

double opening_area_mm2(const Mesh& mesh, std::span<const double> x, std::span<const int> open_layers) {
  std::vector<Point> rim;
  positions(mesh.outline_nodes(open_layers), x, rim);
  return opening_area(rim, mesh.plan().order, any_open(open_layers));
}

RowMeasures::RowMeasures(const Model& model) : model_(&model) {
  // The outline goes round every planned cut line on every day, so that all rows have one length;
  // the two lips coincide before the cut.
  std::vector<int> all;
  for (const MeshPlan::CutLine& line : model.mesh().plan().cuts) all.push_back(line.tip_layer);
  all_rim_nodes_ = model.mesh().outline_nodes(all);
}

std::span<const Point> RowMeasures::rim_points(std::span<const double> x, std::span<const int> open_layers) {
  if (rim_nodes_.empty() ||
      !std::equal(open_layers.begin(), open_layers.end(), open_layers_.begin(), open_layers_.end())) {
    open_layers_.assign(open_layers.begin(), open_layers.end());
    rim_nodes_ = model_->mesh().outline_nodes(open_layers);
  }
  positions(rim_nodes_, x, rim_);
  return rim_;
}

double RowMeasures::opening_area_mm2(std::span<const double> x, std::span<const int> open_layers) {
  return opening_area(rim_points(x, open_layers), model_->mesh().plan().order, any_open(open_layers), opening_);
}

void RowMeasures::take(const Snapshot& snapshot) {
  measure(snapshot, snapshot.run != nullptr);
  if (snapshot.run != nullptr) follow_ties(*snapshot.run);
}

void RowMeasures::take_with_places(const Snapshot& snapshot) { measure(snapshot, true); }

void RowMeasures::measure(const Snapshot& snapshot, bool with_places) {
  state_ = snapshot;
  const Mesh& mesh = model_->mesh();
  const int order = mesh.plan().order;
  const std::span<const Point> rim = rim_points(state_.x, state_.open_layers);
  opening_shape_ = measure_opening(rim, order, any_open(state_.open_layers), opening_);
  if (with_places) {
    put_chords(opening_.profile, places_.rim_chords);
    edge_distances(opening_.polygon, places_.edges);
  }
  capsim::rim_polygon(rim, order, 4, polygon_);
  positions(mesh.equator_nodes(), state_.x, equator_);
  equator_shape_ = measure_opening(equator_, order, false, opening_);
  if (with_places) put_chords(opening_.profile, places_.equator_chords);
  const auto l = static_cast<std::size_t>(model_->lens_coordinate());
  optic_ = state_.lens != nullptr ? Point{state_.x[l], state_.x[l + 1]} : Point{0, 0};
  measure_load();
  places_.rim_stretches.clear();
  rim_state_ = rim_state(*model_, state_, with_places ? &places_.rim_stretches : nullptr);
  measure_tissue();
  measure_overlap();
  if (with_places) put_overlaps();
}

void RowMeasures::put_chords(const std::vector<double>& profile, std::vector<double>& chords) {
  chords.clear();
  for (std::size_t k = 0; k < chord_meridians; ++k) chords.push_back(profile[k] + profile[k + chord_meridians]);
}

void RowMeasures::put_overlaps() {
  places_.overlaps.clear();
  for (const double distance : profile_) places_.overlaps.push_back(optic_radius_mm() - distance);
}

// Of places that tie in the run's row, the one ahead here; a place has no derivative then.
void RowMeasures::follow_ties(const RowMeasures& run) {
  const RowPlaces &was = run.places_, &is = places_;
  const auto smallest = [](const std::vector<double>& here, const std::vector<double>& beside, double of_run,
                           double& value, double* place) {
    if (here.empty() || here.size() != beside.size()) return;
    value = of_run + growth_of_smallest(here, beside);
    if (place != nullptr && smallest_ties(here)) *place = std::numeric_limits<double>::quiet_NaN();
  };
  const auto largest = [](const std::vector<double>& here, const std::vector<double>& beside, double of_run,
                          double& value, double* place) {
    if (here.empty() || here.size() != beside.size()) return;
    value = of_run + growth_of_largest(here, beside);
    if (place != nullptr && largest_ties(here)) *place = std::numeric_limits<double>::quiet_NaN();
  };
  const auto diameters = [&](const std::vector<double>& here, const std::vector<double>& beside,
                             const OpeningShape& of_run, OpeningShape& shape) {
    smallest(here, beside, of_run.min_diameter_mm, shape.min_diameter_mm, &shape.min_meridian);
    largest(here, beside, of_run.max_diameter_mm, shape.max_diameter_mm, &shape.max_meridian);
  };
  diameters(was.rim_chords, is.rim_chords, run.opening_shape_, opening_shape_);
  diameters(was.equator_chords, is.equator_chords, run.equator_shape_, equator_shape_);
  smallest(was.edges, is.edges, run.opening_shape_.clear_radius_mm, opening_shape_.clear_radius_mm, nullptr);
  largest(was.rim_stretches, is.rim_stretches, run.rim_state_.most_stretch, rim_state_.most_stretch, nullptr);
  smallest(was.overlaps, is.overlaps, run.overlap_.least, overlap_.least, &overlap_.least_hour);
  load_.most = run.load_.most + growth_of_largest(run.load_.by_hour, load_.by_hour);
}

void RowMeasures::measure_load() {
  load_ = {};
  load_.by_hour = state_.zonule->load_by_hour_mN(state_.x);
  for (const double v : load_.by_hour) {
    load_.total += v;
    load_.most = std::max(load_.most, v);
  }
}

void RowMeasures::sort_tissue_by_hour() {
  tissue_hour_.clear();
  for (const FibrousTissue* tissue : state_.tissues_of_rim) {
    const Patch& patch = tissue->patch();
    for (int e = tissue->first_element(); e < tissue->last_element(); ++e)
      for (int q = 0; q < patch.points_per_element; ++q) {
        const Point at = patch.at(model_->mesh().reference(), e, q);
        tissue_hour_.push_back(static_cast<unsigned char>(std::lround(hour_of_angle(std::atan2(at[1], at[0]))) % 12));
      }
  }
}

void RowMeasures::measure_tissue() {
  tissue_ = {};
  if (state_.tissues_of_rim.empty()) return;
  if (tissue_hour_.empty()) sort_tissue_by_hour();  // tissue stays where it is in the reference
  std::array<double, 12> zone_of{};
  double zone = 0;
  auto hour = tissue_hour_.begin();
  for (const FibrousTissue* tissue : state_.tissues_of_rim)
    for (std::size_t p = 0; p < tissue->points(); ++p, ++hour) {
      const double area = tissue->area_mm2(p),
                   amount = area * std::clamp(tissue->fields().fraction[p], 0.0, 1.0);  // to rounding of a step
      zone += area;
      zone_of[*hour] += area;
      tissue_.amount_mm2 += amount;
      tissue_.by_hour[*hour] += amount;
    }
  tissue_.mean = zone > 0 ? tissue_.amount_mm2 / zone : 0;
  for (std::size_t k = 0; k < 12; ++k) tissue_.by_hour[k] = zone_of[k] > 0 ? tissue_.by_hour[k] / zone_of[k] : 0;
}

void RowMeasures::measure_overlap() {
  constexpr int rays = overlap_rays;
  static const std::vector<Point> directions = ray_directions(rays);
  if (rays_.empty()) rays_ = directions;
  radial_profile(polygon_, optic_, rays_, profile_);
  overlap_ = {};
  overlap_.least = 1e9;
  for (int k = 0; k < rays; ++k) {
    const double hour = k / 8.0,
                 overlap = optic_radius_mm() - profile_[static_cast<std::size_t>((rays / 4 - k + rays) % rays)];
    if (k % 8 == 0) overlap_.by_hour[static_cast<std::size_t>(k / 8)] = overlap;
    if (overlap < overlap_.least) {
      overlap_.least = overlap;
      overlap_.least_hour = hour == 0 ? 12 : hour;
    }
  }
}

int RowMeasures::tip_layer(std::size_t cut) const {
  return state_.open_layers[cut] > 0 ? state_.open_layers[cut] : model_->mesh().plan().cuts[cut].tip_layer;
}

double RowMeasures::tip_release_mN(std::size_t cut) {
  if (state_.open_layers[cut] == 0) return 0;
  return tip_energy_release_mN(model_->mesh(), *state_.leaf, state_.tissues_on_front, state_.x, static_cast<int>(cut),
                               state_.open_layers[cut], tip_, state_.parts);
}

std::size_t RowMeasures::memory_bytes() const noexcept {
  std::size_t doubles = profile_.capacity() + opening_.profile.capacity() + opening_.heights.capacity() +
                        3 * opening_.edges.capacity() + tip_.shift.capacity() + tip_.fields.fraction.capacity();
  for (const auto* places :
       {&places_.rim_chords, &places_.equator_chords, &places_.edges, &places_.rim_stretches, &places_.overlaps})
    doubles += places->capacity();
  for (const auto* points : {&rim_, &equator_, &polygon_, &rays_, &opening_.polygon, &opening_.meridians})
    doubles += 2 * points->capacity();
  for (const Leaf::Region* region : {&tip_.ahead, &tip_.behind})
    doubles += region->thickness_mm.capacity() + region->growth.capacity();
  for (const auto* fields : {&tip_.fields.natural, &tip_.fields.active})
    for (const auto& field : *fields) doubles += field.capacity();
  for (const auto& field : tip_.fields.natural_sheet) doubles += field.capacity();
  return sizeof(double) * doubles + tissue_hour_.capacity() +
         sizeof(int) * (open_layers_.capacity() + rim_nodes_.capacity() + all_rim_nodes_.capacity());
}

}  // namespace capsim
