// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The complete state of a simulation as plain values, and as bytes (CBOR, exact doubles).

#include <optional>
#include <string>
#include <vector>

#include <utility>
#include "capsim/history.hpp"

#include "capsim/scenario.hpp"

namespace capsim {

struct Checkpoint {
  std::string scenario;  ///< JSON text of the model's scenario.
  std::string version;   ///< Of the library that wrote it.
  std::string law;       ///< Name of the contraction law.
  double day = 0, next_step = 0;
  std::vector<double> x, y;
  std::vector<std::pair<double, std::vector<double>>> equilibria;  ///< Days and stretches that the steps go on from.
  std::vector<int> open_layers;
  std::size_t next_event = 0;
  ZonuleSpec zonule;  ///< Strengths in force; the rest is the scenario's.
  std::vector<char> failed;
  Status status = Status::completed;
  std::string message;
  std::vector<CutRecord> cuts;
  Diagnostics diagnostics;
  std::vector<Series> series;
  std::optional<TensionRingSpec> ring;
  double ring_day = 0;
  int held_span = 0;
  double held_place = 0;
  double residual_mN = 0, energy = 0;
};

[[nodiscard]] std::string to_bytes(const Checkpoint& checkpoint);
/// Throws CheckpointError when the bytes are no checkpoint.
[[nodiscard]] Checkpoint from_bytes(const std::string& bytes);

}  // namespace capsim
