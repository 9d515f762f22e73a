// SPDX-License-Identifier: BSD-3-Clause
// Many runs on the threads of the host.
#include <algorithm>
#include <atomic>
#include <set>
#include <vector>

#include "handles.hpp"

namespace {

using capsim::c_interface::guarded;

struct Batch {
  const capsim_scenario* const* scenarios;
  capsim_history* const* histories;
  const capsim_run_options* options;
  std::vector<capsim_status> statuses;
  std::vector<std::atomic<int>> begun, done;
  std::atomic<bool> misused{false};

  Batch(const capsim_scenario* const* from, capsim_history* const* to, std::size_t count, const capsim_run_options* how)
      : scenarios(from),
        histories(to),
        options(how),
        statuses(count, CAPSIM_CALLBACK_FAILED),
        begun(count),
        done(count) {}
};

void run_one(void* data, std::size_t index) noexcept {
  auto& batch = *static_cast<Batch*>(data);
  if (index >= batch.statuses.size() || batch.begun[index].exchange(1) != 0) {
    batch.misused.store(true);
    return;
  }
  batch.statuses[index] = capsim_simulate(batch.scenarios[index], batch.options, batch.histories[index]);
  batch.done[index].store(1);
}

int32_t one_after_another(std::size_t count, capsim_job job, void* batch, void*) {
  for (std::size_t k = 0; k < count; ++k) job(batch, k);
  return 0;
}

/// Below 0 the lowest, else the highest.
capsim_status worst_of(const std::vector<capsim_status>& all) noexcept {
  capsim_status worst = CAPSIM_OK;
  for (const capsim_status one : all) worst = one < 0 || worst < 0 ? std::min(one, worst) : std::max(one, worst);
  return worst;
}

bool distinct(capsim_history* const* histories, std::size_t count) {
  return std::set<capsim_history*>(histories, histories + count).size() == count;
}

}  // namespace

extern "C" {

capsim_status capsim_batch(const capsim_scenario* const* scenarios, capsim_history* const* histories,
                           capsim_status* statuses, size_t count, const capsim_run_options* options,
                           capsim_executor executor, void* user) {
  if (count == 0) return CAPSIM_OK;
  if (scenarios == nullptr || histories == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&]() -> capsim_status {
    if (std::count(scenarios, scenarios + count, nullptr) > 0 ||
        std::count(histories, histories + count, nullptr) > 0 || !distinct(histories, count))
      return CAPSIM_BAD_ARGUMENT;
    if (std::any_of(histories, histories + count, [](const capsim_history* h) { return h->busy; })) return CAPSIM_BUSY;
    Batch batch(scenarios, histories, count, options);
    for (std::size_t k = 0; k < count; ++k) {  // what stays like this was not run
      histories[k]->result.reset();
      histories[k]->error.text = "the executor did not run this job";
      histories[k]->error.violations.clear();
    }
    bool failed = true;
    try {
      failed = (executor == nullptr ? &one_after_another : executor)(count, &run_one, &batch, user) != 0;
    } catch (...) {  // an executor in C++: jobs that it began are done, or it would not have left
    }
    for (std::size_t k = 0; k < count; ++k) failed = failed || batch.done[k].load() == 0;
    if (statuses != nullptr) std::copy(batch.statuses.begin(), batch.statuses.end(), statuses);
    return failed || batch.misused.load() ? CAPSIM_CALLBACK_FAILED : worst_of(batch.statuses);
  });
}

}  // extern "C"
