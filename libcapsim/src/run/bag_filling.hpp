// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The parts in a bag and behind it, as they are in the eye whose opening is stated.

#include <memory>
#include <span>
#include <vector>

#include "capsim/backing.hpp"
#include "capsim/lens.hpp"
#include "capsim/mesh.hpp"
#include "capsim/tension_ring.hpp"
#include "run/bag_parts.hpp"
#include "run/stress_free_shape.hpp"

namespace capsim {

/// What the search for the unloaded shape and its derivatives put into the bag; empty for a bare one.
struct BagFilling {
  std::unique_ptr<Backing> backing;
  std::unique_ptr<Lens> lens;
  std::unique_ptr<TensionRing> ring;

  BagFilling() = default;
  /// The bed behind the bag has no place yet, see rest_at.
  BagFilling(const Mesh& mesh, const BagContents& in, double equator_radius_mm)
      : backing(make_backing(mesh, std::vector<double>(2 * static_cast<std::size_t>(mesh.nodes())))) {
    if (in.lens) lens = make_free_lens(mesh, *in.lens, equator_radius_mm);
    if (!in.ring) return;
    ring = make_ring(mesh, *in.ring, in.ring_segments, equator_radius_mm);
    hold_as_in_a_round_bag(*ring, mesh, *in.ring, in.ring_segments, equator_radius_mm);
  }

  [[nodiscard]] bool empty() const noexcept { return backing == nullptr; }
  /// The bag rests at x under its healthy zonule.
  void rest_at(std::span<const double> x) {
    if (backing) backing->rest_at(x);
  }
  /// Shows the parts that are there, in the order of EyeParts::each.
  template <class Visit>
  void each(Visit&& visit) const {
    for (Part* part :
         {static_cast<Part*>(backing.get()), static_cast<Part*>(lens.get()), static_cast<Part*>(ring.get())})
      if (part != nullptr) visit(*part);
  }
};

}  // namespace capsim
