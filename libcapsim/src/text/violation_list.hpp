// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  The violations found so far in one scenario, and which of its fields can still be judged.
///
/// A field that could not be read, or whose value is out of range, is unusable: checks that
/// compare it with other fields are skipped, so that one mistake gives one message.

#include <algorithm>
#include <cstddef>
#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "capsim/error.hpp"

namespace capsim {

/// Path of member `key` of the object at `parent` (empty: the scenario itself).
[[nodiscard]] inline std::string member_path(const std::string& parent, std::string_view key) {
  return parent.empty() ? std::string(key) : parent + '.' + std::string(key);
}

/// Path of item `index` of the list at `parent`.
[[nodiscard]] inline std::string item_path(const std::string& parent, std::size_t index) {
  return parent + '[' + std::to_string(index) + ']';
}

class ViolationList {
 public:
  /// Adds a violation that leaves the field's value usable (an unknown or repeated key).
  void add(Violation violation) { list_.push_back(std::move(violation)); }

  /// Adds a violation after which the field at that path can't be used.
  void add_unusable(Violation violation) {
    unusable_.push_back(violation.path);
    list_.push_back(std::move(violation));
  }

  /// The field at `path` can't be judged; the reason has been given already.
  void set_aside(std::string path) { unusable_.push_back(std::move(path)); }

  /// Adds everything that another list holds.
  void append(ViolationList other) {
    for (Violation& violation : other.list_) list_.push_back(std::move(violation));
    for (std::string& path : other.unusable_) unusable_.push_back(std::move(path));
  }

  /// False when the field at `path`, an object around it or a part of it is unusable.
  [[nodiscard]] bool usable(std::string_view path) const {
    return std::none_of(unusable_.begin(), unusable_.end(), [path](const std::string& other) {
      return other == path || is_inside(path, other) || is_inside(other, path);
    });
  }
  [[nodiscard]] bool usable(std::initializer_list<std::string_view> paths) const {
    return std::all_of(paths.begin(), paths.end(), [this](std::string_view path) { return usable(path); });
  }

  [[nodiscard]] bool empty() const noexcept { return list_.empty(); }
  [[nodiscard]] std::vector<Violation> take() { return std::move(list_); }

 private:
  static bool is_inside(std::string_view path, std::string_view outer) {
    return path.size() > outer.size() && path.substr(0, outer.size()) == outer &&
           (path[outer.size()] == '.' || path[outer.size()] == '[');
  }

  std::vector<Violation> list_;
  std::vector<std::string> unusable_;
};

}  // namespace capsim
