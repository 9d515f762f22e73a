// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Files read whole and replaced whole: a reader never sees half of one.
///
/// A replacement is written beside the file under a temporary name, forced to the disk, and moved
/// over the old one in a single step; whatever goes wrong before that leaves the old file alone.
/// Private to the library; POSIX.

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "capsim/error.hpp"

namespace capsim {

/// What the operating system refused, in words.
class DiskFailure : public Error {
 public:
  using Error::Error;
};

[[noreturn]] inline void fail_with_errno(const std::string& doing) {
  throw DiskFailure(doing + ": " + std::strerror(errno));
}

/// An open POSIX file descriptor.
class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  [[nodiscard]] int number() const noexcept { return number_; }
  /// Closes now, where a failure can still be told.
  void close() {
    if (::close(std::exchange(number_, -1)) != 0) fail_with_errno("closing it");
  }

 private:
  int number_;
};

inline void write_all(int descriptor, const std::vector<char>& bytes) {
  for (std::size_t done = 0; done < bytes.size();) {
    const ssize_t count = ::write(descriptor, bytes.data() + done, bytes.size() - done);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) fail_with_errno("writing it");
    done += static_cast<std::size_t>(count);
  }
}

/// The bytes of a regular file.
inline std::vector<char> read_all(const std::string& path) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (file.number() < 0) fail_with_errno("opening it");
  struct stat status{};
  if (::fstat(file.number(), &status) != 0) fail_with_errno("opening it");
  if (!S_ISREG(status.st_mode)) throw DiskFailure("it is not a regular file");
  std::vector<char> bytes(static_cast<std::size_t>(status.st_size));
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t count = ::read(file.number(), bytes.data() + done, bytes.size() - done);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) fail_with_errno("reading it");
    if (count == 0) break;
    done += static_cast<std::size_t>(count);
  }
  bytes.resize(done);
  return bytes;
}

/// The file written under a temporary name; gone again unless it was moved into place.
class Replacement {
 public:
  explicit Replacement(std::string path) : path_(std::move(path)) {}
  Replacement(const Replacement&) = delete;
  Replacement& operator=(const Replacement&) = delete;
  ~Replacement() {
    if (!temporary_.empty()) ::unlink(temporary_.c_str());
  }

  void write(const std::vector<char>& bytes) {
    struct stat old{};
    const bool replaces = ::stat(path_.c_str(), &old) == 0;
    if (replaces && !S_ISREG(old.st_mode)) throw DiskFailure("there is something there that is not a regular file");
    Descriptor file(open_temporary());
    if (replaces && ::fchmod(file.number(), old.st_mode & 07777) != 0) fail_with_errno("keeping its permissions");
    write_all(file.number(), bytes);
    if (::fsync(file.number()) != 0) fail_with_errno("writing it");
    file.close();
  }

  void move_into_place() {
    if (::rename(temporary_.c_str(), path_.c_str()) != 0) fail_with_errno("moving it into place");
    temporary_.clear();
    // Makes the new name survive a power cut; where folders can't be synced there is nothing to do.
    std::string folder = std::filesystem::path(path_).parent_path().string();
    if (folder.empty()) folder = ".";
    const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_CLOEXEC));
    if (opened.number() >= 0) ::fsync(opened.number());
  }

 private:
  int open_temporary() {
    static std::atomic<unsigned long> count{0};
    constexpr int tries = 100;
    for (int i = 0; i < tries; ++i) {
      const std::string name = path_ + "." + std::to_string(::getpid()) + "-" + std::to_string(++count) + ".partial";
      const int descriptor = ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
      if (descriptor >= 0) {
        temporary_ = name;
        return descriptor;
      }
      if (errno != EEXIST) fail_with_errno("creating a file beside it");
    }
    fail_with_errno("creating a file beside it");
  }

  std::string path_;
  std::string temporary_;
};

/// Where the bytes go: through a symbolic link to the file it names.
inline std::string target_of(const std::string& path) {
  if (path.empty()) throw DiskFailure("the path is empty");
  std::error_code error;
  if (!std::filesystem::is_symlink(path, error)) return path;
  const std::filesystem::path target = std::filesystem::weakly_canonical(path, error);
  return error ? path : target.string();
}

}  // namespace capsim
