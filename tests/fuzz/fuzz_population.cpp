// SPDX-License-Identifier: BSD-3-Clause
// Any text is a population, whose eyes are valid, or is refused with its violations.
#include <cstdint>
#include <string_view>

#include "capsim/population.hpp"
#include "capsim/scenario.hpp"
#include "expect.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const capsim::Population population = capsim::Population::from_json(text);
    CAPSIM_EXPECT(population.json() == text);
    capsim::Scenario base;
    for (const std::string& law : population.laws()) {
      CAPSIM_EXPECT(population.settings(law).size() < size);
      CAPSIM_EXPECT(population.spreads(law).size() < size);
      const capsim::Scenario middle = population.typical(population.under(base, law));
      CAPSIM_EXPECT(population.draw(middle, 3).violations().empty());
      CAPSIM_EXPECT(population.around(middle, 3).violations().empty());
    }
  } catch (const capsim::ScenarioError& error) {
    CAPSIM_EXPECT(!error.violations().empty());
  } catch (const capsim::ArgumentError& error) {  // a spread about a value that the eye does not have
    CAPSIM_EXPECT(error.what()[0] != '\0');
  }
  return 0;
}
