// SPDX-License-Identifier: BSD-3-Clause
#include "solve/sparse_factor.hpp"

#include <algorithm>
#include <cmath>

#include "geometry/lanes.hpp"

namespace capsim {
namespace {

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }

}  // namespace

struct SparseFactor::Work {
  using Block = FactorPlan::Block;
  using Group = FactorPlan::Group;
  using Crossing = FactorPlan::Crossing;

  // row[4 * rows[p] + lane] -= sum over the `count` columns from a on of a[j][p] * y[j][lane], for p < filled.
  template <int count>
  static CAPSIM_INLINE void take_columns(const double* a, std::size_t height, const double* y, const int* rows,
                                         int filled, double* row) noexcept {
    const Lanes y0 = Lanes::from(y), y1 = count > 1 ? Lanes::from(y + 4) : y0, y2 = count > 2 ? Lanes::from(y + 8) : y0,
                y3 = count > 3 ? Lanes::from(y + 12) : y0;
    for (int p = 0; p < filled; ++p, ++a) {
      double* target = row + 4 * at(rows[p]);
      Lanes sum = Lanes::all(a[0]) * y0;
      if constexpr (count > 1) sum += Lanes::all(a[height]) * y1;
      if constexpr (count == 3) sum += Lanes::all(a[2 * height]) * y2;
      if constexpr (count > 3) sum += Lanes::all(a[2 * height]) * y2 + Lanes::all(a[3 * height]) * y3;
      (Lanes::from(target) - sum).to(target);
    }
  }

  // The part of an earlier block in the rows of a group: its triangle, the group's rows of L, and what they take
  // from the rest of the rows.
  static CAPSIM_INLINE void cross(SparseFactor& f, const Crossing& crossing, int first) noexcept {
    const FactorPlan& plan = *f.plan_;
    const Block& block = plan.blocks_[at(crossing.block)];
    const int w = block.width, filled = crossing.place + crossing.count;
    const std::size_t h = at(block.height);
    double* row = f.row_.data();
    double* mine = row + 4 * at(block.first);
    const double* triangle = &f.values_[block.triangle];
    double* below = f.values_.data() + block.below;
    const int* rows = &plan.rows_of_blocks_[block.rows];
    for (int i = 1; i < w; ++i) {
      Lanes y = Lanes::from(mine + 4 * i);
      for (int j = 0; j < i; ++j) y -= Lanes::all(triangle[i * w + j]) * Lanes::from(mine + 4 * j);
      y.to(mine + 4 * i);
    }
    for (int j = 0; j < w; ++j) {
      double l[4];
      (Lanes::from(mine + 4 * j) / Lanes::all(f.d_[at(block.first + j)])).to(l);
      for (int i = crossing.place; i < filled; ++i) below[at(j) * h + at(i)] = l[rows[i] - first];
    }
    int j = 0;
    for (; j + 4 <= w; j += 4) take_columns<4>(below + at(j) * h, h, mine + 4 * j, rows, filled, row);
    if (w - j == 3) take_columns<3>(below + at(j) * h, h, mine + 4 * j, rows, filled, row);
    if (w - j == 2) take_columns<2>(below + at(j) * h, h, mine + 4 * j, rows, filled, row);
    if (w - j == 1) take_columns<1>(below + at(j) * h, h, mine + 4 * j, rows, filled, row);
    for (int i = 0; i < w; ++i) Lanes::all(0).to(mine + 4 * i);
  }

  // The columns of the group's own block: those before the group, then the group itself. False at a bad pivot.
  static CAPSIM_INLINE bool finish(SparseFactor& f, const Group& group) noexcept {
    const FactorPlan& plan = *f.plan_;
    const Block& own = plan.blocks_[at(plan.block_of_[at(group.first)])];
    const int before = group.first - own.first, w = own.width, count = group.count;
    double* triangle = &f.values_[own.triangle];
    double* mine = f.row_.data() + 4 * at(own.first);
    double* here = f.row_.data() + 4 * at(group.first);
    for (int i = 0; i < before; ++i) {
      Lanes y = Lanes::from(mine + 4 * i);
      for (int j = 0; j < i; ++j) y -= Lanes::all(triangle[i * w + j]) * Lanes::from(mine + 4 * j);
      y.to(mine + 4 * i);
      double l[4];
      (y / Lanes::all(f.d_[at(own.first + i)])).to(l);
      for (int r = 0; r < count; ++r) {
        triangle[(before + r) * w + i] = l[r];
        (Lanes::from(here + 4 * r) - Lanes::all(l[r]) * y).to(here + 4 * r);
      }
    }
    for (int i = 0; i < before; ++i) Lanes::all(0).to(mine + 4 * i);
    // Row r of the group in lane r: here[4 * column + row].
    for (int r = 0; r < count; ++r) {
      const double pivot = here[4 * r + r];
      if (!(pivot > 0) || !std::isfinite(pivot)) return false;
      f.d_[at(group.first + r)] = pivot;
      for (int s = r + 1; s < count; ++s) {
        const double l = here[4 * r + s] / pivot;
        triangle[(before + s) * w + before + r] = l;
        for (int m = r + 1; m <= s; ++m) here[4 * m + s] -= l * here[4 * r + m];
      }
    }
    for (int r = 0; r < count; ++r) Lanes::all(0).to(here + 4 * r);
    return true;
  }

  static CAPSIM_INLINE bool factorize(SparseFactor& f, const std::vector<double>& values, double shift) noexcept {
    const FactorPlan& plan = *f.plan_;
    double* row = f.row_.data();
    std::fill(f.row_.begin(), f.row_.end(), 0.0);
    for (std::size_t g = 0; g + 1 < plan.groups_.size(); ++g) {
      const Group& group = plan.groups_[g];
      for (int r = 0; r < group.count; ++r) {
        const int k = group.first + r;
        for (int p = plan.starts_[at(k)]; p < plan.starts_[at(k) + 1]; ++p)
          row[4 * at(plan.rows_[at(p)]) + at(r)] = values[at(plan.from_[at(p)])];
        row[4 * at(k) + at(r)] = values[at(plan.diagonal_[at(k)])] + shift;
      }
      for (std::size_t c = group.crossings; c < plan.groups_[g + 1].crossings; ++c)
        cross(f, plan.crossings_[c], group.first);
      if (!finish(f, group)) return false;
    }
    return true;
  }

  // Forward: y of the rows below a block loses the block's part.
  static CAPSIM_INLINE void forward(const SparseFactor& f, const Block& block, double* x, double* u) noexcept {
    const FactorPlan& plan = *f.plan_;
    const int w = block.width, h = block.height, whole = h / 4 * 4;
    double* mine = x + block.first;
    const double* triangle = f.values_.data() + block.triangle;
    for (int i = 1; i < w; ++i) {
      double sum = 0;
      for (int j = 0; j < i; ++j) sum += triangle[i * w + j] * mine[j];
      mine[i] -= sum;
    }
    if (h == 0) return;
    const double* a = f.values_.data() + block.below;
    std::fill(u, u + h, 0.0);
    int j = 0;
    for (; j + 4 <= w; j += 4, a += 4 * at(h)) {
      const double *a0 = a, *a1 = a0 + h, *a2 = a1 + h, *a3 = a2 + h;
      const double s0 = mine[j], s1 = mine[j + 1], s2 = mine[j + 2], s3 = mine[j + 3];
      const Lanes y0 = Lanes::all(s0), y1 = Lanes::all(s1), y2 = Lanes::all(s2), y3 = Lanes::all(s3);
      for (int p = 0; p < whole; p += 4)
        (Lanes::from(u + p) + ((Lanes::from(a0 + p) * y0 + Lanes::from(a1 + p) * y1) +
                               (Lanes::from(a2 + p) * y2 + Lanes::from(a3 + p) * y3)))
            .to(u + p);
      for (int p = whole; p < h; ++p) u[p] += (a0[p] * s0 + a1[p] * s1) + (a2[p] * s2 + a3[p] * s3);
    }
    for (; j < w; ++j, a += h) {
      const Lanes y = Lanes::all(mine[j]);
      for (int p = 0; p < whole; p += 4) (Lanes::from(u + p) + Lanes::from(a + p) * y).to(u + p);
      for (int p = whole; p < h; ++p) u[p] += a[p] * mine[j];
    }
    const int* rows = plan.rows_of_blocks_.data() + block.rows;
    for (int p = 0; p < h; ++p) x[rows[p]] -= u[p];
  }

  // Backward: the block's unknowns from those below it.
  static CAPSIM_INLINE void backward(const SparseFactor& f, const Block& block, double* x, double* u) noexcept {
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    const int w = block.width, h = block.height, whole = h / 4 * 4;
    for (int p = 0; p < h; ++p) u[p] = x[rows[p]];
    double* mine = x + block.first;
    const double* a = f.values_.data() + block.below;
    int j = 0;
    for (; j + 4 <= w; j += 4, a += 4 * at(h)) {
      Lanes s0 = Lanes::all(0), s1 = s0, s2 = s0, s3 = s0;
      const double *a0 = a, *a1 = a0 + h, *a2 = a1 + h, *a3 = a2 + h;
      for (int p = 0; p < whole; p += 4) {
        const Lanes v = Lanes::from(u + p);
        s0 += Lanes::from(a0 + p) * v;
        s1 += Lanes::from(a1 + p) * v;
        s2 += Lanes::from(a2 + p) * v;
        s3 += Lanes::from(a3 + p) * v;
      }
      double t0 = s0.sum(), t1 = s1.sum(), t2 = s2.sum(), t3 = s3.sum();
      for (int p = whole; p < h; ++p) {
        t0 += a0[p] * u[p];
        t1 += a1[p] * u[p];
        t2 += a2[p] * u[p];
        t3 += a3[p] * u[p];
      }
      mine[j] -= t0;
      mine[j + 1] -= t1;
      mine[j + 2] -= t2;
      mine[j + 3] -= t3;
    }
    for (; j < w; ++j, a += h) {
      Lanes s = Lanes::all(0);
      for (int p = 0; p < whole; p += 4) s += Lanes::from(a + p) * Lanes::from(u + p);
      double t = s.sum();
      for (int p = whole; p < h; ++p) t += a[p] * u[p];
      mine[j] -= t;
    }
    const double* triangle = f.values_.data() + block.triangle;
    for (int r = w - 1; r > 0; --r)
      for (int i = 0; i < r; ++i) mine[i] -= triangle[r * w + i] * mine[r];
  }

  static CAPSIM_INLINE void solve(SparseFactor& f, std::vector<double>& b) noexcept {
    const FactorPlan& plan = *f.plan_;
    double *x = f.solution_.data(), *u = f.update_.data();
    const int n = plan.n_;
    for (int i = 0; i < n; ++i) x[plan.place_[at(i)]] = b[at(i)];
    for (const Block& block : plan.blocks_) forward(f, block, x, u);
    for (int k = 0; k < n; ++k) x[k] /= f.d_[at(k)];
    for (std::size_t k = plan.blocks_.size(); k-- > 0;) backward(f, plan.blocks_[k], x, u);
    for (int i = 0; i < n; ++i) b[at(i)] = x[plan.place_[at(i)]];
  }

  // Four right-hand sides, one in each lane.
  static CAPSIM_INLINE void forward_four(const SparseFactor& f, const Block& block, double* x) noexcept {
    const int w = block.width, h = block.height;
    double* mine = x + 4 * at(block.first);
    const double* triangle = f.values_.data() + block.triangle;
    for (int i = 1; i < w; ++i) {
      Lanes y = Lanes::from(mine + 4 * i);
      for (int j = 0; j < i; ++j) y -= Lanes::all(triangle[i * w + j]) * Lanes::from(mine + 4 * j);
      y.to(mine + 4 * i);
    }
    const double* a = f.values_.data() + block.below;
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    const std::size_t height = at(h);
    int j = 0;
    for (; j + 4 <= w; j += 4) take_columns<4>(a + at(j) * height, height, mine + 4 * j, rows, h, x);
    if (w - j == 3) take_columns<3>(a + at(j) * height, height, mine + 4 * j, rows, h, x);
    if (w - j == 2) take_columns<2>(a + at(j) * height, height, mine + 4 * j, rows, h, x);
    if (w - j == 1) take_columns<1>(a + at(j) * height, height, mine + 4 * j, rows, h, x);
  }

  static CAPSIM_INLINE void backward_four(const SparseFactor& f, const Block& block, double* x) noexcept {
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    const int w = block.width, h = block.height;
    double* mine = x + 4 * at(block.first);
    const double* a = f.values_.data() + block.below;
    int j = 0;
    for (; j + 4 <= w; j += 4, a += 4 * at(h)) {
      const double *a0 = a, *a1 = a0 + h, *a2 = a1 + h, *a3 = a2 + h;
      Lanes s0 = Lanes::from(mine + 4 * j), s1 = Lanes::from(mine + 4 * j + 4), s2 = Lanes::from(mine + 4 * j + 8),
            s3 = Lanes::from(mine + 4 * j + 12);
      for (int p = 0; p < h; ++p) {
        const Lanes v = Lanes::from(x + 4 * at(rows[p]));
        s0 -= Lanes::all(a0[p]) * v;
        s1 -= Lanes::all(a1[p]) * v;
        s2 -= Lanes::all(a2[p]) * v;
        s3 -= Lanes::all(a3[p]) * v;
      }
      s0.to(mine + 4 * j);
      s1.to(mine + 4 * j + 4);
      s2.to(mine + 4 * j + 8);
      s3.to(mine + 4 * j + 12);
    }
    for (; j < w; ++j, a += h) {
      Lanes s = Lanes::from(mine + 4 * j);
      for (int p = 0; p < h; ++p) s -= Lanes::all(a[p]) * Lanes::from(x + 4 * at(rows[p]));
      s.to(mine + 4 * j);
    }
    const double* triangle = f.values_.data() + block.triangle;
    for (int r = w - 1; r > 0; --r) {
      const Lanes y = Lanes::from(mine + 4 * r);
      for (int i = 0; i < r; ++i) (Lanes::from(mine + 4 * i) - Lanes::all(triangle[r * w + i]) * y).to(mine + 4 * i);
    }
  }

  static CAPSIM_INLINE void solve_four(SparseFactor& f, std::vector<double>& b) noexcept {
    const FactorPlan& plan = *f.plan_;
    double* x = f.four_.data();
    const std::size_t n = at(plan.n_);
    for (std::size_t i = 0; i < n; ++i) Lanes::from(&b[4 * i]).to(x + 4 * at(plan.place_[i]));
    for (const Block& block : plan.blocks_) forward_four(f, block, x);
    for (std::size_t k = 0; k < n; ++k) (Lanes::from(x + 4 * k) / Lanes::all(f.d_[k])).to(x + 4 * k);
    for (std::size_t k = plan.blocks_.size(); k-- > 0;) backward_four(f, plan.blocks_[k], x);
    for (std::size_t i = 0; i < n; ++i) Lanes::from(x + 4 * at(plan.place_[i])).to(&b[4 * i]);
  }

#if CAPSIM_HAS_WIDE_LANES
  CAPSIM_WIDE_LANES static void solve_four_wide(SparseFactor& f, std::vector<double>& b) noexcept { solve_four(f, b); }
  CAPSIM_WIDE_LANES static bool factorize_wide(SparseFactor& f, const std::vector<double>& values,
                                               double shift) noexcept {
    return factorize(f, values, shift);
  }
  CAPSIM_WIDE_LANES static void solve_wide(SparseFactor& f, std::vector<double>& b) noexcept { solve(f, b); }
#endif
};

void SparseFactor::attach(std::shared_ptr<const FactorPlan> plan) {
  plan_ = std::move(plan);
  const std::size_t n = at(plan_->n_);
  values_.assign(plan_->values_, 0);
  d_.assign(n, 0);
  row_.assign(4 * n, 0);
  update_.assign(at(plan_->tallest_), 0);
  solution_.assign(n, 0);
}

void SparseFactor::analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  attach(std::make_shared<const FactorPlan>(n, starts, rows));
}

bool SparseFactor::factorize(const std::vector<double>& values, double shift) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::factorize_wide(*this, values, shift);
#endif
  return Work::factorize(*this, values, shift);
}

void SparseFactor::solve(std::vector<double>& b) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::solve_wide(*this, b);
#endif
  Work::solve(*this, b);
}

void SparseFactor::solve_four(std::vector<double>& b) {
  four_.resize(4 * d_.size());
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::solve_four_wide(*this, b);
#endif
  Work::solve_four(*this, b);
}

double SparseFactor::least_pivot() const noexcept {
  return d_.empty() ? std::numeric_limits<double>::infinity() : *std::min_element(d_.begin(), d_.end());
}

std::size_t SparseFactor::memory_bytes() const noexcept {
  std::size_t doubles = 0;
  for (const auto* v : {&values_, &d_, &row_, &update_, &solution_, &four_}) doubles += v->capacity();
  return doubles * sizeof(double);
}

}  // namespace capsim
