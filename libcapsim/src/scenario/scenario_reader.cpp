// SPDX-License-Identifier: BSD-3-Clause
#include "scenario/scenario_reader.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "scenario/scenario_fields.hpp"
#include "text/spelling.hpp"

namespace capsim {
namespace {

using Kind = JsonNode::Kind;

/// Allowed keys of every section, to tell a misplaced key from a misspelt one.
class KeyCollector {
 public:
  struct Entry {
    std::string section;
    std::string_view key;
  };
  template <class Spec>
  static std::vector<Entry> of(const Spec& spec) {
    KeyCollector collector;
    fields(collector, spec);
    return std::move(collector.entries_);
  }
  // clang-format off
  template <class T> void number(std::string_view key, const T&, Limits) { add(key); }
  template <class T> void pair(std::string_view key, const T&, Limits) { add(key); }
  template <class T> void choice(std::string_view key, const T&) { add(key); }
  void integer(std::string_view key, int, Limits) { add(key); }
  void text(std::string_view key, const std::string&) { add(key); }
  void points(std::string_view key, const std::vector<Point>&, Limits) { add(key); }
  void numbers(std::string_view key, const std::vector<double>&, Limits) { add(key); }
  void by_hour(std::string_view key, const ByHour&, Limits) { add(key); }
  void knots(std::string_view key, const std::vector<ThicknessKnot>&) { add(key); }
  void events(std::string_view key, const std::vector<Event>&) {
    add(key);
    each_action([&]<class Spec>(std::string_view action, const Spec& spec) {
      if (!std::is_same_v<Spec, TensionRingSpec>)  // whose fields are known from the scenario's own section
        inside("events[]." + std::string(action), spec);
    });
  }
  template <class T> void section(std::string_view key, const T& spec) { add(key); inside(key, spec); }
  template <class T> void optional_section(std::string_view key, const std::optional<T>&) { section(key, T{}); }
  // clang-format on

 private:
  void add(std::string_view key) { entries_.push_back({section_, key}); }
  template <class Spec>
  void inside(std::string_view key, const Spec& spec) {
    const std::string outer = std::exchange(section_, std::string(key));
    fields(*this, spec);
    section_ = outer;
  }
  std::string section_;
  std::vector<Entry> entries_;
};

/// `it belongs in "zonule"` when the key exists elsewhere.
std::string belongs_elsewhere(std::string_view key) {
  std::string text;
  for (const auto& entry : KeyCollector::of(Scenario{})) {
    if (entry.key != key) continue;
    text += (text.empty() ? "it belongs in " : " or ") +
            (entry.section.empty() ? "the top level" : in_quotes(entry.section));
  }
  return text;
}

std::string unknown_key_hint(std::string_view key, std::string_view near,
                             const std::vector<std::string_view>& allowed) {
  if (!near.empty()) return "did you mean " + in_quotes(near) + '?';
  if (std::string elsewhere = belongs_elsewhere(key); !elsewhere.empty()) return elsewhere;
  std::string list = "known here:";
  for (const auto word : allowed) list += ' ' + std::string(word);
  return list;
}

/// Visitor that fills one object of the scenario from one JSON object.
class Reader {
 public:
  Reader(const JsonNode& object, std::string path, ViolationList& found)
      : object_(object), path_(std::move(path)), found_(found) {}

  void text(std::string_view key, std::string& value) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    if (node->kind == Kind::string)
      value = node->text;
    else
      wrong_type(path_of(key), *node, "a text");
  }

  void number(std::string_view key, double& value, Limits) {
    if (const JsonNode* node = take(key)) read_number(*node, path_of(key), "a number", value);
  }
  void number(std::string_view key, std::optional<double>& value, Limits) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    double given = 0;
    if (node->kind == Kind::null)
      value.reset();
    else if (read_number(*node, path_of(key), "a number or null", given))
      value = given;
  }

  void integer(std::string_view key, int& value, Limits limits) {
    const JsonNode* node = take(key);
    double given = 0;
    if (node == nullptr || !read_number(*node, path_of(key), "a whole number", given)) return;
    if (given != std::trunc(given))
      found_.add_unusable(
          {path_of(key), node->in_words(), "a whole number", "use " + number_text(std::round(given)) + '?'});
    else if (!limits.allow(given))
      found_.add_unusable({path_of(key), node->in_words(), limits.to_string(), ""});
    else
      value = static_cast<int>(given);
  }

  template <class Enum>
  void choice(std::string_view key, Enum& value) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    if constexpr (std::same_as<Enum, Eye>) {
      if (node->kind == Kind::null) {
        value = Eye::unspecified;
        return;
      }
    }
    const std::string limit = choice_limit(value);
    if (node->kind != Kind::string) return wrong_type(path_of(key), *node, limit);
    std::vector<std::string_view> words;
    for (const auto& [choice, word] : choice_words(value)) {
      if (node->text == word) {
        value = choice;
        return;
      }
      words.push_back(word);
    }
    found_.add_unusable({path_of(key), node->in_words(), limit, word_hint<Enum>(node->text, words)});
  }

  void pair(std::string_view key, Point& value, Limits) {
    if (const JsonNode* node = take(key)) read_point(*node, path_of(key), value);
  }
  void pair(std::string_view key, std::optional<Point>& value, Limits) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    Point given{};
    if (node->kind == Kind::null)
      value.reset();
    else if (read_point(*node, path_of(key), given))
      value = given;
  }

  void points(std::string_view key, std::vector<Point>& value, Limits) {
    each_item(key, "a list of [x, y] points", [&](const JsonNode& item, const std::string& path) {
      Point point{};
      if (read_point(item, path, point)) value.push_back(point);
    });
  }
  void numbers(std::string_view key, std::vector<double>& value, Limits) {
    each_item(key, "a list of numbers", [&](const JsonNode& item, const std::string& path) {
      double given = 0;
      if (read_number(item, path, "a number", given)) value.push_back(given);
    });
  }
  void knots(std::string_view key, std::vector<ThicknessKnot>& value) {
    each_item(key, R"(a list of {"radius_ratio", "thickness_um"})", [&](const JsonNode& item, const std::string& path) {
      ThicknessKnot knot;
      read_object(item, path, knot);
      value.push_back(knot);
    });
  }

  void by_hour(std::string_view key, ByHour& value, Limits) {
    const JsonNode* node = take(key);
    if (node == nullptr || !is_object(*node, path_of(key), R"(an object like {"4": 0.2})")) return;
    value.clear();
    for (std::size_t k = 0; k < node->keys.size(); ++k) {
      const std::string& hour = node->keys[k];
      const std::string path = key_path(path_of(key), hour);
      if (const int whole = whole_hour(hour); whole == 0)
        found_.add_unusable({path, node->items[k].in_words(), R"(under a key "1" to "12")", "a whole clock hour"});
      else if (double given = 0; read_number(node->items[k], path, "a number", given))
        value[whole] = given;
    }
  }

  void events(std::string_view key, std::vector<Event>& value) {
    each_item(key, "a list of events", [&](const JsonNode& item, const std::string& path) {
      value.emplace_back();
      read_event(item, path, value.back());
    });
  }

  template <class Spec>
  void section(std::string_view key, Spec& spec) {
    if (const JsonNode* node = take(key)) read_object(*node, path_of(key), spec);
  }
  void section(std::string_view key, MeshSpec& mesh) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    if (node->kind == Kind::object && node->find("level") != nullptr)
      read_mesh_level(*node, path_of(key), mesh);
    else
      read_object(*node, path_of(key), mesh);
  }
  template <class Spec>
  void optional_section(std::string_view key, std::optional<Spec>& spec) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    if (node->kind == Kind::null) {
      spec.reset();
      return;
    }
    spec.emplace();
    read_object(*node, path_of(key), *spec, "an object or null");
  }

  void format_and_version() {
    const std::string format = in_quotes(scenario_format);
    const std::string version = std::to_string(scenario_version);
    if (const JsonNode* node = take("format"); node == nullptr)
      found_.add_unusable({"format", "", format, "add \"format\": " + format});
    else if (node->kind != Kind::refused && (node->kind != Kind::string || node->text != scenario_format))
      found_.add_unusable({"format", node->in_words(), format, "this is not a scenario file"});
    if (const JsonNode* node = take("version"); node == nullptr)
      found_.add_unusable({"version", "", version, "add \"version\": " + version});
    else if (node->kind != Kind::refused && (node->kind != Kind::number || node->number != scenario_version))
      found_.add_unusable({"version", node->in_words(), version, version_hint(*node)});
  }

  static std::string version_hint(const JsonNode& node) {
    const std::string version = std::to_string(scenario_version);
    if (node.kind != Kind::number) return "write the number " + version;
    if (node.number > scenario_version) return "written by a newer version of capsim: update capsim to read it";
    // As long as this is the first version; a later one names what has to be changed in older files.
    return "there is none before " + version + ": see that the fields are those of the schema, then write " + version;
  }

  /// Reports the keys that no field has asked for.
  void finish() {
    for (std::size_t k = 0; k < object_.keys.size(); ++k) {
      const std::string& key = object_.keys[k];
      if (std::find(known_.begin(), known_.end(), key) != known_.end()) continue;
      const std::string_view near = nearest_word(key, known_);
      found_.add({key_path(path_, key), object_.items[k].in_words(), "one of the known keys",
                  unknown_key_hint(key, near, known_)});
      // Probably the field was meant: its default would only raise false alarms.
      if (!near.empty() && object_.find(near) == nullptr) found_.set_aside(path_of(near));
    }
  }

 private:
  [[nodiscard]] std::string path_of(std::string_view key) const { return member_path(path_, key); }

  /// The member `key`, or null when absent or already refused.
  const JsonNode* take(std::string_view key) {
    known_.push_back(key);
    const JsonNode* node = object_.find(key);
    return node != nullptr && node->kind == Kind::refused ? nullptr : node;
  }

  void wrong_type(const std::string& path, const JsonNode& node, std::string limit) {
    if (node.kind == Kind::refused) return;
    std::string hint;
    if (node.kind == Kind::null)
      hint = "leave the key out to get the default";
    else if (node.kind == Kind::string && limit.find("number") != std::string::npos &&
             node.text.find_first_not_of("+-.0123456789eE") == std::string::npos)
      hint = "write the number without quotes";
    found_.add_unusable({path, node.in_words(), std::move(limit), std::move(hint)});
  }

  bool read_number(const JsonNode& node, const std::string& path, const char* limit, double& value) {
    if (node.kind == Kind::number) {
      value = node.number;
      return true;
    }
    wrong_type(path, node, limit);
    return false;
  }

  bool read_point(const JsonNode& node, const std::string& path, Point& value) {
    if (node.kind != Kind::array || node.items.size() != 2) {
      wrong_type(path, node, "a pair of numbers");
      return false;
    }
    const bool first = read_number(node.items[0], item_path(path, 0), "a number", value[0]);
    const bool second = read_number(node.items[1], item_path(path, 1), "a number", value[1]);
    return first && second;
  }

  bool is_object(const JsonNode& node, const std::string& path, const char* limit) {
    if (node.kind == Kind::object) return true;
    wrong_type(path, node, limit);
    return false;
  }

  template <class Spec>
  void read_object(const JsonNode& node, const std::string& path, Spec& spec, const char* limit = "an object") {
    if (!is_object(node, path, limit)) return;
    Reader reader(node, path, found_);
    fields(reader, spec);
    reader.finish();
  }

  template <class Read>
  void each_item(std::string_view key, const char* limit, Read read) {
    const JsonNode* node = take(key);
    if (node == nullptr) return;
    if (node->kind != Kind::array) return wrong_type(path_of(key), *node, limit);
    for (std::size_t k = 0; k < node->items.size(); ++k) read(node->items[k], item_path(path_of(key), k));
  }

  /// 1..12 of a key written plainly, else 0.
  static int whole_hour(const std::string& key) {
    for (int hour = 1; hour <= 12; ++hour)
      if (key == std::to_string(hour)) return hour;
    return 0;
  }

  template <class Enum>
  static std::string word_hint(const std::string& given, const std::vector<std::string_view>& words) {
    if constexpr (std::same_as<Enum, Eye>) {
      for (const std::string_view word : {"OD", "od", "R", "r", "right eye"})
        if (given == word) return "did you mean \"right\"?";
      for (const std::string_view word : {"OS", "os", "L", "l", "left eye"})
        if (given == word) return "did you mean \"left\"?";
    }
    const auto near = nearest_word(given, words);
    return near.empty() ? std::string() : "did you mean " + in_quotes(near) + '?';
  }

  void read_mesh_level(const JsonNode& node, const std::string& path, MeshSpec& mesh) {
    const JsonNode& level = *node.find("level");
    const std::string level_path = member_path(path, "level");
    const std::array<std::pair<std::string_view, MeshSpec>, 3> levels{
        {{"coarse", MeshSpec::coarse()}, {"standard", MeshSpec::standard()}, {"fine", MeshSpec::fine()}}};
    for (const std::string& key : node.keys)
      if (key != "level")
        found_.add_unusable({key_path(path, key), node.find(key)->in_words(), "left out next to \"level\"",
                             "give either a level or around, radial and order"});
    if (level.kind == Kind::refused) return;
    for (const auto& [word, spec] : levels)
      if (level.kind == Kind::string && level.text == word) {
        mesh = spec;
        return;
      }
    const auto near = level.kind == Kind::string ? nearest_word(level.text, {"coarse", "standard", "fine"}) : "";
    found_.add_unusable({level_path, level.in_words(), R"("coarse" or "standard" or "fine")",
                         near.empty() ? "" : "did you mean " + in_quotes(near) + '?'});
  }

  void read_event(const JsonNode& node, const std::string& path, Event& event) {
    if (!is_object(node, path, "an object with \"day\" and one action")) return;
    Reader reader(node, path, found_);
    if (node.find("day") == nullptr)
      found_.add_unusable({member_path(path, "day"), "", "a number", "add the day of the event"});
    reader.number("day", event.day, event_days);
    std::string given;
    int actions = 0;
    for (const std::string_view key : action_keys)
      if (node.find(key) != nullptr) {
        given += (actions++ == 0 ? "" : " and ") + std::string(key);
      }
    read_action(reader, node, event);
    reader.finish();
    if (actions != 1)
      found_.add_unusable({path, actions == 0 ? "an event without an action" : "an event with " + given,
                           "an event with one of " + all_actions(),
                           actions == 0 ? "" : "use one event for each, they may share a day"});
  }

  static std::string all_actions() {
    std::string all;
    for (const std::string_view key : action_keys) all += (all.empty() ? "" : ", ") + std::string(key);
    return all;
  }

  /// The first action of the list that is there; all that are there are read, for what is wrong in them.
  static void read_action(Reader& reader, const JsonNode& node, Event& event) {
    event.action = TensionRingSpec{};  // of an event without one, which is refused
    bool found = false;
    each_action([&]<class Spec>(std::string_view key, Spec spec) {
      reader.section(key, spec);
      if (found || node.find(key) == nullptr) return;
      event.action = std::move(spec);
      found = true;
    });
  }

  const JsonNode& object_;
  std::string path_;
  ViolationList& found_;
  std::vector<std::string_view> known_;
};

}  // namespace

Scenario read_scenario(const JsonNode& root, ViolationList& found) {
  Scenario scenario;
  if (root.kind != Kind::object) {
    if (root.kind != Kind::refused)
      found.add_unusable(
          {std::string(whole_scenario), root.in_words(), "a JSON object", R"(start with {"format": ...)"});
    return scenario;
  }
  Reader reader(root, "", found);
  reader.format_and_version();
  fields(reader, scenario);
  reader.finish();
  return scenario;
}

}  // namespace capsim
