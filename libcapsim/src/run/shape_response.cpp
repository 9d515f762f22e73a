// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_response.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <optional>
#include <span>

#include "capsim/capsule.hpp"
#include "capsim/equilibrium.hpp"
#include "capsim/model.hpp"
#include "capsim/zonule.hpp"
#include "run/bag_filling.hpp"
#include "run/bag_parts.hpp"
#include "run/shape_measures.hpp"
#include "run/shape_tangent.hpp"
#include "solve/affine_fixed_points.hpp"

namespace capsim {
namespace {

constexpr int most_rounds = 40;
constexpr double settled = 1e-7;  // change of a round over the largest rate; the next one would change a tenth
constexpr int least_rounds = 3;
constexpr double rounding = 1e-14;     // of the eye's radius; over the step, what differences leave of rates
constexpr double near_rounding = 100;  // times that: where a round that gains nothing is the last
constexpr double share_of_eye = 1e-6;  // step of the differences that make M, over the equator's radius

/// The bag of one key: a mesh to be laid, its parts under both zonules, and what lies in the bag under the stated one.
struct Bag {
  const ShapeKey* key;
  Mesh mesh;
  std::unique_ptr<Leaf> leaf, disc;
  std::unique_ptr<Zonule> healthy, stated;
  BagFilling filling;
  std::vector<double> insertions;

  explicit Bag(const ShapeKey& k) : key(&k), mesh(k.plan) {
    if (key->contents) filling = BagFilling(mesh, *key->contents, key->equator_radius_mm);
  }

  /// Lays the mesh for the unknowns z.
  void lay(std::span<const double> z, std::span<const double> fractions, const ShapeUnknowns& unknowns) {
    std::vector<Point> rim(unknowns.columns);
    for (std::size_t c = 0; c < unknowns.columns; ++c)
      rim[c] = {z[ShapeUnknowns::rim(c, 0)], z[ShapeUnknowns::rim(c, 1)]};
    const double radius = z[ShapeUnknowns::radius()];
    if (!mesh.place(rim, on_circle(mesh, radius), fractions))
      throw InternalError("a neighbour of an unloaded shape folds");
    insertions.assign(z.begin() + static_cast<std::ptrdiff_t>(unknowns.insertion(0)), z.end());
    if (!leaf) {
      leaf = make_anterior_leaf(mesh, key->capsule, radius);
      disc = make_posterior_leaf(mesh, key->capsule);
    } else {
      fill_thickness(*leaf, mesh, key->capsule, radius);
    }
    hang(healthy, key->healthy);
    hang(stated, key->stated);
  }

  void hang(std::unique_ptr<Zonule>& zonule, const ZonuleSpec& spec) const {
    auto bundles = zonule_bundles_at(mesh, insertions, spec, key->equator_radius_mm);
    if (zonule)
      zonule->put(std::move(bundles));
    else
      zonule = std::make_unique<Zonule>(std::move(bundles));
  }

  [[nodiscard]] std::vector<Part*> parts(bool under_healthy) const {
    std::vector<Part*> all{leaf.get(), under_healthy ? healthy.get() : stated.get()};
    if (disc) all.push_back(disc.get());
    if (!under_healthy) filling.each([&](Part& part) { all.push_back(&part); });
    return all;
  }

  /// What the search wants to vanish, in the order of the unknowns.
  [[nodiscard]] std::vector<double> missing(const std::vector<double>& x_healthy, const std::vector<double>& x_stated,
                                            const ShapeUnknowns& unknowns) const {
    std::vector<double> m{key->equator_radius_mm - mean_equator_radius(mesh, x_healthy)};
    for (std::size_t c = 0; c < unknowns.columns; ++c)
      for (std::size_t i = 0; i < 2; ++i)
        m.push_back(key->stated_rim[c][i] -
                    x_stated[2 * static_cast<std::size_t>(mesh.node(0, static_cast<int>(c))) + i]);
    const std::vector<Zonule::Bundle>& bundles = healthy->bundles();
    for (std::size_t i = 0; i < unknowns.insertions; ++i) {
      const Point p = insertion_point(bundles[bundles.size() - unknowns.insertions + i], x_healthy);
      m.push_back(std::hypot(p[0], p[1]) - (key->equator_radius_mm - key->healthy.anterior_inset_mm));
    }
    return m;
  }
};

}  // namespace

struct ShapeResponse::Impl {
  ShapeKey key;
  StressFreeShape shape;
  std::shared_ptr<PatternStore> patterns;
  Bag bag;
  ShapeUnknowns unknowns;
  std::vector<double> z, full;
  std::vector<std::size_t> held;  // unknowns that stay where they are
  /// One of the two states.
  struct State {
    bool under_healthy;
    const std::vector<double>* x;
    std::vector<int> dof;
    std::size_t dofs = 0;
    Equilibrium equilibrium;
  };
  State healthy{true, nullptr, {}, 0, {}}, stated{false, nullptr, {}, 0, {}};
  std::optional<Eigen::PartialPivLU<Eigen::MatrixXd>> tangent;
  AffineFixedPoints rates;                       // of unknowns and lines, by every parameter
  std::vector<double> missing_here, lines_here;  // of the shape itself
  std::vector<double> forces_healthy, forces_stated;

  Impl(const ShapeKey& k, const StressFreeShape& s, std::shared_ptr<PatternStore> p)
      : key(k), shape(s), patterns(std::move(p)), bag(key) {
    if (key.unloaded) return;  // nothing was searched for
    unknowns = shape_unknowns(bag.mesh, shape.insertions.size());
    const std::vector<int> closed(bag.mesh.plan().cuts.size(), 0);
    healthy.dof = stated.dof = nodal_dofs(bag.mesh, closed);
    if (const auto& in = key.contents)
      stated.dof = eye_dofs(bag.mesh, closed, in->lens.has_value(), in->ring_segments, in->ring.has_value());
    z = {shape.equator_radius_mm};
    for (const Point& point : shape.rim) z.insert(z.end(), point.begin(), point.end());
    z.insert(z.end(), shape.insertions.begin(), shape.insertions.end());
    bag.lay(z, shape.fractions, unknowns);
    bag.filling.rest_at(shape.rest_healthy);
    connect(healthy, shape.rest_healthy);
    connect(stated, shape.rest_stated);
    make_tangent();
    bag.lay(z, shape.fractions, unknowns);
    missing_here = bag.missing(shape.rest_healthy, shape.rest_stated, unknowns);
    lines_here = lines_in_situ(key, bag.mesh, shape.rest_stated, shape.fractions);
    forces_healthy = forces_on(bag, healthy);
    forces_stated = forces_on(bag, stated);
  }

  void connect(State& state, const std::vector<double>& x) {
    state.x = &x;
    state.dofs = 1 + static_cast<std::size_t>(*std::max_element(state.dof.begin(), state.dof.end()));
    state.equilibrium.settings().shift_mN_per_mm = 1e-8 * key.force_scale_mN();
    state.equilibrium.share_patterns(patterns);
    state.equilibrium.set_system(bag.parts(state.under_healthy), state.dof);
    if (!state.equilibrium.factorize_at(x)) throw InternalError("the bag at rest as stated is not stable");
  }

  static void add_dofs(const State& state, std::vector<double>& x, double scale, const std::vector<double>& rate) {
    for (std::size_t c = 0; c < x.size(); ++c)
      if (state.dof[c] >= 0) x[c] += scale * rate[static_cast<std::size_t>(state.dof[c])];
  }

  /// How the bag at rest in its two states answers to the unknowns one after the other, mesh lines held. Both are told
  /// on every mesh that is laid. `bare_forces`: of the bare bag the forces' answer instead.
  void find_rest_rates(std::span<const double> steps, bool bare_forces, std::vector<std::vector<double>>& by_healthy,
                       std::vector<std::vector<double>>& by_stated) {
    const bool two = key.two_states();
    std::vector<std::vector<double>> on_stated;  // forces, mesh by mesh
    const auto rates_of = [&](State& state, const auto& forces_at, bool solve) {
      std::function<void(std::vector<double>&)> solve_four;
      if (solve) solve_four = [&state](std::vector<double>& four) { state.equilibrium.apply_inverse_four(four); };
      return rest_shape_rates(bag.mesh, unknowns, state.dof, z, steps, Differences::forward, forces_at, solve_four);
    };
    by_healthy = rates_of(
        healthy,
        [&](std::span<const double> there) {
          bag.lay(there, shape.fractions, unknowns);
          if (two) {
            const std::span<const double> forces = stated.equilibrium.forces(*stated.x);
            on_stated.emplace_back(forces.begin(), forces.end());
          }
          return healthy.equilibrium.forces(*healthy.x);
        },
        !bare_forces);
    auto next = on_stated.begin();
    if (two)
      by_stated = rates_of(stated, [&](std::span<const double>) { return std::span<const double>(*next++); }, true);
  }

  /// M: how what is missing answers to the unknowns, mesh lines held.
  void make_tangent() {
    std::vector<double> steps(unknowns.size(), share_of_eye * key.equator_radius_mm);
    for (std::size_t i = 0; i < unknowns.insertions; ++i) steps[unknowns.insertion(i)] = share_of_eye;
    // Without insertions only the equator of the bare bag counts: one solution instead of one for each unknown.
    const bool equator_alone = key.two_states() && unknowns.insertions == 0;
    std::vector<std::vector<double>> by_healthy, by_second;
    find_rest_rates(steps, equator_alone, by_healthy, by_second);
    const std::vector<std::vector<double>>& by_stated = key.two_states() ? by_second : by_healthy;
    std::vector<double> equator = equator_by_dof();
    if (equator_alone) healthy.equilibrium.apply_inverse(equator);
    Eigen::MatrixXd m(unknowns.size(), unknowns.size());
    for (std::size_t j = 0; j < unknowns.size(); ++j) {
      const auto column = static_cast<Eigen::Index>(j);
      m(0, column) = std::inner_product(equator.begin(), equator.end(), by_healthy[j].begin(), 0.0);
      for (std::size_t c = 0; c < unknowns.columns; ++c)
        for (std::size_t i = 0; i < 2; ++i)
          m(static_cast<Eigen::Index>(ShapeUnknowns::rim(c, i)), column) = by_stated[j][dof_of_rim(c, i)];
    }
    if (unknowns.insertions > 0) put_insertions(m, steps, by_healthy);
    find_held();
    for (const std::size_t i : held) {
      m.row(static_cast<Eigen::Index>(i)).setZero();
      m(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(i)) = 1;
    }
    tangent.emplace(m);
  }

  [[nodiscard]] std::size_t dof_of_rim(std::size_t column, std::size_t axis) const {
    return static_cast<std::size_t>(
        stated.dof[2 * static_cast<std::size_t>(bag.mesh.node(0, static_cast<int>(column))) + axis]);
  }

  /// The derivative of the equator's mean radius by the degrees of freedom of the bare bag.
  [[nodiscard]] std::vector<double> equator_by_dof() const {
    std::vector<double> by(healthy.dofs, 0.0);
    const std::vector<double>& x = shape.rest_healthy;
    for (int c = 0; c < bag.mesh.columns(); ++c) {
      const std::size_t at = 2 * static_cast<std::size_t>(bag.mesh.equator_nodes()[static_cast<std::size_t>(c)]);
      const double share = column_width(bag.mesh, c) / (2 * pi * std::hypot(x[at], x[at + 1]));
      for (std::size_t i = 0; i < 2; ++i)
        if (const int d = healthy.dof[at + i]; d >= 0) by[static_cast<std::size_t>(d)] += share * x[at + i];
    }
    return by;
  }

  /// Rows of M that say where insertions lie in situ: they move with the leaf, and along it.
  void put_insertions(Eigen::MatrixXd& m, std::span<const double> steps,
                      const std::vector<std::vector<double>>& by_healthy) {
    bag.lay(z, shape.fractions, unknowns);
    for (std::size_t j = 0; j < unknowns.size(); ++j) {
      std::array<std::vector<double>, 2> side;
      for (const std::size_t k : {0, 1}) {
        const double move = (k == 0 ? 1 : -1) * steps[j];
        std::vector<double> x_healthy = shape.rest_healthy, there = z;
        add_dofs(healthy, x_healthy, move, by_healthy[j]);
        there[j] += move;
        if (j >= unknowns.insertion(0)) bag.lay(there, shape.fractions, unknowns);
        side[k] = bag.missing(x_healthy, shape.rest_stated, unknowns);
      }
      for (std::size_t i = unknowns.insertion(0); i < unknowns.size(); ++i)
        m(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = (side[1][i] - side[0][i]) / (2 * steps[j]);
    }
  }

  /// Insertions at an edge of the leaf stay there.
  void find_held() {
    bag.lay(z, shape.fractions, unknowns);
    const std::vector<double> missing = bag.missing(shape.rest_healthy, shape.rest_stated, unknowns);
    for (std::size_t i = 0; i < unknowns.insertions; ++i)
      if (held_at_an_edge(shape.insertions[i], missing[unknowns.insertion(i)])) held.push_back(unknowns.insertion(i));
  }

  /// Forces on a bag held at rest, by degree of freedom.
  std::vector<double> forces_on(const Bag& of, const State& state) {
    full.assign(state.x->size(), 0.0);
    for (Part* part : of.parts(state.under_healthy)) part->gradient(*state.x, full);
    std::vector<double> forces(state.dofs, 0.0);
    for (std::size_t c = 0; c < full.size(); ++c)
      if (state.dof[c] >= 0) forces[static_cast<std::size_t>(state.dof[c])] += full[c];
    return forces;
  }

  /// Rate of the rest positions, by degree of freedom, for a neighbour that has been laid.
  std::vector<double> rest_rate(State& state, const std::vector<double>& here, const Bag& beside, ParameterStep step) {
    std::vector<double> rate = forces_on(beside, state);
    for (std::size_t d = 0; d < rate.size(); ++d) rate[d] = -step.of(here[d], rate[d]);
    state.equilibrium.apply_inverse(rate);
    return rate;
  }

  // The two states at rest, `distance` along their rates.
  [[nodiscard]] std::vector<double> healthy_beside(double distance, const std::vector<double>& rate) const {
    std::vector<double> x = shape.rest_healthy;
    add_dofs(healthy, x, distance, rate);
    return x;
  }
  [[nodiscard]] std::vector<double> stated_beside(double distance, const std::vector<double>& rate) const {
    std::vector<double> x = shape.rest_stated;
    add_dofs(stated, x, distance, rate);
    return x;
  }

  StressFreeShape beside(const ShapeKey& neighbour, const ParameterStep& step) {
    Bag there(neighbour);
    const bool one = !key.two_states() && !neighbour.two_states();
    const std::size_t n = unknowns.size(), lines = shape.fractions.size();
    const auto unknown = static_cast<Eigen::Index>(n), all = static_cast<Eigen::Index>(n + lines);
    Eigen::VectorXd rate = Eigen::VectorXd::Zero(all), residual(all);  // of the unknowns, then of the lines
    const double *z_rate = rate.data(), *line_rate = z_rate + n;
    std::vector<double> x_healthy_rate, x_stated_rate;
    const auto moved = [&](const std::vector<double>& from, const double* rates_of) {
      std::vector<double> to = from;
      for (std::size_t i = 0; i < to.size(); ++i) to[i] += step.size * rates_of[i];
      return to;
    };
    rates.begin();
    const double differences_leave = rounding * key.equator_radius_mm / step.size;
    double change = 0;
    for (int round = 0; round < most_rounds; ++round) {
      there.lay(moved(z, z_rate), moved(shape.fractions, line_rate), unknowns);
      x_healthy_rate = rest_rate(healthy, forces_healthy, there, step);
      const std::vector<double> x_healthy = healthy_beside(step.size, x_healthy_rate);
      if (!there.filling.empty()) there.filling.rest_at(x_healthy);
      x_stated_rate = one ? x_healthy_rate : rest_rate(stated, forces_stated, there, step);
      const std::vector<double> x_stated = stated_beside(step.size, x_stated_rate);
      const std::vector<double> missing = there.missing(x_healthy, x_stated, unknowns);
      const auto next = lines_in_situ(neighbour, there.mesh, x_stated, moved(shape.fractions, line_rate));
      Eigen::VectorXd error(unknown);
      for (std::size_t i = 0; i < n; ++i) error[static_cast<Eigen::Index>(i)] = step.of(missing_here[i], missing[i]);
      for (const std::size_t i : held) error[static_cast<Eigen::Index>(i)] = 0;
      residual.head(unknown) = tangent->solve(error);
      for (std::size_t i = 0; i < lines; ++i)
        residual[unknown + static_cast<Eigen::Index>(i)] = step.of(lines_here[i], next[i]) - line_rate[i];
      const double before = change;
      change = residual.cwiseAbs().maxCoeff();
      rate.head(all) = rates.next(rate, residual);  // in its place: z_rate and line_rate point there
      if (!(change > settled * rate.cwiseAbs().maxCoeff()) || change < differences_leave) break;
      if (round > least_rounds && change > 0.5 * before && change < near_rounding * differences_leave) break;
    }
    StressFreeShape s = shape;
    const std::vector<double> to = moved(z, z_rate);
    s.equator_radius_mm = to[ShapeUnknowns::radius()];
    for (std::size_t c = 0; c < unknowns.columns; ++c)
      s.rim[c] = {to[ShapeUnknowns::rim(c, 0)], to[ShapeUnknowns::rim(c, 1)]};
    s.insertions.assign(to.begin() + static_cast<std::ptrdiff_t>(unknowns.insertion(0)), to.end());
    s.fractions = moved(shape.fractions, line_rate);
    s.rest_healthy = healthy_beside(step.size, x_healthy_rate);
    s.rest_stated = stated_beside(step.size, x_stated_rate);
    return s;
  }
};

ShapeResponse::ShapeResponse(const ShapeKey& key, const StressFreeShape& shape, std::shared_ptr<PatternStore> patterns)
    : impl_(std::make_unique<Impl>(key, shape, std::move(patterns))) {}
ShapeResponse::~ShapeResponse() = default;

StressFreeShape ShapeResponse::beside(const ShapeKey& neighbour, const ParameterStep& step) {
  // Where nothing was searched for, laying the mesh is smooth as it is.
  if (impl_->key.unloaded) return find_stress_free_shape(neighbour, impl_->patterns);
  return impl_->beside(neighbour, step);
}

}  // namespace capsim
