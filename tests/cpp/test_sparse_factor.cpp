// SPDX-License-Identifier: BSD-3-Clause
// The sparse factorization: right against a dense one, honest about what is not positive definite.
#include "solve/sparse_factor.hpp"

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

using namespace capsim;

namespace {

/// Lower triangle by columns, diagonal first, and the same as a dense matrix.
struct SparseMatrix {
  int n = 0;
  std::vector<int> starts{0}, rows;
  std::vector<double> values;
  [[nodiscard]] Eigen::MatrixXd dense() const {
    Eigen::MatrixXd a = Eigen::MatrixXd::Zero(n, n);
    for (int c = 0; c < n; ++c)
      for (int k = starts[static_cast<std::size_t>(c)]; k < starts[static_cast<std::size_t>(c) + 1]; ++k) {
        const int r = rows[static_cast<std::size_t>(k)];
        a(r, c) = a(c, r) = values[static_cast<std::size_t>(k)];
      }
    return a;
  }
};

/// Random entries off the diagonal, the rows of it dominant by `margin` (negative: not dominant).
SparseMatrix random_matrix(int n, double density, double margin, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  std::normal_distribution<double> normal;
  SparseMatrix m;
  m.n = n;
  std::vector<double> off(static_cast<std::size_t>(n), 0.0);
  for (int c = 0; c < n; ++c) {
    m.rows.push_back(c);
    m.values.push_back(0);
    for (int r = c + 1; r < n; ++r) {
      if (uniform(random) > density) continue;
      const double v = normal(random);
      m.rows.push_back(r);
      m.values.push_back(v);
      off[static_cast<std::size_t>(c)] += std::abs(v);
      off[static_cast<std::size_t>(r)] += std::abs(v);
    }
    m.starts.push_back(static_cast<int>(m.rows.size()));
  }
  for (int c = 0; c < n; ++c)
    m.values[static_cast<std::size_t>(m.starts[static_cast<std::size_t>(c)])] =
        off[static_cast<std::size_t>(c)] + margin;
  return m;
}

double largest_residual(const Eigen::MatrixXd& a, const std::vector<double>& x, const std::vector<double>& b) {
  const Eigen::Map<const Eigen::VectorXd> ex(x.data(), a.rows()), eb(b.data(), a.rows());
  return (a * ex - eb).cwiseAbs().maxCoeff() / (a.cwiseAbs().maxCoeff() * ex.cwiseAbs().maxCoeff());
}

/// Every unknown of the matrix becomes one to three neighbours that couple to the same others, as coordinates of a node
/// do; the last of them loses its coupling to the first unknown of all.
SparseMatrix of_nodes(const SparseMatrix& m, unsigned seed) {
  std::mt19937 random(seed);
  std::vector<int> node;  // of each unknown of the larger matrix
  for (int i = 0; i < m.n; ++i) node.insert(node.end(), 1 + random() % 3, i);
  const Eigen::MatrixXd small = m.dense();
  SparseMatrix large;
  large.n = static_cast<int>(node.size());
  const auto at = [&](int i) { return node[static_cast<std::size_t>(i)]; };
  for (int c = 0; c < large.n; ++c) {
    large.rows.push_back(c);
    large.values.push_back(9 * small(at(c), at(c)) + 1);
    for (int r = c + 1; r < large.n; ++r) {
      if (c == 0 && r + 1 == large.n) continue;
      if (const double v = small(at(r), at(c)); at(r) == at(c) || v != 0) {
        large.rows.push_back(r);
        large.values.push_back(at(r) == at(c) ? 0.3 : v);
      }
    }
    large.starts.push_back(static_cast<int>(large.rows.size()));
  }
  return large;
}

}  // namespace

TEST_CASE("a_factor_solves_the_system_it_was_given", "[sparse_factor]") {
  std::mt19937 random(3);
  std::normal_distribution<double> normal;
  for (const int n : {1, 2, 7, 40, 150})
    for (const double density : {0.0, 0.03, 0.2, 1.0})
      for (const double shift : {0.0, 2.5}) {
        const SparseMatrix m = random_matrix(n, density, 0.5, static_cast<unsigned>(n));
        SparseFactor factor;
        factor.analyze(m.n, m.starts, m.rows);
        REQUIRE(factor.factorize(m.values, shift));
        std::vector<double> b(static_cast<std::size_t>(n));
        for (double& v : b) v = normal(random);
        std::vector<double> x = b;
        factor.solve(x);
        const Eigen::MatrixXd a = m.dense() + shift * Eigen::MatrixXd::Identity(n, n);
        INFO(n << " unknowns, density " << density);
        // A few roundings per entry of a row of a well-conditioned matrix.
        CHECK(largest_residual(a, x, b) < 1e-15 * (10 + n));
      }
}

TEST_CASE("what_is_not_positive_definite_is_refused", "[sparse_factor]") {
  int refused = 0, accepted = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const SparseMatrix m = random_matrix(12, 0.4, -0.4 * (seed % 6), seed);
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(m.dense(), Eigen::EigenvaluesOnly);
    const double least = eigen.eigenvalues().minCoeff();
    if (std::abs(least) < 1e-9) continue;
    SparseFactor factor;
    factor.analyze(m.n, m.starts, m.rows);
    INFO("seed " << seed << ", least eigenvalue " << least);
    CHECK(factor.factorize(m.values, 0) == (least > 0));
    CHECK(factor.factorize(m.values, 1e-6 - least));  // and a shift past the least eigenvalue mends it
    (least > 0 ? accepted : refused) += 1;
  }
  CHECK(refused > 10);
  CHECK(accepted > 10);
}

TEST_CASE("entries_that_are_no_numbers_are_refused_and_leave_no_trace", "[sparse_factor]") {
  const SparseMatrix m = random_matrix(30, 0.2, 0.5, 5);
  SparseFactor factor;
  factor.analyze(m.n, m.starts, m.rows);
  REQUIRE(factor.factorize(m.values, 0));
  std::vector<double> wanted(30, 1.0);
  factor.solve(wanted);
  for (const double bad : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(),
                           -std::numeric_limits<double>::infinity()})
    for (std::size_t k = 0; k < m.values.size(); k += 7) {
      std::vector<double> values = m.values;
      values[k] = bad;
      CHECK_FALSE(factor.factorize(values, 0));
      REQUIRE(factor.factorize(m.values, 0));
      std::vector<double> x(30, 1.0);
      factor.solve(x);
      CHECK(x == wanted);
    }
}

TEST_CASE("a_factor_can_be_analyzed_again_for_another_pattern", "[sparse_factor]") {
  SparseFactor factor;
  for (const int n : {50, 20, 80}) {
    const SparseMatrix m = random_matrix(n, 0.1, 1, static_cast<unsigned>(n));
    factor.analyze(m.n, m.starts, m.rows);
    REQUIRE(factor.factorize(m.values, 0));
    std::vector<double> b(static_cast<std::size_t>(n), 1.0), x = b;
    factor.solve(x);
    CHECK(largest_residual(m.dense(), x, b) < 1e-14);
  }
}

TEMPLATE_TEST_CASE("narrow_and_wide_vectors_give_the_same_bits", "[sparse_factor]", SparseFactor, RoughFactor) {
  for (const int n : {1, 3, 9, 30, 150, 400})
    for (const double density : {0.02, 0.3, 1.0}) {
      const SparseMatrix m = random_matrix(n, density, 0.5, static_cast<unsigned>(n));
      TestType wide, narrow;
      narrow.use_narrow_lanes();
      std::vector<double> b(static_cast<std::size_t>(n), 1.0), c = b;
      for (TestType* factor : {&wide, &narrow}) {
        factor->analyze(m.n, m.starts, m.rows);
        REQUIRE(factor->factorize(m.values, 0.1));
        factor->solve(factor == &wide ? b : c);
      }
      CHECK(b == c);
      CHECK(wide.least_pivot() == narrow.least_pivot());
    }
}

TEST_CASE("in_single_precision_a_factor_has_the_digits_of_a_float", "[sparse_factor][rough]") {
  std::mt19937 random(4);
  std::normal_distribution<double> normal;
  for (const int n : {1, 2, 7, 40, 150})
    for (const double density : {0.0, 0.03, 0.2, 1.0}) {
      const SparseMatrix m = of_nodes(random_matrix(n, density, 0.5, static_cast<unsigned>(n)), 11);
      RoughFactor factor;
      factor.analyze(m.n, m.starts, m.rows);
      REQUIRE(factor.factorize(m.values, 2.5));
      std::vector<double> b(static_cast<std::size_t>(m.n));
      for (double& v : b) v = normal(random);
      std::vector<double> x = b;
      factor.solve(x);
      const double residual = largest_residual(m.dense() + 2.5 * Eigen::MatrixXd::Identity(m.n, m.n), x, b);
      INFO(m.n << " unknowns, density " << density);
      CHECK(residual < 6e-7 * (10 + m.n));   // as in double precision, with the float's rounding
      if (m.n > 7) CHECK(residual > 1e-10);  // and no better: it is no double in disguise
    }
}

TEST_CASE("a_pivot_that_has_lost_its_digits_is_refused_where_that_is_asked", "[sparse_factor][rough]") {
  // Two unknowns, tied by a spring of 1 and held by one of `held`: the second pivot is about that.
  for (const double held : {1e-2, 1e-4, 1e-6, 1e-9}) {
    const std::vector<int> starts{0, 2, 3}, rows{0, 1, 1};
    const std::vector<double> values{1 + held, -1, 1};
    SparseFactor factor;
    RoughFactor rough;
    factor.analyze(2, starts, rows);
    rough.analyze(2, starts, rows);
    INFO("held by " << held);
    CHECK(factor.factorize(values, 0));
    CHECK(factor.factorize(values, 0, 1e-5) == (held > 1e-5));
    CHECK(rough.factorize(values, 0, 1e-5) == (held > 1e-5));
  }
}

TEST_CASE("unknowns_that_couple_alike_are_eliminated_together_and_rightly", "[sparse_factor]") {
  std::mt19937 random(5);
  std::normal_distribution<double> normal;
  for (const int n : {1, 2, 9, 60})
    for (const double density : {0.0, 0.05, 0.3, 1.0}) {
      const SparseMatrix m = of_nodes(random_matrix(n, density, 0.5, static_cast<unsigned>(n)), 17);
      SparseFactor factor;
      factor.analyze(m.n, m.starts, m.rows);
      REQUIRE(factor.factorize(m.values, 0));
      std::vector<double> b(static_cast<std::size_t>(m.n));
      for (double& v : b) v = normal(random);
      std::vector<double> x = b;
      factor.solve(x);
      CHECK(largest_residual(m.dense(), x, b) < 1e-12);
    }
}

TEST_CASE("a_strip_of_nodes_fills_no_more_than_its_band", "[sparse_factor]") {
  // A chain of 200 nodes with two coordinates each: eliminated from its ends, every node leaves one block of 2 x 2 and,
  // but for the last, one of 2 x 2 below it. An order that puts unknowns off, or takes clusters apart, fills far more.
  const int nodes = 200;
  SparseMatrix m;
  m.n = 2 * nodes;
  for (int c = 0; c < m.n; ++c) {
    for (int r = c; r < std::min(m.n, c / 2 * 2 + 4); ++r) {
      m.rows.push_back(r);
      m.values.push_back(r == c ? 10 : 1);
    }
    m.starts.push_back(static_cast<int>(m.rows.size()));
  }
  const FactorPlan plan(m.n, m.starts, m.rows);
  CHECK(plan.numbers() <= static_cast<std::size_t>(8 * nodes));
}

TEST_CASE("factors_that_share_a_plan_keep_their_numbers_apart", "[sparse_factor]") {
  const SparseMatrix m = random_matrix(60, 0.1, 0.5, 11);
  const auto plan = std::make_shared<const FactorPlan>(m.n, m.starts, m.rows);
  SparseFactor one, other;
  one.attach(plan);
  other.attach(plan);
  REQUIRE(one.factorize(m.values, 0));
  std::vector<double> alone(60, 1.0), beside(60, 1.0);
  one.solve(alone);
  REQUIRE(other.factorize(m.values, 7));  // another matrix
  one.solve(beside);
  CHECK(alone == beside);
}

TEST_CASE("the_least_pivot_tells_how_near_a_matrix_is_to_singular", "[sparse_factor]") {
  const SparseMatrix m = random_matrix(25, 0.3, 0.5, 8);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(m.dense());
  const double least = eigen.eigenvalues()(0);  // in rising order
  const double weakest = eigen.eigenvectors().col(0).cwiseAbs2().minCoeff();
  SparseFactor factor;
  factor.analyze(m.n, m.starts, m.rows);
  for (const double left : {1e-2, 1e-4, 1e-6}) {  // of the least eigenvalue
    REQUIRE(factor.factorize(m.values, left - least));
    // A pivot is no smaller than the least eigenvalue. The last one, of unknown p, is 1 / (inverse)_pp, and the inverse
    // holds at least v_p^2 / left of the softest direction v.
    CHECK(factor.least_pivot() >= left * (1 - 1e-6));
    CHECK(factor.least_pivot() <= left / weakest * (1 + 1e-6));
  }
}
