// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The search for the unloaded shape of a bag: what it holds, and the ways it goes.
///
/// First the rim's outline as it is stated: an accelerated fixed point, then Newton's method (shape_newton.cpp); where
/// that does not go, the pull grows and lens and ring are put in bit by bit (shape_followed.cpp). An outline that can't
/// lie as stated is met in area and centre (shape_in_the_mean.cpp).

#include <Eigen/Dense>
#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "capsim/capsule.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/mesh.hpp"
#include "capsim/zonule.hpp"
#include "run/bag_filling.hpp"
#include "run/shape_measures.hpp"
#include "run/shape_refusal.hpp"
#include "run/shape_tangent.hpp"
#include "run/stress_free_shape.hpp"

namespace capsim {

/// The equilibrium of the bag under one zonule, bare or with its contents. Parts and factorization are kept while the
/// geometry is corrected, since its stiffness hardly changes.
struct RestState {
  ZonuleSpec spec;
  std::unique_ptr<Leaf> leaf, disc;
  std::unique_ptr<Zonule> zonule;
  std::vector<Zonule::Bundle> connected;  // as the equations were made for them
  BagFilling filling;
  std::vector<int> dof;
  Equilibrium equilibrium;
  std::vector<double> x;
};
class ShapeSearch {
 public:
  ShapeSearch(const ShapeKey& key, std::shared_ptr<PatternStore> patterns, const std::function<bool()>& go_on);

  StressFreeShape find();

 private:
  static constexpr double most_stretched = 2.5;       // the search does not creep on to an unloaded bag without size
  static constexpr double pulled_shut_mm = 0.15;      // ... nor to a leaf without width
  static constexpr int most_corrections = 60;         // of Newton's method
  static constexpr int most_creeping_on = 5;          // ... that do not halve it from one pull to the next
  static constexpr double lines_move = 1.0 / 3;       // most of how far they settle
  static constexpr double lines_per_error = 10;       // how much farther than the rim mesh lines may lie off
  static constexpr double least_answer = 0.05;        // determinant, of both sizes at rest to the unloaded ones
  static constexpr int most_idle = 6;                 // accelerated corrections that do not halve the error
  static constexpr double still_good_mm = 1e-3;       // a search that stalls this close is taken
  static constexpr double on_the_way_mm = 1e-3;       // from one pull to the next
  static constexpr double longest_correction = 0.25;  // mm
  static constexpr double share_of_one = 0.035;       // of the budget, for one equilibrium
  static constexpr double least_for_one = 50;         // factorizations, however small the budget
  static constexpr double share_of_outline = 0.12;    // of the budget, for the outline as it is stated
  static constexpr int most_mean_corrections = 60;    // where only area and centre are met
  static constexpr int outline_pieces = 8;            // of a rim edge, where distances from the outline are measured
  static constexpr double solve_work = 1.0 / 16;      // with a factor, in factorizations
  static constexpr double four_work = 1.0 / 8;        // with a factor, for four right-hand sides at once
  static constexpr double finer = 0.1;                // forces, where the zonule inserts on the leaf
  static constexpr double loose = 1e-3;               // forces over their scale, for an error of one millimetre
  static constexpr double quick = 0.3;                // errors that shrink like this never ask for a new tangent
  static constexpr double slowest = 0.9;              // errors that shrink less are taken for these
  static constexpr double least_scale = 1.0 / 64;     // of a Newton step
  static constexpr double least_part = 1.0 / 8;       // of the way of mesh lines
  static constexpr double lines_shrink = 0.5;         // of what lines are off, with each step; else they go less far
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
  [[nodiscard]] double wanted_mm() const;
  /// Under a part of the pull, or with a part of what lens and ring do still owed.
  [[nodiscard]] bool on_the_way() const { return pull_share_ < 1 || (!owed_.empty() && owed_share_ > 0); }
  /// Mesh lines lie where they are asked for to some more.
  [[nodiscard]] double lines_settled_mm() const { return lines_per_error * wanted_mm(); }
  [[nodiscard]] RestState& stated() { return two_states_ ? own_ : healthy_; }

  /// The shape whose opening has the stated outline at rest.
  bool as_outlined();
  [[nodiscard]] bool spent() const { return work() > limit_; }

  // ---- start -------------------------------------------------------------------------------------------------
  void first_guess();
  /// Mesh lines all alike, as fractions of the leaf's width.
  [[nodiscard]] std::vector<double> even_lines() const;

  bool place();
  void place_or_refuse();

  StressFreeShape as_stated();

  /// The bag at rest is known almost beforehand: rim and equator as stated, straight columns between them.
  std::vector<double> rest_as_far_as_known();

  void start(RestState& s, const ZonuleSpec& spec, const std::vector<double>& stated_shape);

  void start();

  // ---- rest --------------------------------------------------------------------------------------------------
  [[nodiscard]] ZonuleSpec pulling(const ZonuleSpec& spec) const;

  /// Insertions on the leaf move with the mesh lines: puts the bundles where they are now, and keeps the factorization;
  /// false where one has come to another element, so that its couplings are others.
  [[nodiscard]] bool insertions_put(RestState& s);
  void connect(RestState& s);
  /// Whether the zonule's bundles couple what the equations were made for: a difference by the unknowns leaves others.
  [[nodiscard]] static bool as_connected(const std::vector<Zonule::Bundle>& bundles, const RestState& s);

  /// The bag as it lies at `nodes`, its contents in their places.
  void lay(RestState& s, std::vector<double> nodes);

  [[nodiscard]] bool settle(RestState& s);

  /// So far, in factorizations.
  [[nodiscard]] double work() const;

  [[noreturn]] void cancelled() const;

  void end_if_stopped(const EquilibriumReport& report) const;

  [[nodiscard]] bool settle_all();
  [[nodiscard]] bool done(const Standing& s) const;

  /// How far the rest shape is from what is stated.
  [[nodiscard]] Standing measured();

  /// Insertions on the leaf lie the stated distance inside the equator of the healthy eye.
  [[nodiscard]] double wanted_insertion_mm() const { return key_.equator_radius_mm - key_.healthy.anterior_inset_mm; }
  [[nodiscard]] Point insertion_at(std::size_t i) const;
  [[nodiscard]] double insertion_radius_mm(std::size_t i) const;

  /// From where the search stands to the unloaded shape; false when it stalls, and stands where it came nearest.
  bool search();

  // ---- the fixed point, accelerated: cheap, and near the end for most eyes --------------------------------------
  /// The nearest standing that Anderson's method comes to before it slows down.
  Standing accelerated(Standing here);

  /// What is missing, as a correction of the unknowns: of both sizes by their answer, of the rim's form by its stretch,
  /// since the reference moves less than the rest shape.
  [[nodiscard]] std::vector<double> correction(const Standing& here);

  /// How the sizes at rest, of bag and opening, follow those of the unloaded bag: one that is smaller unloaded is
  /// pulled harder, and comes to rest smaller by less.
  void learn_size_answer(const Standing& here);
  /// Of all coordinates, by both sizes.
  [[nodiscard]] std::array<std::vector<double>, 2> size_rates(RestState& s, const Standing& here);
  /// From the centre of the stated opening to its rim at column c, of length 1.
  [[nodiscard]] Point outward(std::size_t c) const;
  /// Radius of the equator, and mean distance of the rim from the centre, in a list of all unknowns.
  [[nodiscard]] Eigen::Vector2d sizes_of(const std::vector<double>& z) const;
  /// Adds `change` of both sizes to all unknowns.
  void change_sizes(std::vector<double>& z, const Eigen::Vector2d& change) const;
  /// The standing at z; a step that folds the mesh is shortened. False when none of them is sound.
  bool corrected(const Standing& from, std::vector<double> z, Standing& to);

  // ---- Newton's method: from there on, and where the fixed point does not go ------------------------------------
  /// Ends when so many corrections in a row do not halve what is left.
  bool newton(Standing here, int most_creeping = most_corrections);

  /// Whether the steps that are left at this rate cost more than a new tangent.
  [[nodiscard]] bool slow(double error_mm, double before_mm, double step_cost) const;

  /// One step, shortened while the mesh folds, no rest is found or the error does not shrink. Mesh lines settle with
  /// the first try; where that fails they stay, since what they do does not shrink with the step.
  bool step(const Standing& from, Standing& to, double shortest);

  /// Where the lines go with the next step: all the way that is asked for, or the part of it that serves best.
  [[nodiscard]] std::vector<double> lines_ahead(const Standing& from) const;
  /// Lines that swing to and fro, since the rest shape follows them, go a smaller part of their way from now on.
  void damp_lines(const Standing& before, const Standing& now);

  /// Where rim and equator lie better than the lines: these move alone, all their way or a part of it.
  bool lines_settle(const Standing& from, Standing& to);

  bool tried(const std::vector<double>& z, const std::vector<double>& fractions);

  /// Goes back to where the search stood.
  void stand(const Standing& s);

  void take(std::span<const double> z);

  // How the measured quantities answer to the unknowns.
  bool renew_tangent(const Standing& here);

  [[nodiscard]] double at_dof(const std::vector<double>& v, std::size_t coordinate) const;

  bool rates(RestState& s, const Standing& here, std::vector<std::vector<double>>& result);
  /// Forces on the bag held at x while its unloaded shape is z.
  [[nodiscard]] std::span<const double> forces_at(RestState& s, std::span<const double> z, std::span<const double> x);

  [[nodiscard]] double mean_equator_rate(const std::vector<double>& rate) const;

  [[nodiscard]] double insertion_rate(std::size_t i, const std::vector<double>& rate) const;

  /// How each insertion's distance from the pole changes as it slides along the leaf that lies still.
  [[nodiscard]] std::vector<double> insertion_slides() const;

  // ---- a pull that grows -------------------------------------------------------------------------------------
  /// Without a pull the unloaded shape is the stated one; from there it is followed as the pull grows, each solution
  /// being foretold from the two before it.
  bool follow_the_pull();

  /// Newton's method under the present pull, from z beside where the search stood under another.
  bool from(const Standing& last, const std::vector<double>& z);

  static std::vector<double> foretold(const Standing& earlier, const Standing& last, double ahead);

  // ---- lens and ring -----------------------------------------------------------------------------------------
  /// Both states anew, the stated one with or without the contents of the bag.
  void fill(bool with_contents);

  /// From the shape of the bare bag: what its contents move the rim by is taken back bit by bit.
  bool put_in_contents();

  // ---- where the outline can't lie as stated -------------------------------------------------------------------
  /// An opening beside hours that hold nothing is not round: a rim that nothing pulls outward lies straight. Then the
  /// unloaded opening is the stated one, scaled and moved, whose area and centre are as stated at rest; and where the
  /// bag is drawn so far aside that its centre can't be, whose area is.
  bool in_the_mean(bool centred);

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
  bool corrected_in_the_mean(MeanShape& here, const std::vector<double>& next, const Standing& now, bool lines_move);

  static double largest_change(const std::vector<double>& a, const std::vector<double>& b);

  /// Lays the bag there and lets it come to rest. Insertions on the leaf keep their distance from the unloaded equator.
  bool lies_at(const MeanShape& shape, const std::vector<double>& fractions);

  /// What is missing of equator, size and centre, as corrections of the four numbers.
  [[nodiscard]] std::vector<double> off_in_the_mean(const MeanShape& here) const;

  [[nodiscard]] std::vector<Point> rim_at_rest() const;

  static double largest(const std::vector<double>& v);

  /// How far the outline was met, for the message.
  [[nodiscard]] Reached where_it_ended();

  [[nodiscard]] Reached standing() const { return {reached_, shape_.error_mm, unbalanced_mN_, stretch(), narrowest()}; }
  /// Of the equator, from the unloaded bag to the one at rest.
  [[nodiscard]] double stretch() const { return key_.equator_radius_mm / shape_.equator_radius_mm; }

  /// Where the leaf between the rim and the equator is narrowest at the rest shape that was reached.
  [[nodiscard]] Narrow narrowest() const;

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
  std::optional<Eigen::Matrix2d> size_answer_;  // of the sizes at rest to the unloaded ones
  double line_part_ = 1;                        // of the way that is asked of mesh lines, that they go
  double unbalanced_mN_ = 0, asked_at_work_ = 0, tangent_work_ = 0;
  std::function<bool()> go_on_;   // the host, when enough has been done since it was asked last
  double tangent_cost_ = 0;       // of the latest, in factorizations
  double rest_tolerance_ = 1e-4;  // over the force scale
};

}  // namespace capsim
