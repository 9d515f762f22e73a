// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <utility>

#include "capsim/model.hpp"
#include "run/bag_parts.hpp"
#include "run/host_watch.hpp"
#include "run/shape_measures.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

constexpr double poisson = 0.5;       // of an incompressible sheet
constexpr double most_guessed = 0.3;  // of the strains
constexpr double least_guess = 0.01;  // of them, where they would fold the leaf

/// Strains of equator and rim under the pull of the zonule.
struct SmallStrain {
  double equator = 0, rim = 0;
};

/// Of an elastic ring, the leaf about its opening, and a disc, the leaf behind, that are pulled at the equator alike
/// (Lame's solution, plane stress); the rim under its own zonule, which pulls by its strength.
SmallStrain small_strain(const ShapeKey& key) {
  const double e = Membrane(key.capsule).small_strain_modulus_kPa();
  const double a = key.rim_radius_mm(), b = key.equator_radius_mm, width = b * b - a * a;
  const double inner = (1 - poisson) * b * b + (1 + poisson) * a * a;
  const double front = e * anterior_thickness_mm(key.capsule, 0.6) * width / inner;
  const double back = e * 1e-3 * key.capsule.posterior_thickness_um / (1 - poisson);
  const double equator = std::min(key.healthy.pull_mN / (2 * pi * b) / (front + back), most_guessed);
  const double rim_per_equator = 2 * b * b / inner;
  const double own = std::clamp(zonule_strength(key.stated, 0, 2 * pi), 0.0, 1.0);
  return {equator, std::min(own * equator * rim_per_equator, most_guessed)};
}

bool couple_alike(const std::vector<Zonule::Bundle>& some, const std::vector<Zonule::Bundle>& others) {
  return std::equal(some.begin(), some.end(), others.begin(), others.end(),
                    [](const Zonule::Bundle& a, const Zonule::Bundle& b) {
                      return a.clique == b.clique && a.count == b.count && a.nodes == b.nodes;
                    });
}

}  // namespace

ShapeSearch::ShapeSearch(const ShapeKey& key, std::shared_ptr<PatternStore> patterns,
                         const std::function<bool()>& go_on)
    : key_(key), patterns_(std::move(patterns)), mesh_(key.plan) {
  unknowns_ = shape_unknowns(mesh_, 0);
  if (!go_on) return;
  go_on_ = [this, go_on] {
    if (work() - asked_at_work_ < HostWatch::work_between_looks(own_.equilibrium.dofs())) return true;
    asked_at_work_ = work();
    return go_on();
  };
  for (RestState* s : {&healthy_, &own_}) s->equilibrium.watch(go_on_);
}

StressFreeShape ShapeSearch::find() {
  first_guess();
  if (key_.unloaded) return as_stated();
  limit_ = share_of_outline * key_.max_work;
  if (!as_outlined()) {
    Reached reached = where_it_ended();
    limit_ = key_.max_work;
    if (!in_the_mean(true) && !in_the_mean(false)) {
      reached.stretch = std::max(reached.stretch, stretch());
      throw ModelError(no_unloaded_shape(key_, reached), Status::no_equilibrium, work());
    }
  }
  shape_.rest_healthy = healthy_.x;
  shape_.rest_stated = stated().x;
  shape_.work = work();
  return std::move(shape_);
}

double ShapeSearch::wanted_mm() const {
  return on_the_way() ? on_the_way_mm : std::clamp(key_.force_tolerance, 1e-12, 1e-6);
}

bool ShapeSearch::as_outlined() {
  fill(key_.contents.has_value());
  if (search()) return true;
  // A ring holds open what the pull alone would shut.
  if (key_.contents && key_.contents->ring && follow_the_pull()) return true;
  if (key_.contents) {
    fill(false);
    first_guess();
  }
  if (!(key_.contents && search()) && !follow_the_pull()) return false;
  return !key_.contents || put_in_contents();
}

void ShapeSearch::first_guess() {
  shape_.insertions.clear();
  shape_.fractions = even_lines();
  const SmallStrain under = key_.unloaded ? SmallStrain{} : small_strain(key_);
  for (double part = 1; part > least_guess; part *= 0.5) {
    const double share = part * pull_share_;
    shape_.rim = key_.stated_rim;
    for (Point& p : shape_.rim)
      for (int i = 0; i < 2; ++i) p[i] = key_.center[i] + (p[i] - key_.center[i]) / (1 + share * under.rim);
    shape_.equator_radius_mm = key_.equator_radius_mm / (1 + share * under.equator);
    if (place()) return;
  }
}

std::vector<double> ShapeSearch::even_lines() const {
  const int layers = mesh_.plan().layers, cols = mesh_.columns();
  std::vector<double> fractions;
  for (int l = 0; l <= layers; ++l)
    fractions.insert(fractions.end(), static_cast<std::size_t>(cols), static_cast<double>(l) / layers);
  return fractions;
}

bool ShapeSearch::place() {
  return mesh_.place(shape_.rim, on_circle(mesh_, shape_.equator_radius_mm), shape_.fractions);
}

void ShapeSearch::place_or_refuse() {
  if (!place())
    throw ModelError("the mesh of the leaf is folded: the stated opening is too irregular or too close to the equator");
}

StressFreeShape ShapeSearch::as_stated() {
  place_or_refuse();
  shape_.fractions = lines_in_situ(key_, mesh_, mesh_.reference(), shape_.fractions);
  place_or_refuse();
  shape_.rest_healthy = shape_.rest_stated = mesh_.reference();
  shape_.insertions = insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
  return std::move(shape_);
}

std::vector<double> ShapeSearch::rest_as_far_as_known() {
  const bool good = mesh_.place(key_.stated_rim, on_circle(mesh_, key_.equator_radius_mm), shape_.fractions);
  return good ? mesh_.reference() : std::vector<double>();
}

void ShapeSearch::start(RestState& s, const ZonuleSpec& spec, const std::vector<double>& stated_shape) {
  s.spec = spec;
  s.leaf = make_anterior_leaf(mesh_, key_.capsule, shape_.equator_radius_mm);
  s.disc = make_posterior_leaf(mesh_, key_.capsule);
  s.zonule.reset();
  lay(s, stated_shape.empty() ? mesh_.reference() : stated_shape);
}

void ShapeSearch::start() {
  std::vector<double> stated_shape = rest_as_far_as_known();
  const auto insertions_here = [&] {
    return insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
  };
  if (!stated_shape.empty()) {
    shape_.fractions = lines_in_situ(key_, mesh_, stated_shape, shape_.fractions);
    stated_shape = rest_as_far_as_known();
  }
  if (!stated_shape.empty()) shape_.insertions = insertions_here();
  if (!place()) {
    shape_.fractions = even_lines();
    place_or_refuse();
  }
  if (stated_shape.empty()) shape_.insertions = insertions_here();
  unknowns_ = shape_unknowns(mesh_, shape_.insertions.size());
  start(healthy_, key_.healthy, stated_shape);
  if (two_states_) start(own_, key_.stated, stated_shape);
  begins_ = true;
}

ZonuleSpec ShapeSearch::pulling(const ZonuleSpec& spec) const {
  ZonuleSpec at_share = spec;
  at_share.pull_mN *= pull_share_;
  return at_share;
}

bool ShapeSearch::as_connected(const std::vector<Zonule::Bundle>& bundles, const RestState& s) {
  return couple_alike(bundles, s.connected);
}

bool ShapeSearch::insertions_put(RestState& s) {
  if (shape_.insertions.empty()) return true;
  std::vector<Zonule::Bundle> bundles =
      zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm);
  if (!couple_alike(bundles, s.zonule->bundles()) || !as_connected(bundles, s)) return false;
  s.zonule->put(std::move(bundles));
  return true;
}

void ShapeSearch::connect(RestState& s) {
  s.zonule =
      std::make_unique<Zonule>(zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm));
  s.connected = s.zonule->bundles();
  std::vector<Part*> parts{s.leaf.get(), s.zonule.get()};
  if (s.disc) parts.push_back(s.disc.get());
  s.filling.each([&](Part& part) { parts.push_back(&part); });
  s.equilibrium.settings().step_cap_mm = s.filling.ring ? 0.1 : 0.2;  // as in a run
  s.equilibrium.settings().tolerance_mN = key_.force_tolerance * key_.force_scale_mN();
  s.equilibrium.settings().shift_mN_per_mm = 1e-8 * key_.force_scale_mN();
  s.equilibrium.share_patterns(patterns_);
  s.equilibrium.set_system(parts, s.dof);
}

void ShapeSearch::lay(RestState& s, std::vector<double> nodes) {
  s.x = std::move(nodes);
  if (s.filling.empty()) return;
  s.x.resize(static_cast<std::size_t>(coordinates_of(mesh_, key_.contents->ring_segments)), 0.0);
  if (s.filling.ring) lay_ring(mesh_, *key_.contents->ring, key_.contents->ring_segments, s.x);
}

bool ShapeSearch::settle(RestState& s) {
  fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
  s.filling.rest_at(healthy_.x);
  if (!s.zonule || !insertions_put(s)) connect(s);
  // Forces need no more digits than the shape has by now; an insertion on a slack leaf moves far by little force.
  const double exact = (shape_.insertions.empty() ? 1 : finer) * key_.force_tolerance * key_.force_scale_mN();
  s.equilibrium.settings().tolerance_mN = std::max(exact, std::min(rest_tolerance_, 1e-3) * key_.force_scale_mN());
  EquilibriumSettings& settings = s.equilibrium.settings();
  settings.max_work = std::max(share_of_one * key_.max_work, least_for_one);
  settings.all_work = s.equilibrium.counts().work() + limit_ - work();
  EquilibriumReport report = s.equilibrium.solve(s.x);
  end_if_stopped(report);
  if (!report.converged() &&
      !spent()) {  // the moved start may be folded where mesh lines lie close; the unloaded shape is not
    lay(s, mesh_.reference());
    report = s.equilibrium.solve(s.x);
    end_if_stopped(report);
  }
  if (!report.converged()) unbalanced_mN_ = report.residual_mN;
  return report.converged();
}

double ShapeSearch::work() const {
  return healthy_.equilibrium.counts().work() + own_.equilibrium.counts().work() + tangent_work_;
}

void ShapeSearch::cancelled() const {
  throw ModelError("cancelled while the unloaded shape was searched for", Status::cancelled, work());
}

void ShapeSearch::end_if_stopped(const EquilibriumReport& report) const {
  if (report.end == EquilibriumEnd::interrupted) cancelled();
  if (work() > key_.max_work)
    throw ModelError(with_numbers("the search for the unloaded shape took more than numerics.max_work = %.4g "
                                  "factorizations; ",
                                  {key_.max_work}) +
                         no_unloaded_shape(key_, standing()),
                     Status::too_much_work, work());
}

bool ShapeSearch::settle_all() {
  if (!settle(healthy_)) return false;
  if (!two_states_) return true;
  // Under the same zonule the contents move the bag by little.
  if (std::exchange(begins_, false) && key_.stated == key_.healthy) lay(own_, healthy_.x);
  return settle(own_);
}

bool ShapeSearch::done(const Standing& s) const { return s.error_mm < wanted_mm() && s.lines_mm < lines_settled_mm(); }

ShapeSearch::Standing ShapeSearch::measured() {
  Standing s;
  s.z = {shape_.equator_radius_mm};
  s.fractions = shape_.fractions;
  s.x_healthy = healthy_.x;
  s.x_own = own_.x;
  s.missing = {key_.equator_radius_mm - mean_equator_radius(mesh_, healthy_.x)};
  s.error_mm = std::abs(s.missing[0]);
  const std::vector<double>& x = stated().x;
  for (int c = 0; c < mesh_.columns(); ++c) {
    const std::size_t k = static_cast<std::size_t>(c), node = 2 * static_cast<std::size_t>(mesh_.node(0, c));
    const Point missing{key_.stated_rim[k][0] - x[node], key_.stated_rim[k][1] - x[node + 1]};
    s.error_mm = std::max(s.error_mm, std::hypot(missing[0], missing[1]));
    s.z.insert(s.z.end(), shape_.rim[k].begin(), shape_.rim[k].end());
    s.missing.insert(s.missing.end(), missing.begin(), missing.end());
  }
  for (std::size_t i = 0; i < shape_.insertions.size(); ++i) {
    s.z.push_back(shape_.insertions[i]);
    const double beyond = insertion_radius_mm(i) - wanted_insertion_mm();
    s.held.push_back(held_at_an_edge(shape_.insertions[i], beyond) ? 1 : 0);
    s.missing.push_back(s.held.back() != 0 ? 0 : beyond);
    s.error_mm = std::max(s.error_mm, std::abs(s.missing.back()));
  }
  for (std::size_t i = 0; i < owed_.size(); ++i) s.missing[i] -= owed_share_ * owed_[i];
  if (!owed_.empty()) s.error_mm = largest(s.missing);
  s.next_fractions = lines_in_situ(key_, mesh_, x, shape_.fractions);
  for (std::size_t i = 0; i < s.next_fractions.size(); ++i)
    s.lines_mm = std::max(s.lines_mm, std::abs(s.next_fractions[i] - shape_.fractions[i]));
  s.lines_mm *= key_.equator_radius_mm - key_.rim_radius_mm();
  const double kept = rest_tolerance_;
  rest_tolerance_ = loose * s.error_mm;
  if (done(s)) s.error_mm = std::max(s.error_mm, kept > key_.force_tolerance ? wanted_mm() : 0);  // once more, exactly
  return s;
}

Point ShapeSearch::insertion_at(std::size_t i) const {
  const std::vector<Zonule::Bundle>& bundles = healthy_.zonule->bundles();
  return insertion_point(bundles[bundles.size() - shape_.insertions.size() + i], healthy_.x);
}

double ShapeSearch::insertion_radius_mm(std::size_t i) const {
  const Point p = insertion_at(i);
  return std::hypot(p[0], p[1]);
}

bool ShapeSearch::search() {
  tangent_.reset();
  line_part_ = 1;
  start();
  if (!settle_all()) return false;
  return newton(accelerated(measured()));
}

std::vector<Point> ShapeSearch::rim_at_rest() const {
  const std::vector<double>& x = two_states_ ? own_.x : healthy_.x;
  std::vector<Point> rim;
  for (int c = 0; c < mesh_.columns(); ++c) {
    const std::size_t node = 2 * static_cast<std::size_t>(mesh_.node(0, c));
    rim.push_back({x[node], x[node + 1]});
  }
  return rim;
}

double ShapeSearch::largest(const std::vector<double>& v) {
  double most = 0;
  for (const double x : v) most = std::max(most, std::abs(x));
  return most;
}

Reached ShapeSearch::where_it_ended() {
  Reached reached = standing();
  reached.moved = moved_;
  if (reached_ > 0 && moved_ == 1) {
    stand(last_);
    reached.stretch = stretch();
    reached.narrow = narrowest();
  }
  return reached;
}

Narrow ShapeSearch::narrowest() const {
  Narrow narrow;
  const std::vector<double>& x = two_states_ ? own_.x : healthy_.x;
  if (x.size() < 2 * static_cast<std::size_t>(mesh_.nodes())) return narrow;
  for (int c = 0; c < mesh_.columns(); ++c) {
    const std::size_t a = 2 * static_cast<std::size_t>(mesh_.node(0, c)),
                      b = 2 * static_cast<std::size_t>(mesh_.equator_nodes()[static_cast<std::size_t>(c)]);
    const double width = std::hypot(x[a] - x[b], x[a + 1] - x[b + 1]);
    if (width < narrow.width_mm) narrow = {width, hour_of_angle(std::atan2(x[a + 1], x[a]))};
  }
  return narrow;
}

}  // namespace capsim
