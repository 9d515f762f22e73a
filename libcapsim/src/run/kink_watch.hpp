// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  How close a run comes to kinks: those that it passes, and the change of a parameter that reaches the next.

#include <array>
#include <span>
#include <vector>

#include "capsim/kinks.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"
#include "run/eye_parts.hpp"
#include "run/parameter_step.hpp"
#include "run/row_measures.hpp"

namespace capsim {

/// What an eye shows of kinks: the numbers of its parts, and lengths of which a row takes the smallest or the largest.
struct KinksSeen {
  KinkValues values;
  enum Place : std::size_t { rim_least, rim_most, equator_least, equator_most, clear_circle, overlap, load, count };
  /// Round the clock; largest ones with the sign turned, so that the smallest counts.
  std::array<std::vector<double>, count> places;
};

class KinkWatch {
 public:
  explicit KinkWatch(const Model& model)
      : model_(&model),
        chord_rays_(ray_directions(2 * chord_meridians)),
        overlap_rays_(ray_directions(RowMeasures::overlap_rays)) {}

  /// The run at its next rest; what changed sign since the one before was passed. After `forget` there is none before.
  void follow(const EyeParts& parts, std::span<const double> x);
  void forget() noexcept { before_.clear(); }
  [[nodiscard]] const KinkCounts& passed() const noexcept { return passed_; }

  /// What is to be seen of an eye at x.
  void look(const EyeParts& parts, std::span<const double> x, std::span<const int> open_layers, KinksSeen& seen);
  /// Takes into `nearest` what is nearer, from what the run and the neighbour a step away showed.
  static void take_nearest(const KinksSeen& here, const KinksSeen& beside, const ParameterStep& step,
                           KinkDistances& nearest);

 private:
  void put_chords(std::span<const Point> nodes, int order, std::vector<double>& least, std::vector<double>& most);
  const Model* model_;
  KinkValues before_, now_;
  KinkCounts passed_;
  std::vector<Point> chord_rays_, overlap_rays_, nodes_;
  OpeningWorkspace opening_;
};

}  // namespace capsim
