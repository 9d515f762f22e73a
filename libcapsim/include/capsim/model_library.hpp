// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What models of similar eyes share: unloaded shapes and patterns of equations that were found before.
///
/// Model.   The unloaded shape of a bag depends on mesh, stated opening and bag, capsule, zonule and force tolerance,
/// and
///          on nothing else: a sweep over contraction, another law or other events search for it once. It is found
///          again by all of these, compared number by number (ShapeKey), and the search is a function of them alone; so
///          no digit depends on whether it was found or made, nor on the order or number of threads.
/// Owned.   By whoever runs the models: a sweep, a study, a host program. Nothing is kept behind its back.
/// Shared.  May be used by any number of threads at once.

#include <cstddef>
#include <functional>
#include <memory>

namespace capsim {

class PatternStore;
struct ShapeKey;
struct StressFreeShape;

class ModelLibrary {
 public:
  /// Keeps at most `most_shapes` unloaded shapes; the one that was not used for longest goes first.
  explicit ModelLibrary(std::size_t most_shapes = 64);
  ~ModelLibrary();
  ModelLibrary(const ModelLibrary&) = delete;
  ModelLibrary& operator=(const ModelLibrary&) = delete;

  [[nodiscard]] const std::shared_ptr<PatternStore>& patterns() const noexcept;
  /// The shape of `key`: one that is held, or one that is searched for now. Throws ModelError as the search does.
  [[nodiscard]] std::shared_ptr<const StressFreeShape> shape_of(const ShapeKey& key,
                                                                const std::function<bool()>& go_on = {});

  [[nodiscard]] std::size_t shapes_held() const;
  /// How often a shape was found here, and how often it had to be searched for.
  [[nodiscard]] long shapes_found() const;
  [[nodiscard]] long shapes_searched() const;
  [[nodiscard]] std::size_t memory_bytes() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace capsim
