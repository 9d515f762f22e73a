// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/population.hpp"

#include <algorithm>
#include <array>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <numbers>

#include "capsim/error.hpp"
#include "run/population_texts.hpp"
#include "text/json_text.hpp"
#include "text/spelling.hpp"

namespace capsim {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::array<int, 12> primes{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37};  // one per spread

/// Point `index` of the van der Corput sequence in a prime base: its digits behind the point, in (0, 1).
double radical_inverse(std::uint64_t index, int base) {
  double value = 0, digit = 1.0 / base;
  for (; index > 0; index /= base, digit /= base) value += digit * static_cast<double>(index % base);
  return value;
}

double standard_normal(std::uint64_t index, std::size_t spread) {
  return std::numbers::sqrt2 * boost::math::erf_inv(2 * radical_inverse(index + 1, primes[spread]) - 1);
}

double moved(double x, const Spread& spread, double z) {
  switch (spread.scale) {
    case Spread::Scale::log:
      return x * std::exp(spread.sd * z);
    case Spread::Scale::share:
      if (!(x > 0 && x < 1)) return x;
      return 1 / (1 + (1 / x - 1) * std::exp(-spread.sd * z));
    case Spread::Scale::linear:
      return x + spread.sd * z;
  }
  throw InternalError("a spread has a scale that is none of the three");
}

/// x, whose middle is `middle` on a spread's scale, at the same multiple of the standard deviation about another
/// middle.
double moved_over(double x, double middle, const Spread& from, double other, const Spread& to) {
  const double wider = from.sd > 0 ? to.sd / from.sd : 1;
  switch (from.scale) {
    case Spread::Scale::log:
      return x > 0 && middle > 0 ? other * std::pow(x / middle, wider) : x;
    case Spread::Scale::share: {
      if (!(x > 0 && x < 1 && middle > 0 && middle < 1 && other > 0 && other < 1)) return x;
      return 1 / (1 + (1 / other - 1) * std::pow((1 / x - 1) / (1 / middle - 1), wider));
    }
    case Spread::Scale::linear:
      return other + wider * (x - middle);
  }
  throw InternalError("a spread has a scale that is none of the three");
}

const Setting* find_setting(const std::vector<Setting>& settings, std::string_view path) {
  const auto found =
      std::find_if(settings.begin(), settings.end(), [path](const Setting& s) { return s.path == path; });
  return found == settings.end() ? nullptr : &*found;
}

/// The number at a dotted path of a scenario's JSON, or null when it has no such number.
Json* number_at(Json& root, std::string_view path) {
  Json* here = &root;
  while (true) {
    const std::size_t dot = path.find('.');
    const std::string key(path.substr(0, dot));
    if (!here->is_object() || !here->contains(key)) return nullptr;
    here = &(*here)[key];
    if (dot == std::string_view::npos) return here->is_number() ? here : nullptr;
    path.remove_prefix(dot + 1);
  }
}

Json as_json(const Scenario& scenario) { return Json::parse(scenario.to_json(-1)); }

std::string law_of(const Json& scenario) {
  const Json& contraction = scenario.at("contraction");
  return contraction.contains("law") ? contraction.at("law").get<std::string>() : "fibre_remodelling";
}

/// Reads one file's fields and keeps what is wrong with them.
class Reader {
 public:
  explicit Reader(ViolationList& found) : found_(&found), scenario_(as_json(Scenario{})) {}

  std::string text(const JsonNode& object, const std::string& at, std::string_view key) {
    const JsonNode* node = object.find(key);
    if (node != nullptr && node->kind == JsonNode::Kind::string && !node->text.empty()) return node->text;
    refuse(member_path(at, key), node, "a text of at least one letter");
    return {};
  }
  double number(const JsonNode& object, const std::string& at, std::string_view key, double low, double high,
                const std::string& limit) {
    const JsonNode* node = object.find(key);
    if (node != nullptr && node->kind == JsonNode::Kind::number && node->number >= low && node->number <= high)
      return node->number;
    refuse(member_path(at, key), node, limit);
    return low;
  }
  /// A path of a field that is a number in the default scenario, so that it can be set and varied.
  std::string field(const JsonNode& object, const std::string& at) {
    std::string path = text(object, at, "path");
    if (!path.empty() && number_at(scenario_, path) == nullptr)
      found_->add({member_path(at, "path"), '"' + path + '"', "the path of a number in a scenario", ""});
    return path;
  }
  Spread::Scale scale(const JsonNode& object, const std::string& at) {
    const JsonNode* node = object.find("scale");
    const std::string word = node != nullptr && node->kind == JsonNode::Kind::string ? node->text : "";
    if (word == "log") return Spread::Scale::log;
    if (word == "share") return Spread::Scale::share;
    if (word != "linear") refuse(member_path(at, "scale"), node, R"("log", "share" or "linear")");
    return Spread::Scale::linear;
  }
  const std::vector<JsonNode>& list(const JsonNode& object, const std::string& at, std::string_view key) {
    static const std::vector<JsonNode> nothing;
    const JsonNode* node = object.find(key);
    if (node != nullptr && node->kind == JsonNode::Kind::array) return node->items;
    refuse(member_path(at, key), node, "a list");
    return nothing;
  }
  void only_keys(const JsonNode& object, const std::string& at, const std::vector<std::string_view>& allowed) {
    for (const std::string& key : object.keys) {
      if (std::find(allowed.begin(), allowed.end(), key) != allowed.end()) continue;
      const std::string_view near = nearest_word(key, allowed);
      found_->add(
          {member_path(at, key), "", "no such key", near.empty() ? "" : "did you mean \"" + std::string(near) + "\"?"});
    }
  }
  void refuse(const std::string& path, const JsonNode* node, const std::string& limit) {
    if (node != nullptr && node->kind == JsonNode::Kind::refused) return;
    found_->add({path, node == nullptr ? "" : node->in_words(), limit, node == nullptr ? "it is missing" : ""});
  }

 private:
  ViolationList* found_;
  Json scenario_;
};

const JsonNode* object_at(Reader& read, const JsonNode& root, std::string_view key) {
  const JsonNode* node = root.find(key);
  if (node != nullptr && node->kind == JsonNode::Kind::object) return node;
  read.refuse(std::string(key), node, "an object");
  return nullptr;
}

std::vector<Setting> read_settings(Reader& read, const JsonNode& law, const std::string& at) {
  std::vector<Setting> settings;
  const auto& items = read.list(law, at, "settings");
  for (std::size_t i = 0; i < items.size(); ++i) {
    const std::string here = item_path(member_path(at, "settings"), i);
    read.only_keys(items[i], here, {"path", "value", "source"});
    settings.push_back({read.field(items[i], here), read.number(items[i], here, "value", -1e300, 1e300, "a number"),
                        read.text(items[i], here, "source")});
  }
  return settings;
}

/// Index of the spread of a path; their number when there is none.
std::size_t place_of(const std::vector<Spread>& spreads, std::string_view path) {
  const auto found = std::find_if(spreads.begin(), spreads.end(), [path](const Spread& s) { return s.path == path; });
  return static_cast<std::size_t>(found - spreads.begin());
}

/// Normal numbers of eye `index`, one for each spread.
std::vector<double> normals(const std::vector<Spread>& spreads, std::uint64_t index) {
  std::vector<double> z;
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    z.push_back(standard_normal(index, k));
    if (spreads[k].follows.empty()) continue;
    const double r = spreads[k].share;
    z[k] = r * z[place_of(spreads, spreads[k].follows)] + std::sqrt(1 - r * r) * z[k];
  }
  return z;
}

std::vector<Spread> read_spreads(Reader& read, const JsonNode& law, const std::string& at) {
  std::vector<Spread> spreads;
  const auto& items = read.list(law, at, "spreads");
  if (items.size() > primes.size()) read.refuse(member_path(at, "spreads"), law.find("spreads"), "at most 12 spreads");
  for (std::size_t i = 0; i < std::min(items.size(), primes.size()); ++i) {
    const std::string here = item_path(member_path(at, "spreads"), i);
    read.only_keys(items[i], here, {"path", "scale", "sd", "low", "high", "source", "follows", "share"});
    Spread spread;
    spread.path = read.field(items[i], here);
    spread.scale = read.scale(items[i], here);
    spread.sd = read.number(items[i], here, "sd", 0, 1e6, ">= 0 and <= 1e6");
    spread.low = read.number(items[i], here, "low", -1e300, 1e300, "a number");
    spread.high = read.number(items[i], here, "high", spread.low, 1e300, "a number, at least `low`");
    spread.source = read.text(items[i], here, "source");
    if (const JsonNode* leader = items[i].find("follows")) {
      spread.follows = read.text(items[i], here, "follows");
      spread.share = read.number(items[i], here, "share", -1, 1, ">= -1 and <= 1");
      if (!spread.follows.empty() && place_of(spreads, spread.follows) == spreads.size())
        read.refuse(member_path(here, "follows"), leader, "the path of a spread before this one");
    }
    spreads.push_back(std::move(spread));
  }
  return spreads;
}

void check_format(Reader& read, const JsonNode& root) {
  const JsonNode* format = root.find("format");
  if (format == nullptr || format->text != population_format)
    read.refuse("format", format, '"' + std::string(population_format) + '"');
  const JsonNode* version = root.find("version");
  if (version == nullptr || version->kind != JsonNode::Kind::number || version->number != population_version)
    read.refuse("version", version, "1, the version this library reads; a newer file needs a newer library");
}

}  // namespace

Population Population::from_json(std::string_view text) {
  ViolationList found;
  const JsonNode root = parse_json_text(text, found);
  Population result;
  if (found.empty() && root.kind != JsonNode::Kind::object) found.add({"population", root.in_words(), "an object", ""});
  if (root.kind == JsonNode::Kind::object) {
    Reader read(found);
    read.only_keys(root, "",
                   {"format", "version", "name", "edition", "description", "area_error", "laws", "provenance"});
    check_format(read, root);
    result.name_ = read.text(root, "", "name");
    result.edition_ = read.text(root, "", "edition");
    result.description_ = read.text(root, "", "description");
    if (const JsonNode* error = object_at(read, root, "area_error")) {
      read.only_keys(*error, "area_error", {"value", "source"});
      result.area_error_ = read.number(*error, "area_error", "value", 0, 1, ">= 0 and <= 1");
      read.text(*error, "area_error", "source");
    }
    if (const JsonNode* laws = object_at(read, root, "laws")) {
      if (laws->keys.empty()) read.refuse("laws", laws, "at least one contraction law");
      for (std::size_t i = 0; i < laws->keys.size(); ++i) {
        const std::string at = member_path("laws", laws->keys[i]);
        read.only_keys(laws->items[i], at, {"settings", "spreads"});
        result.laws_.push_back(
            {laws->keys[i], read_settings(read, laws->items[i], at), read_spreads(read, laws->items[i], at)});
      }
    }
  }
  if (!found.empty()) throw ScenarioError(found.take());
  result.json_ = text;
  return result;
}

const Population::OfLaw& Population::of_law(std::string_view law) const {
  for (const OfLaw& known : laws_)
    if (known.law == law) return known;
  std::string there;
  for (const OfLaw& known : laws_) there += (there.empty() ? "" : ", ") + known.law;
  throw ArgumentError("the population \"" + name_ + "\" was not fitted for the contraction law \"" + std::string(law) +
                      "\"; it has: " + there);
}

// Such an eye would be one of the rim alone with the spreads of a whole bag, and say nothing of it.
void Population::refuse_without_bag_tissue(const Spread& spread, const Setting* middle, double value) const {
  if (value != 0 || spread.scale != Spread::Scale::log || spread.path.rfind("bag_tissue.", 0) != 0) return;
  if (middle == nullptr || !(middle->value > 0)) return;
  throw ArgumentError(spread.path + " = 0 in the eye about which to draw; the population \"" + name_ +
                      "\" lets the bag contract as a whole and varies it about " + Json(middle->value).dump() +
                      ": begin with the population's middle eye (typical)");
}

std::vector<std::string> Population::laws() const {
  std::vector<std::string> names;
  for (const OfLaw& known : laws_) names.push_back(known.law);
  return names;
}

std::vector<Setting> Population::settings(std::string_view law) const { return of_law(law).settings; }
std::vector<Spread> Population::spreads(std::string_view law) const { return of_law(law).spreads; }

Scenario Population::typical(const Scenario& base) const {
  Json json = as_json(base);
  for (const Setting& setting : of_law(law_of(json)).settings) {
    Json* field = number_at(json, setting.path);
    if (field != nullptr) *field = setting.value;
  }
  return Scenario::from_json(json.dump());
}

Scenario Population::around(const Scenario& base, std::uint64_t index) const {
  Json json = as_json(base);
  const OfLaw& law = of_law(law_of(json));
  const std::vector<Spread>& spreads = law.spreads;
  const std::vector<double> z = normals(spreads, index);
  for (std::size_t k = 0; k < spreads.size(); ++k) {
    Json* field = number_at(json, spreads[k].path);
    if (field == nullptr) continue;  // of a lens or ring that this eye does not have
    refuse_without_bag_tissue(spreads[k], find_setting(law.settings, spreads[k].path), field->get<double>());
    *field = std::clamp(moved(field->get<double>(), spreads[k], z[k]), spreads[k].low, spreads[k].high);
  }
  return Scenario::from_json(json.dump());
}

Scenario Population::draw(const Scenario& base, std::uint64_t index) const { return around(typical(base), index); }

Scenario Population::under(const Scenario& base, std::string_view law) const {
  Json json = as_json(base);
  const OfLaw &from = of_law(law_of(json)), &to = of_law(law);
  if (from.law == to.law) return base;
  Json was = json;
  json["contraction"]["law"] = to.law;
  const auto middle_of = [](const OfLaw& of, const std::string& path, double otherwise) {
    const Setting* setting = find_setting(of.settings, path);
    return setting != nullptr ? setting->value : otherwise;
  };
  for (const Setting& setting : to.settings) {
    Json* field = number_at(json, setting.path);
    const Setting* known = find_setting(from.settings, setting.path);
    // A field that only the other law knows, or one that has this population's value.
    if (field != nullptr && (known == nullptr || field->get<double>() == known->value)) *field = setting.value;
  }
  for (std::size_t k = 0; k < std::min(from.spreads.size(), to.spreads.size()); ++k) {
    const Json* old = number_at(was, from.spreads[k].path);
    Json* field = number_at(json, to.spreads[k].path);
    if (old == nullptr || field == nullptr) continue;
    const double x = old->get<double>();
    const double moved = moved_over(x, middle_of(from, from.spreads[k].path, x), from.spreads[k],
                                    middle_of(to, to.spreads[k].path, x), to.spreads[k]);
    *field = std::clamp(moved, to.spreads[k].low, to.spreads[k].high);
  }
  return Scenario::from_json(json.dump());
}

std::vector<std::string> population_names() {
  std::vector<std::string> names;
  for (const std::string_view text : population_texts()) names.push_back(Population::from_json(text).name());
  return names;
}

const Population& population(std::string_view name) {
  static const std::vector<Population> shipped = [] {
    std::vector<Population> all;
    for (const std::string_view text : population_texts()) all.push_back(Population::from_json(text));
    return all;
  }();
  for (const Population& known : shipped)
    if (known.name() == name) return known;
  std::string there;
  std::vector<std::string_view> words;
  for (const Population& known : shipped) {
    there += (there.empty() ? "" : ", ") + known.name();
    words.push_back(known.name());
  }
  const std::string_view near = nearest_word(name, words);
  throw ArgumentError("there is no population \"" + std::string(name) + "\"; there are: " + there +
                      (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
}

}  // namespace capsim
