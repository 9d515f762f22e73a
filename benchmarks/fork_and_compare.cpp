// SPDX-License-Identifier: BSD-3-Clause
// What it costs to fork a simulation, beside the shared past and the two futures by themselves.
//
//   benchmark_fork_and_compare [repetitions]     default 5; each column is the least of them
//
// A weak eye is followed to day 90 and forked: cut now, or cut on day 180; both to day 365. `alone` is the
// time of the two runs that plan the cut, less the past that they have in common; without the building of
// the models. The ratio of both is what the fork costs; both are measured in one go.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"

namespace {

using Clock = std::chrono::steady_clock;
const capsim::RelaxingCuts cuts{{12, 3, 6, 9}, 0.75};
constexpr double today = 90, later = 180, last_day = 365;

capsim::Scenario weak_eye(const capsim::MeshSpec& mesh) {
  capsim::Scenario eye;
  eye.duration_days = last_day;
  eye.zonule.strength = 0.3;
  eye.contraction.chronic_signal = 0.2;
  eye.mesh = mesh;
  return eye;
}

template <class Action>
double milliseconds(Action&& action) {
  const auto start = Clock::now();
  action();
  return 1e3 * std::chrono::duration<double>(Clock::now() - start).count();
}

void must(bool good) {
  if (good) return;
  std::fprintf(stderr, "benchmark_fork_and_compare: a run has failed\n");
  std::exit(1);
}

bool reaches(capsim::Simulation& simulation, double day) {
  return simulation.advance_to(day) == capsim::Advance::reached;
}

struct Times {
  double past = 0, fork = 0, now = 0, wait = 0, separate = 0;
  [[nodiscard]] double forked() const { return past + fork + now + wait; }
};

Times measure(const capsim::MeshSpec& mesh) {
  const auto model = std::make_shared<const capsim::Model>(weak_eye(mesh), std::vector<capsim::RelaxingCuts>{cuts});
  Times t;
  std::unique_ptr<capsim::Simulation> past, now, wait;
  t.past = milliseconds([&] {
    past = std::make_unique<capsim::Simulation>(model);
    must(reaches(*past, today));
  });
  t.fork = milliseconds([&] {
    now = std::make_unique<capsim::Simulation>(*past);
    wait = std::make_unique<capsim::Simulation>(*past);
  });
  t.now = milliseconds([&] { must(now->apply(cuts) && reaches(*now, last_day)); });
  t.wait = milliseconds([&] { must(reaches(*wait, later) && wait->apply(cuts) && reaches(*wait, last_day)); });
  for (const double day : {today, later}) {
    capsim::Scenario planned = weak_eye(mesh);
    planned.events = {{day, cuts}};
    const auto own = std::make_shared<const capsim::Model>(planned);
    t.separate += milliseconds([&] {
      capsim::Simulation run(own);
      must(reaches(run, last_day));
    });
  }
  return t;
}

}  // namespace

int main(int argc, char* argv[]) {
  const int repetitions = argc > 1 ? std::max(1, std::atoi(argv[1])) : 5;
  std::printf("%7s %9s %9s %9s %9s %9s %9s %7s\n", "mesh", "past ms", "fork ms", "now ms", "later ms", "forked",
              "alone", "ratio");
  for (const capsim::MeshSpec mesh :
       {capsim::MeshSpec::coarse(), capsim::MeshSpec::standard(), capsim::MeshSpec::fine()}) {
    Times least = measure(mesh);
    for (int k = 1; k < repetitions; ++k) {
      const Times t = measure(mesh);
      for (const auto member : {&Times::past, &Times::fork, &Times::now, &Times::wait, &Times::separate})
        least.*member = std::min(least.*member, t.*member);
    }
    const double alone = least.separate - least.past;
    std::printf("%4dx%-2d %9.1f %9.2f %9.1f %9.1f %9.1f %9.1f %7.3f\n", mesh.around, mesh.radial, least.past,
                least.fork, least.now, least.wait, least.forked(), alone, least.forked() / alone);
    std::fflush(stdout);
  }
  return 0;
}
