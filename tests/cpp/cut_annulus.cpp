// SPDX-License-Identifier: BSD-3-Clause
#include "cut_annulus.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>
#include <stdexcept>

#include "capsim/cuts.hpp"
#include "dead_load.hpp"
#include "solve/assembly.hpp"
#include "solve/sparse_factor.hpp"

namespace capsim::checks {
namespace {

// Of the springs that correct a held edge, to the leaf's own stiffness: soft enough for round numbers.
constexpr double hold_stiffness_ratio = 30;

// Quadrature on an element's edge, good for the products of two quadratic functions.
constexpr std::array<double, 3> edge_points{-0.77459666924148338, 0, 0.77459666924148338};
constexpr std::array<double, 3> edge_weights{5.0 / 9, 8.0 / 9, 5.0 / 9};

/// Prescribes x.n of nodes by springs whose rest position is corrected until the place is right
/// (multipliers): exact without being stiff. Its energy is zero where the places are right.
class EdgeHold : public Part {
 public:
  struct Held {
    int node;
    double nx, ny, target, stiffness, force;  ///< force [mN] that holds the node, along n
  };
  explicit EdgeHold(std::vector<Held> held) : held_(std::move(held)) {}
  [[nodiscard]] std::string_view name() const noexcept override { return "edge hold"; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override { return std::make_unique<EdgeHold>(*this); }
  void couplings(std::span<const double>, Cliques& cliques) override {
    for (const Held& h : held_) cliques.add(std::array<int, 2>{2 * h.node, 2 * h.node + 1});
  }
  [[nodiscard]] static double excess(const Held& h, std::span<const double> x) {
    const std::size_t n = static_cast<std::size_t>(h.node);
    return x[2 * n] * h.nx + x[2 * n + 1] * h.ny - h.target;
  }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    double total = 0;
    for (const Held& h : held_) {
      const double e = excess(h, x);
      total += 0.5 * h.stiffness * e * e - h.force * e;
    }
    return total;
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    for (const Held& h : held_) {
      const double pull = h.stiffness * excess(h, x) - h.force;
      g[2 * static_cast<std::size_t>(h.node)] += pull * h.nx;
      g[2 * static_cast<std::size_t>(h.node) + 1] += pull * h.ny;
    }
    return energy(x);
  }
  void hessian(std::span<const double>, Curvature, Tangent& tangent) const override {
    for (std::size_t k = 0; k < held_.size(); ++k) {
      const Held& h = held_[k];
      const double m[4] = {h.stiffness * h.nx * h.nx, h.stiffness * h.nx * h.ny, h.stiffness * h.nx * h.ny,
                           h.stiffness * h.ny * h.ny};
      tangent.add(k, m);
    }
  }
  /// Moves the springs' pull into the multipliers; returns the largest distance from the right place.
  double correct(std::span<const double> x) {
    double worst = 0;
    for (Held& h : held_) {
      const double e = excess(h, x);
      h.force -= h.stiffness * e;
      worst = std::max(worst, std::abs(e));
    }
    return worst;
  }
  [[nodiscard]] std::vector<std::array<double, 2>> forces() const {
    std::vector<std::array<double, 2>> all;
    for (const Held& h : held_) all.push_back({std::atan2(h.ny, h.nx), h.force});
    return all;
  }

 private:
  std::vector<Held> held_;
};

double shoelace(const std::vector<Point>& curve) {
  double twice = 0;
  for (std::size_t i = 1; i < curve.size(); ++i) twice += curve[i - 1][0] * curve[i][1] - curve[i - 1][1] * curve[i][0];
  return 0.5 * twice;
}

}  // namespace

std::vector<double> spaced_lines(double from, double to, std::vector<double> marks,
                                 const std::function<double(double)>& size) {
  marks.push_back(from);
  marks.push_back(to);
  std::sort(marks.begin(), marks.end());
  std::vector<double> lines{from};
  for (std::size_t i = 1; i < marks.size(); ++i) {
    const double begin = marks[i - 1], end = marks[i];
    if (end - begin < 1e-9 * (to - from)) continue;
    // Number of elements up to each of many positions, taken from both ends to the middle so that
    // even sizes give even lines; then the positions at whole numbers.
    const double middle = 0.5 * (begin + end);
    std::vector<double> at, behind;
    const auto walk = [&](double start, std::vector<double>& visited) {
      const double towards = start < middle ? 1 : -1;
      for (double s = start; towards * (middle - s) > 1e-9 * (end - begin);
           s += towards * std::min(size(s) / 50, (end - begin) / 50))
        visited.push_back(s);
    };
    walk(begin, at);
    walk(end, behind);
    at.push_back(middle);
    at.insert(at.end(), behind.rbegin(), behind.rend());
    std::vector<double> count{0};
    for (std::size_t k = 1; k < at.size(); ++k)
      count.push_back(count.back() + (at[k] - at[k - 1]) / size(0.5 * (at[k] + at[k - 1])));
    const int n = std::max(1, static_cast<int>(std::lround(count.back())));
    std::size_t k = 0;
    for (int line = 1; line < n; ++line) {
      const double wanted = count.back() * line / n;
      while (count[k + 1] < wanted) ++k;
      lines.push_back(at[k] + (at[k + 1] - at[k]) * (wanted - count[k]) / (count[k + 1] - count[k]));
    }
    lines.push_back(end);
  }
  return lines;
}

CutAnnulus::CutAnnulus(const LeafShape& shape, const Membrane& law, std::vector<RadialCut> cuts,
                       const Fineness& fineness)
    : shape_(shape) {
  // Layer lines as distances along the leaf where it is as wide as at the mean of its columns.
  const double width = shape.equator_radius_mm - shape.rim_radius_mm;
  const auto column_length = [&](double angle) {
    const double x = shape.rim_center_mm[0] + (shape.rim_radius_mm - shape.equator_radius_mm) * std::cos(angle);
    const double y = shape.rim_center_mm[1] + (shape.rim_radius_mm - shape.equator_radius_mm) * std::sin(angle);
    return std::hypot(x, y);
  };
  std::vector<double> tips, rays;
  double tip_radius = shape.rim_radius_mm;
  for (const RadialCut& cut : cuts) {
    tips.push_back(cut.length_mm / column_length(cut.angle) * width);
    rays.push_back(cut.angle);
    tip_radius = shape.rim_radius_mm + cut.length_mm;
  }
  const auto size = [&](double distance) {
    return std::min(fineness.coarsest_mm, fineness.finest_mm + fineness.growth * distance);
  };
  const auto nearest = [](const std::vector<double>& foci, double at, double period) {
    double best = 1e9;
    for (const double f : foci) best = std::min(best, std::abs(period > 0 ? std::remainder(at - f, period) : at - f));
    return best;
  };
  std::vector<double> marks = tips;
  marks.insert(marks.end(), shape.lines_mm.begin(), shape.lines_mm.end());
  std::vector<double> lines = spaced_lines(0, width, marks, [&](double at) { return size(nearest(tips, at, 0)); });
  std::vector<double> ray_marks = rays;
  ray_marks.insert(ray_marks.end(), shape.rays.begin(), shape.rays.end());
  std::vector<double> around = spaced_lines(0, 2 * pi, ray_marks, [&](double at) {
    if (rays.empty()) return fineness.coarsest_angle;
    const double size_mm = fineness.finest_mm + fineness.growth * tip_radius * nearest(rays, at, 2 * pi);
    return std::min(fineness.coarsest_angle, size_mm / tip_radius);
  });
  around.pop_back();  // 2 pi is 0

  MeshPlan plan;
  plan.around = static_cast<int>(around.size());
  plan.layers = static_cast<int>(lines.size()) - 1;
  plan.order = 2;
  plan.posterior_layers = 0;
  for (std::size_t i = 0; i < around.size(); ++i) {
    plan.column_angle.push_back(around[i]);
    plan.column_angle.push_back(0.5 * (around[i] + (i + 1 < around.size() ? around[i + 1] : 2 * pi)));
  }
  const auto index_of = [](const std::vector<double>& in, double value) {
    std::size_t best = 0;
    for (std::size_t i = 0; i < in.size(); ++i)
      if (std::abs(in[i] - value) < std::abs(in[best] - value)) best = i;
    return static_cast<int>(best);
  };
  for (std::size_t k = 0; k < cuts.size(); ++k)
    plan.cuts.push_back({index_of(around, rays[k]), index_of(lines, tips[k])});
  mesh_ = std::make_unique<Mesh>(plan);

  const std::size_t columns = plan.column_angle.size();
  std::vector<Point> rim(columns), equator(columns);
  std::vector<double> fractions;
  for (std::size_t c = 0; c < columns; ++c) {
    const double cosine = std::cos(plan.column_angle[c]), sine = std::sin(plan.column_angle[c]);
    rim[c] = {shape.rim_center_mm[0] + shape.rim_radius_mm * cosine,
              shape.rim_center_mm[1] + shape.rim_radius_mm * sine};
    equator[c] = {shape.equator_radius_mm * cosine, shape.equator_radius_mm * sine};
  }
  for (const double line : lines) fractions.insert(fractions.end(), columns, line / width);
  if (!mesh_->place(rim, equator, fractions)) throw std::runtime_error("cut annulus: a folded element");
  x_ = mesh_->reference();
  leaf_ = std::make_unique<Leaf>(
      "leaf", law,
      std::vector<Leaf::Region>{
          {&mesh_->anterior(),
           std::vector<double>(static_cast<std::size_t>(mesh_->anterior().points()), shape.thickness_mm),
           {}}});
  open_.assign(cuts.size(), 0);
}

void CutAnnulus::grow(const std::function<std::array<double, 2>(double)>& radial_and_hoop) {
  const Patch& patch = mesh_->anterior();
  std::vector<double>& growth = leaf_->regions().front().growth;
  growth.clear();
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      const Point p = patch.at(mesh_->reference(), e, q);
      const double r = std::hypot(p[0], p[1]), c = p[0] / r, s = p[1] / r;
      const auto [radial, hoop] = radial_and_hoop(r);
      const double off = (radial - hoop) * c * s;
      growth.insert(growth.end(), {radial * c * c + hoop * s * s, off, off, radial * s * s + hoop * c * c});
    }
}

void CutAnnulus::grow_band(double to_mm, double factor) {
  const Patch& patch = mesh_->anterior();
  Leaf::Region& region = leaf_->regions().front();
  const double end = to_mm / (shape_.equator_radius_mm - shape_.rim_radius_mm);
  int layers = 0;
  while (layers < mesh_->plan().layers && mesh_->fraction(2 * layers + 2, 0) < end + 1e-9) ++layers;
  region.growth.clear();
  for (int e = 0; e < patch.elements(); ++e)
    for (int q = 0; q < patch.points_per_element; ++q) {
      const double f = e < mesh_->element(layers, 0) ? factor : 1;
      region.growth.insert(region.growth.end(), {f, 0, 0, f});
      region.thickness_mm[static_cast<std::size_t>(e) * patch.points_per_element + static_cast<std::size_t>(q)] =
          f * shape_.thickness_mm;
    }
}

// Nodes, shares and unloaded position (as angle) of a point of the edge.
double CutAnnulus::edge_position(int sector, double eta, std::array<int, 3>& nodes, std::array<double, 3>& shares,
                                 double& length_per_eta) const {
  const int row = mesh_->rows() - 1, c = 2 * sector;
  nodes = {mesh_->node(row, c), mesh_->node(row, (c + 2) % mesh_->columns()), mesh_->node(row, c + 1)};
  shares = {-0.5 * eta * (1 - eta), 0.5 * eta * (1 + eta), 1 - eta * eta};
  const std::array<double, 3> slopes{eta - 0.5, eta + 0.5, -2 * eta};
  double x = 0, y = 0, dx = 0, dy = 0;
  for (std::size_t a = 0; a < 3; ++a) {
    const std::size_t n = static_cast<std::size_t>(nodes[a]);
    x += shares[a] * mesh_->reference()[2 * n];
    y += shares[a] * mesh_->reference()[2 * n + 1];
    dx += slopes[a] * mesh_->reference()[2 * n];
    dy += slopes[a] * mesh_->reference()[2 * n + 1];
  }
  length_per_eta = std::hypot(dx, dy);
  return std::atan2(y, x);
}

void CutAnnulus::hang(const std::function<double(double)>& kl, double anchor_radius, double slack_length) {
  std::vector<Zonule::Bundle> bundles;
  for (int s = 0; s < mesh_->plan().around; ++s)
    for (std::size_t g = 0; g < 3; ++g) {
      Zonule::Bundle b;
      std::array<int, 3> nodes;
      std::array<double, 3> shares;
      double length;
      b.angle = edge_position(s, edge_points[g], nodes, shares, length);
      b.clique = s;
      b.count = 3;
      std::copy(nodes.begin(), nodes.end(), b.nodes.begin());
      std::copy(shares.begin(), shares.end(), b.share.begin());
      b.anchor = {anchor_radius * std::cos(b.angle), anchor_radius * std::sin(b.angle)};
      b.stiffness_mN_per_mm = edge_weights[g] * length * kl(b.angle);
      double off = shape_.equator_radius_mm;  // of the edge from the circle
      Point place{0, 0};
      for (std::size_t a = 0; a < 3; ++a)
        for (std::size_t i = 0; i < 2; ++i)
          place[i] += shares[a] * mesh_->reference()[2 * static_cast<std::size_t>(nodes[a]) + i];
      off -= std::hypot(place[0], place[1]);
      b.slack_length_mm = slack_length + off;
      b.width = edge_weights[g] * length / shape_.equator_radius_mm;
      bundles.push_back(b);
    }
  zonule_ = std::make_unique<Zonule>(std::move(bundles));
}

void CutAnnulus::hold(double radius) {
  const int last_row = mesh_->rows() - 1, columns = mesh_->columns();
  const double stretch = leaf_->membrane().small_strain_modulus_kPa() * shape_.thickness_mm;
  std::vector<EdgeHold::Held> held;
  for (int c = 0; c < columns; ++c) {
    const double angle = mesh_->plan().column_angle[static_cast<std::size_t>(c)];
    const double share = c % 2 == 0 ? 1.0 / 3 : 2.0 / 3;  // of an element's edge, by Simpson's rule
    held.push_back({mesh_->node(last_row, c), std::cos(angle), std::sin(angle), radius,
                    share * hold_stiffness_ratio * stretch, 0});
  }
  hold_ = std::make_unique<EdgeHold>(std::move(held));
}

void CutAnnulus::load(const std::function<Point(double)>& traction) {
  load_ = std::make_unique<DeadLoad>(equator_traction(*mesh_, traction));
}

void CutAnnulus::pin() { pinned_ = true; }

std::vector<int> CutAnnulus::dof_map() const {
  const MeshPlan& plan = mesh_->plan();
  std::vector<int> master(static_cast<std::size_t>(mesh_->nodes()), -1);
  for (std::size_t k = 0; k < plan.cuts.size(); ++k) {
    const auto lips = mesh_->lip_nodes(static_cast<int>(k), plan.cuts[k].tip_layer);
    for (std::size_t r = static_cast<std::size_t>(open_[k] * plan.order); r < lips.size(); ++r)
      master[static_cast<std::size_t>(lips[r][1])] = lips[r][0];
  }
  std::vector<int> dof(x_.size(), -1);
  // Balanced loads: one place held, and one direction of a place far from it. A held edge can only turn.
  const int held = mesh_->node(mesh_->rows() - 1, 0),
            guided = mesh_->node(mesh_->rows() - 1, mesh_->plan().around / 2 * 2);
  int next = 0;
  for (int n = 0; n < mesh_->nodes(); ++n)
    for (int i = 0; i < 2; ++i) {
      if (pinned_ && ((n == held && (i == 1 || !hold_)) || (n == guided && i == 1 && !hold_))) continue;
      const int m = master[static_cast<std::size_t>(n)];
      dof[2 * static_cast<std::size_t>(n) + static_cast<std::size_t>(i)] =
          m >= 0 ? dof[2 * static_cast<std::size_t>(m) + static_cast<std::size_t>(i)] : next++;
    }
  return dof;
}

std::vector<Part*> CutAnnulus::parts() const {
  std::vector<Part*> all{leaf_.get()};
  for (Part* part : {static_cast<Part*>(zonule_.get()), hold_.get(), load_.get()})
    if (part != nullptr) all.push_back(part);
  return all;
}

EquilibriumReport CutAnnulus::solve(std::vector<int> open_layers, double tolerance) {
  open_ = std::move(open_layers);
  Equilibrium equilibrium;
  equilibrium.set_system(parts(), dof_map());
  equilibrium.settings().tolerance_mN = tolerance;
  const double scale = shape_.equator_radius_mm;
  const double stiffness = hold_stiffness_ratio * leaf_->membrane().small_strain_modulus_kPa() * shape_.thickness_mm;
  for (int round = 0; round < 12; ++round) {
    const EquilibriumReport report = equilibrium.solve(x_);
    if (!report.converged()) {
      std::ostringstream text;
      text << "cut annulus: no equilibrium, unbalanced force " << report.residual_mN << " mN, limit " << tolerance
           << " mN";
      throw std::runtime_error(text.str());
    }
    // A place is right when its error is rounding, or its spring would pull by a few tolerances.
    if (!hold_ || static_cast<EdgeHold&>(*hold_).correct(x_) < std::max(1e-14 * scale, 10 * tolerance / stiffness))
      return report;
  }
  throw std::runtime_error("cut annulus: the edge was not brought to its place");
}

void CutAnnulus::solve_small(std::vector<int> open_layers) {
  open_ = std::move(open_layers);
  const std::vector<Part*> all = parts();
  const std::vector<int> dof = dof_map();
  const int dofs = 1 + *std::max_element(dof.begin(), dof.end());
  Assembly assembly;
  SparseFactor factor;
  assembly.analyze(all, x_, dof, dofs);
  factor.analyze(dofs, assembly.pattern().column_starts(), assembly.pattern().row_indices());
  assembly.assemble(all, x_, Curvature::exact);
  if (!factor.factorize(assembly.values(), 0)) throw std::runtime_error("cut annulus: the leaf is not held");
  // The factor of the unloaded leaf serves all steps; they end when rounding is all that is left.
  std::vector<double> full(x_.size()), reduced(static_cast<std::size_t>(dofs));
  const auto newton = [&] {
    for (double last = 1e300;;) {
      std::fill(full.begin(), full.end(), 0.0);
      std::fill(reduced.begin(), reduced.end(), 0.0);
      for (Part* part : all) part->gradient(x_, full);
      for (std::size_t c = 0; c < full.size(); ++c)
        if (dof[c] >= 0) reduced[static_cast<std::size_t>(dof[c])] -= full[c];
      double most = 0;
      for (const double r : reduced) most = std::max(most, std::abs(r));
      if (!(most < 0.5 * last)) return;
      last = most;
      factor.solve(reduced);
      for (std::size_t c = 0; c < full.size(); ++c)
        if (dof[c] >= 0) x_[c] += reduced[static_cast<std::size_t>(dof[c])];
    }
  };
  newton();
  if (!hold_) return;
  double last = 1e300;
  for (double error; (error = static_cast<EdgeHold&>(*hold_).correct(x_)) < 0.5 * last; last = error) newton();
}

std::vector<int> CutAnnulus::all_closed() const { return std::vector<int>(mesh_->plan().cuts.size(), 0); }

std::vector<int> CutAnnulus::all_open() const {
  std::vector<int> layers;
  for (const MeshPlan::CutLine& cut : mesh_->plan().cuts) layers.push_back(cut.tip_layer);
  return layers;
}

double CutAnnulus::energy_mNmm() const {
  double total = 0;
  for (const Part* part : parts()) total += part->energy(x_);
  return total;
}

Point CutAnnulus::position(int node) const noexcept {
  return {x_[2 * static_cast<std::size_t>(node)], x_[2 * static_cast<std::size_t>(node) + 1]};
}

OpeningShape CutAnnulus::opening() const {
  std::vector<Point> outline;
  for (const int n : mesh_->outline_nodes(open_)) outline.push_back(position(n));
  return capsim::measure_opening(outline, 2, true);
}

double CutAnnulus::arc_area_mm2() const {
  double area = 0;
  for (int s = 0; s < mesh_->plan().around; ++s) {
    std::vector<Point> edge;
    const Point a = position(mesh_->node(0, 2 * s, 1)), m = position(mesh_->node(0, 2 * s + 1)),
                b = position(mesh_->node(0, (2 * s + 2) % mesh_->columns(), 0));
    constexpr int pieces = 32;
    for (int k = 0; k <= pieces; ++k) {
      const double t = -1 + 2.0 * k / pieces;
      Point p;
      for (std::size_t i = 0; i < 2; ++i)
        p[i] = -0.5 * t * (1 - t) * a[i] + (1 - t * t) * m[i] + 0.5 * t * (1 + t) * b[i];
      edge.push_back(p);
    }
    area += shoelace(edge);
  }
  return area;
}

int CutAnnulus::rim_node(double angle, int lip) const {
  const auto& columns = mesh_->plan().column_angle;
  std::size_t best = 0;
  for (std::size_t c = 0; c < columns.size(); ++c)
    if (std::abs(std::remainder(columns[c] - angle, 2 * pi)) < std::abs(std::remainder(columns[best] - angle, 2 * pi)))
      best = c;
  if (std::abs(std::remainder(columns[best] - angle, 2 * pi)) > 1e-9)
    throw std::runtime_error("cut annulus: no column at this angle");
  return mesh_->node(0, static_cast<int>(best), lip);
}

Point CutAnnulus::rim_point(double angle) const {
  // Angles on the rim are between those of the nodes as the local coordinate is, to the rim's own error.
  const auto& columns = mesh_->plan().column_angle;
  const double at =
      std::remainder(angle, 2 * pi) < 0 ? std::remainder(angle, 2 * pi) + 2 * pi : std::remainder(angle, 2 * pi);
  int s = mesh_->plan().around - 1;
  while (columns[static_cast<std::size_t>(2 * s)] > at + 1e-12) --s;
  const double begin = columns[static_cast<std::size_t>(2 * s)],
               end = s + 1 < mesh_->plan().around ? columns[static_cast<std::size_t>(2 * s + 2)] : 2 * pi;
  const double t = -1 + 2 * (at - begin) / (end - begin);
  const Point a = position(mesh_->node(0, 2 * s, 1)), m = position(mesh_->node(0, 2 * s + 1)),
              b = position(mesh_->node(0, (2 * s + 2) % mesh_->columns(), 0));
  Point p;
  for (std::size_t i = 0; i < 2; ++i) p[i] = -0.5 * t * (1 - t) * a[i] + (1 - t * t) * m[i] + 0.5 * t * (1 + t) * b[i];
  return p;
}

std::vector<std::array<double, 2>> CutAnnulus::holding_forces() const {
  return hold_ ? static_cast<const EdgeHold&>(*hold_).forces() : std::vector<std::array<double, 2>>{};
}

double CutAnnulus::tip_release_mN(std::size_t k) const {
  return capsim::tip_energy_release_mN(*mesh_, *leaf_, {}, x_, static_cast<int>(k), open_[k]);
}

}  // namespace capsim::checks
