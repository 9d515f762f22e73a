// SPDX-License-Identifier: BSD-3-Clause
// Any bytes as a result file: loaded when they are one, else refused before HDF5 sees them.
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "capsim/results_file.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::string path = [] {
    const char* folder = std::getenv("TMPDIR");
    return std::string(folder != nullptr ? folder : "/tmp") + "/fuzz_result_" + std::to_string(::getpid()) + ".h5";
  }();
  std::FILE* file = std::fopen(path.c_str(), "wb");
  if (file == nullptr) std::abort();
  std::fwrite(data, 1, size, file);
  std::fclose(file);
  try {
    const capsim::History history = capsim::load(path);
    static_cast<void>(history.rows());
  } catch (const capsim::ResultsFileError&) {
  }
  std::remove(path.c_str());
  return 0;
}
