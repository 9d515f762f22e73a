// SPDX-License-Identifier: BSD-3-Clause
#include <algorithm>
#include <optional>
#include <utility>

#include "scenario/scenario_checks.hpp"
#include "scenario/scenario_fields.hpp"
#include "text/json_text.hpp"

namespace capsim {
namespace {

/// Visitor that checks every field against its own limits.
class LimitCheck {
 public:
  LimitCheck(std::string path, ViolationList& found) : path_(std::move(path)), found_(found) {}

  void text(std::string_view key, const std::string& value) {
    if (valid_utf8_length(value) < value.size())
      add(member_path(path_, key), in_quotes(value), "UTF-8 text", "");
    else
      count(member_path(path_, key), value.size(), "bytes", name_bytes);
  }

  void number(std::string_view key, double value, Limits limits) { check(key, member_path(path_, key), value, limits); }
  void number(std::string_view key, const std::optional<double>& value, Limits limits) {
    if (value) number(key, *value, limits);
  }
  void integer(std::string_view key, int value, Limits limits) { number(key, static_cast<double>(value), limits); }

  template <class Enum>
  void choice(std::string_view key, Enum value) {
    if constexpr (std::same_as<Enum, Eye>) {
      if (value == Eye::unspecified) return;
    }
    const auto words = choice_words(value);
    if (std::none_of(words.begin(), words.end(), [value](const auto& word) { return word.first == value; }))
      add(member_path(path_, key), "choice number " + std::to_string(static_cast<int>(value)), choice_limit(value), "");
  }

  void pair(std::string_view key, const Point& value, Limits limits) {
    for (std::size_t k = 0; k < 2; ++k) check(key, item_path(member_path(path_, key), k), value[k], limits);
  }
  void pair(std::string_view key, const std::optional<Point>& value, Limits limits) {
    if (value) pair(key, *value, limits);
  }
  void points(std::string_view key, const std::vector<Point>& values, Limits limits) {
    const std::string path = member_path(path_, key);
    for (std::size_t k = 0; k < values.size(); ++k)
      for (std::size_t i = 0; i < 2; ++i) check(key, item_path(item_path(path, k), i), values[k][i], limits);
    count(path, values.size(), "points", outline_points);
  }
  void numbers(std::string_view key, const std::vector<double>& values, Limits limits) {
    const std::string path = member_path(path_, key);
    for (std::size_t k = 0; k < values.size(); ++k) check(key, item_path(path, k), values[k], limits);
    count(path, values.size(), "hours", cuts_at_once);
  }
  void by_hour(std::string_view key, const ByHour& values, Limits limits) {
    const std::string path = member_path(path_, key);
    for (const auto& [hour, value] : values) {
      const std::string item = member_path(path, std::to_string(hour));
      if (hour < 1 || hour > 12)
        add(item, number_text(value), R"(under a key "1" to "12")", "a whole clock hour");
      else
        check(key, item, value, limits);
    }
  }
  void knots(std::string_view key, const std::vector<ThicknessKnot>& values) {
    const std::string path = member_path(path_, key);
    for (std::size_t k = 0; k < values.size(); ++k) inside(item_path(path, k), values[k]);
    count(path, values.size(), "knots", profile_knots);
  }

  void events(std::string_view key, const std::vector<Event>& events) {
    const std::string path = member_path(path_, key);
    count(path, events.size(), "events", event_count);
    for (std::size_t k = 0; k < events.size(); ++k) {
      const std::string event_path = item_path(path, k);
      LimitCheck event(event_path, found_);
      event.number("day", events[k].day, event_days);
      const std::string action_path = member_path(event_path, action_keys[events[k].action.index()]);
      std::visit([&](const auto& action) { inside(action_path, action); }, events[k].action);
      if (const auto* damage = std::get_if<ZonuleDamage>(&events[k].action))
        count(member_path(action_path, "strength_by_hour"), damage->strength_by_hour.size(), "hours", damaged_hours);
      if (const auto* change = std::get_if<ContractionChange>(&events[k].action);
          change != nullptr && *change == ContractionChange{})
        add(action_path, "no value", "at least one value that changes", "");
    }
  }

  template <class Spec>
  void section(std::string_view key, const Spec& spec) {
    inside(member_path(path_, key), spec);
  }
  template <class Spec>
  void optional_section(std::string_view key, const std::optional<Spec>& spec) {
    if (spec) section(key, *spec);
  }

 private:
  template <class Spec>
  void inside(const std::string& path, const Spec& spec) {
    LimitCheck check(path, found_);
    fields(check, spec);
  }

  /// A field that could not be read has its message already.
  void add(const std::string& path, std::string value, std::string limit, std::string hint) {
    if (found_.usable(path)) found_.add_unusable({path, std::move(value), std::move(limit), std::move(hint)});
  }
  void check(std::string_view key, const std::string& path, double value, const Limits& limits) {
    if (!limits.allow(value)) add(path, number_text(value), limits.to_string(), unit_mistake(key, value, limits));
  }
  void count(const std::string& path, std::size_t items, const char* noun, const Limits& limits) {
    if (!limits.allow(static_cast<double>(items)))
      add(path, (noun == std::string_view("bytes") ? "a text of " : "a list of ") + std::to_string(items),
          limits.to_string() + ' ' + noun, "");
  }

  std::string path_;
  ViolationList& found_;
};

}  // namespace

void check_limits(const Scenario& scenario, ViolationList& found) {
  LimitCheck check("", found);
  fields(check, scenario);
}

}  // namespace capsim
