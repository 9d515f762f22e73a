// SPDX-License-Identifier: BSD-3-Clause
#include "sparse_factor.hpp"

#include <Eigen/SparseCholesky>
#include <cmath>

namespace capsim {

struct SparseFactor::Impl {
  using Matrix = Eigen::SparseMatrix<double, Eigen::ColMajor, int>;
  Matrix matrix;
  Eigen::SimplicialLDLT<Matrix, Eigen::Lower, Eigen::AMDOrdering<int>> ldlt;
};

SparseFactor::SparseFactor() : impl_(std::make_unique<Impl>()) {}
SparseFactor::~SparseFactor() = default;
SparseFactor::SparseFactor(SparseFactor&&) noexcept = default;
SparseFactor& SparseFactor::operator=(SparseFactor&&) noexcept = default;

void SparseFactor::analyze(int n, const std::vector<int>& starts, const std::vector<int>& rows) {
  const std::vector<double> ones(rows.size(), 1.0);
  impl_->matrix = Eigen::Map<const Impl::Matrix>(n, n, static_cast<int>(rows.size()), starts.data(), rows.data(), ones.data());
  impl_->ldlt.analyzePattern(impl_->matrix);
}

bool SparseFactor::factorize(const std::vector<double>& values, double shift) {
  Impl& m = *impl_;
  std::copy(values.begin(), values.end(), m.matrix.valuePtr());
  for (int c = 0; c < m.matrix.cols(); ++c) m.matrix.valuePtr()[m.matrix.outerIndexPtr()[c]] += shift;
  m.ldlt.factorize(m.matrix);
  if (m.ldlt.info() != Eigen::Success) return false;
  // "Success" is also reported for indefinite matrices and for NaN: look at every pivot.
  for (const double d : m.ldlt.vectorD())
    if (!(d > 0) || !std::isfinite(d)) return false;
  return true;
}

void SparseFactor::solve(std::vector<double>& b) const {
  Eigen::Map<Eigen::VectorXd> v(b.data(), static_cast<Eigen::Index>(b.size()));
  v = impl_->ldlt.solve(v).eval();
}

std::size_t SparseFactor::memory_bytes() const noexcept {
  const Eigen::Index factor = impl_->ldlt.rows() > 0 ? impl_->ldlt.matrixL().nestedExpression().nonZeros() : 0;
  return static_cast<std::size_t>(factor + impl_->matrix.nonZeros()) * (sizeof(double) + sizeof(int));
}

}  // namespace capsim
