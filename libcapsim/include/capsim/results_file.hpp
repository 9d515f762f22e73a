// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The result file: one run in one HDF5 file, readable by any HDF5 tool.
///
/// Layout. Root attributes `format` = "capsim-result", `format_version`, `capsim_version`,
///         `status`, `message`; dataset `/scenario` (UTF-8 JSON text); one dataset per series
///         under `/series`, rows x columns, with attributes `units` and `long_name`; `/cuts` and
///         `/diagnostics`; cautions in `/cautions`.
/// Assumes. One writer; the file appears under its final name only when it is whole.

#include <stdexcept>
#include <string>

#include "capsim/history.hpp"

namespace capsim {

/// A result file that can't be written or read; the text names the file and the reason.
class ResultsFileError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Writes `history` to `path`, replacing what was there, by way of a temporary name beside it.
/// Throws ResultsFileError.
void save(const History& history, const std::string& path);

/// Reads a file written by `save`. Throws ResultsFileError for a file that is not one, is
/// damaged, or is of a newer format version.
[[nodiscard]] History load(const std::string& path);

}  // namespace capsim
