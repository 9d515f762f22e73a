// SPDX-License-Identifier: BSD-3-Clause
#include "field_value.hpp"

#include <cmath>
#include <limits>

#include "field_path.hpp"
#include "last_error.hpp"
#include "scenario/cases.hpp"
#include "scenario/limits.hpp"
#include "text/message_text.hpp"

namespace capsim::c_interface {
namespace {

constexpr const char* list_of_numbers = "a list of numbers: set_numbers";

/// What a place holds, as the limit of a message.
std::string kind_of(const Place& place) {
  return std::visit(
      Cases{[](double*) { return std::string("a number"); },
            [](std::optional<double>*) { return std::string("a number or null"); },
            [](int*) { return std::string("a whole number"); }, [](std::string*) { return std::string("a text"); },
            [](const ChoicePlace& choice) { return choice.words; },
            [](Point*) { return std::string("two numbers: set_numbers"); },
            [](std::optional<Point>*) { return std::string("two numbers or null: set_numbers"); },
            [](std::vector<Point>*) { return std::string(list_of_numbers); },
            [](std::vector<double>*) { return std::string(list_of_numbers); },
            [](std::vector<ThicknessKnot>*) { return std::string(list_of_numbers); },
            [](ByHour*) { return std::string("a number with its hour at the end of the path"); },
            [](const HourPlace&) { return std::string("a number"); },
            [](std::vector<Event>*) { return std::string("events, which have functions of their own"); },
            [](const SectionPlace&) { return std::string("a section, with fields inside"); }},
      place);
}

[[noreturn]] void refuse_type(std::string_view path, std::string value, const Place& place) {
  throw Refusal(CAPSIM_WRONG_TYPE, Violation{std::string(path), std::move(value), kind_of(place), ""});
}
[[noreturn]] void refuse_null(std::string_view path) {
  throw Refusal(CAPSIM_IS_NULL, Violation{std::string(path), "null", "a value", "it is null in this scenario"});
}

/// For reading: without `create` nothing is changed on the way.
Place place_to_read(const Scenario& scenario, std::string_view path) {
  return place_of(const_cast<Scenario&>(scenario), path, false);
}

int whole_number(std::string_view path, double value, const Place& place) {
  const bool fits = value == std::trunc(value) && std::abs(value) <= std::numeric_limits<int>::max();
  if (!fits) refuse_type(path, number_text(value), place);
  return static_cast<int>(value);
}

std::string count_text(std::size_t count) { return std::to_string(count) + (count == 1 ? " number" : " numbers"); }

}  // namespace

void set_number(Scenario& scenario, std::string_view path, double value) {
  const Place place = place_of(scenario, path, true);
  std::visit(Cases{[&](double* target) { *target = value; }, [&](std::optional<double>* target) { *target = value; },
                   [&](int* target) { *target = whole_number(path, value, place); },
                   [&](const HourPlace& target) { (*target.values)[target.hour] = value; },
                   [&](const auto&) { refuse_type(path, number_text(value), place); }},
             place);
}

void set_integer(Scenario& scenario, std::string_view path, std::int64_t value) {
  set_number(scenario, path, static_cast<double>(value));
}

void set_text(Scenario& scenario, std::string_view path, std::string_view value) {
  const Place place = place_of(scenario, path, true);
  std::visit(Cases{[&](std::string* target) { *target = value; },
                   [&](const ChoicePlace& target) {
                     if (!target.set(target.value, value)) refuse_type(path, in_quotes(value), place);
                   },
                   [&](const auto&) { refuse_type(path, in_quotes(value), place); }},
             place);
}

void set_numbers(Scenario& scenario, std::string_view path, std::span<const double> values) {
  const Place place = place_of(scenario, path, true);
  const auto require = [&](bool right, const char* limit) {
    if (!right) throw Refusal(CAPSIM_WRONG_TYPE, Violation{std::string(path), count_text(values.size()), limit, ""});
  };
  std::visit(Cases{[&](Point* target) {
                     require(values.size() == 2, "two numbers");
                     *target = {values[0], values[1]};
                   },
                   [&](std::optional<Point>* target) {
                     require(values.size() == 2, "two numbers");
                     *target = Point{values[0], values[1]};
                   },
                   [&](std::vector<Point>* target) {
                     require(values.size() % 2 == 0, "x and y of each point");
                     target->clear();
                     for (std::size_t k = 0; k < values.size(); k += 2) target->push_back({values[k], values[k + 1]});
                   },
                   [&](std::vector<double>* target) { target->assign(values.begin(), values.end()); },
                   [&](std::vector<ThicknessKnot>* target) {
                     require(values.size() % 2 == 0, "radius ratio and thickness of each knot");
                     target->clear();
                     for (std::size_t k = 0; k < values.size(); k += 2) target->push_back({values[k], values[k + 1]});
                   },
                   [&](const auto&) { refuse_type(path, count_text(values.size()), place); }},
             place);
}

void set_null(Scenario& scenario, std::string_view path) {
  const Place place = place_of(scenario, path, false);
  std::visit(Cases{[](std::optional<double>* target) { target->reset(); },
                   [](std::optional<Point>* target) { target->reset(); },
                   [&](const ChoicePlace& target) {
                     if (target.make_null == nullptr) refuse_type(path, "null", place);
                     target.make_null(target.value);
                   },
                   [&](const SectionPlace& target) {
                     if (target.make_null == nullptr) refuse_type(path, "null", place);
                     target.make_null(target.spec);
                   },
                   [&](const auto&) { refuse_type(path, "null", place); }},
             place);
}

void set_present(Scenario& scenario, std::string_view path) {
  const Place place = place_of(scenario, path, true);
  const auto* section = std::get_if<SectionPlace>(&place);
  if (section == nullptr) refuse_type(path, "a section", place);
  if (section->make_present != nullptr) section->make_present(section->spec);
}

void set_default(Scenario& scenario, std::string_view path) {
  const Place place = place_of(scenario, path, false);
  if (const auto* section = std::get_if<SectionPlace>(&place)) return section->make_default(section->spec);
  if (const auto* hour = std::get_if<HourPlace>(&place)) return void(hour->values->erase(hour->hour));
  if (path.find('[') != std::string_view::npos)  // an item of a list has no counterpart in a fresh scenario
    throw Refusal(CAPSIM_WRONG_TYPE, Violation{std::string(path), "", "a field outside of lists",
                                               "set its value, or the whole list anew"});
  Scenario fresh;
  const Place usual = place_of(fresh, path, true);
  std::visit(Cases{[&](const ChoicePlace& target) {
                     const std::string_view word = target.get(std::get<ChoicePlace>(usual).value);
                     if (word.empty())
                       target.make_null(target.value);
                     else
                       target.set(target.value, word);
                   },
                   [](const HourPlace&) {}, [](const SectionPlace&) {},
                   [&](auto* target) { *target = *std::get<decltype(target)>(usual); }},
             place);
}

double get_number(const Scenario& scenario, std::string_view path) {
  const Place place = place_to_read(scenario, path);
  return std::visit(Cases{[](double* value) { return *value; },
                          [&](std::optional<double>* value) {
                            if (!*value) refuse_null(path);
                            return **value;
                          },
                          [](int* value) { return static_cast<double>(*value); },
                          [&](const HourPlace& value) {
                            const auto found = value.values->find(value.hour);
                            if (found == value.values->end())
                              throw Refusal(CAPSIM_NOT_FOUND,
                                            Violation{std::string(path), "", "an hour that is listed", ""});
                            return found->second;
                          },
                          [&](const auto&) -> double { refuse_type(path, "asked for as a number", place); }},
                    place);
}

std::int64_t get_integer(const Scenario& scenario, std::string_view path) {
  const Place place = place_to_read(scenario, path);
  const auto* const* value = std::get_if<int*>(&place);
  if (value == nullptr) refuse_type(path, "asked for as a whole number", place);
  return **value;
}

std::string get_text(const Scenario& scenario, std::string_view path) {
  const Place place = place_to_read(scenario, path);
  return std::visit(Cases{[](std::string* value) { return *value; },
                          [&](const ChoicePlace& choice) {
                            const std::string_view word = choice.get(choice.value);
                            if (word.empty()) refuse_null(path);
                            return std::string(word);
                          },
                          [&](const auto&) -> std::string { refuse_type(path, "asked for as a text", place); }},
                    place);
}

std::vector<double> get_numbers(const Scenario& scenario, std::string_view path) {
  const Place place = place_to_read(scenario, path);
  std::vector<double> values;
  std::visit(Cases{[&](Point* point) { values.assign(point->begin(), point->end()); },
                   [&](std::optional<Point>* point) {
                     if (!*point) refuse_null(path);
                     values.assign((*point)->begin(), (*point)->end());
                   },
                   [&](std::vector<Point>* points) {
                     for (const Point& point : *points) values.insert(values.end(), point.begin(), point.end());
                   },
                   [&](std::vector<double>* list) { values = *list; },
                   [&](std::vector<ThicknessKnot>* knots) {
                     for (const ThicknessKnot& knot : *knots) {
                       values.push_back(knot.radius_ratio);
                       values.push_back(knot.thickness_um);
                     }
                   },
                   [&](const auto&) { refuse_type(path, "asked for as a list of numbers", place); }},
             place);
  return values;
}

}  // namespace capsim::c_interface
