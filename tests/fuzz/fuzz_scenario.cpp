// SPDX-License-Identifier: BSD-3-Clause
// Any text is a scenario, which is the same when it is written and read again, or is refused with its violations.
#include <cstdint>
#include <string_view>

#include "capsim/scenario.hpp"
#include "expect.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const capsim::Scenario scenario = capsim::Scenario::from_json(text);
    const std::string written = scenario.to_json(-1);
    CAPSIM_EXPECT(capsim::Scenario::from_json(written).to_json(-1) == written);
    CAPSIM_EXPECT(capsim::Scenario::from_json(scenario.to_json(2)).to_json(-1) == written);
    for (const capsim::Violation& violation : scenario.violations()) CAPSIM_EXPECT(!violation.to_string().empty());
    if (scenario.violations().empty()) {
      const capsim::Scenario seen = capsim::mirrored(capsim::mirrored(scenario));
      CAPSIM_EXPECT(seen.violations().empty());
    }
  } catch (const capsim::ScenarioError& error) {
    CAPSIM_EXPECT(!error.violations().empty());
  }
  return 0;
}
