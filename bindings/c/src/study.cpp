// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/study.hpp"

#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <span>
#include <string>
#include <thread>
#include <vector>

#include "caller_memory.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"
#include "handles.hpp"
#include "memory_limit.hpp"
#include "run_options.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

/// The tasks of a study on their way through the host's executor, which is C: what a task throws is kept for later.
struct HostTasks {
  const std::function<void(std::size_t)>* task;
  std::vector<std::atomic<int>> begun;
  std::atomic<std::size_t> done{0};
  std::atomic<bool> misused{false};
  std::mutex mutex;
  std::exception_ptr thrown;

  HostTasks(std::size_t count, const std::function<void(std::size_t)>& one) : task(&one), begun(count) {}
};

void run_one(void* data, std::size_t index) noexcept {
  auto& tasks = *static_cast<HostTasks*>(data);
  if (index >= tasks.begun.size() || tasks.begun[index].exchange(1) != 0) {
    tasks.misused.store(true);
    return;
  }
  try {
    (*tasks.task)(index);
  } catch (...) {
    const std::lock_guard lock(tasks.mutex);
    tasks.thrown = std::current_exception();
  }
  ++tasks.done;
}

capsim_study_options known_of(const capsim_study_options* given) {
  capsim_study_options known = CAPSIM_STUDY_OPTIONS;
  if (given != nullptr && read_struct(given, known, CAPSIM_SIZE_UP_TO(capsim_study_options, cancel)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT,
                  "the study options have a struct_size, or ask for something, that this library does not know");
  return known;
}

/// `control` outlives the study.
capsim::StudyOptions options_of(const capsim_study_options& known, RunControl& control) {
  capsim::StudyOptions options;
  if (known.eyes != 0) options.eyes = known.eyes;
  options.typical = known.typical != 0;
  options.workers = known.workers;
  if (known.cancel != nullptr || known.deadline_seconds > 0)
    options.progress = [&control](std::size_t, std::size_t) { return control.go_on({}); };
  if (known.executor != nullptr)
    options.executor = [known](std::size_t count, const std::function<void(std::size_t)>& task) {
      HostTasks tasks(count, task);
      const bool failed = known.executor(count, &run_one, &tasks, known.user) != 0;
      if (tasks.thrown) std::rethrow_exception(tasks.thrown);
      if (failed || tasks.misused.load() || tasks.done.load() != count)
        throw Refusal(CAPSIM_CALLBACK_FAILED, "the executor left jobs out, ran one twice, or reported failure");
    };
  return options;
}

/// What the handle is asked for: plans for the eyes of a crowd, run in so many ways each.
struct Asked {
  const char* what;
  std::vector<capsim::Scenario> plans;
  std::size_t ways = 1;
};

/// Tells what begins, and refuses what would hold too much.
void begin(const capsim_study& handle, const Asked& asked, const capsim::Population& crowd,
           const capsim::StudyOptions& options) {
  const std::size_t eyes = options.eyes > 0 ? static_cast<std::size_t>(options.eyes) : 0,
                    laws = options.laws.empty() ? crowd.laws().size() : options.laws.size();
  const std::size_t runs = eyes * laws * asked.plans.size() * asked.ways;
  const std::size_t threads =
      options.workers > 0 ? static_cast<std::size_t>(options.workers) : std::thread::hardware_concurrency();
  refuse_beyond(handle.memory_limit_bytes, estimated_memory_bytes(asked.plans, runs, std::max<std::size_t>(threads, 1)),
                "this study", "fewer workers, fewer eyes or a coarser mesh");
  handle.error.tell(CAPSIM_LOG_INFO, std::string(asked.what) + " of " + std::to_string(eyes) + " eyes of \"" +
                                         crowd.name() + "\" begins: " + std::to_string(runs) + " runs");
}

/// Runs `work`, which makes a study of what `ask` gives; its JSON stays in the handle.
template <class Ask, class Work>
capsim_status study(capsim_study* handle, const capsim_population* population, const capsim_study_options* how, Ask ask,
                    Work work) noexcept {
  return at_work(handle, [&]() -> capsim_status {
    handle->json.clear();
    if (population == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "population is NULL");
    if (!population->population) throw Refusal(CAPSIM_NOT_FOUND, "the population is empty: find or read one first");
    const Asked asked = ask();
    const capsim_study_options known = known_of(how);
    RunControl control(known.cancel, known.deadline_seconds);
    capsim::StudyOptions options = options_of(known, control);
    options.laws = handle->wishes.laws;
    begin(*handle, asked, *population->population, options);
    const auto found = work(asked.plans, *population->population, options);
    handle->json = found.to_json();
    if (found.cancelled)
      return handle->error.keep(CAPSIM_NOT_COMPLETED, control.reason("what was run until then is there").c_str());
    handle->error.tell(CAPSIM_LOG_INFO, std::string(asked.what) + " is done");
    return CAPSIM_OK;
  });
}

using Wishes = capsim_study::Wishes;

/// Changes what the handle's studies ask for.
template <class Change>
capsim_status wish(capsim_study* handle, Change change) noexcept {
  return at_work(handle, [&]() -> capsim_status {
    change(handle->wishes);
    return CAPSIM_OK;
  });
}

const capsim::Scenario& plan_of(const capsim_scenario* plan) {
  if (plan == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "plan is NULL");
  return plan->scenario;
}

}  // namespace

extern "C" {

capsim_study* capsim_study_create(void) {
  try {
    return new capsim_study;
  } catch (...) {
    return nullptr;
  }
}
void capsim_study_destroy(capsim_study* study) {
  if (study == nullptr || study->busy) return;  // from inside its own executor or log: the study needs it still
  delete study;
}

capsim_status capsim_study_set_log(capsim_study* study, capsim_log_callback log, void* user) {
  return set_log(study, log, user);
}
capsim_status capsim_study_set_memory_limit(capsim_study* study, size_t bytes) {
  return set_memory_limit(study, bytes);
}

capsim_status capsim_study_add_quantity(capsim_study* study, const char* outcome) {
  return wish(study, [&](Wishes& wishes) { wishes.quantities.emplace_back(given(outcome, "outcome")); });
}
capsim_status capsim_study_add_law(capsim_study* study, const char* law) {
  return wish(study, [&](Wishes& wishes) { wishes.laws.emplace_back(given(law, "law")); });
}
capsim_status capsim_study_add_schedule(capsim_study* study, const char* name, const double* days, size_t count) {
  return wish(study, [&](Wishes& wishes) {
    const std::span<const double> all = given_list(days, count, "days");
    wishes.schedules.push_back({given(name, "name"), {all.begin(), all.end()}});
  });
}
capsim_status capsim_study_add_layout(capsim_study* study, const char* name, const double* hours, size_t count,
                                      double length_mm, double day) {
  return wish(study, [&](Wishes& wishes) {
    const std::span<const double> all = given_list(hours, count, "hours");
    wishes.layouts.push_back({given(name, "name"), {all.begin(), all.end()}, length_mm, day});
  });
}
capsim_status capsim_study_clear(capsim_study* study) {
  return wish(study, [](Wishes& wishes) { wishes = {}; });
}

capsim_status capsim_study_compare(capsim_study* handle, const capsim_scenario* const* plans, size_t count,
                                   const capsim_population* population, const capsim_study_options* options) {
  return study(
      handle, population, options,
      [&] {
        Asked asked{"compare", {}};
        for (const capsim_scenario* plan : given_list(plans, count, "plans")) asked.plans.push_back(plan_of(plan));
        return asked;
      },
      [&](const auto& all, const auto& crowd, const auto& how) {
        return capsim::compare(all, crowd, handle->wishes.quantities, how);
      });
}

capsim_status capsim_study_visits(capsim_study* handle, const capsim_scenario* plan,
                                  const capsim_population* population, const char* quantity, double limit,
                                  int32_t below, const capsim_study_options* options) {
  return study(
      handle, population, options, [&] { return Asked{"visits", {plan_of(plan)}}; },
      [&](const auto& plans, const auto& crowd, const auto& how) {
        return capsim::visits(plans.front(), crowd, {given(quantity, "quantity"), limit, below != 0},
                              handle->wishes.schedules, how);
      });
}

capsim_status capsim_study_cuts(capsim_study* handle, const capsim_scenario* plan, const capsim_population* population,
                                double length_mm, double day, const capsim_study_options* options) {
  std::vector<capsim::CutLayout> layouts;
  return study(
      handle, population, options,
      [&] {
        layouts = handle->wishes.layouts;
        if (layouts.empty()) layouts = capsim::usual_layouts(plan_of(plan), length_mm, day);
        return Asked{"cuts", {plan_of(plan)}, layouts.size()};
      },
      [&](const auto& plans, const auto& crowd, const auto& how) {
        return capsim::cuts(plans.front(), crowd, layouts, how);
      });
}

capsim_status capsim_study_json(const capsim_study* study, char* text, size_t size, size_t* needed) {
  if (study == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (study->json.empty()) return CAPSIM_NOT_FOUND;
  return copy_text(study->json, text, size, needed);
}

capsim_status capsim_study_error(const capsim_study* study, char* text, size_t size, size_t* needed) {
  if (study == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(study->error.text, text, size, needed);
}
size_t capsim_study_violation_count(const capsim_study* study) {
  return study == nullptr ? 0 : study->error.violations.size();
}
capsim_status capsim_study_violation(const capsim_study* study, size_t index, capsim_violation_part part, char* text,
                                     size_t size, size_t* needed) {
  if (study == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(study->error, index, part, text, size, needed); });
}

}  // extern "C"
