// SPDX-License-Identifier: BSD-3-Clause
// Any bytes as the text of a scenario: read or refused; what is read is written and read again as the same.
#include <cstdint>
#include <string>
#include <string_view>

#include "capsim/scenario.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  try {
    const capsim::Scenario scenario = capsim::Scenario::from_json(text);
    if (!(capsim::Scenario::from_json(scenario.to_json(2)) == scenario)) __builtin_trap();
    if (!scenario.violations().empty()) __builtin_trap();
    if (!scenario.mirrored().violations().empty()) __builtin_trap();
  } catch (const capsim::ScenarioError& error) {
    if (error.violations().empty()) __builtin_trap();
  }
  return 0;
}
