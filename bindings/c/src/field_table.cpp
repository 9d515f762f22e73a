// SPDX-License-Identifier: BSD-3-Clause
// What a scenario may say: every field with its path, unit, limits and default.
#include <deque>
#include <limits>
#include <string>
#include <vector>

#include "caller_memory.hpp"
#include "handles.hpp"
#include "scenario/field_unit.hpp"
#include "scenario/scenario_fields.hpp"
#include "text/violation_list.hpp"

using namespace capsim::c_interface;

namespace {

struct Row {
  std::string path;
  std::string unit;
  capsim_field field{};
  std::vector<const char*> choices;
};

/// Visitor that writes one row for each field.
class Table {
 public:
  Table() {
    const capsim::Scenario defaults;
    fields(*this, defaults);
  }
  [[nodiscard]] const std::deque<Row>& rows() const noexcept { return rows_; }

  void text(std::string_view key, const std::string&) { add(key, CAPSIM_FIELD_TEXT).unit = ""; }
  void number(std::string_view key, double value, capsim::Limits limits) {
    set_default(limited(add(key, CAPSIM_FIELD_NUMBER), limits), value);
  }
  void number(std::string_view key, const std::optional<double>& value, capsim::Limits limits) {
    Row& row = limited(add(key, CAPSIM_FIELD_NUMBER), limits);
    row.field.may_be_null = 1;
    if (value) set_default(row, *value);
  }
  void integer(std::string_view key, int value, capsim::Limits limits) {
    set_default(limited(add(key, CAPSIM_FIELD_INTEGER), limits), value).unit = "";
  }
  template <class Enum>
  void choice(std::string_view key, Enum value) {
    Row& row = add(key, CAPSIM_FIELD_CHOICE);
    row.unit = "";
    for (const auto& [one, word] : choice_words(value)) row.choices.push_back(word.data());  // literals
    row.field.may_be_null = std::same_as<Enum, capsim::Eye>;
  }
  void pair(std::string_view key, const capsim::Point&, capsim::Limits limits) {
    limited(add(key, CAPSIM_FIELD_POINT), limits);
  }
  void pair(std::string_view key, const std::optional<capsim::Point>&, capsim::Limits limits) {
    limited(add(key, CAPSIM_FIELD_POINT), limits).field.may_be_null = 1;
  }
  void points(std::string_view key, const std::vector<capsim::Point>&, capsim::Limits limits) {
    limited(add(key, CAPSIM_FIELD_POINTS), limits);
  }
  void numbers(std::string_view key, const std::vector<double>&, capsim::Limits limits) {
    limited(add(key, CAPSIM_FIELD_NUMBERS), limits);
  }
  void by_hour(std::string_view key, const capsim::ByHour&, capsim::Limits limits) {
    limited(add(key, CAPSIM_FIELD_BY_HOUR), limits);
  }
  void knots(std::string_view key, const std::vector<capsim::ThicknessKnot>&) {
    add(key, CAPSIM_FIELD_KNOTS).unit = "";
  }
  void events(std::string_view key, const std::vector<capsim::Event>&) {
    const std::string list = capsim::member_path(section_, key) + "[]";
    inside(list, [&] { number("day", 0, capsim::event_days); });
    capsim::each_action([&](std::string_view action, const auto& spec) {
      inside(capsim::member_path(list, action), [&] { fields_of(spec); });
    });
  }
  template <class Spec>
  void section(std::string_view key, const Spec& spec) {
    inside(capsim::member_path(section_, key), [&] { fields_of(spec); });
  }
  template <class Spec>
  void optional_section(std::string_view key, const std::optional<Spec>&) {
    Row& row = add(key, CAPSIM_FIELD_SECTION);
    row.unit = "";
    row.field.may_be_null = 1;
    section(key, Spec{});
  }

 private:
  template <class Spec>
  void fields_of(const Spec& spec) {
    fields(*this, spec);
  }
  template <class Work>
  void inside(std::string section, Work work) {
    std::swap(section_, section);
    work();
    std::swap(section_, section);
  }
  Row& add(std::string_view key, capsim_field_kind kind) {
    Row& row = rows_.emplace_back();
    row.path = capsim::member_path(section_, key);
    row.unit = capsim::field_unit(key);
    row.field.kind = kind;
    return row;
  }
  static Row& limited(Row& row, const capsim::Limits& limits) {
    row.field.has_limits = 1;
    row.field.low = limits.low;
    row.field.high = limits.high;
    row.field.low_is_outside = limits.low_open;
    row.field.may_be_zero = limits.or_zero;
    return row;
  }
  static Row& set_default(Row& row, double value) {
    row.field.has_default = 1;
    row.field.default_value = value;
    return row;
  }

  std::deque<Row> rows_;  // a deque: the texts stay where they are
  std::string section_;
};

/// Made once, when first asked for, and never changed.
const Table& table() {
  static const Table made;
  return made;
}

}  // namespace

extern "C" {

size_t capsim_field_count(void) {
  try {
    return table().rows().size();
  } catch (...) {
    return 0;  // no memory for the table
  }
}

capsim_status capsim_field_at(size_t index, capsim_field* field) {
  return guarded([&] {
    const auto& rows = table().rows();
    if (index >= rows.size()) return capsim_status{CAPSIM_NOT_FOUND};
    capsim_field value = rows[index].field;
    value.path = rows[index].path.c_str();
    value.unit = rows[index].unit.c_str();
    return fill_struct(field, value, CAPSIM_SIZE_UP_TO(capsim_field, default_value));
  });
}

const char* capsim_field_choice(size_t index, size_t choice) {
  try {
    const auto& rows = table().rows();
    return index < rows.size() && choice < rows[index].choices.size() ? rows[index].choices[choice] : nullptr;
  } catch (...) {
    return nullptr;
  }
}

}  // extern "C"
