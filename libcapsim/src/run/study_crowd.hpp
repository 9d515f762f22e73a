// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What all studies share: the checks of their input, the eyes of the crowd, and the runs on several threads.

#include <atomic>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "capsim/model_library.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study.hpp"
#include "text/violation_list.hpp"

namespace capsim {

/// A crowd that has been checked: its plans under each law.
struct Crowd {
  const Population* population = nullptr;
  std::vector<std::string> laws;
  std::size_t eyes = 0;
  std::vector<std::vector<Scenario>> middle;  ///< [law][plan], before eyes are spread about it.
  /// An eye has one unloaded shape under all laws: it is searched for once.
  std::shared_ptr<ModelLibrary> library;

  [[nodiscard]] Scenario eye(std::size_t law, std::size_t plan, std::size_t index) const {
    return population->around(middle[law][plan], index);
  }
  /// Which eye and law task `index` of eyes x laws is. The laws of an eye are eight eyes apart, so that workers seldom
  /// search for the same shape at the same time.
  struct EyeAndLaw {
    std::size_t eye = 0, law = 0;
  };
  [[nodiscard]] EyeAndLaw eye_and_law(std::size_t index) const noexcept;
  [[nodiscard]] std::string name() const { return population->name() + ", edition " + population->edition(); }
};

/// Throws ScenarioError with every violation, those already `found` included.
[[nodiscard]] Crowd make_crowd(const std::vector<Scenario>& plans, const Population& population,
                               const StudyOptions& options, std::vector<Violation> found);

/// True when the study was ended on the way; tasks in flight are to ask for it and stop.
using Cancelled = std::atomic<bool>;

/// Runs `task(i)` for all i below `count`, as the options say. What a task throws comes out here, after the others
/// have stopped. False when progress ended it. A task tells whether it got to its end.
bool run_tasks(std::size_t count, const StudyOptions& options,
               const std::function<void(std::size_t, const std::function<bool()>& go_on)>& task);

/// What a study has to know before its first run is heard, too.
class BeforeFirstRun {
 public:
  BeforeFirstRun(const StudyOptions& options, std::size_t runs) : options_(&options), runs_(runs) {}
  /// For a run of the day of surgery; its no holds for the study.
  [[nodiscard]] ProgressCallback watch() {
    return [this](const Progress&) { return go_on(); };
  }
  [[nodiscard]] bool ended() const noexcept { return ended_; }

 private:
  [[nodiscard]] bool go_on() {
    if (!ended_ && options_->progress) ended_ = !options_->progress(0, runs_);
    return !ended_;
  }
  const StudyOptions* options_;
  std::size_t runs_;
  bool ended_ = false;
};

/// The cautions of research, and of cuts where there are any.
[[nodiscard]] std::vector<std::string> study_cautions(bool cuts);

}  // namespace capsim
