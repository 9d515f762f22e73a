// SPDX-License-Identifier: BSD-3-Clause
// Ten days of the default eye: the package links, runs, and knows its version. An invented eye; for research and
// teaching, not for treating a patient.
#include <capsim/capsim.hpp>
#include <cstdio>
#include <string>

int main() {
  capsim::Scenario eye;
  eye.duration_days = 10;
  eye.mesh = capsim::MeshSpec::coarse();
  const capsim::History history = capsim::simulate(eye);
  std::printf("capsim %s: %s\n", std::string(capsim::version()).c_str(), history.message().c_str());
  return history.status() == capsim::Status::completed ? 0 : 1;
}
