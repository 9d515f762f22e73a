// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/model_library.hpp"

#include <algorithm>
#include <mutex>
#include <vector>

#include "run/stress_free_shape.hpp"
#include "solve/system_pattern.hpp"

namespace capsim {

struct ModelLibrary::Impl {
  struct Held {
    ShapeKey key;
    std::shared_ptr<const StressFreeShape> shape;
  };
  std::size_t most_shapes;
  std::shared_ptr<PatternStore> patterns = std::make_shared<PatternStore>();
  mutable std::mutex mutex;
  std::vector<Held> held;  // the latest used last
  long found = 0, searched = 0;

  std::shared_ptr<const StressFreeShape> find(const ShapeKey& key) {
    const auto at = std::find_if(held.begin(), held.end(), [&](const Held& h) { return h.key == key; });
    if (at == held.end()) return nullptr;
    std::rotate(at, at + 1, held.end());
    return held.back().shape;
  }
};

ModelLibrary::ModelLibrary(std::size_t most_shapes) : impl_(std::make_unique<Impl>()) {
  impl_->most_shapes = std::max<std::size_t>(most_shapes, 1);
}
ModelLibrary::~ModelLibrary() = default;

const std::shared_ptr<PatternStore>& ModelLibrary::patterns() const noexcept { return impl_->patterns; }

std::shared_ptr<const StressFreeShape> ModelLibrary::shape_of(const ShapeKey& key, const std::function<bool()>& go_on) {
  Impl& m = *impl_;
  {
    const std::lock_guard lock(m.mutex);
    if (auto shape = m.find(key)) {
      ++m.found;
      return shape;
    }
    ++m.searched;
  }
  // Searched for outside the lock: two threads may search for the same shape, and both find the same.
  auto shape = std::make_shared<const StressFreeShape>(find_stress_free_shape(key, m.patterns, go_on));
  const std::lock_guard lock(m.mutex);
  if (auto other = m.find(key)) return other;
  if (m.held.size() == m.most_shapes) m.held.erase(m.held.begin());
  m.held.push_back({key, shape});
  return shape;
}

std::size_t ModelLibrary::shapes_held() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->held.size();
}
long ModelLibrary::shapes_found() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->found;
}
long ModelLibrary::shapes_searched() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->searched;
}
std::size_t ModelLibrary::memory_bytes() const {
  const std::lock_guard lock(impl_->mutex);
  std::size_t bytes = sizeof(Impl) + impl_->patterns->memory_bytes();
  for (const Impl::Held& h : impl_->held) bytes += h.key.memory_bytes() + h.shape->memory_bytes();
  return bytes;
}

}  // namespace capsim
