// SPDX-License-Identifier: BSD-3-Clause
//
// Relax the rim now, in three months, or not at all? One past, three futures.
//
//     day 0 ---- shared past ---- day 90 --+-- cut now ------------------------------- day 365
//                                          +-- wait ---- day 180 --+-- cut ----------- day 365
//                                                                  +-- leave it ------ day 365
//
// A copy of a Simulation is a fork: it owns its state and shares the immutable Model. The past is
// calculated once; going on from a fork costs what going on costs. The cuts need mesh lines from the
// start, hence `possible_cuts` of the Model.
//
// Run:    fork_and_compare [around radial]      the mesh, 24 4 when not given
// Ends with 1 when a run fails, or when forking was not worth it.
//
// The eye is invented, and so are its numbers. For research and teaching, not for treating a patient;
// decisions belong to the licensed clinician and local protocols.
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <memory>
#include <string>
#include <vector>

#include <capsim/model.hpp>
#include <capsim/outcomes.hpp>
#include <capsim/simulation.hpp>

namespace {

const capsim::RelaxingCuts cuts{{12, 3, 6, 9}, 0.75};
constexpr double today = 90, later = 180, last_day = 365;

capsim::Scenario weak_eye(const capsim::MeshSpec& mesh) {
  capsim::Scenario eye;
  eye.name = "weak zonule, small opening";
  eye.duration_days = last_day;
  eye.output_every_days = 5;
  eye.opening.diameter_mm = 4.5;
  eye.zonule.strength = 0.3;
  eye.zonule.pull_mN = 25;
  eye.contraction.chronic_signal = 0.2;
  eye.mesh = mesh;
  return eye;
}

/// Runs on, and stops the program with the reason when that does not work.
void advance(capsim::Simulation& simulation, double day) {
  if (simulation.advance_to(day) == capsim::Advance::reached) return;
  std::fprintf(stderr, "fork_and_compare: %s\n", simulation.message().c_str());
  std::exit(1);
}

void cut(capsim::Simulation& simulation) {
  if (simulation.apply(cuts)) return;
  std::fprintf(stderr, "fork_and_compare: %s\n", simulation.message().c_str());
  std::exit(1);
}

/// Equilibria asked for so far, those of the past of a fork included.
long work(const capsim::Simulation& simulation) { return simulation.history().diagnostics().right_hand_sides; }

}  // namespace

int main(int argc, char* argv[]) {
  capsim::MeshSpec mesh = capsim::MeshSpec::coarse();
  if (argc == 3) {
    mesh.around = std::atoi(argv[1]);
    mesh.radial = std::atoi(argv[2]);
  }
  try {
    const auto model = std::make_shared<const capsim::Model>(weak_eye(mesh), std::vector<capsim::RelaxingCuts>{cuts});

    capsim::Simulation past(model);
    advance(past, today);
    std::printf("day %.0f: the opening has %.2f mm2; cut now, or wait?\n\n", today, past.opening_area_mm2());

    capsim::Simulation cut_now = past;  // a fork
    cut(cut_now);
    capsim::Simulation wait = past;  // another
    advance(wait, later);
    const long waiting = work(wait) - work(past);
    capsim::Simulation cut_later = wait;
    cut(cut_later);
    for (capsim::Simulation* future : {&cut_now, &cut_later, &wait}) advance(*future, last_day);

    std::printf("%-22s %18s\n", "", "area on day 365");
    std::printf("%-22s %14.2f mm2\n", "cut now", cut_now.opening_area_mm2());
    std::printf("%-22s %14.2f mm2\n", "cut in three months", cut_later.opening_area_mm2());
    std::printf("%-22s %14.2f mm2\n\n", "leave it", wait.opening_area_mm2());

    // What was worked once, and what each future worked on its own.
    const long shared = work(past), waited = shared + waiting;
    const long separate = work(cut_now) + work(cut_later) + work(wait);
    const long forked =
        shared + waiting + (work(cut_now) - shared) + (work(cut_later) - waited) + (work(wait) - waited);
    std::printf("equilibria: %ld with forks, %ld in three runs of their own\n", forked, separate);
    for (const std::string& caution : capsim::outcomes(cut_now.history()).cautions)
      std::printf("! %s\n", caution.c_str());
    return forked < separate ? 0 : 1;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "fork_and_compare: %s\n", error.what());
    return 1;
  }
}
