// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  All tissue of an eye: under the rim, on both leaves outside the optic, and the bond that fuses them.
///
/// Every site is a FibrousTissue with a law of its own. Their states lie one after the other in one vector y, the rim's
/// first (inside the zone of contact, then beyond it), then the sites of the bag, then what the bond was laid down at;
/// the same with the stretches that the rates need, where the slips of the bond come last.

#include <memory>
#include <span>
#include <vector>

#include "capsim/contraction_law.hpp"
#include "capsim/leaf_bond.hpp"
#include "capsim/model.hpp"

namespace capsim {

class EyeTissue {
 public:
  /// `rim_law` rules the tissue under the rim; the bag's follows the law that the scenario names.
  EyeTissue(const Model& model, std::shared_ptr<const ContractionLaw> rim_law);
  EyeTissue(EyeTissue&&) noexcept;
  ~EyeTissue();

  /// That in the zone of contact; null without tissue under the rim.
  [[nodiscard]] FibrousTissue* rim() const noexcept { return rim_; }
  [[nodiscard]] std::size_t rim_variables() const noexcept { return rim_ ? sites_.front().variables : 0; }
  [[nodiscard]] const std::shared_ptr<const ContractionLaw>& rim_law() const noexcept { return rim_law_; }
  [[nodiscard]] bool none() const noexcept { return sites_.empty(); }
  /// Length of y: one number that does nothing stands in where there is no tissue.
  [[nodiscard]] std::size_t numbers() const noexcept { return variables_ > 0 ? variables_ : 1; }
  [[nodiscard]] std::size_t stretches() const noexcept { return stretches_; }
  /// The tissues outside the optic and the bond, as parts.
  template <class Visit>
  void each_beside_rim(Visit&& visit) const {
    for (const Site& site : sites_)
      if (site.tissue.get() != rim_) visit(static_cast<Part&>(*site.tissue));
    if (bond_) visit(static_cast<Part&>(*bond_));
  }
  /// Whether the part is one of the tissues; the bond is none.
  [[nodiscard]] bool holds(const Part& part) const noexcept {
    for (const Site& site : sites_)
      if (site.tissue.get() == &part) return true;
    return false;
  }
  template <class Visit>
  void each_tissue(Visit&& visit) const {
    for (const Site& site : sites_) visit(*site.tissue);
  }
  /// Those on the anterior leaf, and as the first of these those of the rim.
  [[nodiscard]] std::span<const FibrousTissue* const> on_front() const noexcept { return on_front_; }
  [[nodiscard]] std::span<const FibrousTissue* const> of_rim() const noexcept { return on_front().first(rim_sites_); }

  /// Every law goes on with other values.
  void change(const ContractionChange& change);
  void start(std::span<double> y) const;
  void measure(std::span<const double> x, std::span<double> stretches) const;
  void rate(double day, std::span<const double> y, std::span<const double> stretches, std::span<double> dydt) const;
  void apply(std::span<const double> y);
  /// Mean fraction of full tissue on the anterior leaf outside the optic, 0 without.
  [[nodiscard]] double fused() const noexcept;

 private:
  struct Site {
    std::unique_ptr<FibrousTissue> tissue;
    std::shared_ptr<const ContractionLaw> law;
    std::vector<double> cells;
    std::size_t variables = 0, stretches = 0;
  };
  void add(std::unique_ptr<FibrousTissue> tissue, std::shared_ptr<const ContractionLaw> law, std::vector<double> cells);
  std::shared_ptr<const ContractionLaw> rim_law_;
  std::vector<Site> sites_;
  FibrousTissue* rim_ = nullptr;
  std::vector<const FibrousTissue*> on_front_;
  std::size_t rim_sites_ = 0;  // the first ones
  std::size_t bonded_ = 0;     // site whose tissue the bond grows with
  std::unique_ptr<LeafBond> bond_;
  std::size_t variables_ = 0, stretches_ = 0;
};

}  // namespace capsim
