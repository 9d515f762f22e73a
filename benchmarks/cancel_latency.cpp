// SPDX-License-Identifier: BSD-3-Clause
// How long a host that wants to stop may have to wait: the longest time between two looks at its callback, and from its
// no to the return, for whatever takes long. Processor time of the run, which other work on the machine does not change
// much; of the study, whose host waits for threads, time of the clock. A tenth of a second is what people notice.
//   benchmark_cancel_latency [mesh level [what]]    only what has that word in its name
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "capsim/model.hpp"
#include "capsim/population.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/simulation.hpp"
#include "capsim/study.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/study_visits.hpp"

namespace {

using namespace capsim;
using Look = std::function<bool()>;
using Work = std::function<void(const Look&)>;

double processor_ms() { return 1e3 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }
double clock_ms() {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now().time_since_epoch()).count();
}
using Clock = double();

struct Waits {
  int looks = 0;
  double whole_ms = 0, longest_ms = 0, after_no_ms = 0;
};

/// One whole run, and the longest time in it without a look.
Waits between_looks(const Work& work, Clock* now_ms) {
  Waits waits;
  const double start = now_ms();
  double last = start;
  const auto look = [&] {
    const double now = now_ms();
    waits.longest_ms = std::max(waits.longest_ms, now - last);
    last = now;
    return true;
  };
  work([&] { return ++waits.looks > 0 && look(); });
  static_cast<void>(look());
  waits.whole_ms = last - start;
  return waits;
}

/// From a no to the return, for a no at each of some looks over the run.
double after_no_ms(const Work& work, int looks, Clock* now_ms) {
  constexpr int tries = 6;
  double longest = 0;
  for (int k = 0; k < std::min(tries, looks); ++k) {
    const int at = looks <= tries ? k : static_cast<int>(static_cast<long>(looks - 1) * k / (tries - 1));
    int seen = 0;
    double no = 0;
    work([&] {
      if (seen++ < at) return true;
      if (seen == at + 1) no = now_ms();
      return false;
    });
    if (seen > at) longest = std::max(longest, now_ms() - no);
  }
  return longest;
}

std::string only;

void print(const std::string& what, const Work& work, Clock* now_ms = &processor_ms) {
  if (what.find(only) == std::string::npos) return;
  Waits waits = between_looks(work, now_ms);
  waits.after_no_ms = after_no_ms(work, waits.looks, now_ms);
  std::printf("%-58s %9.0f %7d %12.0f %10.0f\n", what.c_str(), waits.whole_ms, waits.looks, waits.longest_ms,
              waits.after_no_ms);
  std::fflush(stdout);
}

void run(const Scenario& eye, const Look& look) {
  static_cast<void>(simulate(eye, [&](const Progress&) { return look(); }));
}

Scenario on(MeshSpec mesh) {
  Scenario eye;
  eye.mesh = mesh;
  return eye;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string level = argc > 1 ? argv[1] : "standard";
  if (argc > 2) only = argv[2];
  const MeshSpec mesh = level == "coarse" ? MeshSpec::coarse() : level == "fine" ? MeshSpec::fine() : MeshSpec{};
  std::printf("%s mesh, ms\n%-58s %9s %7s %12s %10s\n", level.c_str(), "", "whole", "looks", "longest wait",
              "after a no");

  Scenario plain = on(mesh);
  print("a year of the default eye", [&](const Look& look) { run(plain, look); });

  Scenario eventful = plain;
  eventful.tension_ring.emplace();
  eventful.events = {{30, RelaxingCuts{{12, 3, 6, 9}, 0.75}}, {60, ZonuleDamage{{{4, 0.0}, {5, 0.0}}}}};
  print("with a ring, four cuts and a damaged zonule", [&](const Look& look) { run(eventful, look); });

  Scenario often = plain;
  often.output_every_days = 0.1;
  often.duration_days = 120;
  print("rows ten times a day", [&](const Look& look) { run(often, look); });

  Scenario pulled = plain;
  pulled.zonule.pull_mN = 110;
  pulled.zonule.strength_by_hour = {{4, 0}, {5, 0}, {6, 0}, {7, 0}};
  print("a long search for the unloaded shape", [&](const Look& look) {
    try {
      static_cast<void>(Model(pulled, {}, false, nullptr, look));
    } catch (const ModelError&) {
    }
  });

  Scenario bursting = plain;
  bursting.zonule.failure_elongation_mm = 0.2;
  bursting.contraction.fibre_modulus_kPa *= 3;
  print("bundles that fail", [&](const Look& look) { run(bursting, look); });

  Scenario unstable = plain;
  unstable.zonule.strength = 0.1;
  unstable.contraction.fibre_modulus_kPa *= 8;
  print("a weak zonule under a strong pull", [&](const Look& look) { run(unstable, look); });

  const std::vector<std::string> by{"contraction.signal_days", "contraction.fibre_modulus_kPa", "zonule.strength",
                                    "opening.diameter_mm",     "capsule.modulus_kPa",           "zonule.pull_mN"};
  print("derivatives by six numbers", [&](const Look& look) {
    SensitivityOptions options;
    options.progress = [&](const Progress&) { return look(); };
    static_cast<void>(sensitivities(plain, by, options));
  });

  const auto model = std::make_shared<const Model>(plain);
  Simulation late(model);
  static_cast<void>(late.advance_to(180));
  print("the margin to runaway", [&](const Look&) { static_cast<void>(late.runaway_margin()); });

  Scenario cut_later = plain;
  cut_later.name = "cut later";
  cut_later.events = {{30, RelaxingCuts{{12, 6}, 0.75}}};
  const Population& crowd = population("age_related_cataract");
  const auto study_options = [](const Look& look, int workers) {
    StudyOptions options;
    options.eyes = workers;
    options.laws = {"fibre_remodelling"};
    options.workers = workers;
    options.progress = [&look](std::size_t, std::size_t) { return look(); };
    return options;
  };
  for (const int workers : {1, 2}) {
    // The host's thread waits for others, so that processor time would count both.
    Clock* const now_ms = workers == 1 ? &processor_ms : &clock_ms;
    const std::string with = workers == 1 ? ", one eye, one thread" : ", two eyes, two threads, clock";
    print(
        "two plans compared" + with,
        [&](const Look& look) {
          static_cast<void>(compare({plain, cut_later}, crowd, {}, study_options(look, workers)));
        },
        now_ms);
    print(
        "visits" + with,
        [&](const Look& look) {
          static_cast<void>(visits(cut_later, crowd, {"opening_diameter_mm", 2.5}, {}, study_options(look, workers)));
        },
        now_ms);
    print(
        "layouts of cuts" + with,
        [&](const Look& look) {
          static_cast<void>(cuts(plain, crowd, {usual_layouts(plain).back()}, study_options(look, workers)));
        },
        now_ms);
  }
  Scenario hard = pulled;
  hard.name = "hard";
  hard.duration_days = 60;
  Scenario hard_cut = hard;
  hard_cut.name = "hard, cut";
  hard_cut.events = cut_later.events;
  print("two plans compared, a long search",
        [&](const Look& look) { static_cast<void>(compare({hard, hard_cut}, crowd, {}, study_options(look, 1))); });
  print("layouts of cuts, a long search", [&](const Look& look) {
    static_cast<void>(cuts(hard, crowd, {{"two", {12, 6}, 0.75, 30}}, study_options(look, 1)));
  });
}
