// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Equilibrium: the minimum of the sum of all parts' energies at a frozen tissue state.
///
/// Model.   Newton's method with the exact Hessian and a line search on the energy. A factorization
///          is kept while it serves (chord steps) and renewed when the residual falls too slowly.
///          Where the exact Hessian is not positive definite the parts' positive variant is used; when
///          that creeps (a bag that is about to turn or to give way), the exact one with a small shift. The shift
///          is remembered: it grows where the Hessian asks for more and shrinks with every step that holds.
///          A step that fails is walked in small load steps: with r0 the residual at the start, the
///          minima of Pi(x) - (1 - s) r0.x are followed from s = 0 (where the start is one) to 1.
/// Saddles. Balanced forces are an equilibrium, not yet a stable one. Where the last factorization was not that of the
///          exact Hessian, it is factorized at the end; when it has a negative direction, the eye steps off along it,
///          downhill, and the search goes on from there.
/// Work.    Counted in factorizations, an evaluation of all forces as an eighth of one: the same on every machine.
/// Checks.  Every pivot must be finite and positive and every number finite; the largest unbalanced
///          force per coordinate must fall below a tolerance that scales with the eye's forces.

#include <functional>
#include <limits>
#include <memory>
#include <span>
#include <vector>

#include "capsim/part.hpp"

namespace capsim {

class PatternStore;

enum class EquilibriumEnd {
  converged,
  line_search_stalled,
  too_many_iterations,
  not_finite,
  folded,
  too_much_work,  ///< The budget of this solve, or of all of them, is spent.
  interrupted     ///< The watch said no.
};

struct EquilibriumReport {
  EquilibriumEnd end = EquilibriumEnd::converged;
  int iterations = 0;      ///< Newton iterations, chord steps included.
  int load_steps = 0;      ///< 0: solved directly.
  double residual_mN = 0;  ///< Largest unbalanced force.
  double energy = 0;       ///< Pi [mN mm].
  /// Least pivot of the exact Hessian at the solution, where it was factorized there [mN/mm]; otherwise not a number.
  double least_pivot_mN_per_mm = std::numeric_limits<double>::quiet_NaN();
  /// Where it ended not finite or folded: the part whose energy or forces are so; null where no part is.
  const Part* not_finite = nullptr;
  int saddles_left = 0;  ///< How often balanced forces turned out to be a saddle and were left.
  [[nodiscard]] bool converged() const noexcept { return end == EquilibriumEnd::converged; }
};

struct EquilibriumSettings {
  double tolerance_mN = 1e-5;
  double step_cap_mm = 0.2;       ///< No coordinate moves further in one iteration; tenfold where rest is far away.
  int max_iterations = 60;        ///< Of one direct solve; three times as many while it still falls.
  double chord_steps_worth = 8;   ///< A factorization is renewed when more chord steps than this would be needed.
  double shift_mN_per_mm = 1e-7;  ///< Added to the diagonal: holds modes that nothing resists.
  double max_work = std::numeric_limits<double>::infinity();  ///< Of one solve, load steps included.
  double all_work =
      std::numeric_limits<double>::infinity();  ///< Of all solves so far: counts().work() may not pass it.
};

struct EquilibriumCounts {
  long equilibria = 0, iterations = 0, max_iterations = 0;
  long factorizations = 0, projected = 0, analyses = 0, evaluations = 0;
  double seconds_elements = 0, seconds_factor = 0, seconds_solve = 0;
  static constexpr double evaluation_work = 0.125;  ///< Of all forces, in factorizations.
  /// What was done, in factorizations.
  [[nodiscard]] double work() const noexcept {
    return static_cast<double>(factorizations) + evaluation_work * static_cast<double>(evaluations);
  }
};

/// Solves for the coordinates of one simulation; owns all its scratch memory.
class Equilibrium {
 public:
  Equilibrium();
  ~Equilibrium();
  Equilibrium(Equilibrium&&) noexcept;
  Equilibrium& operator=(Equilibrium&&) noexcept;

  /// Sets the parts (not owned, must outlive the next solve) and the index map: dof of every
  /// coordinate, -1 where it is fixed; tied coordinates share a dof. Throws ArgumentError for a null part
  /// and for a dof below the largest that no coordinate has; the first solve throws it for a part that reports a clique
  /// outside these coordinates, or a Hessian of none of its cliques.
  void set_system(std::vector<Part*> parts, std::vector<int> dof_of_coordinate);
  /// Where patterns of the equations are found again, see Model::patterns(); without one they are made anew. The
  /// digits are the same either way.
  void share_patterns(std::shared_ptr<PatternStore> store) noexcept;
  [[nodiscard]] EquilibriumSettings& settings() noexcept;

  /// Asked in every iteration whether to go on; what it throws passes through, x being left as it was.
  void watch(std::function<bool()> go_on);
  /// Finds the equilibrium near x, in place. On failure x is left as it was.
  EquilibriumReport solve(std::span<double> x);
  /// Largest unbalanced force at x [mN].
  [[nodiscard]] double residual(std::span<const double> x);
  /// Forces at x by degree of freedom [mN]; they last until the next call of anything here.
  [[nodiscard]] std::span<const double> forces(std::span<const double> x);
  /// Factorizes the exact Hessian at x; false when it is not positive definite.
  [[nodiscard]] bool factorize_at(std::span<const double> x);
  /// Applies the inverse of the Hessian factorized last, by degree of freedom, in place.
  void apply_inverse(std::vector<double>& b);
  /// The same for four right-hand sides at once, b[4 * dof + k].
  void apply_inverse_four(std::vector<double>& b);
  /// Forgets the factorization (after the state of a part has jumped).
  void forget_factor() noexcept;
  [[nodiscard]] const EquilibriumCounts& counts() const noexcept;
  /// Memory of matrices and scratch, without the pattern of the equations, which may be shared [bytes].
  [[nodiscard]] std::size_t memory_bytes() const noexcept;
  [[nodiscard]] int dofs() const noexcept;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace capsim
