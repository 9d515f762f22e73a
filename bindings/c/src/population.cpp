// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/population.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <string_view>
#include <vector>

#include "caller_memory.hpp"
#include "handles.hpp"
#include "violation_text.hpp"

using namespace capsim::c_interface;

namespace {

/// Runs `work`; a name or law that there is none of becomes CAPSIM_NOT_FOUND with the names there are.
template <class Work>
capsim_status looked_up(capsim_population* handle, Work work) noexcept {
  if (handle == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded(handle->error, [&]() -> capsim_status {
    try {
      work();
      return CAPSIM_OK;
    } catch (const capsim::ArgumentError& none) {
      throw Refusal(CAPSIM_NOT_FOUND, none.what());
    }
  });
}

/// `eye` becomes what `make` makes of the population and the base.
template <class Make>
capsim_status make_eye(capsim_population* handle, const capsim_scenario* base, capsim_scenario* eye,
                       Make make) noexcept {
  return looked_up(handle, [&] {
    if (base == nullptr || eye == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, "a scenario is NULL");
    if (!handle->population) throw Refusal(CAPSIM_NOT_FOUND, "the population is empty: find or read one first");
    eye->scenario = make(*handle->population, base->scenario);
  });
}

const std::vector<std::string>& names() {
  static const std::vector<std::string> all = capsim::population_names();
  return all;
}

}  // namespace

extern "C" {

size_t capsim_population_count(void) {
  try {
    return names().size();
  } catch (...) {
    return 0;
  }
}
const char* capsim_population_name(size_t index) {
  return index < capsim_population_count() ? names()[index].c_str() : nullptr;
}

capsim_population* capsim_population_create(void) {
  try {
    return new capsim_population;
  } catch (...) {
    return nullptr;
  }
}
void capsim_population_destroy(capsim_population* population) { delete population; }

capsim_status capsim_population_find(capsim_population* population, const char* name) {
  return looked_up(population, [&] { population->population = capsim::population(given(name, "name")); });
}
capsim_status capsim_population_read_json(capsim_population* population, const char* json, size_t length) {
  return looked_up(population, [&] {
    population->population = capsim::Population::from_json(std::string_view(given(json, "json"), length));
  });
}

capsim_status capsim_population_text(const capsim_population* population, capsim_population_part part, char* text,
                                     size_t size, size_t* needed) {
  if (population == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!population->population) return CAPSIM_NOT_FOUND;
  const capsim::Population& p = *population->population;
  switch (part) {
    case CAPSIM_POPULATION_NAME:
      return copy_text(p.name(), text, size, needed);
    case CAPSIM_POPULATION_EDITION:
      return copy_text(p.edition(), text, size, needed);
    case CAPSIM_POPULATION_DESCRIPTION:
      return copy_text(p.description(), text, size, needed);
    case CAPSIM_POPULATION_JSON:
      return copy_text(p.json(), text, size, needed);
    default:
      return CAPSIM_NOT_FOUND;
  }
}

capsim_status capsim_population_area_error(const capsim_population* population, double* error) {
  if (population == nullptr || error == nullptr) return CAPSIM_BAD_ARGUMENT;
  if (!population->population) return CAPSIM_NOT_FOUND;
  *error = population->population->area_error();
  return CAPSIM_OK;
}

size_t capsim_population_law_count(const capsim_population* population) {
  try {
    return population == nullptr || !population->population ? 0 : population->population->laws().size();
  } catch (...) {
    return 0;
  }
}
capsim_status capsim_population_law(const capsim_population* population, size_t index, char* text, size_t size,
                                    size_t* needed) {
  if (population == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&]() -> capsim_status {
    if (index >= capsim_population_law_count(population)) return CAPSIM_NOT_FOUND;
    return copy_text(population->population->laws()[index], text, size, needed);
  });
}

capsim_status capsim_population_typical(capsim_population* population, const capsim_scenario* base,
                                        capsim_scenario* eye) {
  return make_eye(population, base, eye, [](const auto& p, const auto& from) { return p.typical(from); });
}
capsim_status capsim_population_draw(capsim_population* population, const capsim_scenario* base, uint64_t index,
                                     capsim_scenario* eye) {
  return make_eye(population, base, eye, [&](const auto& p, const auto& from) { return p.draw(from, index); });
}
capsim_status capsim_population_around(capsim_population* population, const capsim_scenario* base, uint64_t index,
                                       capsim_scenario* eye) {
  return make_eye(population, base, eye, [&](const auto& p, const auto& from) { return p.around(from, index); });
}
capsim_status capsim_population_under(capsim_population* population, const capsim_scenario* base, const char* law,
                                      capsim_scenario* eye) {
  return make_eye(population, base, eye,
                  [&](const auto& p, const auto& from) { return p.under(from, given(law, "law")); });
}

capsim_status capsim_population_error(const capsim_population* population, char* text, size_t size, size_t* needed) {
  if (population == nullptr) return CAPSIM_BAD_ARGUMENT;
  return copy_text(population->error.text, text, size, needed);
}
size_t capsim_population_violation_count(const capsim_population* population) {
  return population == nullptr ? 0 : population->error.violations.size();
}
capsim_status capsim_population_violation(const capsim_population* population, size_t index, capsim_violation_part part,
                                          char* text, size_t size, size_t* needed) {
  if (population == nullptr) return CAPSIM_BAD_ARGUMENT;
  return guarded([&] { return copy_violation(population->error, index, part, text, size, needed); });
}

capsim_status capsim_quantile(const double* values, size_t count, double share, double* value) {
  if (value == nullptr || (values == nullptr && count != 0) || !(share >= 0 && share <= 1)) return CAPSIM_BAD_ARGUMENT;
  return guarded([&]() -> capsim_status {
    std::vector<double> finite;
    std::copy_if(values, values + count, std::back_inserter(finite), [](double v) { return std::isfinite(v); });
    if (finite.empty()) return CAPSIM_NOT_FOUND;
    std::sort(finite.begin(), finite.end());
    const double place = share * static_cast<double>(finite.size() - 1);
    const auto below = static_cast<std::size_t>(place), above = std::min(below + 1, finite.size() - 1);
    *value = finite[below] + (place - static_cast<double>(below)) * (finite[above] - finite[below]);
    return CAPSIM_OK;
  });
}

}  // extern "C"
