// SPDX-License-Identifier: BSD-3-Clause
#include "solve/sparse_factor.hpp"

#include <algorithm>
#include <cmath>

#include "geometry/float_lanes.hpp"

namespace capsim {
namespace {

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }

constexpr int at_a_time = 4;  // columns

}  // namespace

template <class Number>
struct SparseFactorOf<Number>::Work {
  using Factor = SparseFactorOf<Number>;
  using Block = FactorPlan::Block;
  using Group = FactorPlan::Group;
  using Crossing = FactorPlan::Crossing;
  using Row = typename LanesFor<Number>::Type;  // one number of each row of a group
  static constexpr int lanes = Row::count;
  static_assert(FactorPlan::group_rows % lanes == 0);

  // The next `count` columns of a panel, from column j on, where rows of other unknowns, one in each lane, cross it.
  template <int count>
  struct Columns {
    const Number* a;  // entry (row p, column j + k) at a[k * height + p]
    std::size_t height;
    Row y[at_a_time];

    // Takes out what the columns before j left to these, which is their triangle: y is then final.
    CAPSIM_INLINE Columns(const Number* column, std::size_t panel_height, int j, const Number* mine) noexcept
        : a(column), height(panel_height) {
      for (int k = 0; k < count; ++k) {
        y[k] = Row::from(mine + lanes * k);
        for (int m = 0; m < k; ++m) y[k] -= a[at(m) * height + at(j + k)] * y[m];
      }
    }
    // target -= the columns' part in panel row p
    CAPSIM_INLINE void take(int p, Number* target) const noexcept {
      const Number* r = a + p;
      Row sum = r[0] * y[0];
      if constexpr (count > 1) sum += r[height] * y[1];
      if constexpr (count == 3) sum += r[2 * height] * y[2];
      if constexpr (count > 3) sum += r[2 * height] * y[2] + r[3 * height] * y[3];
      (Row::from(target) - sum).to(target);
    }
  };

  // Calls step(count, j) for all columns of a panel, four at a time; `count` is a constant.
  template <class Step>
  static CAPSIM_INLINE void each_columns(int width, const Step& step) noexcept {
    int j = 0;
    for (; j + at_a_time <= width; j += at_a_time) step(std::integral_constant<int, at_a_time>{}, j);
    if (width - j == 3) step(std::integral_constant<int, 3>{}, j);
    if (width - j == 2) step(std::integral_constant<int, 2>{}, j);
    if (width - j == 1) step(std::integral_constant<int, 1>{}, j);
  }

  template <class Step>
  static CAPSIM_INLINE void each_columns_from_the_last(int width, const Step& step) noexcept {
    int j = width / at_a_time * at_a_time;
    if (width - j == 3) step(std::integral_constant<int, 3>{}, j);
    if (width - j == 2) step(std::integral_constant<int, 2>{}, j);
    if (width - j == 1) step(std::integral_constant<int, 1>{}, j);
    while ((j -= at_a_time) >= 0) step(std::integral_constant<int, at_a_time>{}, j);
  }

  // The part of an earlier block in the rows of a group that begins with unknown `first`: the group's rows of L, which
  // are `count` panel rows from `place` on, and what they take from the rows of the panel up to these.
  static CAPSIM_INLINE void cross(Factor& f, const Block& block, int place, int count, int first) noexcept {
    const FactorPlan& plan = *f.plan_;
    const int w = block.width, filled = place + count;
    const std::size_t height = at(block.stride);
    Number* row = f.row_.data();
    Number* mine = row + lanes * at(block.first);
    Number* panel = f.values_.data() + block.panel;
    const int* rows = &plan.rows_of_blocks_[block.rows];  // of panel row w and the following
    const Number* d = &f.d_[at(block.first)];
    each_columns(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      Number* a = panel + at(j) * height;
      const Columns<n> columns(a, height, j, mine + lanes * j);
      for (int k = 0; k < n; ++k) {
        Number l[lanes];
        (columns.y[k] / Row::all(d[j + k])).to(l);
        for (int p = place; p < filled; ++p) a[at(k) * height + at(p)] = l[rows[p - w] - first];
      }
      for (int p = j + n; p < w; ++p) columns.take(p, mine + lanes * p);
      for (int p = w; p < filled; ++p) columns.take(p, row + lanes * at(rows[p - w]));
      for (int k = 0; k < n; ++k) Row::all(0).to(mine + lanes * (j + k));
    });
  }

  // The columns of the group's own block: those before the group, then the group itself. False at a bad pivot.
  static CAPSIM_INLINE bool finish(Factor& f, int first, int count, const Number* least) noexcept {
    const FactorPlan& plan = *f.plan_;
    const Block& own = plan.blocks_[at(plan.block_of_[at(first)])];
    const int before = first - own.first;
    const std::size_t height = at(own.stride);
    Number* panel = f.values_.data() + own.panel;
    Number* mine = f.row_.data() + lanes * at(own.first);
    Number* here = mine + lanes * at(before);
    // Entry (i, j) of the triangle has its mirror image at (j, i), for solve().
    const auto put = [&](int i, int j, Number l)
                         CAPSIM_INLINE_LAMBDA { panel[at(j) * height + at(i)] = panel[at(i) * height + at(j)] = l; };
    each_columns(before, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      const Columns<n> columns(panel + at(j) * height, height, j, mine + lanes * j);
      for (int k = 0; k < n; ++k) {
        Number l[lanes];
        (columns.y[k] / Row::all(f.d_[at(own.first + j + k)])).to(l);
        for (int r = 0; r < count; ++r) put(before + r, j + k, l[r]);
      }
      for (int p = j + n; p < before + count; ++p) columns.take(p, mine + lanes * p);
      for (int k = 0; k < n; ++k) Row::all(0).to(mine + lanes * (j + k));
    });
    // Row r of the group in lane r: here[lanes * column + row].
    for (int r = 0; r < count; ++r) {
      const Number pivot = here[lanes * r + r];
      if (!(pivot > least[r]) || !std::isfinite(pivot)) return false;
      f.d_[at(first + r)] = pivot;
      for (int s = r + 1; s < count; ++s) {
        const Number l = here[lanes * r + s] / pivot;
        put(before + s, before + r, l);
        for (int m = r + 1; m <= s; ++m) here[lanes * m + s] -= l * here[lanes * r + m];
      }
    }
    for (int r = 0; r < count; ++r) Row::all(0).to(here + lanes * r);
    return true;
  }

  // Up to `lanes` rows of one block from `first` on, which the crossings are of: all of a group's or a part of them.
  static CAPSIM_INLINE bool eliminate(Factor& f, const std::vector<double>& values, double shift, double least_share,
                                      int first, int count, std::size_t crossing, std::size_t end) noexcept {
    const FactorPlan& plan = *f.plan_;
    Number* row = f.row_.data();
    Number least[lanes];
    for (int r = 0; r < count; ++r) {
      const int k = first + r;
      for (int p = plan.starts_[at(k)]; p < plan.starts_[at(k) + 1]; ++p)
        row[lanes * at(plan.rows_[at(p)]) + at(r)] = static_cast<Number>(values[at(plan.from_[at(p)])]);
      const double diagonal = values[at(plan.diagonal_[at(k)])] + shift;
      row[lanes * at(k) + at(r)] = static_cast<Number>(diagonal);
      least[r] = static_cast<Number>(least_share * diagonal);
      if (!(least[r] >= 0)) return false;  // a diagonal below nothing, or none
    }
    for (; crossing < end; ++crossing) {
      const Crossing& c = plan.crossings_[crossing];
      const Block& block = plan.blocks_[at(c.block)];
      int place = c.place, last = c.place + c.count;
      if constexpr (lanes < FactorPlan::group_rows) {
        const int* rows = &plan.rows_of_blocks_[block.rows];
        while (place < last && rows[place] < first) ++place;
        while (place < last && rows[last - 1] >= first + count) --last;
        if (place == last) continue;
      }
      cross(f, block, block.width + place, last - place, first);
    }
    return finish(f, first, count, least);
  }

  static CAPSIM_INLINE bool factorize(Factor& f, const std::vector<double>& values, double shift,
                                      double least_share) noexcept {
    const FactorPlan& plan = *f.plan_;
    std::fill(f.row_.begin(), f.row_.end(), Number(0));
    for (std::size_t g = 0; g + 1 < plan.groups_.size(); ++g) {
      const Group& group = plan.groups_[g];
      for (int r = 0; r < group.count; r += lanes)
        if (!eliminate(f, values, shift, least_share, group.first + r, std::min(lanes, group.count - r),
                       group.crossings, plan.groups_[g + 1].crossings))
          return false;
    }
    return true;
  }

  // Where a run of whole vectors that holds panel row p begins.
  static CAPSIM_INLINE int whole(int p) noexcept { return p / lanes * lanes; }

  // u -= the part of `count` columns in as many rows of a panel as a vector has lanes.
  template <int count>
  static CAPSIM_INLINE void take_whole(const Number* a, std::size_t height, const Number* y, Number* u) noexcept {
    Row sum = y[0] * Row::from(a);
    if constexpr (count > 1) sum += y[1] * Row::from(a + height);
    if constexpr (count == 3) sum += y[2] * Row::from(a + 2 * height);
    if constexpr (count > 3) sum += y[2] * Row::from(a + 2 * height) + y[3] * Row::from(a + 3 * height);
    (Row::from(u) - sum).to(u);
  }

  // Forward: the rows of a panel lose the part of its columns.
  static CAPSIM_INLINE void forward(const Factor& f, const Block& block, Number* x, Number* u) noexcept {
    const int w = block.width, h = block.height, stride = block.stride;
    const std::size_t height = at(stride);
    const Number* panel = f.values_.data() + block.panel;
    Number* mine = x + block.first;
    std::copy(mine, mine + w, u);
    std::fill(u + w, u + stride, Number(0));
    each_columns(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      const Number* a = panel + at(j) * height;
      Number y[n];
      for (int k = 0; k < n; ++k) {
        y[k] = u[j + k];
        for (int m = 0; m < k; ++m) y[k] -= a[at(m) * height + at(j + k)] * y[m];
        mine[j + k] = y[k];
      }
      for (int p = whole(j + n); p < stride; p += lanes) take_whole<n>(a + p, height, y, u + p);
    });
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    for (int p = 0; p < h; ++p) x[rows[p]] += u[w + p];
  }

  // Backward: the block's unknowns from those below it, then from one another.
  static CAPSIM_INLINE void backward(const Factor& f, const Block& block, Number* x, Number* u) noexcept {
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    const int w = block.width, h = block.height, stride = block.stride;
    const std::size_t height = at(stride);
    const Number* panel = f.values_.data() + block.panel;
    Number* mine = x + block.first;
    if (h > 0) {
      std::fill(u + whole(w), u + w, Number(0));
      for (int p = 0; p < h; ++p) u[w + p] = x[rows[p]];
      std::fill(u + w + h, u + stride, Number(0));
      each_columns(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
        const Number* a = panel + at(j) * height;
        Row s[n];
        for (int p = whole(w); p < stride; p += lanes) {
          const Row v = Row::from(u + p);
          for (int k = 0; k < n; ++k) s[k] += Row::from(a + at(k) * height + p) * v;
        }
        for (int k = 0; k < n; ++k) mine[j + k] -= s[k].sum();
      });
    }
    std::copy(mine, mine + w, u);
    each_columns_from_the_last(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      const Number* a = panel + at(j) * height;  // rows before j: the mirror image of rows j to j + n - 1
      Number y[n];
      for (int k = n - 1; k >= 0; --k) {
        y[k] = u[j + k];
        for (int m = k + 1; m < n; ++m) y[k] -= a[at(m) * height + at(j + k)] * y[m];
        mine[j + k] = y[k];
      }
      for (int p = 0; p < j; p += lanes) take_whole<n>(a + p, height, y, u + p);
    });
  }

  static CAPSIM_INLINE void solve(Factor& f, std::vector<double>& b) noexcept {
    const FactorPlan& plan = *f.plan_;
    Number *x = f.solution_.data(), *u = f.panel_.data();
    const int n = plan.n_;
    for (int i = 0; i < n; ++i) x[plan.place_[at(i)]] = static_cast<Number>(b[at(i)]);
    for (const Block& block : plan.blocks_) forward(f, block, x, u);
    for (int k = 0; k < n; ++k) x[k] /= f.d_[at(k)];
    for (std::size_t k = plan.blocks_.size(); k-- > 0;) backward(f, plan.blocks_[k], x, u);
    for (int i = 0; i < n; ++i) b[at(i)] = x[plan.place_[at(i)]];
  }

  // Four right-hand sides, one in each of the first four lanes.
  static CAPSIM_INLINE void forward_four(const Factor& f, const Block& block, Number* x) noexcept {
    const int w = block.width, end = w + block.height;
    const std::size_t height = at(block.stride);
    const Number* panel = f.values_.data() + block.panel;
    Number* mine = x + lanes * at(block.first);
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    each_columns(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      const Columns<n> columns(panel + at(j) * height, height, j, mine + lanes * j);
      for (int k = 0; k < n; ++k) columns.y[k].to(mine + lanes * (j + k));
      for (int p = j + n; p < w; ++p) columns.take(p, mine + lanes * p);
      for (int p = w; p < end; ++p) columns.take(p, x + lanes * at(rows[p - w]));
    });
  }

  static CAPSIM_INLINE void backward_four(const Factor& f, const Block& block, Number* x) noexcept {
    const int w = block.width, end = w + block.height;
    const std::size_t height = at(block.stride);
    const Number* panel = f.values_.data() + block.panel;
    Number* mine = x + lanes * at(block.first);
    const int* rows = f.plan_->rows_of_blocks_.data() + block.rows;
    each_columns(w, [&](auto n, int j) CAPSIM_INLINE_LAMBDA {
      const Number* a = panel + at(j) * height;
      Row s[n];
      for (int k = 0; k < n; ++k) s[k] = Row::from(mine + lanes * (j + k));
      for (int p = w; p < end; ++p) {
        const Row v = Row::from(x + lanes * at(rows[p - w]));
        for (int k = 0; k < n; ++k) s[k] -= a[at(k) * height + at(p)] * v;
      }
      for (int k = 0; k < n; ++k) s[k].to(mine + lanes * (j + k));
    });
    for (int r = w - 1; r > 0; --r) {
      const Row y = Row::from(mine + lanes * r);
      const Number* mirrored = panel + at(r) * height;
      for (int i = 0; i < r; ++i) (Row::from(mine + lanes * i) - mirrored[i] * y).to(mine + lanes * i);
    }
  }

  static CAPSIM_INLINE void solve_four(Factor& f, std::vector<double>& b) noexcept {
    const FactorPlan& plan = *f.plan_;
    Number* x = f.four_.data();
    const std::size_t n = at(plan.n_);
    const auto solution = [&](std::size_t i) CAPSIM_INLINE_LAMBDA { return x + lanes * at(plan.place_[i]); };
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t k = 0; k < 4; ++k) solution(i)[k] = static_cast<Number>(b[4 * i + k]);
    for (const Block& block : plan.blocks_) forward_four(f, block, x);
    for (std::size_t k = 0; k < n; ++k) (Row::from(x + lanes * k) / Row::all(f.d_[k])).to(x + lanes * k);
    for (std::size_t k = plan.blocks_.size(); k-- > 0;) backward_four(f, plan.blocks_[k], x);
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t k = 0; k < 4; ++k) b[4 * i + k] = solution(i)[k];
  }

#if CAPSIM_HAS_WIDE_LANES
  CAPSIM_WIDE_LANES static void solve_four_wide(Factor& f, std::vector<double>& b) noexcept { solve_four(f, b); }
  CAPSIM_WIDE_LANES static bool factorize_wide(Factor& f, const std::vector<double>& values, double shift,
                                               double least_share) noexcept {
    return factorize(f, values, shift, least_share);
  }
  CAPSIM_WIDE_LANES static void solve_wide(Factor& f, std::vector<double>& b) noexcept { solve(f, b); }
#endif
};

template <class Number>
void SparseFactorOf<Number>::attach(std::shared_ptr<const FactorPlan> plan) {
  plan_ = std::move(plan);
  const std::size_t n = at(plan_->n_);
  values_.assign(plan_->values_, 0);
  d_.assign(n, 0);
  row_.assign(at(Work::lanes) * n, 0);
  panel_.assign(at(plan_->tallest_), 0);
  solution_.assign(n, 0);
}

template <class Number>
void SparseFactorOf<Number>::analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  attach(std::make_shared<const FactorPlan>(n, starts, rows));
}

template <class Number>
bool SparseFactorOf<Number>::factorize(const std::vector<double>& values, double shift, double least_share) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::factorize_wide(*this, values, shift, least_share);
#endif
  return Work::factorize(*this, values, shift, least_share);
}

template <class Number>
void SparseFactorOf<Number>::solve(std::vector<double>& b) noexcept {
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::solve_wide(*this, b);
#endif
  Work::solve(*this, b);
}

template <class Number>
void SparseFactorOf<Number>::solve_four(std::vector<double>& b) {
  four_.resize(at(Work::lanes) * d_.size());
#if CAPSIM_HAS_WIDE_LANES
  if (!narrow_ && wide_lanes()) return Work::solve_four_wide(*this, b);
#endif
  Work::solve_four(*this, b);
}

template <class Number>
double SparseFactorOf<Number>::least_pivot() const noexcept {
  return d_.empty() ? std::numeric_limits<double>::infinity() : *std::min_element(d_.begin(), d_.end());
}

template <class Number>
std::size_t SparseFactorOf<Number>::memory_bytes() const noexcept {
  std::size_t numbers = 0;
  for (const auto* v : {&values_, &d_, &row_, &panel_, &solution_, &four_}) numbers += v->capacity();
  return numbers * sizeof(Number);
}

template class SparseFactorOf<double>;
template class SparseFactorOf<float>;

}  // namespace capsim
