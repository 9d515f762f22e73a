// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/mesh.hpp"

#include <cmath>

#include "capsim/error.hpp"

namespace capsim {
namespace {

// Corner and mid-side positions of the 8-node element in local coordinates.
constexpr double node_xi[8] = {-1, 1, 1, -1, 0, 1, 0, -1};
constexpr double node_eta[8] = {-1, -1, 1, 1, -1, 0, 1, 0};

void quad_gradient(int order, double xi, double eta, double* d) {
  if (order == 1) {
    for (int a = 0; a < 4; ++a) {
      d[2 * a] = 0.25 * node_xi[a] * (1 + node_eta[a] * eta);
      d[2 * a + 1] = 0.25 * node_eta[a] * (1 + node_xi[a] * xi);
    }
    return;
  }
  for (int a = 0; a < 4; ++a) {
    const double p = node_xi[a], q = node_eta[a];
    d[2 * a] = 0.25 * p * (1 + q * eta) * (2 * p * xi + q * eta);
    d[2 * a + 1] = 0.25 * q * (1 + p * xi) * (p * xi + 2 * q * eta);
  }
  for (int a = 4; a < 8; ++a) {
    const double p = node_xi[a], q = node_eta[a];
    if (p == 0) {
      d[2 * a] = -xi * (1 + q * eta);
      d[2 * a + 1] = 0.5 * q * (1 - xi * xi);
    } else {
      d[2 * a] = 0.5 * p * (1 - eta * eta);
      d[2 * a + 1] = -eta * (1 + p * xi);
    }
  }
}

// Quadrilaterals without elements, with `side` Gauss points along either local coordinate.
Patch quad_patch(int order, int side) {
  Patch patch;
  patch.nodes_per_element = order == 1 ? 4 : 8;
  patch.points_per_element = side * side;
  const GaussLine line(side);
  for (int i = 0; i < side; ++i)
    for (int j = 0; j < side; ++j) {
      double shape[8], gradient[16];
      quad_shape(order, line.at[i], line.at[j], shape);
      quad_gradient(order, line.at[i], line.at[j], gradient);
      patch.shape.insert(patch.shape.end(), shape, shape + patch.nodes_per_element);
      patch.local_gradient.insert(patch.local_gradient.end(), gradient, gradient + 2 * patch.nodes_per_element);
      patch.local_weight.push_back(line.weight[i] * line.weight[j]);
    }
  return patch;
}

// Triangles in area coordinates (s, t): vertices (0,0), (1,0), (0,1), mid-sides between them.
Patch triangle_patch(int order) {
  Patch patch;
  patch.nodes_per_element = order == 1 ? 3 : 6;
  patch.points_per_element = order == 1 ? 1 : 3;
  const double points[3][2] = {
      {order == 1 ? 1.0 / 3 : 1.0 / 6, order == 1 ? 1.0 / 3 : 1.0 / 6}, {2.0 / 3, 1.0 / 6}, {1.0 / 6, 2.0 / 3}};
  for (int k = 0; k < patch.points_per_element; ++k) {
    const double s = points[k][0], t = points[k][1], r = 1 - s - t;
    if (order == 1) {
      patch.shape.insert(patch.shape.end(), {r, s, t});
      patch.local_gradient.insert(patch.local_gradient.end(), {-1, -1, 1, 0, 0, 1});
      patch.local_weight.push_back(0.5);
    } else {
      patch.shape.insert(patch.shape.end(),
                         {r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t, 4 * t * r});
      patch.local_gradient.insert(patch.local_gradient.end(), {1 - 4 * r, 1 - 4 * r, 4 * s - 1, 0, 0, 4 * t - 1,
                                                               4 * (r - s), -4 * s, 4 * t, 4 * s, -4 * t, 4 * (r - t)});
      patch.local_weight.push_back(1.0 / 6);
    }
  }
  return patch;
}

}  // namespace

void quad_shape(int order, double xi, double eta, double* shape) noexcept {
  if (order == 1) {
    for (int a = 0; a < 4; ++a) shape[a] = 0.25 * (1 + node_xi[a] * xi) * (1 + node_eta[a] * eta);
    return;
  }
  for (int a = 0; a < 4; ++a) {
    const double p = node_xi[a] * xi, q = node_eta[a] * eta;
    shape[a] = 0.25 * (1 + p) * (1 + q) * (p + q - 1);
  }
  for (int a = 4; a < 8; ++a)
    shape[a] =
        node_xi[a] == 0 ? 0.5 * (1 - xi * xi) * (1 + node_eta[a] * eta) : 0.5 * (1 - eta * eta) * (1 + node_xi[a] * xi);
}

namespace {

// The point's share of weights and in_fours; false when the element is folded there.
template <int n>
bool measure_point(Patch& patch, const double* position, int element, int q) {
  const double* local = &patch.local_gradient[static_cast<std::size_t>(q) * n * 2];
  double j[4] = {0, 0, 0, 0};  // dX/dxi, dX/deta, dY/dxi, dY/deta
  for (int a = 0; a < n; ++a)
    for (int i = 0; i < 2; ++i)
      for (int k = 0; k < 2; ++k) j[2 * i + k] += position[2 * a + i] * local[2 * a + k];
  const double determinant = j[0] * j[3] - j[1] * j[2];
  const std::size_t point = static_cast<std::size_t>(element) * patch.points_per_element + q;
  patch.weights[point] = determinant * patch.local_weight[q];
  const double mine[5] = {j[3] / determinant, -j[1] / determinant, -j[2] / determinant, j[0] / determinant,
                          patch.weights[point]};
  double* four = &patch.in_fours[static_cast<std::size_t>(element / 4 * patch.points_per_element + q) * 20];
  const int last_lane = element + 1 < patch.elements() ? element % 4 : 3;
  for (int lane = element % 4; lane <= last_lane; ++lane)
    for (int i = 0; i < 5; ++i) four[4 * i + lane] = mine[i];
  return determinant > 0;
}

template <int n>
bool measure_points(Patch& patch, std::span<const double> reference) {
  bool sound = true;
  for (int e = 0; e < patch.elements(); ++e) {
    double position[2 * n];
    for (int a = 0; a < n; ++a)
      for (int i = 0; i < 2; ++i)
        position[2 * a + i] =
            reference[2 * static_cast<std::size_t>(patch.nodes[static_cast<std::size_t>(e) * n + a]) + i];
    for (int q = 0; q < patch.points_per_element; ++q) sound = measure_point<n>(patch, position, e, q) && sound;
  }
  return sound;
}

}  // namespace

GaussLine::GaussLine(int points) noexcept : count(points), at{}, weight{1, 1, 0} {
  const double g = points == 2 ? std::sqrt(1.0 / 3) : std::sqrt(0.6);
  at[0] = -g;
  at[1] = points == 2 ? g : 0;
  at[2] = g;
  if (points == 3) weight[0] = weight[2] = 5.0 / 9, weight[1] = 8.0 / 9;
}

Patch Patch::with_four_points(std::span<const double> reference) const {
  Patch patch = quad_patch(nodes_per_element == 4 ? 1 : 2, 2);
  patch.nodes = nodes;
  static_cast<void>(patch.measure(reference));  // folded where this one is
  return patch;
}

void Patch::cover(int element, int point, double share) noexcept {
  weights[static_cast<std::size_t>(element * points_per_element + point)] *= share;
  double* four = &in_fours[static_cast<std::size_t>(element / 4 * points_per_element + point) * 20];
  const int last_lane = element + 1 < elements() ? element % 4 : 3;
  for (int lane = element % 4; lane <= last_lane; ++lane) four[16 + lane] *= share;
}

bool Patch::measure(std::span<const double> reference) {
  weights.resize(static_cast<std::size_t>(points()));
  const int groups = (elements() + 3) / 4;
  in_fours.resize(static_cast<std::size_t>(groups * points_per_element) * 20);
  switch (nodes_per_element) {
    case 3:
      return measure_points<3>(*this, reference);
    case 4:
      return measure_points<4>(*this, reference);
    case 6:
      return measure_points<6>(*this, reference);
    default:
      return measure_points<8>(*this, reference);
  }
}

std::array<double, 4> Patch::local_by_reference(int element, int point) const noexcept {
  const double* four = &in_fours[static_cast<std::size_t>(element / 4 * points_per_element + point) * 20];
  const int lane = element % 4;
  return {four[lane], four[4 + lane], four[8 + lane], four[12 + lane]};
}

void Patch::shape_gradients(int element, int point, std::span<double> gradients) const noexcept {
  const std::array<double, 4> j = local_by_reference(element, point);
  const std::size_t n = static_cast<std::size_t>(nodes_per_element);
  const double* local = &local_gradient[static_cast<std::size_t>(point) * n * 2];
  for (std::size_t a = 0; a < n; ++a)
    for (std::size_t k = 0; k < 2; ++k) gradients[2 * a + k] = local[2 * a] * j[k] + local[2 * a + 1] * j[2 + k];
}

Point Patch::at(std::span<const double> x, int element, int point) const noexcept {
  Point p{0, 0};
  const int n = nodes_per_element;
  for (int a = 0; a < n; ++a) {
    const double s = shape[static_cast<std::size_t>(point) * n + a];
    const std::size_t node = static_cast<std::size_t>(nodes[static_cast<std::size_t>(element) * n + a]);
    p[0] += s * x[2 * node];
    p[1] += s * x[2 * node + 1];
  }
  return p;
}

void Patch::change_along(std::span<const double> shift, int element, std::span<const double> values, int width,
                         std::span<double> change) const noexcept {
  const int n = nodes_per_element, side = points_per_element == 4 ? 2 : 3;
  const double g = GaussLine(side).at[side - 1];
  // Slopes at each of the points on a line of the polynomial through all of them.
  const double two[2][2] = {{-0.5 / g, 0.5 / g}, {-0.5 / g, 0.5 / g}};
  const double three[3][3] = {{-1.5 / g, 2 / g, -0.5 / g}, {-0.5 / g, 0, 0.5 / g}, {0.5 / g, -2 / g, 1.5 / g}};
  const auto slope = [&](int at, int from) { return side == 2 ? two[at][from] : three[at][from]; };
  for (int i = 0; i < side; ++i)
    for (int j = 0; j < side; ++j) {
      const int p = i * side + j;
      double d[16], q[2] = {}, xi[2] = {}, eta[2] = {};  // the shift, and the gradients of the local coordinates
      shape_gradients(element, p, d);
      for (int a = 0; a < n; ++a) {
        const std::size_t node = static_cast<std::size_t>(nodes[static_cast<std::size_t>(element) * n + a]);
        const double s = shape[static_cast<std::size_t>(p) * n + a];
        for (int k = 0; k < 2; ++k) {
          q[k] += s * shift[2 * node + k];
          xi[k] += node_xi[a] * d[2 * a + k];
          eta[k] += node_eta[a] * d[2 * a + k];
        }
      }
      const double along_xi = xi[0] * q[0] + xi[1] * q[1], along_eta = eta[0] * q[0] + eta[1] * q[1];
      for (int w = 0; w < width; ++w) {
        double sum = 0;
        for (int k = 0; k < side; ++k)
          sum += along_xi * slope(i, k) * values[static_cast<std::size_t>((k * side + j) * width + w)] +
                 along_eta * slope(j, k) * values[static_cast<std::size_t>((i * side + k) * width + w)];
        change[static_cast<std::size_t>(p * width + w)] = sum;
      }
    }
}

namespace {

// Share of the way from the centre to the equator of row r of the posterior ring; past its last row, half way to the
// hub.
double posterior_share(const MeshPlan& plan, int r) noexcept {
  constexpr double innermost = 0.35;
  const int rows = plan.posterior_layers * plan.order;
  if (plan.posterior_lines.empty()) return r <= rows ? 1 - (1 - innermost) * r / rows : innermost * 0.5;
  if (r > rows) return 0.5 * plan.posterior_lines.back();
  const auto line = static_cast<std::size_t>(r / plan.order);
  return r % plan.order == 0 ? plan.posterior_lines[line]
                             : 0.5 * (plan.posterior_lines[line] + plan.posterior_lines[line + 1]);
}

}  // namespace

Mesh::Mesh(MeshPlan plan) : plan_(std::move(plan)) {
  if (static_cast<int>(plan_.column_angle.size()) != columns())
    throw InternalError("mesh plan: columns do not match the element counts");
  if (!plan_.posterior_lines.empty() && static_cast<int>(plan_.posterior_lines.size()) != plan_.posterior_layers + 1)
    throw InternalError("mesh plan: one line more than posterior layers is needed");
  number_anterior_nodes();
  add_anterior_elements();
  if (plan_.posterior_layers <= 0) return;
  number_disc_nodes();
  add_disc_elements();
}

// Column by column, so that the natural numbering is banded.
void Mesh::number_anterior_nodes() {
  const int order = plan_.order, cols = columns();
  grid_.assign(static_cast<std::size_t>(rows()) * cols, -1);
  twin_ = grid_;
  const auto index = [cols](int row, int column) { return static_cast<std::size_t>(row) * cols + column; };
  for (int c = 0; c < cols; ++c) {
    for (int r = 0; r < rows(); ++r)
      if (order == 1 || r % 2 == 0 || c % 2 == 0) grid_[index(r, c)] = nodes_++;
    for (const MeshPlan::CutLine& cut : plan_.cuts)
      if (c == cut.ray * order)
        for (int r = 0; r < cut.tip_layer * order; ++r) twin_[index(r, c)] = nodes_++;
  }
  for (int c = 0; c < cols; ++c) equator_.push_back(grid_[index(rows() - 1, c)]);
}

template <class Pick>
void Mesh::add_quad(Patch& patch, const Pick& pick, int row, int column) const {
  const int r = row, c = column, o = plan_.order;
  patch.nodes.insert(patch.nodes.end(),
                     {pick(r, c, false), pick(r + o, c, false), pick(r + o, c + o, true), pick(r, c + o, true)});
  if (o == 2)
    patch.nodes.insert(patch.nodes.end(), {pick(r + 1, c, false), pick(r + 2, c + 1, false), pick(r + 1, c + 2, true),
                                           pick(r, c + 1, false)});
}

void Mesh::add_anterior_elements() {
  const int order = plan_.order;
  anterior_ = quad_patch(order, order + 1);
  const auto pick = [this, cols = columns()](int row, int column, bool far_side) {
    // The element on the counter-clockwise side of a cut holds the twin lip.
    return node(row, column % cols, far_side ? 0 : 1);
  };
  for (int l = 0; l < plan_.layers; ++l)
    for (int s = 0; s < plan_.around; ++s) add_quad(anterior_, pick, l * order, s * order);
}

// The disc shares every equator node: hung on every second one, it would pull unevenly along the equator. Rows run from
// the equator (row 0) inward, then the fan around the hub: the last `order` rows, the hub excluded.
void Mesh::number_disc_nodes() {
  const int order = plan_.order, cols = columns();
  const int disc_rows = plan_.posterior_layers * order + order;
  disc_.assign(static_cast<std::size_t>(disc_rows) * cols, -1);
  disc_fraction_.resize(static_cast<std::size_t>(disc_rows));
  for (int r = 0; r < disc_rows; ++r) {
    disc_fraction_[r] = posterior_share(plan_, r);
    for (int c = 0; c < cols; ++c) {
      const std::size_t at = static_cast<std::size_t>(r) * cols + c;
      if (r == 0)
        disc_[at] = equator_[static_cast<std::size_t>(c)];
      else if (order == 1 || r % 2 == 0 || c % 2 == 0)
        disc_[at] = nodes_++;
    }
  }
  hub_ = nodes_++;
}

void Mesh::add_disc_elements() {
  const int order = plan_.order, cols = columns(), ring_rows = plan_.posterior_layers * order;
  const auto disc = [&](int row, int column) { return disc_[static_cast<std::size_t>(row) * cols + column]; };
  posterior_ring_ = quad_patch(order, order + 1);
  // Local xi must point outward: the element's first row is the inner one.
  const auto pick = [&](int row, int column, bool) { return disc(ring_rows - row, column % cols); };
  for (int l = 0; l < plan_.posterior_layers; ++l)
    for (int c = 0; c < cols; c += order) add_quad(posterior_ring_, pick, l * order, c);
  posterior_fan_ = triangle_patch(order);
  for (int c = 0; c < cols; c += order) {
    const int d = (c + order) % cols;
    posterior_fan_.nodes.insert(posterior_fan_.nodes.end(), {hub_, disc(ring_rows, c), disc(ring_rows, d)});
    if (order == 2)
      posterior_fan_.nodes.insert(posterior_fan_.nodes.end(),
                                  {disc(ring_rows + 1, c), disc(ring_rows, c + 1), disc(ring_rows + 1, d)});
  }
}

int Mesh::node(int row, int column, int lip) const noexcept {
  const std::size_t i = static_cast<std::size_t>(row) * columns() + column;
  return lip == 1 && twin_[i] >= 0 ? twin_[i] : grid_[i];
}

std::vector<std::array<int, 2>> Mesh::lip_nodes(int cut, int layers) const {
  const int column = plan_.cuts[static_cast<std::size_t>(cut)].ray * plan_.order;
  std::vector<std::array<int, 2>> lips;
  for (int r = 0; r < layers * plan_.order; ++r) lips.push_back({node(r, column, 0), node(r, column, 1)});
  return lips;
}

int Mesh::tip_node(int cut, int layers) const noexcept {
  return node(layers * plan_.order, plan_.cuts[static_cast<std::size_t>(cut)].ray * plan_.order);
}

double Mesh::fraction(int row, int column) const noexcept {
  const int order = plan_.order;
  const std::size_t at = static_cast<std::size_t>(row / order) * columns() + column;
  return row % order == 0 ? fractions_[at] : 0.5 * (fractions_[at] + fractions_[at + columns()]);
}

bool Mesh::place(std::span<const Point> rim, std::span<const Point> equator, std::span<const double> fractions) {
  const int cols = columns();
  fractions_.assign(fractions.begin(), fractions.end());
  reference_.resize(2 * static_cast<std::size_t>(nodes_));
  const auto set = [&](int n, double x, double y) {
    if (n < 0) return;
    reference_[2 * static_cast<std::size_t>(n)] = x;
    reference_[2 * static_cast<std::size_t>(n) + 1] = y;
  };
  for (int c = 0; c < cols; ++c)
    for (int r = 0; r < rows(); ++r) {
      const double s = fraction(r, c);
      const double x = rim[c][0] + s * (equator[c][0] - rim[c][0]), y = rim[c][1] + s * (equator[c][1] - rim[c][1]);
      set(grid_[static_cast<std::size_t>(r) * cols + c], x, y);
      set(twin_[static_cast<std::size_t>(r) * cols + c], x, y);
    }
  bool sound = anterior_.measure(reference_);
  if (hub_ >= 0) {
    Point center{0, 0};
    for (int c = 0; c < cols; ++c) {  // each with its share of the equator: columns crowd at cuts
      const double before = plan_.column_angle[(c + cols - 1) % cols], after = plan_.column_angle[(c + 1) % cols];
      double width = std::fmod(after - before, 2 * pi);
      if (width <= 0) width += 2 * pi;
      for (int i = 0; i < 2; ++i) center[i] += equator[c][i] * width / (4 * pi);
    }
    for (std::size_t r = 1; r < disc_fraction_.size(); ++r)
      for (int k = 0; k < cols; ++k) {
        const Point& edge = equator[static_cast<std::size_t>(k)];
        set(disc_[r * static_cast<std::size_t>(cols) + static_cast<std::size_t>(k)],
            center[0] + disc_fraction_[r] * (edge[0] - center[0]),
            center[1] + disc_fraction_[r] * (edge[1] - center[1]));
      }
    set(hub_, center[0], center[1]);
    sound = posterior_ring_.measure(reference_) && sound;
    sound = posterior_fan_.measure(reference_) && sound;
  }
  return sound;
}

std::vector<int> Mesh::outline_nodes(std::span<const int> open_layers) const {
  std::vector<int> outline;
  const int cols = columns();
  for (int c = 0; c < cols; ++c) {
    int cut = -1;
    for (std::size_t k = 0; k < plan_.cuts.size(); ++k)
      if (open_layers[k] > 0 && plan_.cuts[k].ray * plan_.order == c) cut = static_cast<int>(k);
    if (cut < 0) {
      outline.push_back(node(0, c));
      continue;
    }
    const int layers = open_layers[static_cast<std::size_t>(cut)];
    const auto lips = lip_nodes(cut, layers);
    for (const auto& pair : lips) outline.push_back(pair[0]);
    outline.push_back(tip_node(cut, layers));
    for (auto pair = lips.rbegin(); pair != lips.rend(); ++pair) outline.push_back((*pair)[1]);
  }
  return outline;
}

}  // namespace capsim
