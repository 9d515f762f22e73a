// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The result file: one run in one HDF5 file, readable by any HDF5 tool.
///
/// Layout. Root attributes `format` = "capsim-result", `format_version`, `capsim_version`,
///         `status`, `message`, `checksum` (of all that `load` gives back); dataset `/scenario`
///         (UTF-8 JSON text); one dataset per series under `/series`, [rows] or [rows, columns],
///         with attributes `units`, `long_name`, `dimensions` and `position` (its place among the
///         series); `/cuts` with one dataset per value, [cuts]; `/diagnostics` with one scalar per
///         value; cautions in `/cautions`. Numbers are 64-bit, NaN included, bit for bit.
///         One line of text after the HDF5 data seals the bytes, so that damage is noticed before
///         HDF5 reads them. Another program that adds to the file takes the seal away; see `load`.
/// Assumes. One writer; the file appears under its final name only when it is whole.
/// There.   CAPSIM_HAS_RESULTS_FILE is 1 where the library was built with HDF5; where it is 0, these functions are not
///          declared, so that a program sees so when it is compiled and not when it is linked.

#include <string>

#if __has_include("capsim/built_with.hpp")
#include "capsim/built_with.hpp"
#endif
#ifndef CAPSIM_HAS_RESULTS_FILE
#define CAPSIM_HAS_RESULTS_FILE 1
#endif

#include "capsim/error.hpp"
#include "capsim/history.hpp"

namespace capsim {

/// A result file that can't be written or read; the text names the file and the reason.
class ResultsFileError : public Error {
 public:
  using Error::Error;
};

#if CAPSIM_HAS_RESULTS_FILE
/// Writes `history` to `path`, replacing what was there, by way of a temporary name beside it.
/// Throws ResultsFileError.
void save(const History& history, const std::string& path);

/// Reads a file written by `save`. Throws ResultsFileError for a file that is not one, is
/// damaged, or is of a newer format version. `edited`: another program has added to the file, which thereby lost its
/// seal. HDF5 then reads bytes that nothing vouches for, and may crash or never return on damaged ones; the numbers are
/// believed by their checksum still.
[[nodiscard]] History load(const std::string& path, bool edited = false);
#endif

}  // namespace capsim
