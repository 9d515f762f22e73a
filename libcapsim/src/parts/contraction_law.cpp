// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/contraction_law.hpp"

#include <array>
#include <utility>

#include "parts/law_makers.hpp"

namespace capsim {
namespace {

// Values that may change while the tissue is there, and their places in the law's own.
constexpr std::array<std::pair<std::optional<double> ContractionChange::*, double ContractionSpec::*>, 12> changeable{{
    {&ContractionChange::chronic_signal, &ContractionSpec::chronic_signal},
    {&ContractionChange::signal_days, &ContractionSpec::signal_days},
    {&ContractionChange::regrowth_per_day, &ContractionSpec::regrowth_per_day},
    {&ContractionChange::activation_per_day, &ContractionSpec::activation_per_day},
    {&ContractionChange::deactivation_per_day, &ContractionSpec::deactivation_per_day},
    {&ContractionChange::tissue_per_day, &ContractionSpec::tissue_per_day},
    {&ContractionChange::remodelling_days, &ContractionSpec::remodelling_days},
    {&ContractionChange::laying_stretch, &ContractionSpec::laying_stretch},
    {&ContractionChange::unloaded_deactivation_per_day, &ContractionSpec::unloaded_deactivation_per_day},
    {&ContractionChange::active_tension_mN_per_mm, &ContractionSpec::active_tension_mN_per_mm},
    {&ContractionChange::active_radial_share, &ContractionSpec::active_radial_share},
    {&ContractionChange::lock_in_per_day, &ContractionSpec::lock_in_per_day},
}};

}  // namespace

std::unique_ptr<ContractionLaw> make_contraction_law(const ContractionSpec& spec) {
#define CAPSIM_LAW(word)      \
  case ContractionKind::word: \
    return make_##word(spec);
  switch (spec.law) { CAPSIM_CONTRACTION_LAWS(CAPSIM_LAW) }
#undef CAPSIM_LAW
  throw InternalError("contraction law: not in the list");
}

ContractionSpec with_change(ContractionSpec spec, const ContractionChange& change) {
  for (const auto& [of_change, of_spec] : changeable)
    if (change.*of_change) spec.*of_spec = *(change.*of_change);
  return spec;
}

ContractionChange one_after_the_other(ContractionChange first, const ContractionChange& then) {
  for (const auto& [value, of_spec] : changeable)
    if (then.*value) first.*value = then.*value;
  return first;
}

TissueMaterial tissue_material(const ContractionSpec& spec) {
  return make_contraction_law(spec)->material().value_or(TissueMaterial{});
}

}  // namespace capsim
