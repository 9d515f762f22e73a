// SPDX-License-Identifier: BSD-3-Clause
#include "solve/fixed_point.hpp"

#include <Eigen/Dense>
#include <limits>

namespace capsim {
namespace {
constexpr double nothing_new = 1e-2;  // of a difference, beside those before it
}

std::vector<double> FixedPoint::next(const std::vector<double>& z, const std::vector<double>& r) {
  z_.push_back(z);
  r_.push_back(r);
  if (static_cast<int>(z_.size()) > depth_ + 1) {
    z_.pop_front();
    r_.pop_front();
  }
  const Eigen::Index n = static_cast<Eigen::Index>(z.size()), m = static_cast<Eigen::Index>(z_.size()) - 1;
  const auto as_vector = [](const std::vector<double>& v) {
    return Eigen::Map<const Eigen::VectorXd>(v.data(), static_cast<Eigen::Index>(v.size()));
  };
  Eigen::VectorXd result = as_vector(z) + as_vector(r);
  if (m > 0) {
    Eigen::MatrixXd dr(n, m), dz(n, m);
    for (Eigen::Index k = 0; k < m; ++k) {
      const std::size_t i = static_cast<std::size_t>(k);
      dr.col(k) = as_vector(r_[i + 1]) - as_vector(r_[i]);
      dz.col(k) = as_vector(z_[i + 1]) - as_vector(z_[i]);
    }
    // Differences of very different size are weighed alike, and those that say nothing new are left out: what is left
    // of them is noise, which a solution by all of them would blow up.
    const Eigen::RowVectorXd size = dr.colwise().norm().cwiseMax(std::numeric_limits<double>::min());
    dr.array().rowwise() /= size.array();
    dz.array().rowwise() /= size.array();
    Eigen::CompleteOrthogonalDecomposition<Eigen::MatrixXd> directions(n, m);
    directions.setThreshold(nothing_new);
    const Eigen::VectorXd gamma = directions.compute(dr).solve(as_vector(r));
    result -= (dz + dr) * gamma;
  }
  return {result.data(), result.data() + n};
}

}  // namespace capsim
