// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/contraction_law.hpp"

#include "capsim/active_lock_in.hpp"
#include "capsim/fibre_remodelling.hpp"

namespace capsim {

std::unique_ptr<ContractionLaw> make_contraction_law(const ContractionSpec& spec) {
  switch (spec.law) {
    case ContractionKind::active_lock_in:
      return std::make_unique<ActiveLockIn>(spec);
    default:
      return std::make_unique<FibreRemodelling>(spec);
  }
}

TissueMaterial tissue_material(const ContractionSpec& spec) {
  return make_contraction_law(spec)->material().value_or(TissueMaterial{});
}

}  // namespace capsim
