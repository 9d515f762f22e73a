// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The finite-element mesh of the bag: a polar anterior leaf and a posterior disc.
///
/// Model.   The anterior leaf is a ring of `around` x `layers` elements between the opening's rim
///          and the equator. Nodes lie on straight reference lines (columns) from rim to equator,
///          on rows numbered from the rim outward. Elements have 4 nodes (order 1, 2x2 Gauss
///          points) or 8 (order 2, 3x3). Cut lines run along element boundaries; each of their
///          nodes short of the tip exists twice, once per lip, and the two are tied by the index
///          map until the day of the cut. The posterior disc shares the equator nodes; its inner
///          part is a fan of triangles around one hub node.
/// Frame.   Columns run counter-clockwise; local coordinates are xi outward, eta counter-clockwise.

#include <array>
#include <span>
#include <vector>

#include "capsim/frame.hpp"

namespace capsim {

/// Two or three Gauss points on a line from -1 to 1.
struct GaussLine {
  int count;
  double at[3], weight[3];
  explicit GaussLine(int points) noexcept;
};

/// Elements of one kind with their precomputed reference geometry.
struct Patch {
  int nodes_per_element = 0;
  int points_per_element = 0;
  std::vector<int> nodes;              ///< element x node: node numbers.
  std::vector<double> shape;           ///< point x node: shape functions (the same in every element).
  std::vector<double> local_gradient;  ///< point x node x 2: derivatives by xi, eta.
  std::vector<double> local_weight;    ///< point: quadrature weight.
  std::vector<double> weights;         ///< element x point: reference area [mm2].
  /// Derivatives of the local coordinates by the reference position [1/mm] and area, for loops over four elements at a
  /// time: group of four x point x (dxi/dX, dxi/dY, deta/dX, deta/dY, area) x element of the group. Beyond the last
  /// element that one is repeated.
  std::vector<double> in_fours;

  [[nodiscard]] int elements() const noexcept {
    return nodes_per_element == 0 ? 0 : static_cast<int>(nodes.size()) / nodes_per_element;
  }
  [[nodiscard]] int points() const noexcept { return elements() * points_per_element; }
  /// Fills weights and in_fours from reference positions; false when an element is folded.
  bool measure(std::span<const double> reference);
  /// The same quadrilaterals, measured at `reference`, with 2 x 2 Gauss points in each.
  [[nodiscard]] Patch with_four_points(std::span<const double> reference) const;
  /// Leaves `share`, 0..1, of the area of a point, where only so much of it is covered.
  void cover(int element, int point, double share) noexcept;
  /// dxi/dX, dxi/dY, deta/dX, deta/dY [1/mm] at Gauss point `point` of `element`.
  [[nodiscard]] std::array<double, 4> local_by_reference(int element, int point) const noexcept;
  /// Derivatives of the element's shape functions by X and Y there [1/mm]: node x 2.
  void shape_gradients(int element, int point, std::span<double> gradients) const noexcept;
  /// Interpolates nodal positions `x` (x0 y0 x1 y1 ...) at Gauss point `point` of `element`.
  [[nodiscard]] Point at(std::span<const double> x, int element, int point) const noexcept;
  /// Rate of change along the nodal field `shift` (x y per node) of a quantity that is known at the
  /// Gauss points of `element` as `values`, `width` numbers per point; quadrilaterals only. Between
  /// the points the quantity is the polynomial through them.
  void change_along(std::span<const double> shift, int element, std::span<const double> values, int width,
                    std::span<double> change) const noexcept;
};

/// The mesh lines, before positions are known.
struct MeshPlan {
  int around = 48;
  int layers = 6;
  int order = 2;
  int posterior_layers = 2;          ///< 0: no posterior leaf.
  std::vector<double> column_angle;  ///< order * around values, increasing [rad].
  /// Layer lines of the posterior ring as shares of the way from the centre to the equator, falling from 1;
  /// posterior_layers + 1 of them, or none: evenly from 1 to 0.35.
  std::vector<double> posterior_lines;
  struct CutLine {
    int ray = 0;        ///< Element boundary 0..around-1.
    int tip_layer = 0;  ///< The longest cut planned here ends on this layer line, 1..layers-1.
    bool operator==(const CutLine&) const = default;
  };
  std::vector<CutLine> cuts;
  bool operator==(const MeshPlan&) const = default;
};

/// A layer line with a place of its own; the lines between two of them are spread evenly or graded.
struct LayerLine {
  enum Kind { rim, tip, edge, equator } kind = rim;
  double distance_mm = 0;  ///< In situ from the rim, for tips.
  int layers_before = 0;   ///< Layers between the line before and this one.
  bool operator==(const LayerLine&) const = default;
};

class Mesh {
 public:
  explicit Mesh(MeshPlan plan);

  [[nodiscard]] const MeshPlan& plan() const noexcept { return plan_; }
  [[nodiscard]] int columns() const noexcept { return plan_.around * plan_.order; }
  [[nodiscard]] int rows() const noexcept { return plan_.layers * plan_.order + 1; }
  [[nodiscard]] int nodes() const noexcept { return nodes_; }
  /// Node at (row, column), -1 where an 8-node element has none; `lip` 1 is the
  /// counter-clockwise lip of a cut line (the same node where there is no cut).
  [[nodiscard]] int node(int row, int column, int lip = 0) const noexcept;
  /// Pairs (clockwise lip, counter-clockwise lip) of cut line `cut` on the rows short of the tip of
  /// a cut that is `layers` long, from the rim outward.
  [[nodiscard]] std::vector<std::array<int, 2>> lip_nodes(int cut, int layers) const;
  [[nodiscard]] int tip_node(int cut, int layers) const noexcept;
  [[nodiscard]] int hub_node() const noexcept { return hub_; }
  /// Node of the posterior ring at (row, column), rows counted from the equator (row 0) inward; -1 where an 8-node
  /// element has none. A column lies behind the anterior one of the same number.
  [[nodiscard]] int posterior_node(int row, int column) const noexcept {
    return disc_[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns()) +
                 static_cast<std::size_t>(column)];
  }
  [[nodiscard]] const std::vector<int>& equator_nodes() const noexcept { return equator_; }

  [[nodiscard]] const Patch& anterior() const noexcept { return anterior_; }
  [[nodiscard]] const Patch& posterior_ring() const noexcept { return posterior_ring_; }
  [[nodiscard]] const Patch& posterior_fan() const noexcept { return posterior_fan_; }
  /// Anterior element of layer `layer` (0 at the rim) and sector `sector`.
  [[nodiscard]] int element(int layer, int sector) const noexcept { return layer * plan_.around + sector; }

  /// Reference positions of all nodes, x0 y0 x1 y1 ... [mm].
  [[nodiscard]] const std::vector<double>& reference() const noexcept { return reference_; }

  /// Places the nodes: `rim` and `equator` per column; `fractions[line * columns + column]` is how far
  /// layer line `line` (0 rim .. layers equator) lies on the way from rim to equator, 0..1.
  /// Returns false when an element is folded.
  bool place(std::span<const Point> rim, std::span<const Point> equator, std::span<const double> fractions);
  /// Fraction 0..1 from rim to equator of row `row` in column `column`, after place().
  [[nodiscard]] double fraction(int row, int column) const noexcept;

  /// Closed outline of the opening for nodal positions `x`: rim nodes counter-clockwise, and
  /// along each open cut down one lip to the tip and up the other. `open_layers[c]` is how many
  /// layers cut line c is open, 0: closed. Nodes alternate corner, mid-side for order 2.
  [[nodiscard]] std::vector<int> outline_nodes(std::span<const int> open_layers) const;

 private:
  // Stages of the constructor. add_quad: pick(row, column, far side?) is a node; row, column: the element's first ones.
  void number_anterior_nodes();
  void add_anterior_elements();
  void number_disc_nodes();
  void add_disc_elements();
  template <class Pick>
  void add_quad(Patch& patch, const Pick& pick, int row, int column) const;
  MeshPlan plan_;
  int nodes_ = 0;
  int hub_ = -1;
  std::vector<int> grid_;  // row x column, lip 0
  std::vector<int> twin_;  // row x column, lip 1 or -1
  std::vector<int> equator_;
  std::vector<int> disc_;  // posterior rows inside the equator: row x column
  std::vector<double> disc_fraction_;
  Patch anterior_, posterior_ring_, posterior_fan_;
  std::vector<double> reference_;
  std::vector<double> fractions_;
};

/// Shape functions of the 4- or 8-node element at (xi, eta).
void quad_shape(int order, double xi, double eta, double* shape) noexcept;

}  // namespace capsim
