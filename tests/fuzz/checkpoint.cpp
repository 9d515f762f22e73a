// SPDX-License-Identifier: BSD-3-Clause
// Any bytes as a checkpoint, and as the contents of one whose seal holds: restored or refused. What is restored goes on
// for a day, to an end within its budget.
#include <cstdint>
#include <memory>
#include <string>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "capsim/version.hpp"
#include "run/checkpoint.hpp"

namespace {

constexpr int format_version = 5;  // a newer one would be refused before its contents are looked at: seen below

std::shared_ptr<const capsim::Model> model() {
  static const auto made = [] {
    capsim::Scenario s;
    s.mesh = {12, 2, 1};
    s.duration_days = 10;
    s.numerics.max_work = 300;
    return std::make_shared<const capsim::Model>(s);
  }();
  return made;
}

void restore(const std::string& bytes) {
  try {
    capsim::Simulation simulation = capsim::Simulation::restore(model(), bytes);
    static_cast<void>(simulation.advance_to(simulation.day() + 1));
    static_cast<void>(simulation.history());
  } catch (const capsim::CheckpointError&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const bool current = [] {
    capsim::Simulation simulation(model());
    const std::string own = simulation.checkpoint();
    return own == capsim::sealed(capsim::unsealed(own), format_version, capsim::version());
  }();
  if (!current) __builtin_trap();  // the version above is an old one
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  restore(bytes);
  restore(capsim::sealed(bytes, format_version, capsim::version()));
  return 0;
}

/// Starts from the contents of a real checkpoint.
extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t max_size);
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t max_size,
                                               unsigned int seed) {
  static const std::string contents = [] {
    capsim::Simulation simulation(model());
    static_cast<void>(simulation.advance_to(2));
    const std::string bytes = simulation.checkpoint();
    return std::string(capsim::unsealed(bytes));
  }();
  if (seed % 4 == 0 && contents.size() <= max_size) {
    contents.copy(reinterpret_cast<char*>(data), contents.size());
    size = contents.size();
  }
  return LLVMFuzzerMutate(data, size, max_size);
}
