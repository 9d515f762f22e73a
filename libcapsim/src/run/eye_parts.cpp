// SPDX-License-Identifier: BSD-3-Clause
#include "run/eye_parts.hpp"

#include <algorithm>
#include <variant>

#include "run/bag_parts.hpp"
#include "scenario/cases.hpp"

namespace capsim {
namespace {

ZonuleSpec in_force(const Scenario& scenario, const EyeState& state) {
  ZonuleSpec spec = scenario.zonule;
  spec.strength_by_hour = state.strength_by_hour;
  return spec;
}

}  // namespace

EyeParts::EyeParts(const Model& model, std::shared_ptr<const ContractionLaw> law,
                   const std::vector<std::shared_ptr<const Part>>& from_host)
    : anterior_(model.make_anterior_leaf()),
      posterior_(model.make_posterior_leaf()),
      tissue_(model, std::move(law)),
      zonule_(model.make_zonule(model.scenario().zonule)),
      backing_(make_backing(model.mesh(), model.rest_full_strength())),
      lens_(model.make_lens()) {
  for (const auto& part : from_host) from_host_.push_back(part->clone());
}

void EyeParts::follow(const Model& model, const EyeState& state) {
  zonule_->set_strength(in_force(model.scenario(), state));
  if (!state.failed_bundles.empty()) zonule_->set_failed(state.failed_bundles);
  ring_.reset();
  if (state.ring) {
    ring_ = model.make_tension_ring(state.ring->spec);
    ring_->set_insertion_day(state.ring->day);
    ring_->hold_at(state.ring->held_span, state.ring->held_place);
  }
  tissue_.change(state.contraction);
  put_tissue(state.tissue);
  set_day(state.day);
}

void EyeParts::put_tissue(const std::vector<double>& variables) {
  if (tissue_.none()) return;
  tissue_.apply(variables);
  if (lens_) lens_->set_fused(tissue_.fused());
  if (!tissue_.rim() || !law()->grows_leaf()) return;
  std::vector<double>& growth = anterior_->regions().front().growth;
  if (growth.empty())
    for (int p = 0; p < anterior_->regions().front().patch->points(); ++p) growth.insert(growth.end(), {1, 0, 0, 1});
  // Tissue starts at the rim, as the leaf does.
  law()->grow_leaf(std::span(variables).first(tissue_.rim_variables()),
                   std::span(growth).first(4 * tissue_.rim()->points()));
}

std::size_t EyeParts::stretch_count() const noexcept { return tissue_.stretches(); }

void EyeParts::stretches(std::span<const double> x, std::vector<double>& out) const {
  out.resize(stretch_count());
  tissue_.measure(x, out);
}

void EyeParts::tissue_rate(double day, const std::vector<double>& variables, const std::vector<double>& stretches,
                           std::vector<double>& rate) const {
  if (tissue_.none())
    std::fill(rate.begin(), rate.end(), 0.0);
  else
    tissue_.rate(day, variables, stretches, rate);
}

void EyeParts::act(const Model& model, const Action& action, EyeState& state) {
  std::visit(Cases{[](const RelaxingCuts&) {},
                   [&](const ZonuleDamage& damage) {
                     for (const auto& [hour, strength] : damage.strength_by_hour)
                       state.strength_by_hour[hour] = strength;
                     zonule_->set_strength(in_force(model.scenario(), state));
                   },
                   [&](const TensionRingSpec& spec) { insert_ring(model, spec, state); },
                   [&](const ContractionChange& change) {
                     state.contraction = one_after_the_other(state.contraction, change);
                     tissue_.change(change);
                   }},
             action);
}

bool EyeParts::fail_bundles(double elongation_mm, EyeState& state) {
  if (zonule_->fail_beyond(elongation_mm, state.positions) == 0) return false;
  state.failed_bundles = zonule_->failed();
  return true;
}

void EyeParts::insert_ring(const Model& model, const TensionRingSpec& spec, EyeState& state) {
  lay_ring(model.mesh(), spec, model.ring_segments(), state.positions);
  ring_ = model.make_tension_ring(spec);
  ring_->set_insertion_day(state.day);
  ring_->hold_where_it_lies(state.positions);
  state.ring = {spec, state.day, ring_->held_span(), ring_->held_place()};
}

void EyeParts::take_first_ring(const Model& model, EyeState& state) {
  const TensionRingSpec& spec = *model.scenario().tension_ring;
  if (!model.stated_with_ring()) {
    insert_ring(model, spec, state);
    return;
  }
  ring_ = model.make_tension_ring(spec);
  ring_->set_insertion_day(state.day);
  hold_as_in_a_round_bag(*ring_, model.mesh(), spec, model.ring_segments(), model.anatomical_equator_radius_mm());
  state.ring = {spec, state.day, ring_->held_span(), ring_->held_place()};
}

Snapshot EyeParts::seen() const {
  Snapshot s;
  s.leaf = anterior_.get();
  s.zonule = zonule_.get();
  s.tissue = tissue_.rim();
  s.tissues_of_rim = tissue_.of_rim();
  s.tissues_on_front = tissue_.on_front();
  s.lens = lens_.get();
  s.ring = ring_.get();
  return s;
}

std::vector<std::shared_ptr<const Part>> EyeParts::from_host() const {
  std::vector<std::shared_ptr<const Part>> copies;
  for (const auto& part : from_host_) copies.emplace_back(part->clone());
  return copies;
}

std::size_t EyeParts::memory_bytes() const noexcept {
  std::size_t bytes = zonule_->bundles().size() * sizeof(Zonule::Bundle);
  tissue_.each_tissue([&](const FibrousTissue& tissue) {
    bytes += sizeof(double) * (1 + 2 * fibre_families + tissue.fields().natural_sheet.size()) * tissue.points();
  });
  return bytes;
}

}  // namespace capsim
