// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/fibrous_tissue.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "parts/membrane_kinks.hpp"
#include "parts/tissue_density.hpp"

namespace capsim {

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
  return surface::with_kind(*patch_, [&](auto kind) {
    return surface::energy<kind.value>(
        *patch_, x.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::gradient(std::span<const double> x, std::span<double> g) const {
  return surface::with_kind(*patch_, [&](auto kind) {
    return surface::gradient<kind.value>(
        *patch_, x.data(), g.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::energy_by_reference(std::span<const double> x, std::span<const double> shift) const {
  return surface::with_kind(*patch_, [&](auto kind) {
    return surface::energy_by_reference<kind.value>(
        *patch_, x.data(), shift.data(), first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

namespace {

constexpr std::size_t most_points_of_an_element = 9;  // of a quadrilateral with eight nodes

// The outer edge xi = 1 of a quadrilateral, or the inner one xi = -1: its Gauss points, and the values there of what is
// known at the element's points, by the polynomial through those of a line.
struct LayerEdge : GaussLine {
  double value[3] = {};
  LayerEdge(int points, double xi) noexcept : GaussLine(points) {
    for (int k = 0; k < count; ++k) {
      value[k] = 1;
      for (int j = 0; j < count; ++j)
        if (j != k) value[k] *= (xi - at[j]) / (at[k] - at[j]);
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

// Energy per length of an edge of element e (xi = 1 or -1) that its own shift leaves behind; `energy` at the points.
double left_at_edge(const Patch& patch, std::span<const double> shift, std::span<const double> reference, int e,
                    double xi, const double* energy) {
  const int nodes = patch.nodes_per_element, order = nodes == 4 ? 1 : 2;
  const LayerEdge edge(patch.points_per_element == 4 ? 2 : 3, xi);
  const int* node = &patch.nodes[static_cast<std::size_t>(e) * nodes];
  double total = 0;
  for (int k = 0; k < edge.count; ++k) {
    double shape[8], s[2] = {}, t[2] = {}, w = 0;  // the shift, dX/d(eta), the energy density
    quad_shape(order, xi, edge.at[k], shape);
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
    total += xi * edge.weight[k] * std::max(w, 0.0) * (s[0] * t[1] - s[1] * t[0]);
  }
  return total;
}

}  // namespace

double FibrousTissue::energy_by_place(std::span<const double> x, std::span<const double> shift,
                                      std::span<const double> reference, int around, Fields& moved) const {
  const Patch& patch = *patch_;
  const std::size_t per = static_cast<std::size_t>(patch.points_per_element);
  const TissueDensity here{*this, fields_, static_cast<std::size_t>(first_) * per};
  const TissueDensity there{*this, moved, here.first_point};
  moved = fields_;
  double total = 0;
  surface::with_kind(patch, [&](auto kind) {
    for (int e = first_; e < last_; ++e) {
      if (surface::at_rest<kind.value.nodes>(patch, shift.data(), e)) continue;
      const std::size_t first = static_cast<std::size_t>(e - first_) * per;
      const auto energy_moved_by = [&](double distance_mm) {
        each_field(fields_, moved, [&](const std::vector<double>& values, std::vector<double>& changed) {
          double change[most_points_of_an_element];
          patch.change_along(shift, e, {&values[first], per}, 1, {change, per});
          for (std::size_t q = 0; q < per; ++q) changed[first + q] = values[first + q] + distance_mm * change[q];
        });
        return surface::energy_of_element<kind.value>(patch, x.data(), e, there);
      };
      const double ahead = energy_moved_by(surface::field_step_mm);
      const double behind = energy_moved_by(-surface::field_step_mm);
      total += (ahead - behind) / (2 * surface::field_step_mm);
      const bool outermost = e >= last_ - around, innermost = first_ > 0 && e < first_ + around;
      if (!outermost && !innermost) continue;
      double density[most_points_of_an_element] = {};
      for (std::size_t q = 0; q < per; ++q)
        density[q] =
            here.energy(surface::OnePoint{first + q}, tensor(deformation_gradient(patch, x, e, static_cast<int>(q))));
      if (outermost) total -= left_at_edge(patch, shift, reference, e, 1, density);
      if (innermost) total -= left_at_edge(patch, shift, reference, e, -1, density);
    }
  });
  return total;
}

void FibrousTissue::hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const {
  surface::with_kind(*patch_, [&](auto kind) {
    surface::hessian<kind.value>(
        *patch_, x.data(), curvature, 0, tangent, first_, last_,
        TissueDensity{*this, fields_, static_cast<std::size_t>(first_) * patch_->points_per_element});
  });
}

double FibrousTissue::area_mm2(std::size_t p) const noexcept {
  return patch_->weights[static_cast<std::size_t>(first_) * patch_->points_per_element + p];
}

namespace {

// Stretch of every family at `count` points, those of the elements first..last-1.
template <surface::ElementKind kind>
CAPSIM_INLINE void put_stretches(const Patch& patch, const double* x, int first, int last, const double* hoop,
                                 std::size_t count, double* out) noexcept {
  const std::size_t first_point = static_cast<std::size_t>(first) * patch.points_per_element;
  surface::each_four_points<kind>(patch, x, first, last, first_point,
                                  [&](const auto& elements, const TensorOf<Lanes>& f) CAPSIM_INLINE_LAMBDA {
                                    const VectorOf<Lanes> along_hoop = surface::vector_at(elements.at, hoop);
                                    for (int i = 0; i < fibre_families; ++i) {
                                      const VectorOf<Lanes> along = f * direction(i, along_hoop);
                                      const Lanes stretch = sqrt(dot(along, along));
                                      double* family = out + static_cast<std::size_t>(i) * count;
                                      for (int lane = elements.from; lane < elements.to; ++lane)
                                        family[elements.at.point[lane]] = stretch[lane];
                                    }
                                  });
}

#if CAPSIM_HAS_WIDE_LANES
template <surface::ElementKind kind>
CAPSIM_WIDE_LANES void put_stretches_wide(const Patch& patch, const double* x, int first, int last, const double* hoop,
                                          std::size_t count, double* out) noexcept {
  put_stretches<kind>(patch, x, first, last, hoop, count, out);
}
#endif

}  // namespace

void FibrousTissue::stretches(std::span<const double> x, std::span<double> out) const {
  surface::with_kind(*patch_, [&](auto kind) {
#if CAPSIM_HAS_WIDE_LANES
    if constexpr (surface::worth_widening<kind.value>)
      if (wide_lanes())
        return put_stretches_wide<kind.value>(*patch_, x.data(), first_, last_, hoop_.data(), points(), out.data());
#endif
    put_stretches<kind.value>(*patch_, x.data(), first_, last_, hoop_.data(), points(), out.data());
  });
}

void FibrousTissue::kinks(std::span<const double> x, KinkValues& values) const {
  const std::size_t n = points(), first_point = static_cast<std::size_t>(first_) * patch_->points_per_element;
  const TissueDensity density{*this, fields_, first_point};
  const std::span<double> fibres = values.add(Kink::wrinkle, fibre_families * n);
  stretches(x, fibres);
  for (std::size_t i = 0; i < fibre_families; ++i)
    for (std::size_t p = 0; p < n; ++p) {
      const bool pulls = stiffness_[i] > 0 && fields_.fraction[p] > no_tissue;
      double& value = fibres[i * n + p];
      value = pulls ? value / fields_.natural[i][p] - 1 : std::numeric_limits<double>::quiet_NaN();
    }
  if (!density.has_matrix() && !density.has_sheet()) return;
  const std::span<double> sheet = values.add(Kink::wrinkle, 2 * n);
  surface::with_kind(*patch_, [&](auto kind) {
    surface::each_four_points<kind.value>(
        *patch_, x.data(), first_, last_, first_point, [&](const auto& elements, const auto& f) {
          const auto elastic = density.has_sheet() ? f * density.inverse_of_natural(elements.at) : f;
          put_membrane_kinks(density.has_sheet() ? sheet_->unit : matrix_, elements, elastic, sheet);
        });
  });
  for (std::size_t p = 0; p < n; ++p)
    if (fields_.fraction[p] <= no_tissue) sheet[2 * p] = sheet[2 * p + 1] = std::numeric_limits<double>::quiet_NaN();
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
  const PlaneVector radial = tensor(f) * PlaneVector{hy, -hx}, hoop = tensor(f) * PlaneVector{hx, hy};
  const SymmetricTensor metric{dot(radial, radial), dot(radial, hoop), dot(hoop, hoop)};
  const SymmetricTensor stretch = of_eigenvalues(metric, [](double v) { return std::sqrt(std::max(v, 0.0)); });
  return thickness_ * fields_.fraction[p] *
         sheet_->hoop_stress_kPa(
             stretch, {fields_.natural_sheet[0][p], fields_.natural_sheet[1][p], fields_.natural_sheet[2][p]});
}

}  // namespace capsim
