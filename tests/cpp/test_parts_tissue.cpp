// SPDX-License-Identifier: BSD-3-Clause
// The fibrous tissue against what part.hpp demands, and what its fibres and its matrix carry.
#include <limits>

#include "capsim/contraction_law.hpp"
#include "stretched_annulus.hpp"

using namespace capsim;
using namespace capsim::checks;

namespace {

/// Tissue on the inner layer, its fields random; families both taut and slack about stretch 1.
FibrousTissue tissue_on(const Mesh& mesh, const ContractionSpec& spec, bool active) {
  const int last = mesh.plan().around;
  FibrousTissue tissue(mesh.anterior(), 0, last, hoop_directions(mesh, 0, last), tissue_material(spec));
  std::mt19937 random(5);
  std::uniform_real_distribution<double> share(0, 1);
  for (double& f : tissue.fields().fraction) f = share(random);
  for (auto& natural : tissue.fields().natural)
    for (double& v : natural) v = 0.7 + 0.6 * share(random);
  if (active)
    for (auto& tension : tissue.fields().active) {
      tension.resize(tissue.points());
      for (double& t : tension) t = 0.3 * share(random);
    }
  return tissue;
}

ContractionSpec four_families() {
  ContractionSpec spec;
  spec.hoop_weight = 0.6;
  spec.diagonal_weight = 0.25;
  spec.radial_weight = 0.15;
  return spec;
}

}  // namespace

TEST_CASE("fibrous_tissue_derivatives_agree_with_differences", "[parts][fibrosis]") {
  const int order = GENERATE(1, 2);
  const bool active = GENERATE(false, true);
  const double matrix = GENERATE(0.0, 20.0);
  const Mesh mesh = annulus(of_order(order));
  ContractionSpec spec = four_families();
  spec.matrix_modulus_kPa = matrix;
  FibrousTissue tissue = tissue_on(mesh, spec, active);
  CheckOptions options;
  options.force_scale_mN = 1e-3;
  for (const State& state : states) {
    INFO("order " << order << ", active " << active << ", matrix " << matrix << ", " << state.name);
    check_part(tissue, stretched(mesh, state.sx, state.sy, state.noise, 13), options);
  }
}

TEST_CASE("tissue_on_a_folded_element_has_infinite_energy", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  Vector x = mesh.reference();
  const std::size_t node = 2 * static_cast<std::size_t>(mesh.node(2, 2));
  x[node] *= -1;
  x[node + 1] *= -1;
  Vector g(x.size(), 0.0);
  const FibrousTissue tissue = tissue_on(mesh, ContractionSpec{}, false);
  CHECK(tissue.energy(x) == std::numeric_limits<double>::infinity());
  CHECK(tissue.gradient(x, g) == std::numeric_limits<double>::infinity());
}

TEST_CASE("fibres_shorter_than_their_natural_length_carry_nothing", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  ContractionSpec spec = four_families();
  spec.matrix_modulus_kPa = 0;
  FibrousTissue tissue = tissue_on(mesh, spec, false);
  for (auto& natural : tissue.fields().natural) natural.assign(natural.size(), 1.4);
  const Vector x = stretched(mesh, 1.2, 1.2, 0.01, 14);
  CHECK(tissue.energy(x) == 0);
  CHECK(as_eigen(gradient_of(tissue, x)).cwiseAbs().maxCoeff() == 0);
  for (int family = 0; family < fibre_families; ++family) CHECK(tissue.tension_mN_per_mm(0, family, 1.39) == 0);
  CHECK(tissue.tension_mN_per_mm(0, 0, 1.41) > 0);
}

TEST_CASE("fibre_families_lie_along_the_hoop_at_45_degrees_and_radially", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  const FibrousTissue tissue = tissue_on(mesh, four_families(), false);
  const std::array<double, 4> f{1.2, 0.15, -0.05, 0.9};  // any deformation
  Vector x = mesh.reference();
  for (std::size_t i = 0; i < x.size(); i += 2) {
    const double px = x[i], py = x[i + 1];
    x[i] = f[0] * px + f[1] * py;
    x[i + 1] = f[2] * px + f[3] * py;
  }
  Vector stretches(fibre_families * tissue.points());
  tissue.stretches(x, stretches);
  const auto stretch_along = [&](double angle) {
    return std::hypot(f[0] * std::cos(angle) + f[1] * std::sin(angle), f[2] * std::cos(angle) + f[3] * std::sin(angle));
  };
  for (std::size_t p = 0; p < tissue.points(); ++p) {
    const double hoop = std::atan2(tissue.hoop()[2 * p + 1], tissue.hoop()[2 * p]);
    const double expected[fibre_families] = {stretch_along(hoop), stretch_along(hoop - pi / 4),
                                             stretch_along(hoop + pi / 4), stretch_along(hoop - pi / 2)};
    for (std::size_t i = 0; i < fibre_families; ++i)
      CHECK(stretches[i * tissue.points() + p] == Approx(expected[i]).epsilon(rounding));
  }
}

TEST_CASE("the_matrix_of_the_tissue_resists_compression_only", "[parts][fibrosis]") {
  const Mesh mesh = annulus(small);
  ContractionSpec spec;
  spec.fibre_modulus_kPa = 0;
  FibrousTissue tissue = tissue_on(mesh, spec, false);
  const Vector taut = stretched(mesh, 1.25, 1.2, 0.02, 15), slack = stretched(mesh, 0.85, 0.9, 0.02, 15);
  CHECK(tissue.energy(taut) == 0);
  CHECK(as_eigen(gradient_of(tissue, taut)).cwiseAbs().maxCoeff() == 0);
  CHECK(tissue.energy(slack) > 0);
}
