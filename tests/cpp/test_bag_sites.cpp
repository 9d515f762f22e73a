// SPDX-License-Identifier: BSD-3-Clause
// Where tissue lies outside the optic and beyond the contact: mesh lines, points, and what keeps it away.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "capsim/fibre_remodelling.hpp"
#include "capsim/fibrous_tissue.hpp"
#include "capsim/model.hpp"
#include "run/bag_sites.hpp"
#include "worked_eyes.hpp"

using namespace capsim;
using capsim::test::fusing_eye;

TEST_CASE("mesh_lines_of_both_leaves_lie_on_the_edge_of_the_optic", "[model][bag_tissue]") {
  Scenario s = fusing_eye();
  s.mesh = GENERATE(MeshSpec::coarse(), MeshSpec::standard());
  const Model model(s);
  const Mesh& mesh = model.mesh();
  const std::vector<double>& x = model.rest_as_stated();
  const auto on_edge = [&](const TissueSite& site, int inner_row_node) {
    INFO(site.first);
    return std::hypot(x[2 * static_cast<std::size_t>(inner_row_node)],
                      x[2 * static_cast<std::size_t>(inner_row_node) + 1]);
  };
  const int order = mesh.plan().order, around = mesh.plan().around;
  const TissueSite &front = model.bag_sites()[0], &back = model.bag_sites()[1];
  CHECK(on_edge(front, mesh.node(front.first / around * order, 0)) == Approx(3).margin(1e-3));
  const int layers = mesh.plan().posterior_layers - back.first / around;
  CHECK(on_edge(back, mesh.posterior_node(layers * order, 0)) == Approx(3).margin(0.03));
}

TEST_CASE("the_rim_beyond_the_contact_has_fewer_points_unless_its_law_grows_the_leaf", "[model][bag_tissue]") {
  struct Growing : FibreRemodelling {
    using FibreRemodelling::FibreRemodelling;
    [[nodiscard]] bool grows_leaf() const noexcept override { return true; }
  };
  Scenario s = fusing_eye();
  s.contraction.band_width_mm = 0.2;
  CHECK_FALSE(Model(s).rim_beyond());
  s.contraction.cells_beyond_contact = 1;
  const Model model(s);
  const auto beyond = model.rim_beyond();
  REQUIRE(beyond);
  const auto inside = model.make_fibrous_tissue();
  CHECK(beyond->first == inside->last_element());
  CHECK(beyond->last == model.tissue_layers() * model.mesh().plan().around);
  CHECK(beyond->cells.size() == static_cast<std::size_t>(4 * (beyond->last - beyond->first)));
  const Growing growing(s.contraction);
  CHECK_FALSE(model.rim_beyond(&growing));
  CHECK(model.make_fibrous_tissue(&growing)->points() == model.initial_cells().size());
}

// Found by the campaign (whole_bag 900313): of an unloaded leaf drawn out far over five missing hours ten of the 2 x 2
// points had a negative area, whose tissue pushed until no time step was short enough.
TEST_CASE("no_tissue_lies_where_the_unloaded_leaf_is_folded", "[model][bag_tissue]") {
  Scenario s = fusing_eye();
  s.mesh = MeshSpec::standard();
  s.bag.equator_diameter_mm = 10.08;
  s.opening.diameter_mm = 4.98;
  s.lens->optic_diameter_mm = 5.5;
  s.capsule.modulus_kPa = 562;
  s.capsule.anterior_thickness_um = 11.1;
  s.capsule.posterior_thickness_um = 3.31;
  s.zonule.pull_mN = 39.6;
  s.zonule.strength = 0.524;
  s.zonule.interpolation = HourInterpolation::smooth;
  s.zonule.strength_by_hour = {{9, 0}, {10, 0}, {11, 0}, {12, 0}, {1, 0}, {2, 0.262}};
  const Model model(s);
  REQUIRE(model.bag_sites().size() == 2);
  int folded = 0;
  for (const TissueSite& site : model.bag_sites()) {
    const int per = site.patch->points_per_element;
    for (std::size_t k = 0; k < site.cells.size(); ++k) {
      const int element = site.first + static_cast<int>(k) / per, point = static_cast<int>(k) % per;
      if (has_area(*site.patch, element, point)) continue;
      ++folded;
      CHECK(site.cells[k] == 0);
    }
  }
  const Patch fours = model.mesh().anterior().with_four_points(model.mesh().reference());
  CHECK(std::any_of(fours.weights.begin(), fours.weights.end(), [](double w) { return w < 0; }));
  CHECK(folded > 0);
}

TEST_CASE("no_tissue_outside_the_optic_without_modulus_posterior_leaf_or_lens", "[model][bag_tissue]") {
  Scenario s = fusing_eye();
  CHECK(Model(s).bag_sites().size() == 2);
  s.bag_tissue.fibre_modulus_kPa = 0;
  CHECK(Model(s).bag_sites().empty());
  s = fusing_eye();
  s.capsule.posterior_thickness_um = 0;
  CHECK(Model(s).bag_sites().empty());
  s = fusing_eye();
  s.lens.reset();
  CHECK(Model(s).bag_sites().empty());
  s.bag_tissue.inner_diameter_mm = 6;
  CHECK(Model(s).bag_sites().size() == 2);
}
