// SPDX-License-Identifier: BSD-3-Clause
#include "run/recorder.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "parts/surface.hpp"

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

// Mean and largest over the rim of hoop stretch and hoop tension (leaf and fibres), nominal [mN/mm].
struct RimState {
  double mean_stretch = 0, most_stretch = 0, tension = 0;
};

RimState rim_state(const Model& model, const Snapshot& s) {
  const Mesh& mesh = model.mesh();
  const Patch& patch = mesh.anterior();
  const int per = patch.points_per_element, side = mesh.plan().order + 1;
  const Leaf::Region& region = s.leaf->regions().front();
  RimState state;
  double area = 0;
  for (int e = 0; e < mesh.plan().around; ++e)
    for (int q = 0; q < side; ++q) {  // points of the innermost column, the first ones of an element
      const std::size_t p = static_cast<std::size_t>(e) * per + q;
      const auto f = deformation_gradient(patch, s.x, e, q);
      double hx, hy;
      if (s.tissue != nullptr && e < s.tissue->last_element()) {
        hx = s.tissue->hoop()[2 * p];
        hy = s.tissue->hoop()[2 * p + 1];
      } else {
        const Point at = patch.at(mesh.reference(), e, q);
        const double r = std::hypot(at[0], at[1]);
        hx = -at[1] / r;
        hy = at[0] / r;
      }
      const double nx = f[0] * hx + f[1] * hy, ny = f[2] * hx + f[3] * hy, stretch = std::hypot(nx, ny);
      double stress[4] = {};
      surface::ElasticPart elastic{{1, 0, 0, 1}};
      double fe[4] = {f[0], f[1], f[2], f[3]}, thickness = region.thickness_mm[p];
      if (!region.growth.empty()) {
        thickness *= elastic.invert(&region.growth[4 * p]);
        elastic.of(f.data(), fe);
      }
      const surface::Split split(fe);
      surface::add_isotropic_stress(split, s.leaf->membrane().blended(split.l1(), split.l2()), thickness, stress);
      if (!region.growth.empty()) elastic.pull_back_stress(stress);
      double tension = (nx * (stress[0] * hx + stress[1] * hy) + ny * (stress[2] * hx + stress[3] * hy)) / stretch;
      if (s.tissue != nullptr && e < s.tissue->last_element())
        tension += s.tissue->tension_mN_per_mm(p, 0, stretch) + s.tissue->sheet_tension_mN_per_mm(p, f);
      const double w = patch.weights[p];
      area += w;
      state.mean_stretch += w * stretch;
      state.tension += w * tension;
      state.most_stretch = std::max(state.most_stretch, stretch);
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

std::span<const Point> Recorder::rim(std::span<const double> x, std::span<const int> open_layers) {
  if (rim_nodes_.empty() ||
      !std::equal(open_layers.begin(), open_layers.end(), open_layers_.begin(), open_layers_.end())) {
    open_layers_.assign(open_layers.begin(), open_layers.end());
    rim_nodes_ = model_->mesh().outline_nodes(open_layers);
  }
  positions(rim_nodes_, x, rim_);
  return rim_;
}

double Recorder::opening_area_mm2(std::span<const double> x, std::span<const int> open_layers) {
  return opening_area(rim(x, open_layers), model_->mesh().plan().order, any_open(open_layers), opening_);
}

std::size_t Recorder::add(const char* name, const char* unit, const char* description, std::size_t columns) {
  series_.push_back({name, unit, description, columns, {}});
  return series_.size() - 1;
}

Recorder::Recorder(const Model& model) : model_(&model) {
  const std::size_t cuts = model.mesh().plan().cuts.size();
  add("day", "d", "Days since the end of surgery.");
  add("event_side", "1", "-1 just before an event, 1 just after, 0 on other days.");
  add("opening_area_mm2", "mm2", "Visible area of the opening, slits that gape included.");
  add("opening_diameter_mm", "mm", "Diameter of the circle of the same area.");
  add("opening_min_diameter_mm", "mm", "Smallest chord through the opening's centroid.");
  add("opening_max_diameter_mm", "mm", "Largest chord through the opening's centroid.");
  add("opening_min_meridian_hour", "h", "Clock hour (0..6] of the smallest chord.");
  add("opening_max_meridian_hour", "h", "Clock hour (0..6] of the largest chord.");
  add("clear_circle_diameter_mm", "mm", "Largest circle about the pupil centre inside the opening.");
  add("opening_center_mm", "mm", "Centroid of the opening.", 2);
  add("lens_center_mm", "mm", "Centre of the optic; the pupil centre when there is no lens.", 2);
  add("lens_rotation_deg", "deg", "Rotation of the optic, counter-clockwise.");
  add("equator_center_mm", "mm", "Centroid of the area inside the equator.", 2);
  add("equator_diameter_mm", "mm", "Diameter of the circle of the equator's area.");
  add("equator_min_diameter_mm", "mm", "Smallest chord of the equator through its centroid.");
  add("equator_max_diameter_mm", "mm", "Largest chord of the equator through its centroid.");
  add("zonule_load_mN", "mN", "Tension of the zonule per clock hour, 12 o'clock first.", 12);
  add("zonule_load_total_mN", "mN", "Sum of the tensions of all bundles.");
  add("zonule_load_max_mN", "mN", "Largest load of one clock hour.");
  add("rim_tension_mN_per_mm", "mN/mm", "Mean hoop tension at the rim, leaf and fibres, per reference length.");
  add("rim_stretch", "1", "Mean hoop stretch at the rim over its stress-free length.");
  add("rim_stretch_max", "1", "Largest hoop stretch at the rim.");
  add("fibrous_tissue", "1", "Mean fraction of the full fibrous thickness over the contact zone.");
  add("fibrous_tissue_by_hour", "1",
      "The same within each clock hour, 12 o'clock first: where cells were polished away there is less.", 12);
  add("fibrous_tissue_volume_mm3", "mm3", "Fibrous tissue: fraction times full thickness times reference area.");
  add("rim_overlap_mm", "mm",
      "Overlap of rim on optic at each clock hour seen from the optic's centre; negative: the rim has retracted.", 12);
  add("rim_overlap_min_mm", "mm", "Smallest overlap of rim on optic all round.");
  add("rim_overlap_min_hour", "h", "Where the overlap is smallest.");
  add("pupil_clear_fraction", "1", "Part of a 2.2, 4.0 and 5.0 mm pupil that the opening leaves clear.", 3);
  add("haptic_push_mN", "mN", "Sum of the pushes of the haptics on the equator.");
  add("ring_load_mN", "mN", "Sum of the push of the tension ring on the equator.");
  add("ring_end_gap_mm", "mm", "Gap between the ring's ends along the fornix; negative: they overlap.");
  add("energy_uJ", "uJ", "Potential energy of all parts.");
  add("residual_mN", "mN", "Largest unbalanced force.");
  if (cuts > 0) {
    add("cut_gape_mm", "mm",
        "Gap between the lips at the rim, per cut line; 0 before the cut, negative when the lips cross.", cuts);
    add("cut_tip_release_mN", "mN", "Energy released per mm of further cut at each tip; 0 before the cut.", cuts);
    add("cut_tip_to_optic_edge_mm", "mm", "Distance of each tip inside the edge of the optic; negative: outside.",
        cuts);
    add("cut_tip_to_equator_mm", "mm", "Distance of each tip from the equator.", cuts);
  }
  add("lips_cross", "1", "1 when lips of a cut have crossed, so that the area is not to be trusted.");
  // The outline goes round every planned cut line on every day, so that all rows have one length;
  // the two lips coincide before the cut.
  std::vector<int> all;
  for (const MeshPlan::CutLine& line : model.mesh().plan().cuts) all.push_back(line.tip_layer);
  all_rim_nodes_ = model.mesh().outline_nodes(all);
  add("rim_outline_mm", "mm", "Rim polygon, counter-clockwise, round every planned cut line.",
      2 * all_rim_nodes_.size());
  add("equator_outline_mm", "mm", "Equator polygon, counter-clockwise.",
      2 * static_cast<std::size_t>(model.mesh().columns()));
  if (model.ring_segments() > 0)
    add("ring_outline_mm", "mm", "Nodes of the tension ring from end to end; all zero before insertion.",
        2 * static_cast<std::size_t>(model.ring_segments() + 1));
}

void Recorder::restore(std::vector<Series> series) {
  const auto same_name = [](const Series& a, const Series& b) { return a.name == b.name && a.columns == b.columns; };
  if (!std::equal(series.begin(), series.end(), series_.begin(), series_.end(), same_name))
    throw CheckpointError("checkpoint: it has other series than this build records; run the scenario again");
  series_ = std::move(series);
  rows_ = series_.front().values.size();
}

void Recorder::reserve(std::size_t more) {
  for (Series& s : series_) s.values.reserve((rows_ + more) * s.columns);
}

std::size_t Recorder::memory_bytes() const noexcept {
  std::size_t doubles = profile_.capacity() + opening_.profile.capacity() + opening_.heights.capacity() +
                        3 * opening_.edges.capacity() + tip_.shift.capacity() + tip_.fields.fraction.capacity();
  for (const Series& s : series_) doubles += s.values.capacity();
  for (const auto* points : {&rim_, &equator_, &polygon_, &opening_.polygon}) doubles += 2 * points->capacity();
  for (const Leaf::Region* region : {&tip_.ahead, &tip_.behind})
    doubles += region->thickness_mm.capacity() + region->growth.capacity();
  for (const auto* fields : {&tip_.fields.natural, &tip_.fields.active})
    for (const auto& field : *fields) doubles += field.capacity();
  for (const auto& field : tip_.fields.growth) doubles += field.capacity();
  return sizeof(double) * doubles + tissue_hour_.capacity() +
         sizeof(int) * (open_layers_.capacity() + rim_nodes_.capacity() + all_rim_nodes_.capacity());
}

std::array<double, 12> Recorder::tissue_by_hour(const Snapshot& s) {
  std::array<double, 12> amount{}, zone{};
  if (s.tissue == nullptr) return amount;
  if (tissue_hour_.size() != s.tissue->points()) {
    const Patch& patch = model_->mesh().anterior();
    tissue_hour_.clear();
    for (int e = s.tissue->first_element(); e < s.tissue->last_element(); ++e)
      for (int q = 0; q < patch.points_per_element; ++q) {
        const Point at = patch.at(model_->mesh().reference(), e, q);
        tissue_hour_.push_back(static_cast<unsigned char>(std::lround(hour_of_angle(std::atan2(at[1], at[0]))) % 12));
      }
  }
  for (std::size_t p = 0; p < s.tissue->points(); ++p) {
    zone[tissue_hour_[p]] += s.tissue->area_mm2(p);
    amount[tissue_hour_[p]] += s.tissue->area_mm2(p) * s.tissue->fields().fraction[p];
  }
  for (std::size_t k = 0; k < 12; ++k) amount[k] = zone[k] > 0 ? amount[k] / zone[k] : 0;
  return amount;
}

void Recorder::record(const Snapshot& s) {
  const Mesh& mesh = model_->mesh();
  const int order = mesh.plan().order;
  const std::size_t cuts = mesh.plan().cuts.size();
  std::size_t at = 0;
  ++rows_;

  const OpeningShape opening = measure_opening(rim(s.x, s.open_layers), order, any_open(s.open_layers), opening_);
  rim_polygon(rim_, order, 4, polygon_);
  positions(mesh.equator_nodes(), s.x, equator_);
  const OpeningShape equator = measure_opening(equator_, order, false, opening_);
  const auto meridian_hour = [](double angle) {
    double hour = std::fmod(3 - angle / (pi / 6) + 12, 6);
    return hour <= 1e-9 ? 6.0 : hour;
  };
  put(at++, s.day);
  put(at++, static_cast<double>(s.side));
  put(at++, opening.area_mm2);
  put(at++, opening.equivalent_diameter_mm);
  put(at++, opening.min_diameter_mm);
  put(at++, opening.max_diameter_mm);
  put(at++, meridian_hour(opening.min_meridian));
  put(at++, meridian_hour(opening.max_meridian));
  put(at++, 2 * opening.clear_radius_mm);
  put(at++, opening.center_mm);
  const std::size_t l = static_cast<std::size_t>(model_->lens_coordinate());
  const Point optic = s.lens != nullptr ? Point{s.x[l], s.x[l + 1]} : Point{0, 0};
  put(at++, optic);
  put(at++, s.lens != nullptr ? s.x[l + 2] * 180 / pi : 0);
  put(at++, equator.center_mm);
  put(at++, equator.equivalent_diameter_mm);
  put(at++, equator.min_diameter_mm);
  put(at++, equator.max_diameter_mm);
  const auto load = s.zonule->load_by_hour_mN(s.x);
  double total = 0, most = 0;
  for (const double v : load) {
    put(at, v);
    total += v;
    most = std::max(most, v);
  }
  ++at;
  put(at++, total);
  put(at++, most);
  const RimState rim_values = rim_state(*model_, s);
  put(at++, rim_values.tension);
  put(at++, rim_values.mean_stretch);
  put(at++, rim_values.most_stretch);
  double tissue = 0, zone = 0;
  if (s.tissue != nullptr)
    for (std::size_t p = 0; p < s.tissue->points(); ++p) {
      zone += s.tissue->area_mm2(p);
      tissue += s.tissue->area_mm2(p) * s.tissue->fields().fraction[p];
    }
  put(at++, zone > 0 ? tissue / zone : 0);
  for (const double fraction : tissue_by_hour(s)) put(at, fraction);
  ++at;
  put(at++, tissue * model_->scenario().contraction.tissue_thickness_mm);
  const double optic_radius = 0.5 * model_->contact_diameter_mm();
  double least = 1e9, least_hour = 12;
  constexpr int rays = 96;  // every 3.75 degrees; each eighth is a clock hour
  radial_profile(polygon_, optic, rays, profile_);
  for (int k = 0; k < rays; ++k) {
    const double hour = k / 8.0,
                 overlap = optic_radius - profile_[static_cast<std::size_t>((rays / 4 - k + rays) % rays)];
    if (k % 8 == 0) put(at, overlap);
    if (overlap < least) {
      least = overlap;
      least_hour = hour == 0 ? 12 : hour;
    }
  }
  ++at;
  put(at++, least);
  put(at++, least_hour);
  for (const double pupil : {2.2, 4.0, 5.0}) {
    const double r = 0.5 * pupil;
    put(at, opening.lips_cross ? std::min(1.0, opening.area_mm2 / (pi * r * r))
                               : disc_area_inside(polygon_, {0, 0}, r) / (pi * r * r));
  }
  ++at;
  put(at++, s.lens != nullptr ? s.lens->push_mN(s.x) : 0);
  put(at++, s.ring != nullptr ? s.ring->push_mN(s.x) : 0);
  put(at++, s.ring != nullptr ? s.ring->end_gap_mm(s.x) : 0);
  put(at++, s.energy);
  put(at++, s.residual_mN);
  if (cuts > 0) {
    for (std::size_t c = 0; c < cuts; ++c)
      put(at, s.open_layers[c] > 0 ? rim_gape_mm(mesh, s.x, static_cast<int>(c), s.open_layers[c]) : 0);
    ++at;
    for (std::size_t c = 0; c < cuts; ++c)
      put(at, s.open_layers[c] > 0 ? tip_energy_release_mN(model_->mesh(), *s.leaf, s.tissue, s.x, static_cast<int>(c),
                                                           s.open_layers[c], tip_)
                                   : 0);
    ++at;
    // The tip of an open cut, or of the longest one planned there.
    const auto tip_layer = [&](std::size_t c) {
      return s.open_layers[c] > 0 ? s.open_layers[c] : mesh.plan().cuts[c].tip_layer;
    };
    for (std::size_t c = 0; c < cuts; ++c) {
      const std::size_t n = static_cast<std::size_t>(mesh.tip_node(static_cast<int>(c), tip_layer(c)));
      put(at, optic_radius - std::hypot(s.x[2 * n] - optic[0], s.x[2 * n + 1] - optic[1]));
    }
    ++at;
    for (std::size_t c = 0; c < cuts; ++c) {
      const MeshPlan::CutLine& line = mesh.plan().cuts[c];
      const std::size_t n = static_cast<std::size_t>(mesh.tip_node(static_cast<int>(c), tip_layer(c)));
      const std::size_t e = static_cast<std::size_t>(mesh.node(mesh.rows() - 1, line.ray * order));
      put(at, std::hypot(s.x[2 * n] - s.x[2 * e], s.x[2 * n + 1] - s.x[2 * e + 1]));
    }
    ++at;
  }
  put(at++, opening.lips_cross ? 1 : 0);
  for (const int node : all_rim_nodes_) put(at, position(node, s.x));
  ++at;
  for (const Point& p : equator_) put(at, p);
  ++at;
  if (model_->ring_segments() > 0) {
    for (int i = model_->ring_coordinate(); i < model_->coordinates(); ++i)
      put(at, s.ring != nullptr ? s.x[static_cast<std::size_t>(i)] : 0);
    ++at;
  }
}

}  // namespace capsim
