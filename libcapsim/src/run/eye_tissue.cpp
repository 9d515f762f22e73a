// SPDX-License-Identifier: BSD-3-Clause
#include "run/eye_tissue.hpp"

#include <algorithm>

namespace capsim {
namespace {

constexpr std::size_t fraction_variable = 2;  // of every law of the library: c, m, f, then its own

}  // namespace

EyeTissue::EyeTissue(const Model& model, std::shared_ptr<const ContractionLaw> rim_law) : rim_law_(std::move(rim_law)) {
  if (auto rim = model.make_fibrous_tissue(rim_law_.get())) {
    rim_ = rim.get();
    const auto cells = model.initial_cells().begin();
    add(std::move(rim), rim_law_, {cells, cells + static_cast<std::ptrdiff_t>(rim_->points())});
    if (const auto beyond = model.rim_beyond(rim_law_.get()))
      add(model.make_tissue(*beyond, rim_law_->material().value_or(tissue_material(beyond->spec))), rim_law_,
          beyond->cells);
  }
  bonded_ = rim_sites_ = sites_.size();
  for (const TissueSite& site : model.bag_sites()) {
    std::shared_ptr<const ContractionLaw> law = make_contraction_law(site.spec);
    if (auto lean = law->without_idle_variables()) law = std::move(lean);
    add(model.make_tissue(site, tissue_material(site.spec)), law, site.cells);
  }
  // The leaves fuse on the anterior one first.
  for (std::size_t i = 0; i < std::min(rim_sites_ + 1, sites_.size()); ++i) on_front_.push_back(sites_[i].tissue.get());
  bond_ = model.make_leaf_bond();
  if (!bond_) return;
  variables_ += bond_->slips();
  stretches_ += bond_->slips();
}

EyeTissue::EyeTissue(EyeTissue&&) noexcept = default;
EyeTissue::~EyeTissue() = default;

void EyeTissue::add(std::unique_ptr<FibrousTissue> tissue, std::shared_ptr<const ContractionLaw> law,
                    std::vector<double> cells) {
  const std::size_t variables = law->variables() * tissue->points(), stretches = fibre_families * tissue->points();
  sites_.push_back({std::move(tissue), std::move(law), std::move(cells), variables, stretches});
  variables_ += variables;
  stretches_ += stretches;
}

void EyeTissue::change(const ContractionChange& change) {
  ContractionChange in_bag = change;
  in_bag.active_tension_mN_per_mm.reset();  // the bag's cells have a pull and a radial weight of their own
  in_bag.active_radial_share.reset();
  for (std::size_t i = 0; i < sites_.size(); ++i)
    if (auto law = sites_[i].law->changed(i < rim_sites_ ? change : in_bag)) sites_[i].law = std::move(law);
  if (rim_ != nullptr) rim_law_ = sites_.front().law;
}

void EyeTissue::start(std::span<double> y) const {
  for (const Site& site : sites_) {
    site.law->start(site.cells, y.first(site.variables));
    y = y.subspan(site.variables);
  }
  std::fill(y.begin(), y.end(), 0.0);
}

void EyeTissue::measure(std::span<const double> x, std::span<double> stretches) const {
  for (const Site& site : sites_) {
    site.tissue->stretches(x, stretches.first(site.stretches));
    stretches = stretches.subspan(site.stretches);
  }
  if (bond_) bond_->slip(x, stretches);
}

void EyeTissue::rate(double day, std::span<const double> y, std::span<const double> stretches,
                     std::span<double> dydt) const {
  std::span<const double> fraction_rate;
  for (std::size_t i = 0; i < sites_.size(); ++i) {
    const Site& site = sites_[i];
    site.law->rate(day, y.first(site.variables), stretches.first(site.stretches), dydt.first(site.variables));
    if (bond_ && i == bonded_)
      fraction_rate = dydt.subspan(fraction_variable * site.tissue->points(), site.tissue->points());
    y = y.subspan(site.variables);
    dydt = dydt.subspan(site.variables);
    stretches = stretches.subspan(site.stretches);
  }
  if (bond_) bond_->laid_rate(fraction_rate, stretches, dydt);
}

void EyeTissue::apply(std::span<const double> y) {
  for (const Site& site : sites_) {
    site.law->apply(y.first(site.variables), site.tissue->fields());
    y = y.subspan(site.variables);
  }
  if (bond_) bond_->set_tissue(sites_[bonded_].tissue->fields().fraction, y);
}

double EyeTissue::fused() const noexcept {
  if (bonded_ >= sites_.size()) return 0;
  const FibrousTissue& tissue = *sites_[bonded_].tissue;
  double area = 0, filled = 0;
  for (std::size_t p = 0; p < tissue.points(); ++p) {
    if (!(sites_[bonded_].cells[p] > 0)) continue;
    area += tissue.area_mm2(p);
    filled += tissue.area_mm2(p) * tissue.fields().fraction[p];
  }
  return area > 0 ? filled / area : 0;
}

}  // namespace capsim
