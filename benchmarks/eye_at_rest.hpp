// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// An eye taken out of its run on a day, so that what a run does over and over can be timed by itself.
#include <memory>
#include <stdexcept>
#include <utility>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "run/checkpoint.hpp"
#include "run/eye_parts.hpp"

namespace capsim {

class EyeAtRest {
 public:
  /// The eye as `simulation` has it today; throws where its stiffness is not positive definite.
  explicit EyeAtRest(Simulation simulation)
      : simulation_(std::move(simulation)),
        state_(from_bytes(simulation_.checkpoint()).state),
        parts_(simulation_.model(), make_contraction_law(simulation_.model().scenario().contraction), {}) {
    const Model& model = simulation_.model();
    parts_.follow(model, state_);
    parts_.set_day(state_.day);
    std::vector<Part*> list;
    parts_.each([&list](Part& part) { list.push_back(&part); });
    equilibrium_.settings().shift_mN_per_mm = 1e-8 * model.force_scale_mN();
    equilibrium_.set_system(
        list, model.dof_map(open_layers(model, state_.cuts), parts_.lens() != nullptr, parts_.ring() != nullptr));
    right_.assign(static_cast<std::size_t>(equilibrium_.dofs()), 1e-6);
    if (!renew()) throw std::runtime_error("the eye is not at rest");
  }

  [[nodiscard]] int dofs() const noexcept { return equilibrium_.dofs(); }
  [[nodiscard]] std::size_t memory_bytes() const noexcept { return equilibrium_.memory_bytes(); }
  /// All energies and forces, once; the largest unbalanced force.
  double forces() { return equilibrium_.residual(state_.positions); }
  /// The stiffness and its factorization, once.
  bool renew() { return equilibrium_.factorize_at(state_.positions); }
  /// A solve with the factor at hand.
  void solve() { equilibrium_.apply_inverse(right_); }

 private:
  Simulation simulation_;  // keeps the mesh that the parts refer to
  EyeState state_;
  EyeParts parts_;
  Equilibrium equilibrium_;
  std::vector<double> right_;
};

}  // namespace capsim
