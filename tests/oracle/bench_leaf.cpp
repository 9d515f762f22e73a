// SPDX-License-Identifier: BSD-3-Clause
// Solves the cases of cases.json with the library's own parts and prints what came out as JSON:
//   capsim_bench_leaf cases.json [id ...]
// Linear cases are solved at a small share of their load; what changes is divided by that share again.
#include <cmath>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>

#include "cut_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;
using Json = nlohmann::ordered_json;

namespace {

constexpr double linear_share = 1e-4;
constexpr double balance_mN = 1e-7;

struct Result {
  double area, center[2], pull, pull_cos, pull_cos2;
  std::vector<Point> rim, lips;
};

double degrees(double value) { return value * pi / 180; }

/// Cut lips first (clockwise, then counter-clockwise), and the rim every 15 degrees between them.
Result solve(const Json& c, double share, bool loaded) {
  const Json& l = c.at("leaf");
  LeafShape shape{l.at("rim_radius_mm"),
                  {l.at("rim_center_mm")[0], l.at("rim_center_mm")[1]},
                  l.at("equator_radius_mm"),
                  l.at("thickness_mm")};
  const double width = shape.equator_radius_mm - shape.rim_radius_mm;
  double band_end = 0;
  if (c.contains("band")) {
    const Json& band = c["band"];
    band_end = band.contains("to_fraction") ? band["to_fraction"].get<double>() * width
                                            : band.at("to_radius_mm").get<double>() - shape.rim_radius_mm;
    shape.lines_mm.push_back(band_end);
  }
  const Json& support = c.at("support");
  const double missing = degrees(support.value("missing_beyond_deg", 360.0));
  if (missing < pi) shape.rays = {missing, 2 * pi - missing};
  const Json& law = c.at("law");
  const bool linear = law.at("kind") == "linear";
  const Membrane membrane =
      linear ? hookean(law.at("modulus_kPa"), law.at("poisson_ratio")) : neo_hookean(law.at("shear_modulus_kPa"));
  std::vector<RadialCut> cuts;
  if (c.contains("cuts"))
    for (const Json& cut : c["cuts"]) cuts.push_back({degrees(cut.at("angle_deg")), cut.at("length_mm")});
  const Fineness fineness =
      cuts.empty() ? Fineness{0.25, 0.25, 0, 2 * pi / 48} : Fineness{0.25, 0.015, 0.3, 2 * pi / 48};
  CutAnnulus leaf(shape, membrane, cuts, fineness);
  if (loaded && band_end > 0) leaf.grow_band(band_end, 1 + share * c["band"].at("strain").get<double>());
  if (support.at("kind") == "held") {
    leaf.hold(shape.equator_radius_mm +
              share * (loaded ? support.at("edge_radius_mm").get<double>() - shape.equator_radius_mm : 0));
    leaf.pin();
  } else {
    const double ring = support.at("anchor_radius_mm"), slack = support.at("slack_length_mm");
    const double stretch = ring - shape.equator_radius_mm - slack;
    const double stiffness = support.at("stiffness_mN_per_mm2"), uneven = support.at("uneven");
    leaf.hang([=](double angle) { return std::abs(angle) > missing ? 0 : stiffness * (1 + uneven * std::cos(angle)); },
              ring, ring - shape.equator_radius_mm - (loaded ? share : 0) * stretch);
  }
  if (loaded && linear)
    leaf.solve_small(leaf.all_open());
  else if (loaded)
    leaf.solve(leaf.all_open(), balance_mN);

  Result r{};
  const OpeningShape opening = leaf.opening();
  if (opening.lips_cross) throw std::runtime_error("the lips of a cut cross");
  r.area = opening.area_mm2;
  r.center[0] = opening.center_mm[0];
  r.center[1] = opening.center_mm[1];
  const auto weigh = [&r](double angle, double pull) {
    r.pull += pull;
    r.pull_cos += pull * std::cos(angle);
    r.pull_cos2 += pull * std::cos(2 * angle);
  };
  if (support.at("kind") == "held")
    for (const auto& [angle, pull] : leaf.holding_forces()) weigh(angle, pull);
  else
    for (const Zonule::Bundle& b : leaf.zonule().bundles()) weigh(b.angle, leaf.zonule().tension_mN(b, leaf.x()));
  for (const RadialCut& cut : cuts)
    for (const int lip : {0, 1}) r.lips.push_back(leaf.position(leaf.rim_node(cut.angle, lip)));
  for (int k = 0; k < 24; ++k) {
    const double angle = degrees(15 * k);
    bool at_cut = false;
    for (const RadialCut& cut : cuts) at_cut = at_cut || std::abs(std::remainder(cut.angle - angle, 2 * pi)) < 1e-9;
    if (!at_cut) r.rim.push_back(leaf.rim_point(angle));
  }
  return r;
}

Json report(const Json& c) {
  const bool linear = c.at("law").at("kind") == "linear";
  Result r = solve(c, linear ? linear_share : 1, true);
  if (linear) {
    const Result before = solve(c, linear_share, false);
    const auto by_load = [](double& value, double start) { value = start + (value - start) / linear_share; };
    by_load(r.area, before.area);
    for (int i = 0; i < 2; ++i) by_load(r.center[i], before.center[i]);
    for (double* pull : {&r.pull, &r.pull_cos, &r.pull_cos2}) *pull /= linear_share;
    for (std::size_t k = 0; k < r.rim.size(); ++k)
      for (std::size_t i = 0; i < 2; ++i) by_load(r.rim[k][i], before.rim[k][i]);
  }
  return {{"id", c.at("id")},  {"area_mm2", r.area},        {"center_mm", {r.center[0], r.center[1]}},
          {"pull_mN", r.pull}, {"pull_cos_mN", r.pull_cos}, {"pull_cos2_mN", r.pull_cos2},
          {"rim_mm", r.rim},   {"lips_mm", r.lips}};
}

}  // namespace

int main(int argc, char** argv) try {
  if (argc < 2) throw std::runtime_error("usage: capsim_bench_leaf cases.json [id ...]");
  std::ifstream in(argv[1]);
  const Json all = Json::parse(in);
  Json answers = Json::array();
  for (const Json& c : all.at("cases")) {
    bool wanted = argc == 2;
    for (int i = 2; i < argc; ++i) wanted = wanted || c.at("id") == argv[i];
    if (wanted) answers.push_back(report(c));
  }
  std::cout << answers.dump(1) << "\n";
  return 0;
} catch (const std::exception& error) {
  std::cerr << error.what() << "\n";
  return 1;
}
