// SPDX-License-Identifier: BSD-3-Clause
// An opening whose outline can't lie as stated: met in area and centre.
#include "run/shape_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "capsim/opening.hpp"
#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"
#include "solve/fixed_point.hpp"

namespace capsim {

bool ShapeSearch::in_the_mean(bool centred) {
  owed_.clear();
  pull_share_ = 1;
  fill(key_.contents.has_value());
  first_guess();
  start();
  rest_tolerance_ = key_.force_tolerance;
  const Point &first = shape_.rim[0], &center = key_.center;
  MeanShape here{
      shape_.equator_radius_mm, std::hypot(first[0] - center[0], first[1] - center[1]) / key_.rim_radius_mm(), {}};
  if (!lies_at(here, shape_.fractions)) return false;
  FixedPoint accelerator(MeanShape::unknowns);
  Standing best;
  double least = std::numeric_limits<double>::infinity();
  for (int i = 0; i < most_mean_corrections && !spent(); ++i, ++shape_.iterations) {
    std::vector<double> off = off_in_the_mean(here);
    if (!centred) off[2] = off[3] = 0;
    const Standing now = measured();
    rest_tolerance_ = key_.force_tolerance;
    const double error = largest(off);
    if ((centred && narrowest().width_mm < pulled_shut_mm) || stretch() > most_stretched) return false;
    const bool lines_lie = now.lines_mm < on_the_way_mm;
    if (error < least || (error < wanted_mm() && lines_lie)) {
      least = error;
      best = now;
    }
    if (error < wanted_mm() && lines_lie) break;
    if (!corrected_in_the_mean(here, accelerator.next(here.numbers(), off), now, !lines_lie)) break;
  }
  if (least > still_good_mm) return false;
  stand(best);
  shape_.error_mm = least;
  shape_.outline_off_mm =
      farthest_from(rim_at_rest(), rim_polygon(key_.stated_rim, mesh_.plan().order, outline_pieces));
  return true;
}

bool ShapeSearch::corrected_in_the_mean(MeanShape& here, const std::vector<double>& next, const Standing& now,
                                        bool lines_move) {
  const double change = largest_change(next, here.numbers());
  if (change == 0 && !lines_move) return false;
  for (double scale = std::min(1.0, longest_correction / change); scale >= least_scale; scale *= 0.5) {
    const MeanShape there = here.towards(next, scale);
    for (const bool own_lines : {false, true}) {  // the mesh lines may be what folds
      if (own_lines && change < wanted_mm()) return false;
      stand(now);
      if (!lies_at(there, own_lines || !lines_move ? now.fractions : now.next_fractions)) continue;
      here = there;
      return true;
    }
  }
  return false;
}

double ShapeSearch::largest_change(const std::vector<double>& a, const std::vector<double>& b) {
  double most = 0;
  for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(a[i] - b[i]));
  return most;
}

bool ShapeSearch::lies_at(const MeanShape& shape, const std::vector<double>& fractions) {
  std::vector<double> z{shape.radius};
  std::vector<Point> rim;
  for (const Point& stated : key_.stated_rim) {
    rim.push_back(shape.at(stated, key_.center));
    z.insert(z.end(), rim.back().begin(), rim.back().end());
  }
  if (!mesh_.place(rim, on_circle(mesh_, shape.radius), fractions)) return false;
  std::vector<double> grown = mesh_.reference();
  for (double& x : grown) x *= key_.equator_radius_mm / shape.radius;
  const std::vector<double> at = insertion_fractions(mesh_, grown, key_.healthy, key_.equator_radius_mm);
  z.insert(z.end(), at.begin(), at.end());
  if (!place()) throw InternalError("the unloaded shape the search stood at folds");
  return tried(z, fractions);
}

std::vector<double> ShapeSearch::off_in_the_mean(const MeanShape& here) const {
  const OpeningShape is = measure_opening(rim_at_rest(), mesh_.plan().order, false),
                     wanted = measure_opening(key_.stated_rim, mesh_.plan().order, false);
  const double size = is.equivalent_diameter_mm / wanted.equivalent_diameter_mm,
               equator = mean_equator_radius(mesh_, healthy_.x);
  return {(key_.equator_radius_mm - equator) * here.radius / equator, (1 - size) * here.scale / size,
          wanted.center_mm[0] - is.center_mm[0], wanted.center_mm[1] - is.center_mm[1]};
}

}  // namespace capsim
