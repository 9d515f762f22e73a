// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What an Equilibrium is made of: its parts as one system of equations, the factorization that is kept, and the
/// search for rest.
///
/// equilibrium.cpp has the system and the factorizations, descent.cpp the search: quasi-Newton steps down to where the
/// forces balance, load steps where that fails, and steps off a saddle.

#include <chrono>
#include <functional>
#include <limits>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "capsim/equilibrium.hpp"
#include "solve/assembly.hpp"
#include "solve/kept_factor.hpp"

namespace capsim {

struct Equilibrium::Impl {
  using Clock = std::chrono::steady_clock;
  static double since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

  static constexpr double infinite = std::numeric_limits<double>::infinity();
  // mN/mm; from a soft turn of the bag to a stiff leaf. The first climb is in steps of shift_ratio; later ones begin at
  // what was enough before.
  static constexpr double least_shift = 1e-5, most_shift = 1e3, shift_ratio = 4;

  EquilibriumSettings settings;
  EquilibriumCounts counts;
  std::vector<Part*> parts;
  std::vector<int> dof;
  int dofs = 0;
  // The first coordinate of each dof; and the dof and place of every other coordinate that is tied to one.
  std::vector<std::size_t> coordinate_;
  std::vector<std::pair<std::size_t, std::size_t>> tied_;
  std::shared_ptr<PatternStore> patterns;
  Assembly assembly;
  KeptFactor factor;
  bool have_pattern = false, have_factor = false;
  bool factor_is_exact = false;  // the factor kept is that of an exact Hessian, without more than the settings' shift
  double near_shift = least_shift;  // near a saddle: what was enough last
  int in_a_row = 0, pass_over = 0;  // near a saddle: exact Hessians not positive; those not to be tried without shift
  double work_at_start = 0;         // of this solve
  std::function<bool()> go_on;
  const Part* not_finite = nullptr;  // whose energy ended the last evaluation
  std::vector<double> direction;
  std::vector<double> full, g, step, trial, trial_g, start, load, before, origin, first_load, here;
  bool loaded = false;

  // ---- the system
  void set_dofs(std::vector<int> dof_of_coordinate);
  /// The energy at x, and its derivatives by the degrees of freedom.
  double evaluate(std::span<const double> x, std::vector<double>& reduced);
  /// `to` lies from `from` so many times along a vector of degrees of freedom.
  void go_along(std::span<const double> from, double scale, const std::vector<double>& along,
                std::span<double> to) const {
    for (std::size_t c = 0; c < from.size(); ++c)
      to[c] = dof[c] >= 0 ? from[c] + scale * along[static_cast<std::size_t>(dof[c])] : from[c];
  }
  /// The first part with a force at x that is not finite.
  const Part* part_without_force(std::span<const double> x);

  // ---- factorizations
  void find_pattern(std::span<const double> x);
  void assemble(std::span<const double> x, Curvature curvature);
  bool renew(std::span<const double> x, bool near_saddle, bool near_rest);
  bool factorize(double shift) {
    return count_factorization([&] { return factor.factorize(assembly.values(), shift); });
  }
  bool factorize_for_steps(double shift) {
    return count_factorization([&] { return factor.factorize_for_steps(assembly.values(), shift); });
  }
  template <class Factorize>
  bool count_factorization(const Factorize& factorize) {
    const auto begin = Clock::now();
    ++counts.factorizations;
    const bool good = factorize();
    counts.seconds_factor += since(begin);
    return good;
  }
  /// The exact Hessian with about the least shift that makes it positive, which is remembered.
  bool factorize_shifted();

  // ---- the search
  /// Where one descent is, and what was tried there.
  struct Descent;
  /// The energies along one step.
  struct Tried {
    bool ever_finite = false, ever_undefined = false;
  };

  [[nodiscard]] bool spent() const;
  /// Ends the solve when its budget is spent or the watch says no.
  bool stopped(EquilibriumReport& report) const;
  /// Quasi-Newton steps from x down to rest, with a new factor where steps with the old one get short.
  EquilibriumReport direct(std::span<double> x);
  bool at_rest_or_out_of_means(std::span<const double> x, Descent& at);
  [[nodiscard]] bool goes_on(Descent& at) const;
  bool renew_factor(std::span<double> x, Descent& at);
  /// The step to where the forces would balance; returns its longest component [mm].
  double find_step();
  /// Goes along the step as far as the energy, or the forces, fall enough; false where they don't.
  bool search_along_step(std::span<double> x, double longest, Descent& at, Tried& tried);
  void lengthen(Descent& at, bool too_long, bool good);
  void take_step(std::span<double> x, double scale, double rate, double norm);
  EquilibriumReport stepwise(std::span<double> x);
  /// Directly, or where that fails in load steps.
  EquilibriumReport balanced(std::span<double> x);
  /// Balanced, and no saddle as far as the exact Hessian tells.
  EquilibriumReport stable(std::span<double> x);
  /// Moves x along the direction in which the exact Hessian, assembled at x, is most negative; false when there is no
  /// such direction or the energy does not fall along it.
  bool step_off(std::span<double> x, double energy);
};

}  // namespace capsim
