// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The parts of one eye: the energy terms that a state puts to work. The list of them exists here and only here.

#include <algorithm>
#include <memory>
#include <vector>

#include "capsim/backing.hpp"
#include "capsim/model.hpp"
#include "run/eye_state.hpp"
#include "run/eye_tissue.hpp"
#include "run/row_measures.hpp"

namespace capsim {

class EyeParts {
 public:
  /// The parts of the model's eye, and copies of those a host adds.
  EyeParts(const Model& model, std::shared_ptr<const ContractionLaw> law,
           const std::vector<std::shared_ptr<const Part>>& from_host);

  /// Brings all parts to a state: strengths, failed bundles, the ring, the tissue and the day.
  void follow(const Model& model, const EyeState& state);

  /// Shows the parts that are there, in the order in which their energies are added.
  template <class Visit>
  void each(Visit&& visit) const {
    for (Part* part :
         {static_cast<Part*>(anterior_.get()), static_cast<Part*>(posterior_.get()), static_cast<Part*>(tissue_.rim()),
          static_cast<Part*>(zonule_.get()), static_cast<Part*>(backing_.get()), static_cast<Part*>(lens_.get()),
          static_cast<Part*>(ring_.get())})
      if (part != nullptr) visit(*part);
    tissue_.each_beside_rim(visit);
    for (const auto& part : from_host_) visit(*part);
  }
  void set_day(double day) const {
    each([day](Part& part) { part.set_day(day); });
  }

  // ---- the tissues and their laws, see eye_tissue.hpp
  /// Puts the laws' variables into tissues, bond, leaf and lens.
  void put_tissue(const std::vector<double>& variables);
  /// What the laws look at.
  [[nodiscard]] std::size_t stretch_count() const noexcept;
  void stretches(std::span<const double> x, std::vector<double>& out) const;
  void tissue_rate(double day, const std::vector<double>& variables, const std::vector<double>& stretches,
                   std::vector<double>& rate) const;

  // ---- each changes the parts and says so in the state
  /// An event of the scenario or an action of the caller; of cuts nothing, they open the mesh between the parts.
  void act(const Model& model, const Action& action, EyeState& state);
  /// Fails the bundles that are stretched too far; true when there were any.
  bool fail_bundles(double elongation_mm, EyeState& state);
  /// The ring of the end of surgery: as it lies in the stated eye, or laid in where that is without it.
  void take_first_ring(const Model& model, EyeState& state);

  [[nodiscard]] const Leaf& anterior() const noexcept { return *anterior_; }
  [[nodiscard]] const Leaf* posterior() const noexcept { return posterior_.get(); }  ///< Null: none.
  [[nodiscard]] const Zonule& zonule() const noexcept { return *zonule_; }
  [[nodiscard]] const EyeTissue& tissue() const noexcept { return tissue_; }
  [[nodiscard]] const Lens* lens() const noexcept { return lens_.get(); }
  [[nodiscard]] const TensionRing* ring() const noexcept { return ring_.get(); }
  [[nodiscard]] const std::shared_ptr<const ContractionLaw>& law() const noexcept { return tissue_.rim_law(); }
  /// What a row shows of the parts; day, positions and forces are for the caller to add.
  [[nodiscard]] Snapshot seen() const;
  /// Whether it is one of the host's parts.
  [[nodiscard]] bool is_from_host(const Part& part) const {
    return std::any_of(from_host_.begin(), from_host_.end(), [&](const auto& own) { return own.get() == &part; });
  }
  /// Copies of the host's parts as they are now.
  [[nodiscard]] std::vector<std::shared_ptr<const Part>> from_host() const;
  [[nodiscard]] std::size_t memory_bytes() const noexcept;

 private:
  /// Lays a ring into the bag as it lies, concentrically, just inside the equator.
  void insert_ring(const Model& model, const TensionRingSpec& spec, EyeState& state);

  std::unique_ptr<Leaf> anterior_, posterior_;
  EyeTissue tissue_;
  std::unique_ptr<Zonule> zonule_;
  std::unique_ptr<Backing> backing_;
  std::unique_ptr<Lens> lens_;
  std::unique_ptr<TensionRing> ring_;
  std::vector<std::unique_ptr<Part>> from_host_;
};

}  // namespace capsim
