// SPDX-License-Identifier: BSD-3-Clause
// The lens against what part.hpp demands, and the push of its haptics.
#include "capsim/lens.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

TEST_CASE("lens_derivatives_agree_with_differences", "[parts][lens]") {
  const int order = GENERATE(1, 2);
  const int haptics = GENERATE(0, 2, 3);
  const bool bonded = GENERATE(false, true);
  const Mesh mesh = annulus(of_order(order));
  const int first = 2 * mesh.nodes();
  Lens lens(first, 0.7, 6.5, 0.7, 30, haptic_contacts(mesh, haptics, 0.3, 40 * pi / 180));
  if (bonded) {
    std::vector<Lens::Bond> bonds;
    for (int e = 0; e < 3; ++e)
      for (int q = 0; q < mesh.anterior().points_per_element; ++q)
        bonds.push_back({e, q, mesh.anterior().at(mesh.reference(), e, q), 0.4});
    lens.bond(mesh.anterior(), bonds, 0.5);
  }
  lens.set_day(12);
  CheckOptions options;
  options.rotation_coordinate = first + 2;
  options.force_scale_mN = 1e-2;
  for (const double scale : {0.95, 1.05, 1.3}) {  // pressed; some pressed; free
    Vector x = stretched(mesh, scale, scale, 0.1, 31, 3);
    x[static_cast<std::size_t>(first)] = 0.3;
    x[static_cast<std::size_t>(first) + 1] = -0.2;
    x[static_cast<std::size_t>(first) + 2] = 0.15;
    INFO("order " << order << ", haptics " << haptics << ", bonded " << bonded << ", scale " << scale);
    check_part(lens, x, options);
  }
}

TEST_CASE("a_haptic_that_does_not_touch_pushes_nothing", "[parts][lens]") {
  const Mesh mesh = annulus(small);
  Lens lens(2 * mesh.nodes(), 0.7, 6.5, 0.7, 30, haptic_contacts(mesh, 2, 0, 40 * pi / 180));
  Vector x = stretched(mesh, 1.4, 1.4, 0.05, 32, 3);
  CHECK(lens.push_mN(x) == 0);
  CHECK(lens.energy(x) == 0);
  CHECK(as_eigen(gradient_of(lens, x)).cwiseAbs().maxCoeff() == 0);
}

TEST_CASE("the_shares_of_a_haptic_add_up_to_its_stated_force", "[parts][lens]") {
  AnnulusShape shape = small;
  shape.around = 24;
  const Mesh mesh = annulus(shape);
  for (const int haptics : {2, 3, 4}) {
    const auto contacts = haptic_contacts(mesh, haptics, 0.4, 40 * pi / 180);
    double sum = 0;
    for (const Lens::Contact& contact : contacts) sum += contact.weight;
    CHECK(sum == Approx(haptics).epsilon(1e-12));
    const Lens lens(2 * mesh.nodes(), 0.8, 6.5, 0.7, 30, contacts);
    const Vector x = stretched(mesh, 1, 1, 0, 33, 3);  // 1.5 mm compressed all along the arc
    CHECK(lens.push_mN(x) == Approx(haptics * 0.8 * 1.5).epsilon(1e-3));
  }
}
