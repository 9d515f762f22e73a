// SPDX-License-Identifier: BSD-3-Clause
#include "run/study_crowd.hpp"

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "capsim/contraction_law.hpp"
#include "capsim/outcomes.hpp"

namespace capsim {
namespace {

using Json = nlohmann::json;

/// How often the calling thread looks up while others work: a tenth of what a person notices.
constexpr std::chrono::milliseconds between_looks{50};

/// Unloaded shapes that a study keeps, beside those of two eyes: enough for some eyes in work at once.
constexpr std::size_t shapes_kept = 64;

/// What of a scenario is the eye: everything but what the surgeon decides and how it is computed.
Json eye_of(const Scenario& plan) {
  Json json = Json::parse(plan.to_json(-1));
  for (const char* decided :
       {"name", "opening", "tension_ring", "lens", "events", "mesh", "numerics", "output_every_days"})
    json.erase(decided);
  Json& contraction = json.at("contraction");
  for (const char* decided : {"cells_left", "cells_left_by_hour", "interpolation", "contact_diameter_mm"})
    contraction.erase(decided);
  return json;
}

/// Every field in which a plan's eye is not that of the first plan.
void refuse_other_eyes(const std::vector<Scenario>& plans, std::vector<Violation>& found) {
  const Json first = eye_of(plans.front());
  for (std::size_t p = 1; p < plans.size(); ++p) {
    const Json here = eye_of(plans[p]), flat = here.flatten(), flat_first = first.flatten();
    const auto refuse = [&](const std::string& pointer, const Json& value, const Json& limit) {
      std::string path = pointer.substr(1);
      std::replace(path.begin(), path.end(), '/', '.');
      found.push_back({"plans[" + std::to_string(p) + "]." + path, value.dump(), limit.dump() + ", as in plans[0]",
                       "plans of one study are for one eye"});
    };
    for (const auto& [pointer, value] : flat.items())
      if (!flat_first.contains(pointer))
        refuse(pointer, value, nullptr);
      else if (flat_first.at(pointer) != value)
        refuse(pointer, value, flat_first.at(pointer));
    for (const auto& [pointer, value] : flat_first.items())
      if (!flat.contains(pointer)) refuse(pointer, nullptr, value);
  }
}

/// What all workers share.
class Work {
 public:
  Work(std::size_t count, const StudyOptions& options,
       const std::function<void(std::size_t, const std::function<bool()>&)>& task)
      : count_(count), options_(&options), task_(&task) {}

  /// One task, wherever it runs; `look` is asked on the way whether to go on.
  void one(std::size_t index, const std::function<bool()>& look) {
    if (stopped_) return;
    try {
      (*task_)(index, look);
      ++done_;
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!error_) error_ = std::current_exception();
      stopped_ = true;
    }
  }
  /// Tasks one after the other, until none is left.
  void several() {
    for (std::size_t i = next_++; i < count_ && !stopped_; i = next_++) one(i, [this] { return !stopped_; });
  }
  /// Tells the host how far it is; false when it wants no more.
  bool tell() {
    if (options_->progress && !options_->progress(std::min(done_.load(), count_), count_)) cancelled_ = stopped_ = true;
    return !stopped_;
  }
  [[nodiscard]] bool tell_alone() {
    const std::lock_guard lock(telling_);
    return stopped_ ? false : tell();
  }
  [[nodiscard]] bool finish() {
    if (error_) std::rethrow_exception(error_);
    return !cancelled_;
  }
  void stop() { stopped_ = true; }

 private:
  std::size_t count_;
  const StudyOptions* options_;
  const std::function<void(std::size_t, const std::function<bool()>&)>* task_;
  std::atomic<std::size_t> next_{0}, done_{0};
  std::atomic<bool> stopped_{false}, cancelled_{false};
  std::mutex mutex_, telling_;
  std::exception_ptr error_;
};

/// The library's own threads; the calling one waits, and tells.
void on_threads(Work& work, unsigned workers) {
  std::mutex mutex;
  std::condition_variable ended;
  unsigned running = workers;
  std::vector<std::thread> threads;  // std::jthread is not everywhere yet
  const struct Joined {
    std::vector<std::thread>& all;
    ~Joined() {
      for (std::thread& thread : all) thread.join();
    }
  } joined{threads};
  for (unsigned k = 0; k < workers; ++k)
    threads.emplace_back([&] {
      work.several();
      const std::lock_guard lock(mutex);
      --running;
      ended.notify_one();
    });
  try {
    std::unique_lock lock(mutex);
    while (!ended.wait_for(lock, between_looks, [&] { return running == 0; })) {
      lock.unlock();
      (void)work.tell();
      lock.lock();
    }
  } catch (...) {  // what progress throws: the threads end before what they use does
    work.stop();
    throw;
  }
}

}  // namespace

Crowd::EyeAndLaw Crowd::eye_and_law(std::size_t index) const noexcept {
  constexpr std::size_t block = 8;
  const std::size_t first = index / (block * laws.size()) * block, here = std::min(block, eyes - first),
                    rest = index - first * laws.size();
  return {first + rest % here, rest / here};
}

Crowd make_crowd(const std::vector<Scenario>& plans, const Population& population, const StudyOptions& options,
                 std::vector<Violation> found) {
  if (plans.empty()) found.push_back({"plans", "none", "at least one plan", ""});
  if (options.eyes < 1) found.push_back({"eyes", std::to_string(options.eyes), ">= 1", ""});
  if (options.workers < 0)
    found.push_back({"workers", std::to_string(options.workers), ">= 0", "0: one for each core"});
  const std::vector<std::string> there = population.laws();
  Crowd crowd;
  crowd.population = &population;
  crowd.laws = options.laws.empty() ? there : options.laws;
  crowd.eyes = static_cast<std::size_t>(std::max(options.eyes, 0));
  std::string known;
  for (const std::string& law : there) known += (known.empty() ? "" : ", ") + law;
  if (there.empty()) found.push_back({"population.laws", "none", "a population fitted for at least one law", ""});
  for (std::size_t l = 0; l < crowd.laws.size(); ++l) {
    const std::string at = "laws[" + std::to_string(l) + "]";
    if (std::find(there.begin(), there.end(), crowd.laws[l]) == there.end())
      found.push_back({at, crowd.laws[l], "one that " + population.name() + " was fitted for: " + known, ""});
    if (std::count(crowd.laws.begin(), crowd.laws.end(), crowd.laws[l]) > 1)
      found.push_back({at, crowd.laws[l], "each law once", ""});
  }
  for (std::size_t p = 0; p < plans.size(); ++p)
    for (Violation v : plans[p].violations()) {
      v.path = "plans[" + std::to_string(p) + "]." + v.path;
      found.push_back(std::move(v));
    }
  if (!plans.empty()) refuse_other_eyes(plans, found);
  const auto law_word = [](const Scenario& s) {
    ContractionSpec spec;
    spec.law = s.contraction.law;
    return std::string(make_contraction_law(spec)->name());
  };
  for (std::size_t p = 0; p < plans.size(); ++p)
    if (std::find(there.begin(), there.end(), law_word(plans[p])) == there.end())
      found.push_back({"plans[" + std::to_string(p) + "].contraction.law", law_word(plans[p]),
                       "one that " + population.name() + " was fitted for: " + known, ""});
  if (!found.empty()) throw ScenarioError(std::move(found));
  crowd.library = std::make_shared<ModelLibrary>(shapes_kept + 2 * plans.size());
  for (const std::string& law : crowd.laws) {
    std::vector<Scenario>& of_law = crowd.middle.emplace_back();
    for (const Scenario& plan : plans)
      of_law.push_back(population.under(options.typical ? population.typical(plan) : plan, law));
  }
  return crowd;
}

bool run_tasks(std::size_t count, const StudyOptions& options,
               const std::function<void(std::size_t, const std::function<bool()>& go_on)>& task) {
  Work work(count, options, task);
  const unsigned cores = std::max(1U, std::thread::hardware_concurrency());
  const auto workers = static_cast<unsigned>(
      std::min<std::size_t>(count, options.workers > 0 ? static_cast<unsigned>(options.workers) : cores));
  const std::function<bool()> look = [&work] { return work.tell_alone(); };
  if (options.executor)
    options.executor(count, [&](std::size_t index) { work.one(index, look); });
  else if (workers <= 1)
    for (std::size_t i = 0; i < count; ++i) work.one(i, look);
  else
    on_threads(work, workers);
  (void)work.tell_alone();
  return work.finish();
}

std::vector<std::string> study_cautions(bool cuts) {
  std::vector<std::string> all{std::string(research_caution())};
  if (cuts) all.emplace_back(relaxing_cut_caution());
  return all;
}

}  // namespace capsim
