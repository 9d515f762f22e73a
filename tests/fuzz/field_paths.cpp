// SPDX-License-Identifier: BSD-3-Clause
// Any words as paths and values of the C interface: each call answers with a status, and a scenario that is said to be
// fine is written and read again.
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

#include "capsim.h"

namespace {

/// Lines of "how path value".
std::vector<std::string> words_of(std::string& rest) {
  std::vector<std::string> words(1);
  const std::size_t end = rest.find('\n');
  for (const char c : rest.substr(0, end)) {
    if (c == ' ' && words.size() < 3)
      words.emplace_back();
    else
      words.back() += c;
  }
  rest = end == std::string::npos ? std::string() : rest.substr(end + 1);
  words.resize(3);
  return words;
}

void act(capsim_scenario* s, const std::vector<std::string>& words) {
  const char *path = words[1].c_str(), *value = words[2].c_str();
  const double number = std::strtod(value, nullptr);
  std::array<double, 4> numbers{number, -number, 1, 2};
  std::array<char, 64> text{};
  std::size_t needed = 0;
  double got = 0;
  std::int64_t integer = 0;
  switch (words[0].empty() ? 'n' : words[0][0]) {
    case 'n':
      capsim_scenario_set_number(s, path, number);
      break;
    case 'i':
      capsim_scenario_set_integer(s, path, static_cast<std::int64_t>(words[2].size()));
      break;
    case 't':
      capsim_scenario_set_text(s, path, value);
      break;
    case 'l':
      capsim_scenario_set_numbers(s, path, numbers.data(), words[2].size() % 5);
      break;
    case '0':
      capsim_scenario_set_null(s, path);
      break;
    case 'd':
      capsim_scenario_set_default(s, path);
      break;
    case 'p':
      capsim_scenario_set_present(s, path);
      break;
    case 'c':
      capsim_scenario_add_relaxing_cuts(s, number, numbers.data(), words[1].size() % 5, number);
      break;
    case 'r':
      capsim_scenario_add_tension_ring(s, number);
      break;
    case 'x':
      capsim_scenario_remove_event(s, words[1].size());
      break;
    case 'm':
      capsim_scenario_mirror(s);
      break;
    case 'o':
      capsim_scenario_rotate(s, static_cast<std::int32_t>(words[1].size()));
      break;
    default:
      break;
  }
  capsim_scenario_get_number(s, path, &got);
  capsim_scenario_get_integer(s, path, &integer);
  capsim_scenario_get_text(s, path, text.data(), text.size(), &needed);
  capsim_scenario_get_numbers(s, path, numbers.data(), numbers.size(), &needed);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string rest(reinterpret_cast<const char*>(data), size);
  capsim_scenario* s = capsim_scenario_create();
  for (int calls = 0; calls < 40 && !rest.empty(); ++calls) act(s, words_of(rest));
  const bool fine = capsim_scenario_check(s) == CAPSIM_OK;
  std::size_t needed = 0;
  capsim_scenario_write_json(s, -1, nullptr, 0, &needed);
  if (fine) {
    std::vector<char> text(needed + 1);
    if (capsim_scenario_write_json(s, -1, text.data(), text.size(), &needed) != CAPSIM_OK) __builtin_trap();
    if (capsim_scenario_read_json(s, text.data(), std::string(text.data()).size()) != CAPSIM_OK) __builtin_trap();
  }
  capsim_scenario_destroy(s);
  return 0;
}
