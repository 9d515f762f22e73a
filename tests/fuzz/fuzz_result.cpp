// SPDX-License-Identifier: BSD-3-Clause
// A file of results is read when it is one, byte for byte; any other is refused before a number is believed, and before
// the HDF5 library sees it.
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <string>

#include "capsim/results_file.hpp"
#include "expect.hpp"

namespace {

/// In memory where there is such a folder.
const std::string& place() {
  static const std::string path = [] {
    const char* folder = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    return std::string(folder) + "/capsim_fuzz_" + std::to_string(getpid()) + ".h5";
  }();
  return path;
}

struct RemovedAtEnd {
  ~RemovedAtEnd() { std::remove(place().c_str()); }
} removed_at_end;

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::FILE* file = std::fopen(place().c_str(), "wb");
  CAPSIM_EXPECT(file != nullptr);
  CAPSIM_EXPECT(std::fwrite(data, 1, size, file) == size);
  CAPSIM_EXPECT(std::fclose(file) == 0);
  try {
    const capsim::History history = capsim::load(place());
    CAPSIM_EXPECT(history.rows() > 0);
    // The seeds are such files; a damaged one with a seal that holds would be a find of one in 2^64.
    CAPSIM_EXPECT(history.version() == "0.1.0");
  } catch (const capsim::ResultsFileError& error) {
    CAPSIM_EXPECT(error.what()[0] != '\0');
  }
  return 0;
}
