// SPDX-License-Identifier: BSD-3-Clause
#pragma once
// Processor time of this thread: what others do on the machine is in it only through the caches that they share.
#include <algorithm>
#include <ctime>
#include <limits>

namespace capsim {

inline double processor_ms() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return 1e3 * static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_nsec);
}

/// Processor time of one of `count` calls in a row [ms].
template <class Work>
double each_ms(int count, Work&& work) {
  const double start = processor_ms();
  for (int i = 0; i < count; ++i) work();
  return (processor_ms() - start) / count;
}

/// The smallest of what was measured.
class Least {
 public:
  void see(double value) { value_ = std::min(value_, value); }
  [[nodiscard]] double value() const { return value_; }

 private:
  double value_ = std::numeric_limits<double>::infinity();
};

}  // namespace capsim
