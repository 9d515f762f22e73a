// SPDX-License-Identifier: BSD-3-Clause
#include "run/observables.hpp"

#include <algorithm>
#include <cmath>

namespace capsim {
namespace {

/// Clock hour (0..6] of a chord.
double meridian_hour(double angle) {
  const double hour = std::fmod(3 - angle / (pi / 6) + 12, 6);
  return hour <= 1e-9 ? 6.0 : hour;
}

double lens_rotation_deg(const RowMeasures& row) {
  const auto rotation = static_cast<std::size_t>(row.model().lens_coordinate()) + 2;
  return row.state().lens != nullptr ? row.state().x[rotation] * 180 / pi : 0;
}

/// Part of a pupil that the opening leaves clear. Where lips cross the polygon is none, and areas have to do.
double clear_fraction(const RowMeasures& row, double pupil_mm) {
  const double r = 0.5 * pupil_mm, whole = pi * r * r;
  return row.opening().lips_cross ? std::min(1.0, row.opening().area_mm2 / whole)
                                  : disc_area_inside(row.rim_polygon(), {0, 0}, r) / whole;
}

double gape_mm(const RowMeasures& row, std::size_t cut) {
  const Snapshot& s = row.state();
  const int layers = s.open_layers[cut];
  return layers > 0 ? rim_gape_mm(row.model().mesh(), s.x, static_cast<int>(cut), layers) : 0;
}

Point tip(const RowMeasures& row, std::size_t cut) {
  return row.node(row.model().mesh().tip_node(static_cast<int>(cut), row.tip_layer(cut)));
}

double tip_to_optic_edge_mm(const RowMeasures& row, std::size_t cut) {
  const Point at = tip(row, cut), optic = row.optic_center();
  return row.optic_radius_mm() - std::hypot(at[0] - optic[0], at[1] - optic[1]);
}

double tip_to_equator_mm(const RowMeasures& row, std::size_t cut) {
  const Mesh& mesh = row.model().mesh();
  const Point at = tip(row, cut),
              edge = row.node(mesh.node(mesh.rows() - 1, mesh.plan().cuts[cut].ray * mesh.plan().order));
  return std::hypot(at[0] - edge[0], at[1] - edge[1]);
}

/// Nodes of the ring from end to end; zeros before it is there.
void put_ring(const RowMeasures& row, RowOf out) {
  for (int i = row.model().ring_coordinate(); i < row.model().coordinates(); ++i)
    out << (row.state().ring != nullptr ? row.state().x[static_cast<std::size_t>(i)] : 0);
}

template <class Value>
void put_cuts(const RowMeasures& row, RowOf out, Value value) {
  for (std::size_t cut = 0; cut < row.cuts(); ++cut) out << value(cut);
}

// The list: name, unit, what the values of a row are, one sentence, and how they are computed.
using In = RowMeasures&;
using Out = RowOf;
constexpr RecordedObservable list[] = {
    {{"day", "d", Axis::one, "Days since the end of surgery."}, [](In r, Out o) { o << r.state().day; }},
    {{"event_side", "1", Axis::one, "-1 just before an event, 1 just after, 0 on other days."},
     [](In r, Out o) { o << static_cast<double>(r.state().side); }},
    {{"opening_area_mm2", "mm2", Axis::one, "Visible area of the opening, slits that gape included."},
     [](In r, Out o) { o << r.opening().area_mm2; }},
    {{"opening_diameter_mm", "mm", Axis::one, "Diameter of the circle of the same area."},
     [](In r, Out o) { o << r.opening().equivalent_diameter_mm; }},
    {{"opening_min_diameter_mm", "mm", Axis::one, "Smallest chord through the opening's centroid."},
     [](In r, Out o) { o << r.opening().min_diameter_mm; }},
    {{"opening_max_diameter_mm", "mm", Axis::one, "Largest chord through the opening's centroid."},
     [](In r, Out o) { o << r.opening().max_diameter_mm; }},
    {{"opening_min_meridian_hour", "h", Axis::one, "Clock hour (0..6] of the smallest chord."},
     [](In r, Out o) { o << meridian_hour(r.opening().min_meridian); }},
    {{"opening_max_meridian_hour", "h", Axis::one, "Clock hour (0..6] of the largest chord."},
     [](In r, Out o) { o << meridian_hour(r.opening().max_meridian); }},
    {{"clear_circle_diameter_mm", "mm", Axis::one, "Largest circle about the pupil centre inside the opening."},
     [](In r, Out o) { o << 2 * r.opening().clear_radius_mm; }},
    {{"opening_center_mm", "mm", Axis::xy, "Centroid of the opening."},
     [](In r, Out o) { o << r.opening().center_mm; }},
    {{"lens_center_mm", "mm", Axis::xy, "Centre of the optic; the pupil centre when there is no lens."},
     [](In r, Out o) { o << r.optic_center(); }},
    {{"lens_rotation_deg", "deg", Axis::one, "Rotation of the optic, counter-clockwise."},
     [](In r, Out o) { o << lens_rotation_deg(r); }},
    {{"equator_center_mm", "mm", Axis::xy, "Centroid of the area inside the equator."},
     [](In r, Out o) { o << r.equator().center_mm; }},
    {{"equator_diameter_mm", "mm", Axis::one, "Diameter of the circle of the equator's area."},
     [](In r, Out o) { o << r.equator().equivalent_diameter_mm; }},
    {{"equator_min_diameter_mm", "mm", Axis::one, "Smallest chord of the equator through its centroid."},
     [](In r, Out o) { o << r.equator().min_diameter_mm; }},
    {{"equator_max_diameter_mm", "mm", Axis::one, "Largest chord of the equator through its centroid."},
     [](In r, Out o) { o << r.equator().max_diameter_mm; }},
    {{"zonule_load_mN", "mN", Axis::clock_hour, "Tension of the zonule per clock hour, 12 o'clock first."},
     [](In r, Out o) { o << r.zonule_load().by_hour; }},
    {{"zonule_load_total_mN", "mN", Axis::one, "Sum of the tensions of all bundles."},
     [](In r, Out o) { o << r.zonule_load().total; }},
    {{"zonule_load_max_mN", "mN", Axis::one, "Largest load of one clock hour."},
     [](In r, Out o) { o << r.zonule_load().most; }},
    {{"rim_tension_mN_per_mm", "mN/mm", Axis::one,
      "Mean hoop tension at the rim, leaf and fibres, per reference length."},
     [](In r, Out o) { o << r.rim().tension; }},
    {{"rim_stretch", "1", Axis::one, "Mean hoop stretch at the rim over its stress-free length."},
     [](In r, Out o) { o << r.rim().mean_stretch; }},
    {{"rim_stretch_max", "1", Axis::one, "Largest hoop stretch at the rim."},
     [](In r, Out o) { o << r.rim().most_stretch; }},
    {{"fibrous_tissue", "1", Axis::one, "Mean fraction of the full fibrous thickness over the contact zone."},
     [](In r, Out o) { o << r.tissue().mean; }},
    {{"fibrous_tissue_by_hour", "1", Axis::clock_hour,
      "The same within each clock hour, 12 o'clock first: where cells were polished away there is less."},
     [](In r, Out o) { o << r.tissue().by_hour; }},
    {{"fibrous_tissue_volume_mm3", "mm3", Axis::one,
      "Fibrous tissue: fraction times full thickness times reference area."},
     [](In r, Out o) { o << r.tissue().amount_mm2 * r.model().scenario().contraction.tissue_thickness_mm; }},
    {{"rim_overlap_mm", "mm", Axis::clock_hour,
      "Overlap of rim on optic at each clock hour seen from the optic's centre; negative: the rim has retracted."},
     [](In r, Out o) { o << r.overlap().by_hour; }},
    {{"rim_overlap_min_mm", "mm", Axis::one, "Smallest overlap of rim on optic all round."},
     [](In r, Out o) { o << r.overlap().least; }},
    {{"rim_overlap_min_hour", "h", Axis::one, "Where the overlap is smallest."},
     [](In r, Out o) { o << r.overlap().least_hour; }},
    {{"pupil_clear_fraction", "1", Axis::pupil, "Part of a 2.2, 4.0 and 5.0 mm pupil that the opening leaves clear."},
     [](In r, Out o) {
       for (const double pupil : pupil_diameters_mm) o << clear_fraction(r, pupil);
     }},
    {{"haptic_push_mN", "mN", Axis::one, "Sum of the pushes of the haptics on the equator."},
     [](In r, Out o) { o << (r.state().lens != nullptr ? r.state().lens->push_mN(r.state().x) : 0); }},
    {{"ring_load_mN", "mN", Axis::one, "Sum of the push of the tension ring on the equator."},
     [](In r, Out o) { o << (r.state().ring != nullptr ? r.state().ring->push_mN(r.state().x) : 0); }},
    {{"ring_end_gap_mm", "mm", Axis::one, "Gap between the ring's ends along the fornix; negative: they overlap."},
     [](In r, Out o) { o << (r.state().ring != nullptr ? r.state().ring->end_gap_mm(r.state().x) : 0); }},
    {{"energy_uJ", "uJ", Axis::one, "Potential energy of all parts."}, [](In r, Out o) { o << r.state().energy; }},
    {{"residual_mN", "mN", Axis::one, "Largest unbalanced force."}, [](In r, Out o) { o << r.state().residual_mN; }},
    {{"cut_gape_mm", "mm", Axis::cut,
      "Gap between the lips at the rim, per cut line; 0 before the cut, negative when the lips cross."},
     [](In r, Out o) { put_cuts(r, o, [&](std::size_t cut) { return gape_mm(r, cut); }); }},
    {{"cut_tip_release_mN", "mN", Axis::cut, "Energy released per mm of further cut at each tip; 0 before the cut."},
     [](In r, Out o) { put_cuts(r, o, [&](std::size_t cut) { return r.tip_release_mN(cut); }); }},
    {{"cut_tip_to_optic_edge_mm", "mm", Axis::cut,
      "Distance of each tip inside the edge of the optic; negative: outside."},
     [](In r, Out o) { put_cuts(r, o, [&](std::size_t cut) { return tip_to_optic_edge_mm(r, cut); }); }},
    {{"cut_tip_to_equator_mm", "mm", Axis::cut, "Distance of each tip from the equator."},
     [](In r, Out o) { put_cuts(r, o, [&](std::size_t cut) { return tip_to_equator_mm(r, cut); }); }},
    {{"lips_cross", "1", Axis::one, "1 when lips of a cut have crossed, so that the area is not to be trusted."},
     [](In r, Out o) { o << (r.opening().lips_cross ? 1 : 0); }},
    {{"rim_outline_mm", "mm", Axis::rim_point, "Rim polygon, counter-clockwise, round every planned cut line."},
     [](In r, Out o) {
       for (const int node : r.all_rim_nodes()) o << r.node(node);
     }},
    {{"equator_outline_mm", "mm", Axis::equator_point, "Equator polygon, counter-clockwise."},
     [](In r, Out o) {
       for (const Point& p : r.equator_points()) o << p;
     }},
    {{"ring_outline_mm", "mm", Axis::ring_point,
      "Nodes of the tension ring from end to end; all zero before insertion."},
     [](In r, Out o) { put_ring(r, o); }},
};

}  // namespace

std::span<const RecordedObservable> recorded_observables() noexcept { return list; }

std::span<const Observable> observables() noexcept {
  static constexpr auto described = [] {
    std::array<Observable, std::size(list)> all{};
    std::transform(std::begin(list), std::end(list), all.begin(), [](const auto& line) { return line.what; });
    return all;
  }();
  return described;
}

std::size_t columns_of(Axis axis, const RowMeasures& row) {
  const Model& model = row.model();
  switch (axis) {
    case Axis::one:
      return 1;
    case Axis::xy:
      return 2;
    case Axis::clock_hour:
      return 12;
    case Axis::pupil:
      return pupil_diameters_mm.size();
    case Axis::cut:
      return row.cuts();
    case Axis::rim_point:
      return 2 * row.all_rim_nodes().size();
    case Axis::equator_point:
      return 2 * static_cast<std::size_t>(model.mesh().columns());
    case Axis::ring_point:
      return model.ring_segments() > 0 ? 2 * static_cast<std::size_t>(model.ring_segments() + 1) : 0;
    case Axis::other:
      return 0;
  }
  return 0;
}

}  // namespace capsim
