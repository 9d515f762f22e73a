// SPDX-License-Identifier: BSD-3-Clause
// From one solution to the next: a pull that grows, a lens and a ring that are put in bit by bit.
#include "run/shape_search.hpp"

#include <algorithm>
#include <utility>

#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"

namespace capsim {

bool ShapeSearch::follow_the_pull() {
  double share = 0.25, before = 0;
  Standing earlier;
  bool at_its_end = false;  // the last solution is one of a leaf without width, or of a bag without size
  reached_ = 0;
  while (reached_ < 1 && !spent()) {
    pull_share_ = std::min(share, 1.0);
    bool found = false;
    if (reached_ == 0) {
      first_guess();
      found = search();
    } else {
      const double ahead = before > 0 ? (pull_share_ - reached_) / (reached_ - before) : 0;
      found = (ahead > 0 && from(last_, foretold(earlier, last_, ahead))) || from(last_, last_.z);
    }
    if (found) {
      before = std::exchange(reached_, pull_share_);
      earlier = std::exchange(last_, measured());
      at_its_end = narrowest().width_mm < pulled_shut_mm || stretch() > most_stretched;
      share = reached_ + 1.5 * (reached_ - before);
      continue;
    }
    share = reached_ + 0.5 * (pull_share_ - reached_);
    if (share - reached_ < least_share || at_its_end) return false;
  }
  return reached_ == 1;
}

bool ShapeSearch::from(const Standing& last, const std::vector<double>& z) {
  tangent_.reset();
  for (RestState* s : {&healthy_, &own_}) s->zonule.reset();
  stand(last);
  return tried(z, last.fractions) && newton(measured(), most_creeping_on);
}

std::vector<double> ShapeSearch::foretold(const Standing& earlier, const Standing& last, double ahead) {
  std::vector<double> z = last.z;
  for (std::size_t i = 0; i < z.size(); ++i) z[i] += ahead * (last.z[i] - earlier.z[i]);
  return z;
}

void ShapeSearch::fill(bool with_contents) {
  two_states_ = with_contents || !(key_.stated == key_.healthy);
  const std::vector<int> closed(mesh_.plan().cuts.size(), 0);
  for (RestState* s : {&healthy_, &own_}) {
    s->zonule.reset();
    s->dof = nodal_dofs(mesh_, closed);
  }
  own_.filling = {};
  if (!with_contents) return;
  const BagContents& in = *key_.contents;
  own_.dof = eye_dofs(mesh_, closed, in.lens.has_value(), in.ring_segments, in.ring.has_value());
  own_.filling = BagFilling(mesh_, in, key_.equator_radius_mm);
}

bool ShapeSearch::put_in_contents() {
  std::vector<double> bare = two_states_ ? own_.x : healthy_.x;
  fill(true);
  own_.leaf = make_anterior_leaf(mesh_, key_.capsule, shape_.equator_radius_mm);
  own_.disc = make_posterior_leaf(mesh_, key_.capsule);
  own_.spec = key_.stated;
  lay(own_, std::move(bare));
  rest_tolerance_ = key_.force_tolerance;
  moved_ = 0;
  if (!settle_all()) return false;
  owed_ = measured().missing;
  double share = 1;
  owed_share_ = 1;
  Standing last = measured();
  while (moved_ < 1 && !spent()) {
    owed_share_ = 1 - share;
    tangent_.reset();
    for (RestState* s : {&healthy_, &own_}) s->zonule.reset();
    stand(last);
    if (settle_all() && newton(measured(), most_creeping_on)) {
      last = measured();
      share = std::min(1.0, share + 1.5 * (share - std::exchange(moved_, share)));
      continue;
    }
    share = moved_ + 0.5 * (share - moved_);
    if (share - moved_ < least_share) return false;
  }
  if (moved_ < 1) return false;
  owed_.clear();
  return true;
}

}  // namespace capsim
