// SPDX-License-Identifier: BSD-3-Clause
#include "text/json_text.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <utility>

namespace capsim {
namespace {

using Kind = JsonNode::Kind;

/// So many NaN and infinities are reported one by one; after that the text is refused as it is.
constexpr std::size_t most_refused_numbers = 32;

constexpr std::array<std::string_view, 7> not_json_numbers{"NaN", "nan", "NAN", "Infinity", "infinity", "inf", "Inf"};

struct Place {
  std::size_t line = 1;
  std::size_t column = 1;
  [[nodiscard]] std::string to_string() const {
    return "line " + std::to_string(line) + ", column " + std::to_string(column);
  }
};

/// Line and column (in characters) of the byte at `offset`.
Place place_of(std::string_view text, std::size_t offset) {
  Place place;
  for (std::size_t k = 0; k < std::min(offset, text.size()); ++k) {
    if (text[k] == '\n')
      place = {place.line + 1, 1};
    else if ((static_cast<unsigned char>(text[k]) & 0xC0) != 0x80)
      ++place.column;
  }
  return place;
}

/// A number that is no JSON number: where it starts and how many bytes it has.
struct RefusedNumber {
  std::size_t start;
  std::string token;
};

/// Builds the tree from the events of the parser, and remembers how it ended.
class TreeBuilder : public nlohmann::json_sax<nlohmann::json> {
 public:
  /// The scalars with these ordinals are stand-ins for `refused` numbers.
  TreeBuilder(const std::vector<std::pair<std::size_t, std::string>>& refused, ViolationList& found)
      : refused_(refused), found_(found) {}

  bool null() override { return scalar({Kind::null, 0, "null", {}, {}}); }
  bool boolean(bool value) override { return scalar({Kind::boolean, 0, value ? "true" : "false", {}, {}}); }
  bool number_integer(number_integer_t value) override {
    return scalar({Kind::number, static_cast<double>(value), std::to_string(value), {}, {}});
  }
  bool number_unsigned(number_unsigned_t value) override {
    return scalar({Kind::number, static_cast<double>(value), std::to_string(value), {}, {}});
  }
  bool number_float(number_float_t value, const string_t& as_written) override {
    return scalar({Kind::number, value, as_written, {}, {}});
  }
  bool string(string_t& value) override { return scalar({Kind::string, 0, std::move(value), {}, {}}); }
  bool binary(binary_t&) override { return false; }  // never in text

  bool start_object(std::size_t) override { return open(Kind::object); }
  bool end_object() override { return close(); }
  bool start_array(std::size_t) override { return open(Kind::array); }
  bool end_array() override { return close(); }

  bool key(string_t& key) override {
    Level& level = levels_.back();
    level.key = std::move(key);
    level.repeated = !level.seen.insert(level.key).second;
    if (level.repeated)
      found_.add({key_path(level.path, level.key), "given again", "given only once", "remove one of the two"});
    return true;
  }

  bool parse_error(std::size_t position, const std::string& token, const nlohmann::detail::exception& error) override {
    error_position_ = position;
    error_text_ = error.what();
    const bool has_token = error_text_.find("unexpected ") != std::string::npos &&
                           error_text_.find("unexpected end of input") == std::string::npos;
    token_size_ = has_token ? token.size() : 1;
    return false;
  }

  [[nodiscard]] JsonNode take_root() { return std::move(root_); }
  [[nodiscard]] std::size_t scalars() const noexcept { return scalars_; }
  [[nodiscard]] std::size_t error_position() const noexcept { return error_position_; }
  /// Where the surprising token or character of `text` starts.
  [[nodiscard]] std::size_t error_start(std::string_view text) const noexcept {
    const std::size_t last = error_position_ > 0 ? error_position_ - 1 : 0;
    if (last >= text.size()) return text.size();
    // The parser's token runs on from the one before when it is a single sign.
    const bool sign = std::string_view("{}[]:,").find(text[last]) != std::string_view::npos;
    return sign || error_position_ < token_size_ ? last : error_position_ - token_size_;
  }
  [[nodiscard]] const std::string& error_text() const noexcept { return error_text_; }
  [[nodiscard]] bool too_deep() const noexcept { return too_deep_; }
  /// Path of the value that was being read.
  [[nodiscard]] std::string here() const {
    const std::string path = levels_.empty() ? std::string() : next_path();
    return path.empty() ? std::string(whole_scenario) : path;
  }

 private:
  struct Level {
    JsonNode node;
    std::string path;
    std::string key;
    std::set<std::string> seen;
    bool repeated = false;
  };

  [[nodiscard]] std::string next_path() const {
    const Level& level = levels_.back();
    if (level.node.kind == Kind::array) return item_path(level.path, level.node.items.size());
    return level.key.empty() ? level.path : key_path(level.path, level.key);
  }

  bool open(Kind kind) {
    if (levels_.size() == deepest_nesting) {
      too_deep_ = true;
      return false;
    }
    Level level;
    level.node.kind = kind;
    if (!levels_.empty()) level.path = next_path();
    levels_.push_back(std::move(level));
    return true;
  }

  bool close() {
    JsonNode node = std::move(levels_.back().node);
    levels_.pop_back();
    return place(std::move(node));
  }

  bool scalar(JsonNode node) {
    for (const auto& [ordinal, token] : refused_)
      if (ordinal == scalars_) {
        node.kind = Kind::refused;
        found_.add_unusable({here(), token, "a finite number", "NaN, infinity and numbers beyond 1.8e308 are refused"});
      }
    ++scalars_;
    return place(std::move(node));
  }

  /// Puts a finished value where it belongs; the second value of a repeated key is dropped.
  bool place(JsonNode node) {
    if (levels_.empty()) {
      root_ = std::move(node);
      return true;
    }
    Level& level = levels_.back();
    if (level.repeated) {
      level.repeated = false;
      return true;
    }
    if (level.node.kind == Kind::object) level.node.keys.push_back(level.key);
    level.node.items.push_back(std::move(node));
    level.key.clear();
    return true;
  }

  const std::vector<std::pair<std::size_t, std::string>>& refused_;
  ViolationList& found_;
  std::vector<Level> levels_;
  JsonNode root_;
  std::size_t scalars_ = 0;
  std::size_t error_position_ = 0;  ///< Bytes read when the parser gave up.
  std::size_t token_size_ = 1;
  std::string error_text_;
  bool too_deep_ = false;
};

/// The number token that made the parser stop at `position`, when that was the reason.
std::optional<RefusedNumber> refused_number(std::string_view text, std::size_t position, bool overflow) {
  const auto is_number_part = [](char c) {
    return (c >= '0' && c <= '9') || c == '+' || c == '-' || c == '.' || (c >= 'a' && c <= 'z') ||
           (c >= 'A' && c <= 'Z');
  };
  std::size_t start = std::min(position, text.size());
  if (start > 0 && !overflow) --start;  // the character that surprised the parser
  while (start > 0 && is_number_part(text[start - 1])) --start;
  std::size_t end = start;
  while (end < text.size() && is_number_part(text[end])) ++end;
  const std::string_view token = text.substr(start, end - start);
  if (token.empty()) return std::nullopt;
  const std::string_view word = token.front() == '-' || token.front() == '+' ? token.substr(1) : token;
  const bool is_word = std::find(not_json_numbers.begin(), not_json_numbers.end(), word) != not_json_numbers.end();
  if (!overflow && !is_word) return std::nullopt;
  return RefusedNumber{start, std::string(token)};
}

/// What the parser expected, without its own prefix and without echoing the text.
std::string parser_reason(const std::string& text) {
  std::string reason = text;
  if (const auto dash = reason.find(" - "); dash != std::string::npos) reason.erase(0, dash + 3);
  if (const auto echo = reason.find("; last read: '"); echo != std::string::npos) {
    const auto end = reason.rfind('\'');
    reason.erase(echo, end == std::string::npos || end <= echo ? std::string::npos : end + 1 - echo);
  }
  return reason;
}

/// Refuses what can be seen without parsing. True when parsing makes sense.
bool acceptable_text(std::string_view text, ViolationList& found) {
  const auto refuse = [&found](std::string value, std::string limit, std::string hint) {
    found.add_unusable({std::string(whole_scenario), std::move(value), std::move(limit), std::move(hint)});
    return false;
  };
  if (text.size() > longest_text)
    return refuse("a text of " + std::to_string(text.size()) + " bytes",
                  "at most " + std::to_string(longest_text) + " bytes", "is this a scenario?");
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return refuse("an empty text", "a JSON object", R"(start with {"format": ...)");
  if (const auto good = valid_utf8_length(text); good < text.size())
    return refuse("a text that is not UTF-8", "UTF-8",
                  place_of(text, good).to_string() + ": not a character; save the file as UTF-8");
  if (const auto nul = text.find('\0'); nul != std::string_view::npos)
    return refuse("a text with a zero byte", "JSON text", place_of(text, nul).to_string());
  if (text[first] != '{' && text[first] != '[' && text.find('\n') == std::string_view::npos && text.ends_with(".json"))
    return refuse(in_quotes(text), "JSON text", "this looks like a file name: read it with from_file");
  return true;
}

void add_syntax_error(std::string_view text, const TreeBuilder& tree, ViolationList& found) {
  const std::size_t offset = tree.error_start(text);
  const std::string near = offset == text.size() ? "the end of the text" : in_quotes(text.substr(offset, 20));
  found.add_unusable(
      {tree.here(), near, "valid JSON", place_of(text, offset).to_string() + ": " + parser_reason(tree.error_text())});
}

}  // namespace

const JsonNode* JsonNode::find(std::string_view key) const noexcept {
  for (std::size_t k = 0; k < keys.size(); ++k)
    if (keys[k] == key) return &items[k];
  return nullptr;
}

std::string JsonNode::in_words() const {
  switch (kind) {
    case Kind::string:
      return in_quotes(text);
    case Kind::array:
      return "a list of " + std::to_string(items.size());
    case Kind::object:
      return "an object";
    default: {
      const std::string shown = in_quotes(text);
      return shown.substr(1, shown.size() - 2);
    }
  }
}

JsonNode parse_json_text(std::string_view text, ViolationList& found) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (!acceptable_text(text, found)) return {};
  std::string patched(text);
  std::vector<std::pair<std::size_t, std::string>> refused;  // ordinal of the scalar, token
  for (;;) {
    ViolationList found_here;
    TreeBuilder tree(refused, found_here);
    const bool complete = nlohmann::json::sax_parse(patched.begin(), patched.end(), &tree);
    if (!complete && !tree.too_deep() && refused.size() < most_refused_numbers) {
      const bool overflow = tree.error_text().find("out_of_range") != std::string::npos;
      if (const auto number = refused_number(patched, tree.error_position(), overflow)) {
        // Put a harmless number of the same length there and read again, to find the rest.
        refused.emplace_back(tree.scalars(), number->token);
        std::string stand_in(number->token.size(), ' ');
        stand_in.front() = '1';
        patched.replace(number->start, number->token.size(), stand_in);
        continue;
      }
    }
    found.append(std::move(found_here));
    if (complete) return tree.take_root();
    if (tree.too_deep())
      found.add_unusable({std::string(whole_scenario),
                          "a text nested more than " + std::to_string(deepest_nesting) + " deep",
                          "nested at most " + std::to_string(deepest_nesting) + " deep", ""});
    else
      add_syntax_error(patched, tree, found);
    return {};
  }
}

}  // namespace capsim
