// SPDX-License-Identifier: BSD-3-Clause
#include "field_path.hpp"

#include <algorithm>
#include <charconv>

#include "last_error.hpp"
#include "scenario/scenario_fields.hpp"
#include "text/message_text.hpp"
#include "text/spelling.hpp"

namespace capsim::c_interface {
namespace {

/// Takes a path apart from its front.
class PathText {
 public:
  explicit PathText(std::string_view path) : whole_(path), rest_(path) {}

  [[nodiscard]] bool at_end() const noexcept { return rest_.empty(); }
  [[nodiscard]] bool at_index() const noexcept { return rest_.starts_with('['); }
  [[nodiscard]] std::string_view whole() const noexcept { return whole_; }

  /// The next word; the dot before it is skipped.
  std::string_view take_key() {
    if (rest_.starts_with('.') && rest_.size() < whole_.size()) rest_.remove_prefix(1);
    const std::string_view key = rest_.substr(0, rest_.find_first_of(".["));
    rest_.remove_prefix(key.size());
    return key;
  }
  /// The next `[k]`, when it is a number below `count`.
  std::size_t take_index(std::size_t count, const char* items) {
    std::size_t index = 0;
    const char* end = rest_.data() + rest_.size();
    const auto [stop, error] = at_index() ? std::from_chars(rest_.data() + 1, end, index)
                                          : std::from_chars_result{rest_.data(), std::errc::invalid_argument};
    if (error != std::errc() || stop == end || *stop != ']')
      throw Refusal(CAPSIM_UNKNOWN_FIELD, Violation{std::string(whole_), "", "an item, as in [0]",
                                                    "which of the " + std::string(items) + '?'});
    if (index >= count)
      throw Refusal(CAPSIM_NOT_FOUND,
                    Violation{std::string(whole_), "item " + std::to_string(index),
                              "one of " + std::to_string(count) + ' ' + items, "items are counted from 0"});
    rest_.remove_prefix(static_cast<std::size_t>(stop + 1 - rest_.data()));
    return index;
  }

 private:
  std::string_view whole_;
  std::string_view rest_;
};

[[noreturn]] void refuse_null(std::string_view path, std::string_view section) {
  throw Refusal(CAPSIM_IS_NULL, Violation{std::string(path), "null", "a section that is present",
                                          in_quotes(section) + " is null in this scenario"});
}

template <class Enum>
ChoicePlace choice_place(Enum& value) {
  ChoicePlace place{};
  place.value = &value;
  place.words = choice_limit(value);
  place.set = [](void* target, std::string_view word) {
    for (const auto& [choice, text] : choice_words(Enum{}))
      if (text == word) {
        *static_cast<Enum*>(target) = choice;
        return true;
      }
    return false;
  };
  place.get = [](const void* source) {
    for (const auto& [choice, text] : choice_words(Enum{}))
      if (choice == *static_cast<const Enum*>(source)) return text;
    return std::string_view();
  };
  if constexpr (std::same_as<Enum, Eye>)
    place.make_null = [](void* target) { *static_cast<Eye*>(target) = Eye::unspecified; };
  return place;
}

template <class Spec>
SectionPlace section_place(Spec& spec) {
  return {&spec, [](void* target) { *static_cast<Spec*>(target) = Spec{}; }, nullptr, nullptr,
          [](const void*) { return false; }};
}

template <class Spec>
SectionPlace optional_section_place(std::optional<Spec>& spec) {
  using Optional = std::optional<Spec>;
  SectionPlace place{};
  place.spec = &spec;
  place.make_default = [](void* target) {
    if constexpr (std::same_as<Spec, LensSpec>)
      *static_cast<Optional*>(target) = Scenario{}.lens;
    else
      *static_cast<Optional*>(target) = Scenario{}.tension_ring;
  };
  place.make_null = [](void* target) { static_cast<Optional*>(target)->reset(); };
  place.make_present = [](void* target) {
    auto& optional = *static_cast<Optional*>(target);
    if (!optional) optional.emplace();
  };
  place.is_null = [](const void* source) { return !static_cast<const Optional*>(source)->has_value(); };
  return place;
}

/// Visitor that follows the path: in each object the one field of the next key.
class Follower {
 public:
  Follower(std::string_view path, bool create) : path_(path), create_(create) {}

  template <class Spec>
  Place follow(Spec& spec) {
    descend(spec);
    return *found_;
  }

  template <class Value>
  void number(std::string_view key, Value& value, Limits) {
    finish(key, &value);
  }
  void integer(std::string_view key, int& value, Limits) { finish(key, &value); }
  void text(std::string_view key, std::string& value) { finish(key, &value); }
  template <class Enum>
  void choice(std::string_view key, Enum& value) {
    finish(key, choice_place(value));
  }

  void pair(std::string_view key, Point& value, Limits) {
    if (!is_next(key)) return;
    found_ = path_.at_end() ? Place(&value) : Place(&value[path_.take_index(2, "numbers")]);
    end(key);
  }
  void pair(std::string_view key, std::optional<Point>& value, Limits) { finish(key, &value); }
  void points(std::string_view key, std::vector<Point>& values, Limits) {
    if (!is_next(key)) return;
    found_ = path_.at_end() ? Place(&values) : Place(&values[path_.take_index(values.size(), "points")]);
    if (!path_.at_end())
      if (Point** point = std::get_if<Point*>(&*found_)) found_ = &(**point)[path_.take_index(2, "numbers")];
    end(key);
  }
  void numbers(std::string_view key, std::vector<double>& values, Limits) {
    if (!is_next(key)) return;
    found_ = path_.at_end() ? Place(&values) : Place(&values[path_.take_index(values.size(), "numbers")]);
    end(key);
  }
  void by_hour(std::string_view key, ByHour& values, Limits) {
    if (!is_next(key)) return;
    if (path_.at_end()) {
      found_ = &values;
      return;
    }
    const std::string_view word = path_.take_key();
    for (int hour = 1; hour <= 12; ++hour)
      if (word == std::to_string(hour)) found_ = HourPlace{&values, hour};
    if (!found_)
      throw Refusal(CAPSIM_UNKNOWN_FIELD, Violation{std::string(path_.whole()), in_quotes(word),
                                                    R"(an hour, "1" to "12")", "a whole clock hour"});
    end(key);
  }
  void knots(std::string_view key, std::vector<ThicknessKnot>& values) {
    if (!is_next(key)) return;
    if (path_.at_end())
      found_ = &values;
    else
      descend(values[path_.take_index(values.size(), "knots")]);
  }
  void events(std::string_view key, std::vector<Event>& values) {
    if (!is_next(key)) return;
    if (path_.at_end())
      found_ = &values;
    else
      follow_event(values[path_.take_index(values.size(), "events")]);
  }
  template <class Spec>
  void section(std::string_view key, Spec& spec) {
    if (!is_next(key)) return;
    if (path_.at_end())
      found_ = section_place(spec);
    else
      descend(spec);
  }
  template <class Spec>
  void optional_section(std::string_view key, std::optional<Spec>& spec) {
    if (!is_next(key)) return;
    if (path_.at_end()) {
      found_ = optional_section_place(spec);
      return;
    }
    if (spec) return descend(*spec);
    if (!create_) refuse_null(path_.whole(), key);
    const Follower start = *this;
    Spec fresh;
    descend(fresh);  // a wrong path is refused here, and leaves the section null
    *this = start;
    descend(spec.emplace());
  }

 private:
  template <class Spec>
  void descend(Spec& spec) {
    known_.clear();
    next_ = path_.take_key();
    fields(*this, spec);
    if (!found_) refuse();
  }

  void follow_event(Event& event) {
    known_.assign(action_keys.begin(), action_keys.end());
    known_.push_back("day");
    next_ = path_.take_key();
    if (next_ == "day") {
      found_ = &event.day;
      return end("day");
    }
    const auto action = std::find(action_keys.begin(), action_keys.end(), next_);
    if (action == action_keys.end()) refuse();
    if (static_cast<std::size_t>(action - action_keys.begin()) != event.action.index())
      throw Refusal(CAPSIM_IS_NULL,
                    Violation{std::string(path_.whole()), "", in_quotes(action_keys[event.action.index()]),
                              "that is the action of this event"});
    std::visit(
        [this](auto& spec) {
          if (path_.at_end())
            found_ = section_place(spec);
          else
            descend(spec);
        },
        event.action);
  }

  /// True for the field whose key comes next in the path, until the place is found.
  bool is_next(std::string_view key) {
    if (found_) return false;
    known_.push_back(key);
    return key == next_;
  }
  void finish(std::string_view key, Place place) {
    if (!is_next(key)) return;
    found_ = std::move(place);
    end(key);
  }
  /// Nothing may follow a single value.
  void end(std::string_view key) {
    if (!path_.at_end())
      throw Refusal(CAPSIM_UNKNOWN_FIELD,
                    Violation{std::string(path_.whole()), "", "a path that ends with " + in_quotes(key),
                              "there is nothing inside it"});
  }

  [[noreturn]] void refuse() const {
    const std::string_view near = nearest_word(next_, known_);
    std::string hint = "known here:";
    for (const std::string_view word : known_) hint += ' ' + std::string(word);
    if (!near.empty()) hint = "did you mean " + in_quotes(near) + '?';
    throw Refusal(CAPSIM_UNKNOWN_FIELD,
                  Violation{std::string(path_.whole()), in_quotes(next_), "one of the known fields", hint});
  }

  PathText path_;
  bool create_;
  std::string_view next_;
  std::optional<Place> found_;
  std::vector<std::string_view> known_;
};

}  // namespace

Place place_of(Scenario& scenario, std::string_view path, bool create) {
  return Follower(path, create).follow(scenario);
}

}  // namespace capsim::c_interface
