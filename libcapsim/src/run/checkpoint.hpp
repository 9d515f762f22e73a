// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  A state of an eye as bytes, and back, with exact doubles.
///
/// Layout. One line `capsim-checkpoint <format version> <capsim version> <16 hexadecimal digits>`, then CBOR. The
/// digits are the FNV-1a hash of all bytes after the line and of the line before them: a flipped bit anywhere is
/// noticed.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "run/eye_state.hpp"

namespace capsim {

struct Checkpoint {
  std::string scenario;                              ///< JSON text of the model's scenario.
  std::string law;                                   ///< Name of the contraction law.
  std::vector<std::pair<double, double>> cut_lines;  ///< Hour and length of every cut the model foresees.
  EyeState state;
  std::vector<Series> series;  ///< Recorded so far.
};

[[nodiscard]] std::string to_bytes(const Checkpoint& checkpoint);
/// Throws CheckpointError when the bytes are no checkpoint, are damaged, or are of another version.
[[nodiscard]] Checkpoint from_bytes(const std::string& bytes);

/// The bytes of a checkpoint around its contents in CBOR.
[[nodiscard]] std::string sealed(std::string_view contents, int format_version, std::string_view version);
/// The contents of sealed bytes; throws CheckpointError.
[[nodiscard]] std::string_view unsealed(std::string_view bytes);

}  // namespace capsim
