// SPDX-License-Identifier: BSD-3-Clause
// Paths, numbers and texts of a host in C: every call answers with a status, and what the scenario then says is what is
// read from it again.
#include <capsim.h>
#include <fuzzer/FuzzedDataProvider.h>

#include <cstdint>
#include <cstring>
#include <string>
#include <vector>

#include "expect.hpp"

namespace {

struct Scenario {
  capsim_scenario* handle = capsim_scenario_create();
  ~Scenario() { capsim_scenario_destroy(handle); }
};

void expect_known(capsim_status status) {
  CAPSIM_EXPECT(std::strcmp(capsim_status_name(status), "unknown status") != 0);
}

/// A path that there is, with other words and items, or any text.
std::string path_of(FuzzedDataProvider& data) {
  if (data.ConsumeIntegralInRange(0, 3) == 0) return data.ConsumeRandomLengthString(40);
  capsim_field field{};
  field.struct_size = sizeof field;
  const auto index = data.ConsumeIntegralInRange<std::size_t>(0, capsim_field_count() - 1);
  CAPSIM_EXPECT(capsim_field_at(index, &field) == CAPSIM_OK);
  std::string path = field.path;
  if (const std::size_t item = path.find("[]"); item != std::string::npos)
    path.insert(item + 1, std::to_string(data.ConsumeIntegralInRange(0, 3)));
  if (data.ConsumeIntegralInRange(0, 3) == 0) path += '.' + std::to_string(data.ConsumeIntegralInRange(-1, 14));
  if (data.ConsumeIntegralInRange(0, 7) == 0) path += '[' + data.ConsumeRandomLengthString(4) + ']';
  return path;
}

double number_of(FuzzedDataProvider& data) {
  return data.ConsumeBool() ? data.ConsumeFloatingPoint<double>() : data.ConsumeIntegralInRange(-2, 400) / 4.0;
}

std::vector<double> numbers_of(FuzzedDataProvider& data) {
  std::vector<double> all(data.ConsumeIntegralInRange<std::size_t>(0, 9));
  for (double& one : all) one = number_of(data);
  return all;
}

void set_something(FuzzedDataProvider& data, capsim_scenario* s) {
  const std::string path = path_of(data);
  switch (data.ConsumeIntegralInRange(0, 10)) {
    case 0:
      return expect_known(capsim_scenario_set_number(s, path.c_str(), number_of(data)));
    case 1:
      return expect_known(capsim_scenario_set_integer(s, path.c_str(), data.ConsumeIntegral<std::int64_t>()));
    case 2:
      return expect_known(capsim_scenario_set_text(s, path.c_str(), data.ConsumeRandomLengthString(20).c_str()));
    case 3: {
      const std::vector<double> values = numbers_of(data);
      return expect_known(capsim_scenario_set_numbers(s, path.c_str(), values.data(), values.size()));
    }
    case 4:
      return expect_known(capsim_scenario_set_null(s, path.c_str()));
    case 5:
      return expect_known(capsim_scenario_set_default(s, path.c_str()));
    case 6:
      return expect_known(capsim_scenario_set_present(s, path.c_str()));
    case 7: {
      const std::vector<double> hours = numbers_of(data);
      const double day = number_of(data), length = number_of(data);
      return expect_known(capsim_scenario_add_relaxing_cuts(s, day, hours.data(), hours.size(), length));
    }
    case 8: {
      const std::int32_t hour = data.ConsumeIntegral<std::int32_t>();
      const double strength = number_of(data);
      return expect_known(capsim_scenario_add_zonule_damage(s, number_of(data), &hour, &strength, 1));
    }
    case 9:
      return expect_known(capsim_scenario_add_tension_ring(s, number_of(data)));
    default:
      return expect_known(capsim_scenario_remove_event(s, data.ConsumeIntegral<std::size_t>()));
  }
}

void get_something(FuzzedDataProvider& data, const capsim_scenario* s) {
  const std::string path = path_of(data);
  double number = 0, numbers[4] = {};
  std::int64_t integer = 0;
  char text[16] = "";
  std::size_t needed = 0;
  expect_known(capsim_scenario_get_number(s, path.c_str(), &number));
  expect_known(capsim_scenario_get_integer(s, path.c_str(), &integer));
  expect_known(capsim_scenario_get_text(s, path.c_str(), text, sizeof text, &needed));
  expect_known(capsim_scenario_get_numbers(s, path.c_str(), numbers, 4, &needed));
}

std::string json_of(const capsim_scenario* s) {
  std::size_t needed = 0;
  CAPSIM_EXPECT(capsim_scenario_write_json(s, -1, nullptr, 0, &needed) == CAPSIM_OK);
  std::string text(needed, '\0');
  CAPSIM_EXPECT(capsim_scenario_write_json(s, -1, text.data(), text.size(), &needed) == CAPSIM_OK);
  text.pop_back();
  return text;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  FuzzedDataProvider data(bytes, size);
  const Scenario scenario, other;
  while (data.remaining_bytes() > 0) {
    set_something(data, scenario.handle);
    get_something(data, scenario.handle);
  }
  char line[200];
  const capsim_status checked = capsim_scenario_check(scenario.handle);
  CAPSIM_EXPECT(checked == CAPSIM_OK || checked == CAPSIM_INVALID_SCENARIO);
  for (std::size_t i = 0; i < capsim_scenario_violation_count(scenario.handle); ++i)
    expect_known(capsim_scenario_violation(scenario.handle, i, CAPSIM_VIOLATION_LINE, line, sizeof line, nullptr));
  CAPSIM_EXPECT((checked == CAPSIM_OK) == (capsim_scenario_violation_count(scenario.handle) == 0));
  if (checked == CAPSIM_OK) {  // numbers that JSON does not have are none that may be
    const std::string text = json_of(scenario.handle);
    CAPSIM_EXPECT(capsim_scenario_read_json(other.handle, text.data(), text.size()) == CAPSIM_OK);
    CAPSIM_EXPECT(json_of(other.handle) == text);
  }
  return 0;
}
