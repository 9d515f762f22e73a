// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Pieces of the JSON text of studies.

#include <cmath>
#include <nlohmann/json.hpp>
#include <vector>

#include "capsim/study.hpp"

namespace capsim {

using StudyJson = nlohmann::ordered_json;

[[nodiscard]] inline StudyJson number_or_null(double value) {
  return std::isfinite(value) ? StudyJson(value) : StudyJson(nullptr);
}
[[nodiscard]] inline StudyJson as_json(const std::vector<double>& values) {
  StudyJson all = StudyJson::array();
  for (const double v : values) all.push_back(number_or_null(v));
  return all;
}
[[nodiscard]] inline StudyJson as_json(const Proportion& p) {
  return {{"count", p.count}, {"of", p.of}, {"share", number_or_null(p.share)}, {"low", p.low}, {"high", p.high}};
}
[[nodiscard]] inline StudyJson as_json(const Quantiles& q) {
  return {{"low", number_or_null(q.low)}, {"median", number_or_null(q.median)}, {"high", number_or_null(q.high)}};
}
/// A list of either.
template <class Each>
[[nodiscard]] StudyJson as_json(const std::vector<Each>& all) {
  StudyJson list = StudyJson::array();
  for (const Each& one : all) list.push_back(as_json(one));
  return list;
}

}  // namespace capsim
