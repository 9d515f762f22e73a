// SPDX-License-Identifier: BSD-3-Clause
// The equations of an eye as arrays, for programs that solve them in their own way (benchmarks/peers), with what the
// library answers and how long it takes.
//
//   benchmark_export_eye NAME coarse|standard [rounds [time tolerance]]     JSON on standard output
//
// NAME is one of the twelve eyes; its lens, ring and events are left out, since the peers do not have them.
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <nlohmann/json.hpp>
#include <span>
#include <string>
#include <vector>

#include "capsim/backing.hpp"
#include "capsim/capsule.hpp"
#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "processor_time.hpp"
#include "run/bag_parts.hpp"
#include "twelve_eyes.hpp"

namespace {

using namespace capsim;
using Json = nlohmann::json;

/// Of the whole bed: what it stores when the bag moves by a millimetre, twice.
double backing_stiffness(const Model& model) {
  std::vector<double> x = model.rest_full_strength();
  const std::unique_ptr<Backing> backing = make_backing(model.mesh(), x);
  for (std::size_t i = 0; i < x.size(); i += 2) x[i] += 1;
  return 2 * backing->energy(x);
}

/// Derivatives of the shape functions by X and Y: element x point x node x 2.
std::vector<double> shape_gradients(const Patch& patch) {
  const std::size_t each = 2 * static_cast<std::size_t>(patch.nodes_per_element);
  std::vector<double> all(each * static_cast<std::size_t>(patch.points()));
  std::span<double> rest = all;
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q, rest = rest.subspan(each)) patch.shape_gradients(e, q, rest);
  return all;
}

Json leaf_regions(const Leaf& leaf) {
  Json out = Json::array();
  for (const Leaf::Region& region : leaf.regions()) {
    const Patch& p = *region.patch;
    out.push_back({{"nodes_per_element", p.nodes_per_element},
                   {"points_per_element", p.points_per_element},
                   {"nodes", p.nodes},
                   {"gradients", shape_gradients(p)},
                   {"weights_mm2", p.weights},
                   {"thickness_mm", region.thickness_mm}});
  }
  return out;
}

Json zonule_bundles(const Zonule& zonule) {
  Json out = Json::array();
  for (const Zonule::Bundle& b : zonule.bundles())
    out.push_back({{"nodes", std::vector<int>(b.nodes.begin(), b.nodes.begin() + b.count)},
                   {"share", std::vector<double>(b.share.begin(), b.share.begin() + b.count)},
                   {"anchor_mm", b.anchor},
                   {"stiffness_mN_per_mm", b.strength * b.stiffness_mN_per_mm},
                   {"slack_length_mm", b.slack_length_mm}});
  return out;
}

Json tissue_of(const Model& model) {
  const ContractionSpec& c = model.scenario().contraction;
  const std::unique_ptr<ContractionLaw> law = make_contraction_law(c);
  const std::optional<TissueMaterial> material = law->material();
  if (!material || c.unloaded_deactivation_per_day > 0)
    throw std::runtime_error("the peers do not let unloaded cells rest");
  return {{"law", law->name()},
          {"hoop", model.make_fibrous_tissue()->hoop()},
          {"cells", model.initial_cells()},
          {"fibre_stiffness_mN_per_mm", material->fibre_stiffness_mN_per_mm},
          {"matrix_modulus_kPa", material->matrix_modulus_kPa},
          {"sheet_modulus_kPa", material->sheet_modulus_kPa},
          {"thickness_mm", material->thickness_mm},
          {"active_tension_mN_per_mm", c.active_tension_mN_per_mm},
          {"active_radial_share", c.active_radial_share},
          {"lock_in_per_day", c.lock_in_per_day},
          {"signal_days", c.signal_days},
          {"chronic_signal", c.chronic_signal},
          {"regrowth_per_day", c.regrowth_per_day},
          {"activation_per_day", c.activation_per_day},
          {"deactivation_per_day", c.deactivation_per_day},
          {"tissue_per_day", c.tissue_per_day},
          {"remodelling_days", c.remodelling_days},
          {"laying_stretch", c.laying_stretch},
          {"packing_limit", c.packing_limit}};
}

Json equations(const Model& model, const History& history) {
  const Scenario& s = model.scenario();
  const Membrane membrane = model.make_anterior_leaf()->membrane();
  if (membrane.law != CapsuleLaw::neo_hookean) throw std::runtime_error("the peers have the neo-Hookean capsule only");
  return {{"rest_mm", model.rest_as_stated()},
          {"backing_rest_mm", model.rest_full_strength()},
          {"anterior", leaf_regions(*model.make_anterior_leaf())},
          {"posterior", leaf_regions(*model.make_posterior_leaf())},
          {"shear_modulus_kPa", membrane.mu_kPa},
          {"compression_fraction", membrane.compression_fraction},
          {"tissue", tissue_of(model)},
          {"zonule", zonule_bundles(*model.make_zonule(s.zonule))},
          {"equator_nodes", model.mesh().equator_nodes()},
          {"backing_mN_per_mm", backing_stiffness(model)},
          {"outline_nodes", model.mesh().outline_nodes({})},
          {"shift_mN_per_mm", 1e-8 * model.force_scale_mN()},
          {"tolerance_mN", history.diagnostics().tolerance_mN},
          {"time_tolerance", s.numerics.time_tolerance},
          {"max_step_days", s.numerics.max_step_days},
          {"day", history.day()},
          {"area_mm2", history.opening_area_mm2()}};
}

Scenario eye_called(const std::string& name, const std::string& mesh) {
  for (const NamedEye& eye : twelve_eyes()) {
    if (eye.name != name) continue;
    Scenario s = eye.scenario;
    s.mesh = mesh == "coarse" ? MeshSpec::coarse() : MeshSpec::standard();
    s.lens.reset();
    s.tension_ring.reset();
    s.events.clear();
    return s;
  }
  throw std::runtime_error("no eye is called " + name);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fprintf(stderr, "usage: benchmark_export_eye NAME coarse|standard [rounds [time tolerance]]\n");
    return 2;
  }
  try {
    Scenario eye = eye_called(argv[1], argv[2]);
    if (argc > 4) eye.numerics.time_tolerance = std::atof(argv[4]);
    Least year, set_up;
    for (int round = argc > 3 ? std::atoi(argv[3]) : 3; round > 0; --round) {
      set_up.see(each_ms(1, [&] { const Model model(eye); }));
      year.see(each_ms(1, [&] { (void)simulate(eye); }));
    }
    const Model model(eye);
    const History history = simulate(eye);
    if (history.status() != Status::completed) throw std::runtime_error(history.message());
    Json out = equations(model, history);
    out["year_ms"] = year.value();
    out["set_up_ms"] = set_up.value();
    std::cout << out << '\n';
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
}
