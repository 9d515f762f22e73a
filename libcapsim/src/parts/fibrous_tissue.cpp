// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/fibrous_tissue.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "parts/cell_kinetics.hpp"
#include "parts/pulled_length.hpp"
#include "parts/surface.hpp"
#include "parts/tissue_sheet.hpp"

namespace capsim {
namespace {

constexpr double half_root = 0.70710678118654752440;

// Unit direction of a family, given the hoop direction (cx, cy); radial is hoop turned clockwise.
inline void direction(int family, double cx, double cy, double* d) noexcept {
  switch (family) {
    case 0:
      d[0] = cx;
      d[1] = cy;
      return;
    case 1:
      d[0] = half_root * (cx + cy);
      d[1] = half_root * (cy - cx);
      return;
    case 2:
      d[0] = half_root * (cx - cy);
      d[1] = half_root * (cy + cx);
      return;
    default:
      d[0] = cy;
      d[1] = -cx;
      return;
  }
}

}  // namespace

// Points of the part are numbered from its first element; the patch's from element 0.
struct TissueDensity {
  const FibrousTissue& part;
  const FibrousTissue::Fields& fields;
  std::size_t offset;

  template <class Visit>
  void families(std::size_t k, const double* f, Visit&& visit) const noexcept {
    const double fraction = fields.fraction[k];
    const bool active = !fields.active[0].empty();
    if (fraction <= no_tissue && !active) return;
    for (int i = 0; i < fibre_families; ++i) {
      const double stiffness = part.stiffness_[i] * fraction;
      const double tension = active ? fields.active[i][k] : 0;
      if (stiffness == 0 && tension == 0) continue;
      double d[2];
      direction(i, part.hoop_[2 * k], part.hoop_[2 * k + 1], d);
      const double n0 = f[0] * d[0] + f[1] * d[1], n1 = f[2] * d[0] + f[3] * d[1];
      const double stretch = std::sqrt(n0 * n0 + n1 * n1), v = fields.natural[i][k];
      const double strain = stiffness > 0 ? std::max(stretch / v - 1, 0.0) : 0;
      const PulledLength pulled(stretch, fields.stall);
      const double w1 = stiffness * strain / v + tension * pulled.slope;
      const double w2 = (strain > 0 ? stiffness / (v * v) : 0) + tension * pulled.bend;
      if (w1 != 0) visit(d, n0, n1, stretch, 0.5 * stiffness * strain * strain + tension * pulled.length, w1, w2);
    }
  }

  // The sheet with a natural state of its own stands in for fibres and matrix.
  [[nodiscard]] bool sheet(std::size_t k) const noexcept {
    return !fields.natural_sheet[0].empty() && part.thickness_ > 0 && fields.fraction[k] > no_tissue;
  }
  // F in the frame (radial, hoop) times the inverse of the sheet's natural stretch.
  [[nodiscard]] surface::ElasticPart sheet_part(std::size_t k) const noexcept {
    const double hx = part.hoop_[2 * k], hy = part.hoop_[2 * k + 1];
    const SymmetricTensor u =
        inverse({fields.natural_sheet[0][k], fields.natural_sheet[1][k], fields.natural_sheet[2][k]});
    return {{hy * u.xx + hx * u.xy, hy * u.xy + hx * u.yy, -hx * u.xx + hy * u.xy, -hx * u.xy + hy * u.yy}};
  }

  [[nodiscard]] double matrix_scale(std::size_t k) const noexcept {
    return fields.natural_sheet[0].empty() ? part.matrix_thickness_ * fields.fraction[k] : 0;
  }

  double energy(std::size_t p, const double* f) const noexcept {
    const std::size_t k = p - offset;
    double w = 0;
    families(k, f, [&](const double*, double, double, double, double e, double, double) { w += e; });
    if (const double h = matrix_scale(k); h > 0) {
      const surface::Split s(f);
      if (s.folded()) return std::numeric_limits<double>::infinity();
      if (taut_state(part.matrix_, s.l1(), s.l2()) != TautState::taut)
        w += h * (part.matrix_.full(s.l1(), s.l2()).w - part.matrix_.relaxed(s.l1(), s.l2()).w);
    }
    if (sheet(k)) {
      double fe[4];
      sheet_part(k).of(f, fe);
      const surface::Split s(fe);
      if (s.folded()) return std::numeric_limits<double>::infinity();
      w += part.thickness_ * fields.fraction[k] * part.sheet_->response(s.l1(), s.l2()).w;
    }
    return w;
  }

  double stress(std::size_t p, const double* f, double* stress) const noexcept {
    const std::size_t k = p - offset;
    double w = 0;
    families(k, f, [&](const double* d, double n0, double n1, double stretch, double e, double w1, double) {
      w += e;
      const double t = w1 / stretch;
      stress[0] += t * n0 * d[0];
      stress[1] += t * n0 * d[1];
      stress[2] += t * n1 * d[0];
      stress[3] += t * n1 * d[1];
    });
    if (const double h = matrix_scale(k); h > 0) {
      const surface::Split s(f);
      if (s.folded()) return std::numeric_limits<double>::infinity();
      if (taut_state(part.matrix_, s.l1(), s.l2()) != TautState::taut) {
        const StretchResponse r = matrix_response(s);
        w += h * r.w;
        surface::add_isotropic_stress(s, r, h, stress);
      }
    }
    if (sheet(k)) {
      const surface::ElasticPart elastic = sheet_part(k);
      double fe[4], pe[4] = {};
      elastic.of(f, fe);
      const surface::Split s(fe);
      if (s.folded()) return std::numeric_limits<double>::infinity();
      const double h = part.thickness_ * fields.fraction[k];
      const StretchResponse r = part.sheet_->response(s.l1(), s.l2());
      surface::add_isotropic_stress(s, r, h, pe);
      elastic.pull_back_stress(pe);
      for (int i = 0; i < 4; ++i) stress[i] += pe[i];
      w += h * r.w;
    }
    return w;
  }

  void tangent(std::size_t p, const double* f, Curvature curvature, double* a) const noexcept {
    const std::size_t k = p - offset;
    families(k, f, [&](const double* d, double n0, double n1, double stretch, double, double w1, double w2) {
      const double t = w1 / stretch, b = (w2 - t) / (stretch * stretch);
      const double g[4] = {n0 * d[0], n0 * d[1], n1 * d[0], n1 * d[1]};
      for (int i = 0; i < 4; ++i)
        for (int j = 0; j < 4; ++j) a[4 * i + j] += b * g[i] * g[j];
      const double dd[3] = {t * d[0] * d[0], t * d[0] * d[1], t * d[1] * d[1]};
      a[0] += dd[0];
      a[1] += dd[1];
      a[4] += dd[1];
      a[5] += dd[2];
      a[10] += dd[0];
      a[11] += dd[1];
      a[14] += dd[1];
      a[15] += dd[2];
    });
    if (const double h = matrix_scale(k); h > 0) {
      const surface::Split s(f);
      if (!s.folded() && taut_state(part.matrix_, s.l1(), s.l2()) != TautState::taut)
        surface::add_isotropic_tangent(s, matrix_response(s), h, curvature, a);
    }
    if (sheet(k)) {
      const surface::ElasticPart elastic = sheet_part(k);
      double fe[4], ae[16] = {};
      elastic.of(f, fe);
      const surface::Split s(fe);
      if (s.folded()) return;
      surface::add_isotropic_tangent(s, part.sheet_->response(s.l1(), s.l2()), part.thickness_ * fields.fraction[k],
                                     curvature, ae);
      elastic.pull_back_tangent(ae);
      for (int i = 0; i < 16; ++i) a[i] += ae[i];
    }
  }

  [[nodiscard]] StretchResponse matrix_response(const surface::Split& s) const noexcept {
    const StretchResponse u = part.matrix_.full(s.l1(), s.l2()), r = part.matrix_.relaxed(s.l1(), s.l2());
    return {u.w - r.w, u.w1 - r.w1, u.w2 - r.w2, u.w11 - r.w11, u.w12 - r.w12, u.w22 - r.w22};
  }
};

FibrousTissue::FibrousTissue(const Patch& patch, int first_element, int last_element, std::vector<double> hoop,
                             const TissueMaterial& material)
    : patch_(&patch),
      first_(first_element),
      last_(last_element),
      hoop_(std::move(hoop)),
      stiffness_(material.fibre_stiffness_mN_per_mm),
      matrix_thickness_(material.matrix_modulus_kPa > 0 ? material.thickness_mm : 0) {
  const std::size_t n = static_cast<std::size_t>(last_ - first_) * patch.points_per_element;
  if (hoop_.size() != 2 * n) throw InternalError("fibrous tissue: one hoop direction per point is needed");
  matrix_.mu_kPa = material.matrix_modulus_kPa / 3;
  fields_.fraction.assign(n, 0);
  for (auto& v : fields_.natural) v.assign(n, 1);
  if (!(material.sheet_modulus_kPa > 0)) return;
  stiffness_.fill(0);
  thickness_ = material.thickness_mm;
  sheet_ = std::make_shared<const TissueSheet>(material);
  fields_.natural_sheet[0].assign(n, 1);
  fields_.natural_sheet[1].assign(n, 0);
  fields_.natural_sheet[2].assign(n, 1);
}
FibrousTissue::~FibrousTissue() = default;
FibrousTissue::FibrousTissue(const FibrousTissue&) = default;

std::unique_ptr<Part> FibrousTissue::clone() const { return std::make_unique<FibrousTissue>(*this); }

void FibrousTissue::couplings(std::span<const double>, Cliques& cliques) {
  surface::add_element_cliques(*patch_, first_, last_, cliques);
}

double FibrousTissue::energy(std::span<const double> x) const {
  return surface::with_nodes(*patch_, [&](auto n) {
    return surface::energy<n>(
        *patch_, x.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::gradient(std::span<const double> x, std::span<double> g) const {
  return surface::with_nodes(*patch_, [&](auto n) {
    return surface::gradient<n>(
        *patch_, x.data(), g.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::energy_by_reference(std::span<const double> x, std::span<const double> shift) const {
  return surface::with_nodes(*patch_, [&](auto n) {
    return surface::energy_by_reference<n>(
        *patch_, x.data(), shift.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

namespace {

// The outer edge xi = 1 of a quadrilateral: its Gauss points, and the values there of what is known at the element's
// points, by the polynomial through those of a line.
struct OuterEdge {
  int count;
  double at[3], value[3], weight[3];
  explicit OuterEdge(int points) noexcept : count(points), value{}, weight{1, 1, 0} {
    const double g = points == 2 ? std::sqrt(1.0 / 3) : std::sqrt(0.6);
    at[0] = -g;
    at[1] = points == 2 ? g : 0;
    at[2] = g;
    if (points == 3) weight[0] = weight[2] = 5.0 / 9, weight[1] = 8.0 / 9;
    for (int k = 0; k < count; ++k) {
      value[k] = 1;
      for (int j = 0; j < count; ++j)
        if (j != k) value[k] *= (1 - at[j]) / (at[k] - at[j]);
    }
  }
};

// Calls visit(values, moved) for every field that the tissue has.
template <class Visit>
void each_field(const FibrousTissue::Fields& fields, FibrousTissue::Fields& moved, Visit&& visit) {
  visit(fields.fraction, moved.fraction);
  for (std::size_t i = 0; i < fibre_families; ++i) {
    visit(fields.natural[i], moved.natural[i]);
    if (!fields.active[i].empty()) visit(fields.active[i], moved.active[i]);
  }
  for (std::size_t i = 0; i < 3; ++i)
    if (!fields.natural_sheet[i].empty()) visit(fields.natural_sheet[i], moved.natural_sheet[i]);
}

// Energy per length of the outer edge of element e that the edge's own shift leaves behind; `energy` at the points.
double left_at_edge(const Patch& patch, std::span<const double> shift, std::span<const double> reference, int e,
                    const double* energy) {
  const int nodes = patch.nodes_per_element, order = nodes == 4 ? 1 : 2;
  const OuterEdge edge(order + 1);
  const int* node = &patch.nodes[static_cast<std::size_t>(e) * nodes];
  double total = 0;
  for (int k = 0; k < edge.count; ++k) {
    double shape[8], s[2] = {}, t[2] = {}, w = 0;  // the shift, dX/d(eta), the energy density
    quad_shape(order, 1, edge.at[k], shape);
    for (int a = 0; a < nodes; ++a)
      for (std::size_t i = 0; i < 2; ++i) s[i] += shape[a] * shift[2 * static_cast<std::size_t>(node[a]) + i];
    for (int i = 0; i < edge.count; ++i) {
      const int q = i * edge.count + k;
      w += edge.value[i] * energy[q];
      for (int a = 0; a < nodes; ++a)
        for (std::size_t d = 0; d < 2; ++d)
          t[d] += edge.value[i] * patch.local_gradient[(static_cast<std::size_t>(q) * nodes + a) * 2 + 1] *
                  reference[2 * static_cast<std::size_t>(node[a]) + d];
    }
    total += edge.weight[k] * std::max(w, 0.0) * (s[0] * t[1] - s[1] * t[0]);
  }
  return total;
}

}  // namespace

double FibrousTissue::energy_by_place(std::span<const double> x, std::span<const double> shift,
                                      std::span<const double> reference, int border_element, Fields& moved) const {
  const Patch& patch = *patch_;
  const std::size_t per = static_cast<std::size_t>(patch.points_per_element);
  const TissueDensity here{*this, fields_, static_cast<std::size_t>(first_) * per};
  const TissueDensity there{*this, moved, here.offset};
  moved = fields_;
  double total = 0;
  surface::with_nodes(patch, [&](auto n) {
    for (int e = first_; e < last_; ++e) {
      if (surface::at_rest<n>(patch, shift.data(), e)) continue;
      const std::size_t first = static_cast<std::size_t>(e - first_) * per;
      double energy[2];
      for (const int sign : {1, -1}) {
        each_field(fields_, moved, [&](const std::vector<double>& values, std::vector<double>& changed) {
          double change[9];  // most points of an element
          patch.change_along(shift, e, {&values[first], per}, 1, {change, per});
          for (std::size_t q = 0; q < per; ++q)
            changed[first + q] = values[first + q] + sign * surface::field_step_mm * change[q];
        });
        energy[sign < 0] = surface::energy<n>(patch, x.data(), e, e + 1, there);
      }
      total += (energy[0] - energy[1]) / (2 * surface::field_step_mm);
      if (e < border_element) continue;
      double density[9];
      for (std::size_t q = 0; q < per; ++q)
        density[q] =
            here.energy(here.offset + first + q, deformation_gradient(patch, x, e, static_cast<int>(q)).data());
      total -= left_at_edge(patch, shift, reference, e, density);
    }
  });
  return total;
}

void FibrousTissue::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  surface::with_nodes(*patch_, [&](auto n) {
    surface::hessian<n>(*patch_, x.data(), curvature, 0, tangent, first_, last_,
                        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::area_mm2(std::size_t p) const noexcept {
  return patch_->weights[static_cast<std::size_t>(first_) * patch_->points_per_element + p];
}

void FibrousTissue::stretches(std::span<const double> x, std::span<double> out) const {
  const std::size_t n = points();
  surface::with_nodes(*patch_, [&](auto nodes) {
    std::size_t k = 0;
    for (int e = first_; e < last_; ++e) {
      double position[2 * nodes];
      surface::gather<nodes>(*patch_, x.data(), e, position);
      for (int q = 0; q < patch_->points_per_element; ++q, ++k) {
        double f[4], d[2];
        surface::deformation<nodes>(
            position, &patch_->gradients[(static_cast<std::size_t>(e) * patch_->points_per_element + q) * 2 * nodes],
            f);
        for (int i = 0; i < fibre_families; ++i) {
          direction(i, hoop_[2 * k], hoop_[2 * k + 1], d);
          const double n0 = f[0] * d[0] + f[1] * d[1], n1 = f[2] * d[0] + f[3] * d[1];
          out[static_cast<std::size_t>(i) * n + k] = std::sqrt(n0 * n0 + n1 * n1);
        }
      }
    }
  });
}

double FibrousTissue::tension_mN_per_mm(std::size_t p, int family, double stretch) const noexcept {
  const double v = fields_.natural[family][p];
  const double passive = stiffness_[family] * fields_.fraction[p] * std::max(stretch / v - 1, 0.0) / v;
  return passive +
         (fields_.active[family].empty() ? 0 : fields_.active[family][p] * PulledLength(stretch, fields_.stall).slope);
}

double FibrousTissue::sheet_tension_mN_per_mm(std::size_t p, const std::array<double, 4>& f) const noexcept {
  if (!sheet_ || fields_.fraction[p] <= no_tissue) return 0;
  const double hx = hoop_[2 * p], hy = hoop_[2 * p + 1];
  const double r[2] = {f[0] * hy - f[1] * hx, f[2] * hy - f[3] * hx},
               h[2] = {f[0] * hx + f[1] * hy, f[2] * hx + f[3] * hy};
  const SymmetricTensor metric{r[0] * r[0] + r[1] * r[1], r[0] * h[0] + r[1] * h[1], h[0] * h[0] + h[1] * h[1]};
  const SymmetricTensor stretch = of_eigenvalues(metric, [](double v) { return std::sqrt(std::max(v, 0.0)); });
  return thickness_ * fields_.fraction[p] *
         sheet_->hoop_stress_kPa(
             stretch, {fields_.natural_sheet[0][p], fields_.natural_sheet[1][p], fields_.natural_sheet[2][p]});
}

}  // namespace capsim
