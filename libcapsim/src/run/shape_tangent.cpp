// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_tangent.hpp"

#include <algorithm>
#include <numeric>

#include "parts/equator_arc.hpp"

namespace capsim {
namespace {

// Numbers 0 .. count - 1 in groups whose members are at least `apart` from one another, also round the end.
std::vector<std::vector<std::size_t>> spread(std::size_t count, std::size_t apart) {
  const std::size_t whole = count / apart * apart;
  std::vector<std::vector<std::size_t>> groups(whole > 0 ? apart : 0);
  for (std::size_t i = 0; i < whole; ++i) groups[i % apart].push_back(i);
  for (std::size_t i = whole; i < count; ++i) groups.push_back({i});
  return groups;
}

// Columns whose nodes feel an unknown; all of them when it moves everything.
struct Reach {
  int first = 0, count = 0;
};

Reach reach_of(const Mesh& mesh, const ShapeUnknowns& unknowns, std::size_t unknown) {
  const int order = mesh.plan().order, cols = mesh.columns();
  if (unknown == ShapeUnknowns::radius()) return {0, cols};
  if (unknown < unknowns.insertion(0)) {
    const int column = static_cast<int>((unknown - 1) / 2);
    return {column - order, 2 * order + 1};
  }
  const int sector = unknowns.sector_of_insertion[unknown - unknowns.insertion(0)];
  return {sector * order, order + 1};
}

}  // namespace

ShapeUnknowns shape_unknowns(const Mesh& mesh, std::size_t insertions) {
  ShapeUnknowns unknowns{static_cast<std::size_t>(mesh.columns()), insertions, {}};
  if (insertions == 0) return unknowns;
  for (const ArcPoint& point : equator_points(mesh)) unknowns.sector_of_insertion.push_back(point.sector);
  return unknowns;
}

std::vector<std::vector<std::size_t>> independent_groups(const Mesh& mesh, const ShapeUnknowns& unknowns) {
  std::vector<std::vector<std::size_t>> groups{{ShapeUnknowns::radius()}};
  const std::size_t apart = 2 * static_cast<std::size_t>(mesh.plan().order) + 1;
  for (const auto& columns : spread(unknowns.columns, apart))
    for (std::size_t axis = 0; axis < 2; ++axis) {
      groups.emplace_back();
      for (const std::size_t c : columns) groups.back().push_back(ShapeUnknowns::rim(c, axis));
    }
  if (unknowns.insertions == 0) return groups;
  std::vector<std::vector<std::size_t>> of_sector(static_cast<std::size_t>(mesh.plan().around));
  for (std::size_t i = 0; i < unknowns.insertions; ++i)
    of_sector[static_cast<std::size_t>(unknowns.sector_of_insertion[i])].push_back(unknowns.insertion(i));
  for (const auto& sectors : spread(of_sector.size(), 2)) {
    std::size_t most = 0;
    for (const std::size_t s : sectors) most = std::max(most, of_sector[s].size());
    for (std::size_t point = 0; point < most; ++point) {
      groups.emplace_back();
      for (const std::size_t s : sectors)
        if (point < of_sector[s].size()) groups.back().push_back(of_sector[s][point]);
    }
  }
  return groups;
}

namespace {

// Degrees of freedom of each column of the anterior leaf, lips included.
std::vector<std::vector<std::size_t>> dofs_of_columns(const Mesh& mesh, std::span<const int> dof) {
  std::vector<std::vector<std::size_t>> dofs_of(static_cast<std::size_t>(mesh.columns()));
  for (int c = 0; c < mesh.columns(); ++c)
    for (int r = 0; r < mesh.rows(); ++r)
      for (const int lip : {0, 1}) {
        const int node = mesh.node(r, c, lip);
        if (node < 0 || (lip == 1 && node == mesh.node(r, c, 0))) continue;
        for (std::size_t i = 0; i < 2; ++i)
          if (const int d = dof[2 * static_cast<std::size_t>(node) + i]; d >= 0)
            dofs_of[static_cast<std::size_t>(c)].push_back(static_cast<std::size_t>(d));
      }
  return dofs_of;
}

void solve_all(std::vector<std::vector<double>>& rates, const std::function<void(std::vector<double>&)>& solve_four) {
  const std::size_t dofs = rates.empty() ? 0 : rates[0].size();
  std::vector<double> four(4 * dofs);
  for (std::size_t first = 0; first < rates.size(); first += 4) {
    const std::size_t count = std::min<std::size_t>(4, rates.size() - first);
    for (std::size_t lane = 0; lane < count; ++lane)
      for (std::size_t i = 0; i < dofs; ++i) four[4 * i + lane] = rates[first + lane][i];
    solve_four(four);
    for (std::size_t lane = 0; lane < count; ++lane)
      for (std::size_t i = 0; i < dofs; ++i) rates[first + lane][i] = four[4 * i + lane];
  }
}

}  // namespace

std::vector<std::vector<double>> rest_shape_rates(
    const Mesh& mesh, const ShapeUnknowns& unknowns, std::span<const int> dof, std::span<const double> z,
    std::span<const double> steps, Differences differences,
    const std::function<std::span<const double>(std::span<const double>)>& forces_at,
    const std::function<void(std::vector<double>&)>& solve_four) {
  const int dofs = dof.empty() ? 0 : 1 + *std::max_element(dof.begin(), dof.end()), cols = mesh.columns();
  const std::vector<std::vector<std::size_t>> dofs_of = dofs_of_columns(mesh, dof);
  std::vector<std::vector<double>> rates(unknowns.size());
  std::vector<double> there(z.begin(), z.end()), ahead(static_cast<std::size_t>(dofs)), behind(ahead.size());
  const auto put_forces = [&](std::vector<double>& forces) {
    const std::span<const double> found = forces_at(there);
    std::copy(found.begin(), found.end(), forces.begin());
  };
  const bool central = differences == Differences::central;
  if (!central) put_forces(behind);
  for (const auto& group : independent_groups(mesh, unknowns)) {
    for (const std::size_t j : group) there[j] = z[j] + steps[j];
    put_forces(ahead);
    if (central) {
      for (const std::size_t j : group) there[j] = z[j] - steps[j];
      put_forces(behind);
    }
    for (const std::size_t j : group) {
      there[j] = z[j];
      std::vector<double>& rate = rates[j];
      rate.assign(static_cast<std::size_t>(dofs), 0.0);
      const double apart = (central ? 2 : 1) * steps[j];
      const auto take = [&](std::size_t d) { rate[d] = (behind[d] - ahead[d]) / apart; };
      if (j == ShapeUnknowns::radius()) {
        for (std::size_t d = 0; d < rate.size(); ++d) take(d);
      } else {
        const Reach reach = reach_of(mesh, unknowns, j);
        for (int k = 0; k < reach.count; ++k)
          for (const std::size_t d : dofs_of[static_cast<std::size_t>(((reach.first + k) % cols + cols) % cols)])
            take(d);
      }
    }
  }
  if (solve_four) solve_all(rates, solve_four);
  return rates;
}

}  // namespace capsim
