// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/scenario_number.hpp"

#include <charconv>
#include <optional>

#include "scenario/field_unit.hpp"
#include "scenario/scenario_fields.hpp"

namespace capsim {
namespace {

/// Visitor that follows a path through the fields; what is left of it is `rest_`.
class NumberFinder {
 public:
  explicit NumberFinder(std::string_view path) : rest_(path) {}

  template <class Spec>
  ScenarioNumber find(Spec& spec) {
    fields(*this, spec);
    return found_;
  }

  void text(std::string_view key, const std::string&) { refuse_at(key, "a number, not a text"); }
  template <class Enum>
  void choice(std::string_view key, Enum) {
    refuse_at(key, "a number, not a choice");
  }
  void integer(std::string_view key, int, Limits) { refuse_at(key, "a real number, not a count"); }

  void number(std::string_view key, double& value, Limits limits) {
    if (rest_ == key) take(key, value, limits);
    if (rest_.starts_with(key) && rest_.substr(key.size()).starts_with("_by_hour.")) elsewhere_ = value;
  }
  void number(std::string_view key, std::optional<double>& value, Limits limits) {
    if (rest_ != key) return;
    if (value)
      take(key, *value, limits);
    else
      found_.instead = "a number; it is null here";
  }
  void pair(std::string_view key, Point& value, Limits limits) {
    if (const auto k = index(key, 2)) take(key, value[*k], limits);
  }
  void pair(std::string_view key, std::optional<Point>& value, Limits limits) {
    if (rest_.starts_with(key) && !value && rest_.substr(key.size()).starts_with("["))
      found_.instead = "a number; " + std::string(key) + " is null here";
    else if (value)
      pair(key, *value, limits);
  }
  void points(std::string_view key, std::vector<Point>& values, Limits limits) {
    const auto k = index(key, values.size());
    if (!k) return;
    if (const auto axis = index("", 2)) take(key, values[*k][*axis], limits);
  }
  void numbers(std::string_view key, std::vector<double>& values, Limits limits) {
    if (const auto k = index(key, values.size())) take(key, values[*k], limits);
  }
  void by_hour(std::string_view key, ByHour& values, Limits limits) {
    if (!enter(key, '.')) return;
    int hour = 0;
    const auto [end, error] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), hour);
    if (error != std::errc() || end != rest_.data() + rest_.size() || hour < 1 || hour > 12) {
      found_.instead = "a whole clock hour, 1 to 12, after " + std::string(key);
      return;
    }
    if (!values.contains(hour) && !elsewhere_) {
      found_.instead = "an hour that is listed here";
      return;
    }
    take(key, values.try_emplace(hour, elsewhere_.value_or(0)).first->second, limits);
  }
  void knots(std::string_view key, std::vector<ThicknessKnot>& values) {
    if (const auto k = index(key, values.size()); k && enter("", '.')) fields(*this, values[*k]);
  }
  void events(std::string_view key, std::vector<Event>& events) {
    const auto k = index(key, events.size());
    if (!k || !enter("", '.')) return;
    Event& event = events[*k];
    number("day", event.day, event_days);
    if (enter(action_keys[event.action.index()], '.'))
      std::visit([this](auto& action) { fields(*this, action); }, event.action);
  }
  template <class Spec>
  void section(std::string_view key, Spec& spec) {
    if (enter(key, '.')) fields(*this, spec);
  }
  template <class Spec>
  void optional_section(std::string_view key, std::optional<Spec>& spec) {
    if (!enter(key, '.')) return;
    if (spec)
      fields(*this, *spec);
    else
      found_.instead = "a number; " + std::string(key) + " is null here";
  }

 private:
  void take(std::string_view key, double& value, Limits limits) {
    found_ = {&value, limits, field_unit(key), {}};
    rest_ = {};
  }
  void refuse_at(std::string_view key, const char* why) {
    if (rest_ == key) found_.instead = why;
  }
  /// Goes past `key` and the mark behind it.
  bool enter(std::string_view key, char mark) {
    if (found_.value != nullptr || rest_.size() <= key.size() || !rest_.starts_with(key) || rest_[key.size()] != mark)
      return false;
    rest_.remove_prefix(key.size() + 1);
    return true;
  }
  /// Goes past `key[k]` and returns k, when it is below `count`.
  std::optional<std::size_t> index(std::string_view key, std::size_t count) {
    if (!enter(key, '[')) return std::nullopt;
    std::size_t k = 0;
    const auto [end, error] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), k);
    if (error != std::errc() || end == rest_.data() + rest_.size() || *end != ']' || k >= count) {
      found_.instead = "an item of a list that has " + std::to_string(count) + ", counted from 0";
      return std::nullopt;
    }
    rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()) + 1);
    return k;
  }

  std::string_view rest_;
  ScenarioNumber found_;
  std::optional<double> elsewhere_;  // what holds in hours that are not listed
};

}  // namespace

ScenarioNumber number_at(Scenario& scenario, std::string_view path) {
  ScenarioNumber found = NumberFinder(path).find(scenario);
  if (found.value == nullptr && found.instead.empty()) found.instead = "the path of a number in this scenario";
  return found;
}

}  // namespace capsim
