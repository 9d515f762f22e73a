// SPDX-License-Identifier: BSD-3-Clause
#include "run/stress_free_shape.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>
#include <utility>

#include "capsim/capsule.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/opening.hpp"
#include "capsim/zonule.hpp"
#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"
#include "run/shape_refusal.hpp"
#include "run/shape_tangent.hpp"
#include "solve/fixed_point.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

constexpr double most_stretched = 2.5;   // the search does not creep on to an unloaded bag without size
constexpr double pulled_shut_mm = 0.15;  // ... nor to a leaf without width

/// The equilibrium of the bag under one zonule, bare or with its contents. Parts and factorization are kept while the
/// geometry is corrected, since its stiffness hardly changes.
struct RestState {
  ZonuleSpec spec;
  std::unique_ptr<Leaf> leaf, disc;
  std::unique_ptr<Zonule> zonule;
  std::unique_ptr<Lens> lens;
  std::unique_ptr<TensionRing> ring;
  std::unique_ptr<Backing> backing;
  std::vector<int> dof;
  Equilibrium equilibrium;
  std::vector<double> x;
};

class ShapeSearch {
 public:
  ShapeSearch(const ShapeKey& key, std::shared_ptr<PatternStore> patterns, const std::function<bool()>& go_on)
      : key_(key), patterns_(std::move(patterns)), mesh_(key.plan) {
    unknowns_ = shape_unknowns(mesh_, 0);
    if (!go_on) return;
    const auto now_and_then = [this, go_on] {
      if (work() - asked_at_work_ < work_between_looks) return true;
      asked_at_work_ = work();
      return go_on();
    };
    for (RestState* s : {&healthy_, &own_}) s->equilibrium.watch(now_and_then);
  }

  StressFreeShape find() {
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

 private:
  static constexpr int most_corrections = 60;         // of Newton's method
  static constexpr int most_creeping_on = 5;          // ... that do not halve it from one pull to the next
  static constexpr double lines_move = 1.0 / 3;       // most of how far they settle
  static constexpr double lines_per_error = 10;       // how much farther than the rim mesh lines may lie off
  static constexpr int most_idle = 6;                 // accelerated corrections that do not halve the error
  static constexpr double still_good_mm = 1e-3;       // a search that stalls this close is taken
  static constexpr double on_the_way_mm = 1e-3;       // from one pull to the next
  static constexpr double longest_correction = 0.25;  // mm
  static constexpr double share_of_one = 0.1;         // of the budget, for one equilibrium
  static constexpr double share_of_outline = 0.25;    // of the budget, for the outline as it is stated
  static constexpr int most_mean_corrections = 60;    // where only area and centre are met
  static constexpr int outline_pieces = 8;            // of a rim edge, where distances from the outline are measured
  static constexpr double work_between_looks = 48;    // factorizations; a tenth of a second on the standard mesh
  static constexpr double solve_work = 1.0 / 16;      // with a factor, in factorizations
  static constexpr double loose = 1e-3;               // forces over their scale, for an error of one millimetre
  static constexpr double quick = 0.3;                // errors that shrink less than this ask for a new tangent
  static constexpr double least_scale = 1.0 / 64;     // of a Newton step
  static constexpr double least_part = 1.0 / 8;       // of the way of mesh lines
  static constexpr double least_share = 1.0 / 256;    // of the pull, from one solution to the next

  /// Where the search stands: unknowns, mesh lines, both rest shapes, and how far they are from what is stated.
  struct Standing {
    std::vector<double> z, fractions, x_healthy, x_own, missing;
    std::vector<double> next_fractions;  // where mesh lines should lie
    std::vector<char> held;              // insertions at an edge of the leaf: nothing is missing there
    double error_mm = 0, lines_mm = 0;
    /// What has to shrink: mesh lines that settle move the rest shape by a part of that.
    [[nodiscard]] double merit_mm() const { return error_mm + lines_move * lines_mm; }
  };

  /// The stated shape is met to the same digits as the forces: a stricter force tolerance sharpens both. An eye is
  /// some mm wide.
  [[nodiscard]] double wanted_mm() const {
    return on_the_way() ? on_the_way_mm : std::clamp(key_.force_tolerance, 1e-12, 1e-6);
  }
  /// Under a part of the pull, or with a part of what lens and ring do still owed.
  [[nodiscard]] bool on_the_way() const { return pull_share_ < 1 || (!owed_.empty() && owed_share_ > 0); }
  /// Mesh lines lie where they are asked for to some more.
  [[nodiscard]] double lines_settled_mm() const { return lines_per_error * wanted_mm(); }
  [[nodiscard]] RestState& stated() { return two_states_ ? own_ : healthy_; }

  /// The shape whose opening has the stated outline at rest.
  bool as_outlined() {
    fill(key_.contents.has_value());
    if (search()) return true;
    // A ring holds open what the pull alone would shut.
    if (key_.contents && key_.contents->ring && follow_the_pull()) return true;
    if (key_.contents) fill(false);
    if (!(key_.contents && search()) && !follow_the_pull()) return false;
    return !key_.contents || put_in_contents();
  }
  [[nodiscard]] bool spent() const { return work() > limit_; }

  // ---- start -------------------------------------------------------------------------------------------------
  void first_guess() {
    shape_.rim = key_.stated_rim;
    shape_.equator_radius_mm = key_.equator_radius_mm;
    shape_.insertions.clear();
    if (!key_.unloaded) {
      const double e = Membrane(key_.capsule).small_strain_modulus_kPa(), pull = pull_share_ * key_.healthy.pull_mN;
      const double guess = std::clamp(1 - 0.2 * pull / 60 * 830 / e, 0.6, 1.0);
      for (Point& p : shape_.rim)
        for (int i = 0; i < 2; ++i) p[i] = key_.center[i] + guess * (p[i] - key_.center[i]);
      shape_.equator_radius_mm *= std::clamp(1 - 0.03 * pull / 60 * 830 / e, 0.9, 1.0);
    }
    const int layers = mesh_.plan().layers, cols = mesh_.columns();
    shape_.fractions.clear();
    for (int l = 0; l <= layers; ++l)
      shape_.fractions.insert(shape_.fractions.end(), static_cast<std::size_t>(cols), static_cast<double>(l) / layers);
  }

  bool place() { return mesh_.place(shape_.rim, on_circle(mesh_, shape_.equator_radius_mm), shape_.fractions); }
  void place_or_refuse() {
    if (!place())
      throw ModelError(
          "the mesh of the leaf is folded: the stated opening is too irregular or too close to the equator");
  }

  StressFreeShape as_stated() {
    place_or_refuse();
    shape_.fractions = lines_in_situ(key_, mesh_, mesh_.reference(), shape_.fractions);
    place_or_refuse();
    shape_.rest_healthy = shape_.rest_stated = mesh_.reference();
    shape_.insertions = insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
    return std::move(shape_);
  }

  /// The bag at rest is known almost beforehand: rim and equator as stated, straight columns between them.
  std::vector<double> rest_as_far_as_known() {
    const bool good = mesh_.place(key_.stated_rim, on_circle(mesh_, key_.equator_radius_mm), shape_.fractions);
    return good ? mesh_.reference() : std::vector<double>();
  }

  void start(RestState& s, const ZonuleSpec& spec, const std::vector<double>& stated_shape) {
    s.spec = spec;
    s.leaf = make_anterior_leaf(mesh_, key_.capsule, shape_.equator_radius_mm);
    s.disc = make_posterior_leaf(mesh_, key_.capsule);
    s.zonule.reset();
    lay(s, stated_shape.empty() ? mesh_.reference() : stated_shape);
  }

  void start() {
    const std::vector<double> stated_shape = rest_as_far_as_known();
    place_or_refuse();
    shape_.insertions = insertion_fractions(mesh_, mesh_.reference(), key_.healthy, key_.equator_radius_mm);
    unknowns_ = shape_unknowns(mesh_, shape_.insertions.size());
    start(healthy_, key_.healthy, stated_shape);
    if (two_states_) start(own_, key_.stated, stated_shape);
    begins_ = true;
  }

  // ---- rest --------------------------------------------------------------------------------------------------
  [[nodiscard]] ZonuleSpec pulling(const ZonuleSpec& spec) const {
    ZonuleSpec at_share = spec;
    at_share.pull_mN *= pull_share_;
    return at_share;
  }

  void connect(RestState& s) {
    s.zonule =
        std::make_unique<Zonule>(zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm));
    std::vector<Part*> parts{s.leaf.get(), s.zonule.get()};
    for (Part* part : {static_cast<Part*>(s.disc.get()), static_cast<Part*>(s.backing.get()),
                       static_cast<Part*>(s.lens.get()), static_cast<Part*>(s.ring.get())})
      if (part != nullptr) parts.push_back(part);
    s.equilibrium.settings().step_cap_mm = s.ring ? 0.1 : 0.2;  // as in a run
    s.equilibrium.settings().tolerance_mN = key_.force_tolerance * key_.force_scale_mN();
    s.equilibrium.settings().shift_mN_per_mm = 1e-8 * key_.force_scale_mN();
    s.equilibrium.share_patterns(patterns_);
    s.equilibrium.set_system(parts, s.dof);
  }

  /// The bag as it lies at `nodes`, its contents in their places.
  void lay(RestState& s, std::vector<double> nodes) {
    s.x = std::move(nodes);
    if (!s.backing) return;
    s.x.resize(static_cast<std::size_t>(coordinates_of(mesh_, key_.contents->ring_segments)), 0.0);
    if (s.ring) lay_ring(mesh_, *key_.contents->ring, key_.contents->ring_segments, s.x);
  }

  [[nodiscard]] bool settle(RestState& s) {
    fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
    if (s.backing) s.backing->rest_at(healthy_.x);
    if (!s.zonule || !shape_.insertions.empty()) connect(s);  // an insertion on the leaf moves with the mesh lines
    // Forces need no more digits than the shape has by now.
    const double exact = key_.force_tolerance * key_.force_scale_mN();
    s.equilibrium.settings().tolerance_mN = std::max(exact, std::min(rest_tolerance_, 1e-3) * key_.force_scale_mN());
    EquilibriumSettings& settings = s.equilibrium.settings();
    settings.max_work = share_of_one * key_.max_work;
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

  /// So far, in factorizations.
  [[nodiscard]] double work() const {
    return healthy_.equilibrium.counts().work() + own_.equilibrium.counts().work() + tangent_work_;
  }

  void end_if_stopped(const EquilibriumReport& report) const {
    if (report.end == EquilibriumEnd::interrupted)
      throw ModelError("cancelled while the unloaded shape was searched for", Status::cancelled, work());
    if (work() > key_.max_work)
      throw ModelError(with_numbers("the search for the unloaded shape took more than numerics.max_work = %.4g "
                                    "factorizations; ",
                                    {key_.max_work}) +
                           no_unloaded_shape(key_, standing()),
                       Status::too_much_work, work());
  }

  [[nodiscard]] bool settle_all() {
    if (!settle(healthy_)) return false;
    if (!two_states_) return true;
    // Under the same zonule the contents move the bag by little.
    if (std::exchange(begins_, false) && key_.stated == key_.healthy) lay(own_, healthy_.x);
    return settle(own_);
  }
  [[nodiscard]] bool done(const Standing& s) const {
    return s.error_mm < wanted_mm() && s.lines_mm < lines_settled_mm();
  }

  /// How far the rest shape is from what is stated.
  [[nodiscard]] Standing measured() {
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
    if (done(s))
      s.error_mm = std::max(s.error_mm, kept > key_.force_tolerance ? wanted_mm() : 0);  // once more, exactly
    return s;
  }

  /// Insertions on the leaf lie the stated distance inside the equator of the healthy eye.
  [[nodiscard]] double wanted_insertion_mm() const { return key_.equator_radius_mm - key_.healthy.anterior_inset_mm; }
  [[nodiscard]] Point insertion_at(std::size_t i) const {
    const std::vector<Zonule::Bundle>& bundles = healthy_.zonule->bundles();
    return insertion_point(bundles[bundles.size() - shape_.insertions.size() + i], healthy_.x);
  }
  [[nodiscard]] double insertion_radius_mm(std::size_t i) const {
    const Point p = insertion_at(i);
    return std::hypot(p[0], p[1]);
  }

  /// From where the search stands to the unloaded shape; false when it stalls, and stands where it came nearest.
  bool search() {
    tangent_.reset();
    start();
    if (!settle_all()) return false;
    return newton(accelerated(measured()));
  }

  // ---- the fixed point, accelerated: cheap, and near the end for most eyes --------------------------------------
  /// The nearest standing that Anderson's method comes to before it slows down.
  Standing accelerated(Standing here) {
    FixedPoint accelerator(6);
    Standing best = here;
    double mark = here.error_mm;
    for (int since = 0; since < most_idle && !done(here); ++since, ++shape_.iterations) {
      Standing next;
      if (!corrected(here, accelerator.next(here.z, correction(here)), next)) break;
      here = std::move(next);
      if (here.error_mm < 0.5 * mark) {
        mark = here.error_mm;
        since = 0;
      }
      if (here.error_mm < best.error_mm || done(here)) best = here;
    }
    stand(best);
    return best;
  }

  /// What is missing, as a correction of the unknowns: the reference moves less than the rest shape, by about the
  /// rim's stretch.
  [[nodiscard]] std::vector<double> correction(const Standing& here) {
    std::vector<double> r = here.missing;
    r[0] *= shape_.equator_radius_mm / (key_.equator_radius_mm - here.missing[0]);
    const std::vector<double>& x = stated().x;
    const Point center = key_.center;
    for (std::size_t c = 0; c < unknowns_.columns; ++c) {
      const std::size_t node = 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c)));
      const double stretch = std::hypot(x[node] - center[0], x[node + 1] - center[1]) /
                             std::hypot(shape_.rim[c][0] - center[0], shape_.rim[c][1] - center[1]);
      for (std::size_t i = 0; i < 2; ++i) r[ShapeUnknowns::rim(c, i)] /= stretch;
    }
    const double leaf_width = key_.equator_radius_mm - key_.rim_radius_mm();
    for (std::size_t i = 0; i < unknowns_.insertions; ++i) r[unknowns_.insertion(i)] /= -leaf_width;
    return r;
  }

  /// The standing at z; a step that folds the mesh is shortened. False when none of them is sound.
  bool corrected(const Standing& from, std::vector<double> z, Standing& to) {
    double longest = 0;
    for (std::size_t i = 0; i < z.size(); ++i) longest = std::max(longest, std::abs(z[i] - from.z[i]));
    if (!(longest < 1e3)) return false;
    const double scale = longest > longest_correction ? longest_correction / longest : 1;
    for (std::size_t i = 0; i < z.size(); ++i) z[i] = from.z[i] + scale * (z[i] - from.z[i]);
    for (int halving = 0; halving < 5; ++halving) {
      stand(from);
      if (tried(z, halving < 3 ? from.next_fractions : from.fractions)) {
        to = measured();
        return true;
      }
      for (std::size_t i = 0; i < z.size(); ++i) z[i] = 0.5 * (z[i] + from.z[i]);
    }
    stand(from);
    return false;
  }

  // ---- Newton's method: from there on, and where the fixed point does not go ------------------------------------
  /// Ends when so many corrections in a row do not halve what is left.
  bool newton(Standing here, int most_creeping = most_corrections) {
    bool fresh = false;
    double mark = here.merit_mm();
    for (int i = 0, creeping = 0; i < most_corrections && creeping < most_creeping && !spent(); ++i, ++creeping) {
      ++shape_.iterations;
      if (here.merit_mm() < 0.5 * mark) {
        mark = here.merit_mm();
        creeping = 0;
      }
      shape_.error_mm = here.error_mm;
      if (done(here) || (creeping >= most_idle && here.error_mm < still_good_mm)) return true;
      if (!tangent_) {
        if (!renew_tangent(here)) return false;
        fresh = true;
      }
      const double before = std::max({here.error_mm, lines_move * here.lines_mm, wanted_mm()});
      Standing next;
      if (!step(here, next, fresh ? least_scale : 1.0)) {
        stand(here);
        if (fresh) return here.error_mm < still_good_mm;
        tangent_.reset();
        continue;
      }
      if ((next.error_mm > quick * before && next.error_mm > wanted_mm()) || next.held != here.held) tangent_.reset();
      fresh = false;
      here = std::move(next);
    }
    stand(here);
    return here.error_mm < still_good_mm;
  }

  /// One step, shortened while the mesh folds, no rest is found or the error does not shrink. Mesh lines settle with
  /// the first try; where that fails they stay, since what they do does not shrink with the step.
  bool step(const Standing& from, Standing& to, double shortest) {
    const Eigen::VectorXd move = tangent_->solve(
        Eigen::Map<const Eigen::VectorXd>(from.missing.data(), static_cast<Eigen::Index>(from.missing.size())));
    if (!move.allFinite()) return false;
    const double longest = move.cwiseAbs().maxCoeff();
    double scale = longest > longest_correction ? longest_correction / longest : 1;
    const auto better = [&](const std::vector<double>& fractions) {
      std::vector<double> z = from.z;
      for (std::size_t i = 0; i < z.size(); ++i) z[i] += scale * move[static_cast<Eigen::Index>(i)];
      stand(from);
      if (!tried(z, fractions)) return false;
      to = measured();
      return to.error_mm < wanted_mm() || to.error_mm < (1 - 0.1 * scale) * from.error_mm ||
             to.merit_mm() < (1 - 0.1 * scale) * from.merit_mm();
    };
    if (better(from.next_fractions)) return true;
    const bool only_lines = from.error_mm < lines_move * from.lines_mm;
    for (; !only_lines && scale >= shortest; scale *= 0.5) {
      if (better(from.fractions)) return true;
      if (shortest == 1) return false;
    }
    return only_lines && lines_settle(from, to);
  }

  /// Where rim and equator lie better than the lines: these move alone, all their way or a part of it.
  bool lines_settle(const Standing& from, Standing& to) {
    for (double part = 1; part >= least_part; part *= 0.5) {
      std::vector<double> fractions = from.fractions;
      for (std::size_t i = 0; i < fractions.size(); ++i) fractions[i] += part * (from.next_fractions[i] - fractions[i]);
      stand(from);
      if (!tried(from.z, fractions)) continue;
      to = measured();
      if (to.lines_mm < (1 - 0.1 * part) * from.lines_mm && to.error_mm < from.lines_mm) return true;
    }
    return false;
  }

  bool tried(const std::vector<double>& z, const std::vector<double>& fractions) {
    const std::vector<double> old_reference = mesh_.reference();
    take(z);
    shape_.fractions = fractions;
    if (!place()) return false;
    const std::vector<double> healthy_before = healthy_.x;
    for (std::size_t i = 0; i < old_reference.size(); ++i) healthy_.x[i] += mesh_.reference()[i] - old_reference[i];
    if (!settle(healthy_)) return false;
    if (!two_states_) return true;
    // The stated rest moves as the healthy one did, as far as it is pulled like that, and else as the reference.
    const double like_healthy = std::clamp(zonule_strength(key_.stated, 0, 2 * pi), 0.0, 1.0);
    for (std::size_t i = 0; i < old_reference.size(); ++i)
      own_.x[i] += like_healthy * (healthy_.x[i] - healthy_before[i]) +
                   (1 - like_healthy) * (mesh_.reference()[i] - old_reference[i]);
    return settle(own_);
  }

  /// Goes back to where the search stood.
  void stand(const Standing& s) {
    take(s.z);
    shape_.fractions = s.fractions;
    shape_.error_mm = s.error_mm;
    healthy_.x = s.x_healthy;
    own_.x = s.x_own;
    if (!place()) throw InternalError("the unloaded shape the search stood at folds");
  }

  void take(std::span<const double> z) {
    shape_.equator_radius_mm = z[ShapeUnknowns::radius()];
    for (std::size_t c = 0; c < unknowns_.columns; ++c)
      for (std::size_t i = 0; i < 2; ++i) shape_.rim[c][i] = z[ShapeUnknowns::rim(c, i)];
    for (std::size_t i = 0; i < unknowns_.insertions; ++i)
      shape_.insertions[i] = std::clamp(z[unknowns_.insertion(i)], least_insertion, most_insertion);
  }

  // How the measured quantities answer to the unknowns.
  bool renew_tangent(const Standing& here) {
    stand(here);
    std::vector<std::vector<double>> healthy, own;
    if (!rates(healthy_, here, healthy) || (two_states_ && !rates(own_, here, own))) return false;
    const std::vector<std::vector<double>>& stated = two_states_ ? own : healthy;
    const Eigen::Index n = static_cast<Eigen::Index>(unknowns_.size());
    Eigen::MatrixXd answer = Eigen::MatrixXd::Zero(n, n);
    for (Eigen::Index j = 0; j < n; ++j) {
      const std::vector<double>&h = healthy[static_cast<std::size_t>(j)], &s = stated[static_cast<std::size_t>(j)];
      answer(0, j) = mean_equator_rate(h);
      for (std::size_t c = 0; c < unknowns_.columns; ++c)
        for (std::size_t i = 0; i < 2; ++i)
          answer(static_cast<Eigen::Index>(ShapeUnknowns::rim(c, i)), j) =
              at_dof(s, 2 * static_cast<std::size_t>(mesh_.node(0, static_cast<int>(c))) + i);
      for (std::size_t i = 0; i < unknowns_.insertions; ++i)
        answer(static_cast<Eigen::Index>(unknowns_.insertion(i)), j) = -insertion_rate(i, h);
    }
    for (std::size_t i = 0; i < unknowns_.insertions; ++i) {
      const Eigen::Index k = static_cast<Eigen::Index>(unknowns_.insertion(i));
      answer(k, k) -= insertion_slide(i);
      if (here.held[i] == 0) continue;
      answer.row(k).setZero();
      answer(k, k) = 1;
    }
    tangent_.emplace(answer);
    stand(here);
    return true;
  }

  [[nodiscard]] double at_dof(const std::vector<double>& v, std::size_t coordinate) const {
    return v[static_cast<std::size_t>(healthy_.dof[coordinate])];  // contents come after the bag
  }

  bool rates(RestState& s, const Standing& here, std::vector<std::vector<double>>& result) {
    if (!s.equilibrium.factorize_at(s.x)) return false;
    const std::vector<double> x = s.x;
    std::vector<double> steps(unknowns_.size(), 1e-6 * key_.equator_radius_mm);
    for (std::size_t i = 0; i < unknowns_.insertions; ++i) steps[unknowns_.insertion(i)] = 1e-6;
    std::vector<double> forces;
    result = rest_shape_rates(
        mesh_, unknowns_, s.dof, here.z, steps,
        [&](std::span<const double> z) {
          take(z);
          place();  // so near to a sound shape it cannot fold
          fill_thickness(*s.leaf, mesh_, key_.capsule, shape_.equator_radius_mm);
          if (!shape_.insertions.empty())
            s.zonule->put(zonule_bundles_at(mesh_, shape_.insertions, pulling(s.spec), key_.equator_radius_mm));
          return s.equilibrium.forces(x);
        },
        [&](std::vector<double>& b) {
          s.equilibrium.apply_inverse(b);
          tangent_work_ += solve_work;
        });
    return true;
  }

  [[nodiscard]] double mean_equator_rate(const std::vector<double>& rate) const {
    const int cols = mesh_.columns();
    double sum = 0;
    for (int c = 0; c < cols; ++c) {
      const std::size_t k = 2 * static_cast<std::size_t>(mesh_.equator_nodes()[static_cast<std::size_t>(c)]);
      const double r = std::hypot(healthy_.x[k], healthy_.x[k + 1]);
      sum += column_width(mesh_, c) * (healthy_.x[k] * at_dof(rate, k) + healthy_.x[k + 1] * at_dof(rate, k + 1)) / r;
    }
    return sum / (2 * pi);
  }

  [[nodiscard]] double insertion_rate(std::size_t i, const std::vector<double>& rate) const {
    const std::vector<Zonule::Bundle>& bundles = healthy_.zonule->bundles();
    const Zonule::Bundle& b = bundles[bundles.size() - unknowns_.insertions + i];
    const Point p = insertion_at(i);
    double along = 0;
    for (std::size_t a = 0; a < static_cast<std::size_t>(b.count); ++a)
      for (std::size_t k = 0; k < 2; ++k)
        along += b.share[a] * at_dof(rate, 2 * static_cast<std::size_t>(b.nodes[a]) + k) * p[k];
    return along / std::hypot(p[0], p[1]);
  }

  /// How the insertion's distance from the pole changes as it slides along the leaf that lies still.
  [[nodiscard]] double insertion_slide(std::size_t i) const {
    constexpr double step = 1e-5;
    double radius[2];
    for (const int side : {0, 1}) {
      std::vector<double> moved = shape_.insertions;
      moved[i] += side == 0 ? -step : step;
      const auto bundles = zonule_bundles_at(mesh_, moved, pulling(key_.healthy), key_.equator_radius_mm);
      const Point p = insertion_point(bundles[bundles.size() - moved.size() + i], healthy_.x);
      radius[side] = std::hypot(p[0], p[1]);
    }
    return (radius[1] - radius[0]) / (2 * step);
  }

  // ---- a pull that grows -------------------------------------------------------------------------------------
  /// Without a pull the unloaded shape is the stated one; from there it is followed as the pull grows, each solution
  /// being foretold from the two before it.
  bool follow_the_pull() {
    double share = 0.25, before = 0;
    Standing earlier;
    bool at_its_end = false;  // the last solution is one of a leaf without width, or of a bag without size
    reached_ = 0;
    while (reached_ < 1 && !spent()) {
      pull_share_ = std::min(share, 1.0);
      bool found = false;
      if (reached_ == 0) {
        first_guess();
        found = search();
      } else {
        const double ahead = before > 0 ? (pull_share_ - reached_) / (reached_ - before) : 0;
        found = (ahead > 0 && from(last_, foretold(earlier, last_, ahead))) || from(last_, last_.z);
      }
      if (found) {
        before = std::exchange(reached_, pull_share_);
        earlier = std::exchange(last_, measured());
        at_its_end = narrowest().width_mm < pulled_shut_mm || stretch() > most_stretched;
        share = reached_ + 1.5 * (reached_ - before);
        continue;
      }
      share = reached_ + 0.5 * (pull_share_ - reached_);
      if (share - reached_ < least_share || at_its_end) return false;
    }
    return reached_ == 1;
  }

  /// Newton's method under the present pull, from z beside where the search stood under another.
  bool from(const Standing& last, const std::vector<double>& z) {
    tangent_.reset();
    for (RestState* s : {&healthy_, &own_}) s->zonule.reset();
    stand(last);
    return tried(z, last.fractions) && newton(measured(), most_creeping_on);
  }

  static std::vector<double> foretold(const Standing& earlier, const Standing& last, double ahead) {
    std::vector<double> z = last.z;
    for (std::size_t i = 0; i < z.size(); ++i) z[i] += ahead * (last.z[i] - earlier.z[i]);
    return z;
  }

  // ---- lens and ring -----------------------------------------------------------------------------------------
  /// Both states anew, the stated one with or without the contents of the bag.
  void fill(bool with_contents) {
    two_states_ = with_contents || !(key_.stated == key_.healthy);
    const std::vector<int> closed(mesh_.plan().cuts.size(), 0);
    for (RestState* s : {&healthy_, &own_}) {
      s->zonule.reset();
      s->dof = nodal_dofs(mesh_, closed);
    }
    own_.lens.reset();
    own_.ring.reset();
    own_.backing.reset();
    if (!with_contents) return;
    const BagContents& in = *key_.contents;
    own_.dof = eye_dofs(mesh_, closed, in.lens.has_value(), in.ring_segments, in.ring.has_value());
    own_.backing =
        make_backing(mesh_, std::vector<double>(2 * static_cast<std::size_t>(mesh_.nodes())));  // until it rests
    if (in.lens) own_.lens = make_free_lens(mesh_, *in.lens, key_.equator_radius_mm);
    if (!in.ring) return;
    own_.ring = make_ring(mesh_, *in.ring, in.ring_segments, key_.equator_radius_mm);
    hold_as_in_a_round_bag(*own_.ring, mesh_, *in.ring, in.ring_segments, key_.equator_radius_mm);
  }

  /// From the shape of the bare bag: what its contents move the rim by is taken back bit by bit.
  bool put_in_contents() {
    std::vector<double> bare = two_states_ ? own_.x : healthy_.x;
    fill(true);
    own_.leaf = make_anterior_leaf(mesh_, key_.capsule, shape_.equator_radius_mm);
    own_.disc = make_posterior_leaf(mesh_, key_.capsule);
    own_.spec = key_.stated;
    lay(own_, std::move(bare));
    rest_tolerance_ = key_.force_tolerance;
    moved_ = 0;
    if (!settle_all()) return false;
    owed_ = measured().missing;
    double share = 1;
    owed_share_ = 1;
    Standing last = measured();
    while (moved_ < 1 && !spent()) {
      owed_share_ = 1 - share;
      tangent_.reset();
      for (RestState* s : {&healthy_, &own_}) s->zonule.reset();
      stand(last);
      if (settle_all() && newton(measured(), most_creeping_on)) {
        last = measured();
        share = std::min(1.0, share + 1.5 * (share - std::exchange(moved_, share)));
        continue;
      }
      share = moved_ + 0.5 * (share - moved_);
      if (share - moved_ < least_share) return false;
    }
    if (moved_ < 1) return false;
    owed_.clear();
    return true;
  }

  // ---- where the outline can't lie as stated -------------------------------------------------------------------
  /// An opening beside hours that hold nothing is not round: a rim that nothing pulls outward lies straight. Then the
  /// unloaded opening is the stated one, scaled and moved, whose area and centre are as stated at rest; and where the
  /// bag is drawn so far aside that its centre can't be, whose area is.
  bool in_the_mean(bool centred) {
    owed_.clear();
    pull_share_ = 1;
    fill(key_.contents.has_value());
    first_guess();
    start();
    rest_tolerance_ = key_.force_tolerance;
    const Point &first = shape_.rim[0], &center = key_.center;
    MeanShape here{
        shape_.equator_radius_mm, std::hypot(first[0] - center[0], first[1] - center[1]) / key_.rim_radius_mm(), {}};
    if (!lies_at(here, shape_.fractions)) return false;
    FixedPoint accelerator(MeanShape::unknowns);
    Standing best;
    double least = std::numeric_limits<double>::infinity();
    for (int i = 0; i < most_mean_corrections && !spent(); ++i, ++shape_.iterations) {
      std::vector<double> off = off_in_the_mean(here);
      if (!centred) off[2] = off[3] = 0;
      const Standing now = measured();
      rest_tolerance_ = key_.force_tolerance;
      const double error = largest(off);
      if ((centred && narrowest().width_mm < pulled_shut_mm) || stretch() > most_stretched) return false;
      const bool lines_lie = now.lines_mm < on_the_way_mm;
      if (error < least || (error < wanted_mm() && lines_lie)) {
        least = error;
        best = now;
      }
      if (error < wanted_mm() && lines_lie) break;
      if (!corrected_in_the_mean(here, accelerator.next(here.numbers(), off), now, !lines_lie)) break;
    }
    if (least > still_good_mm) return false;
    stand(best);
    shape_.error_mm = least;
    shape_.outline_off_mm =
        farthest_from(rim_at_rest(), rim_polygon(key_.stated_rim, mesh_.plan().order, outline_pieces));
    return true;
  }

  /// Equator radius [mm], scale of the stated outline, and how far it is moved [mm].
  struct MeanShape {
    static constexpr int unknowns = 4;
    double radius = 0, scale = 1;
    Point moved{};
    [[nodiscard]] std::vector<double> numbers() const { return {radius, scale, moved[0], moved[1]}; }
    [[nodiscard]] MeanShape towards(const std::vector<double>& next, double share) const {
      std::vector<double> n = numbers();
      for (std::size_t i = 0; i < n.size(); ++i) n[i] += share * (next[i] - n[i]);
      return {n[0], n[1], {n[2], n[3]}};
    }
    [[nodiscard]] Point at(const Point& stated, const Point& center) const {
      return {center[0] + moved[0] + scale * (stated[0] - center[0]),
              center[1] + moved[1] + scale * (stated[1] - center[1])};
    }
  };

  /// From `here` towards `next`, shortened until the bag finds a rest. False when neither it nor the lines move.
  bool corrected_in_the_mean(MeanShape& here, const std::vector<double>& next, const Standing& now, bool lines_move) {
    const double change = largest_change(next, here.numbers());
    if (change == 0 && !lines_move) return false;
    for (double scale = std::min(1.0, longest_correction / change); scale >= least_scale; scale *= 0.5) {
      const MeanShape there = here.towards(next, scale);
      for (const bool own_lines : {false, true}) {  // the mesh lines may be what folds
        if (own_lines && change < wanted_mm()) return false;
        stand(now);
        if (!lies_at(there, own_lines || !lines_move ? now.fractions : now.next_fractions)) continue;
        here = there;
        return true;
      }
    }
    return false;
  }

  static double largest_change(const std::vector<double>& a, const std::vector<double>& b) {
    double most = 0;
    for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(a[i] - b[i]));
    return most;
  }

  /// Lays the bag there and lets it come to rest. Insertions on the leaf keep their distance from the unloaded equator.
  bool lies_at(const MeanShape& shape, const std::vector<double>& fractions) {
    std::vector<double> z{shape.radius};
    std::vector<Point> rim;
    for (const Point& stated : key_.stated_rim) {
      rim.push_back(shape.at(stated, key_.center));
      z.insert(z.end(), rim.back().begin(), rim.back().end());
    }
    if (!mesh_.place(rim, on_circle(mesh_, shape.radius), fractions)) return false;
    std::vector<double> grown = mesh_.reference();
    for (double& x : grown) x *= key_.equator_radius_mm / shape.radius;
    const std::vector<double> at = insertion_fractions(mesh_, grown, key_.healthy, key_.equator_radius_mm);
    z.insert(z.end(), at.begin(), at.end());
    if (!place()) throw InternalError("the unloaded shape the search stood at folds");
    return tried(z, fractions);
  }

  /// What is missing of equator, size and centre, as corrections of the four numbers.
  [[nodiscard]] std::vector<double> off_in_the_mean(const MeanShape& here) const {
    const OpeningShape is = measure_opening(rim_at_rest(), mesh_.plan().order, false),
                       wanted = measure_opening(key_.stated_rim, mesh_.plan().order, false);
    const double size = is.equivalent_diameter_mm / wanted.equivalent_diameter_mm,
                 equator = mean_equator_radius(mesh_, healthy_.x);
    return {(key_.equator_radius_mm - equator) * here.radius / equator, (1 - size) * here.scale / size,
            wanted.center_mm[0] - is.center_mm[0], wanted.center_mm[1] - is.center_mm[1]};
  }

  [[nodiscard]] std::vector<Point> rim_at_rest() const {
    const std::vector<double>& x = two_states_ ? own_.x : healthy_.x;
    std::vector<Point> rim;
    for (int c = 0; c < mesh_.columns(); ++c) {
      const std::size_t node = 2 * static_cast<std::size_t>(mesh_.node(0, c));
      rim.push_back({x[node], x[node + 1]});
    }
    return rim;
  }

  static double largest(const std::vector<double>& v) {
    double most = 0;
    for (const double x : v) most = std::max(most, std::abs(x));
    return most;
  }

  /// How far the outline was met, for the message.
  [[nodiscard]] Reached where_it_ended() {
    Reached reached = standing();
    reached.moved = moved_;
    if (reached_ > 0 && moved_ == 1) {
      stand(last_);
      reached.stretch = stretch();
      reached.narrow = narrowest();
    }
    return reached;
  }

  [[nodiscard]] Reached standing() const { return {reached_, shape_.error_mm, unbalanced_mN_, stretch(), narrowest()}; }
  /// Of the equator, from the unloaded bag to the one at rest.
  [[nodiscard]] double stretch() const { return key_.equator_radius_mm / shape_.equator_radius_mm; }

  /// Where the leaf between the rim and the equator is narrowest at the rest shape that was reached.
  [[nodiscard]] Narrow narrowest() const {
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

  const ShapeKey& key_;
  std::shared_ptr<PatternStore> patterns_;
  Mesh mesh_;
  bool two_states_ = false;
  bool begins_ = false;  // no rest has been found yet
  double pull_share_ = 1, reached_ = 0;
  Standing last_;             // that was found as the pull grew
  std::vector<double> owed_;  // what lens and ring moved the bag by, while it is taken back; else empty
  double owed_share_ = 0;     // of that, what is left
  double moved_ = 1;          // share of what lens and ring move the rim by, as far as that was followed
  double limit_ = 0;          // of the work of all that is tried now
  ShapeUnknowns unknowns_;
  StressFreeShape shape_;
  RestState healthy_, own_;
  std::optional<Eigen::PartialPivLU<Eigen::MatrixXd>> tangent_;
  double unbalanced_mN_ = 0, asked_at_work_ = 0, tangent_work_ = 0;
  double rest_tolerance_ = 1e-4;  // over the force scale
};

}  // namespace

double ShapeKey::rim_radius_mm() const noexcept {
  return std::hypot(stated_rim[0][0] - center[0], stated_rim[0][1] - center[1]);
}

double ShapeKey::force_scale_mN() const noexcept {
  return std::max(healthy.pull_mN / (2 * pi),
                  Membrane(capsule).small_strain_modulus_kPa() * anterior_thickness_mm(capsule, 0.6) * rim_radius_mm());
}

std::size_t ShapeKey::memory_bytes() const noexcept {
  std::size_t bytes = sizeof(ShapeKey) + plan.column_angle.capacity() * sizeof(double) +
                      plan.cuts.capacity() * sizeof(MeshPlan::CutLine) + lines.capacity() * sizeof(LayerLine) +
                      stated_rim.capacity() * sizeof(Point);
  for (const auto& interval : spacing) bytes += interval.capacity() * sizeof(double);
  return bytes;
}

std::size_t StressFreeShape::memory_bytes() const noexcept {
  return sizeof(StressFreeShape) + rim.capacity() * sizeof(Point) +
         (fractions.capacity() + insertions.capacity() + rest_healthy.capacity() + rest_stated.capacity()) *
             sizeof(double);
}

StressFreeShape find_stress_free_shape(const ShapeKey& key, const std::shared_ptr<PatternStore>& patterns,
                                       const std::function<bool()>& go_on) {
  return ShapeSearch(key, patterns, go_on).find();
}

void place_unloaded(Mesh& mesh, const StressFreeShape& shape) {
  if (!mesh.place(shape.rim, on_circle(mesh, shape.equator_radius_mm), shape.fractions))
    throw InternalError("an unloaded shape that was found does not fit its mesh");
}

}  // namespace capsim
