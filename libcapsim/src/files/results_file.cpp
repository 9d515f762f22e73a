// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/results_file.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <cstdio>
#include <map>
#include <new>
#include <optional>
#include <set>
#include <string_view>
#include <utility>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/version.hpp"
#include "files/hdf5_session.hpp"
#include "files/whole_file.hpp"

namespace capsim {
namespace {

constexpr std::string_view format_name = "capsim-result";
constexpr std::int64_t format_version = 2;

struct CutField {
  const char* name;
  const char* unit;
  double CutRecord::* member;
};

constexpr std::array<CutField, 4> cut_fields{{
    {"hour", "clock hour", &CutRecord::hour},
    {"length_mm", "mm", &CutRecord::length_mm},
    {"length_on_day_mm", "mm", &CutRecord::length_on_day_mm},
    {"day", "day", &CutRecord::day},
}};
static_assert(sizeof(CutRecord) == cut_fields.size() * sizeof(double),
              "a field of CutRecord is not in the result file");

/// Version 1 began with this many diagnostics. All of them are in every file and in its checksum; those that came
/// later are read where they are, and guarded by the seal.
constexpr std::size_t first_diagnostics = 17;

// ----------------------------------------------------------------------------------- checksum

/// FNV-1a, 64 bits, over everything `load` gives back: HDF5 itself notices few flipped bits.
class Checksum {
 public:
  void add(std::string_view text) {
    add_bytes(text.size());
    for (const char c : text) mix(static_cast<unsigned char>(c));
  }
  void add(double value) { add_bytes(std::bit_cast<std::uint64_t>(value)); }
  void add(long value) { add_bytes(static_cast<std::uint64_t>(value)); }
  [[nodiscard]] std::string text() const {
    std::array<char, 24> hex{};
    std::snprintf(hex.data(), hex.size(), "%016llx", static_cast<unsigned long long>(sum_));
    return std::string("fnv1a64:") + hex.data();
  }

 private:
  void mix(unsigned char byte) { sum_ = (sum_ ^ byte) * 0x100000001b3ULL; }
  void add_bytes(std::uint64_t word) {  // little end first on every machine
    for (int shift = 0; shift < 64; shift += 8) mix(static_cast<unsigned char>(word >> shift));
  }
  std::uint64_t sum_ = 0xcbf29ce484222325ULL;
};

std::string checksum_of(const History& history, std::string_view scenario_text) {
  Checksum sum;
  sum.add(to_string(history.status()));
  sum.add(history.message());
  sum.add(history.version());
  sum.add(scenario_text);
  const auto fields = diagnostic_fields().first(first_diagnostics);
  for (const DiagnosticField& field : fields)  // counts before numbers, as they were listed at first
    if (field.count != nullptr) sum.add(history.diagnostics().*field.count);
  for (const DiagnosticField& field : fields)
    if (field.number != nullptr) sum.add(history.diagnostics().*field.number);
  for (const CutRecord& cut : history.cuts())
    for (const auto& field : cut_fields) sum.add(cut.*field.member);
  for (const Series& series : history.all_series()) {
    sum.add(series.name);
    sum.add(series.unit);
    sum.add(series.description);
    sum.add(static_cast<long>(series.columns));
    for (const double value : series.values) sum.add(value);
  }
  return sum.text();
}

// --------------------------------------------------------------------------------------- seal

/// The line after the HDF5 data with the checksum of every byte before it. HDF5 does not look
/// there, drops it when another program edits the file, and may crash or loop on a damaged file: so
/// the seal is checked before HDF5 sees anything, and the checksum of the contents has the last word.
constexpr std::string_view seal_start = "\ncapsim-seal ";

std::string seal_of(std::string_view bytes) {
  Checksum sum;
  sum.add(bytes);
  return std::string(seal_start) + sum.text() + "\n";
}

void add_seal(std::vector<char>& bytes) {
  const std::string seal = seal_of({bytes.data(), bytes.size()});
  bytes.insert(bytes.end(), seal.begin(), seal.end());
}

/// Takes the seal away; false where there is none.
bool unsealed(std::vector<char>& bytes) {
  const std::string_view all(bytes.data(), bytes.size());
  const std::string_view sealed = all.substr(0, all.size() - std::min(all.size(), seal_of({}).size()));
  const std::string_view seal = all.substr(sealed.size());
  if (!seal.starts_with(seal_start)) return false;
  if (seal != seal_of(sealed)) throw hdf5::Failure("it is damaged: its bytes are not those that were written");
  bytes.resize(sealed.size());
  return true;
}

// ------------------------------------------------------------------------------------ writing

bool has_cuts(const History& history) {
  const auto is_cut = [](const Event& e) { return std::holds_alternative<RelaxingCuts>(e.action); };
  const auto& events = history.scenario().events;
  return !history.cuts().empty() || std::any_of(events.begin(), events.end(), is_cut);
}

std::vector<std::string> cautions_of(const History& history) {
  std::vector<std::string> cautions{std::string(research_caution())};
  if (has_cuts(history)) cautions.emplace_back(relaxing_cut_caution());
  return cautions;
}

/// The dimension of a series' columns in the file, and its labels where every run has the same.
struct Columns {
  std::string name;
  std::vector<double> labels;
  const char *unit, *meaning;
};

Columns columns_of(const Series& series) {
  switch (series.axis) {
    case Axis::clock_hour:
      return {"hour", {12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}, "1", "Clock hour."};
    case Axis::xy:
      return {"axis", {}, "", ""};
    case Axis::pupil:
      return {"pupil_mm", {pupil_diameters_mm.begin(), pupil_diameters_mm.end()}, "mm", "Diameter of the pupil."};
    case Axis::cut:
      return {"cut", {}, "", ""};
    default:
      return {series.name + "_value", {}, "", ""};
  }
}

/// Dimensions of the series, which other programs read as named ones (netCDF-4); made where the first series needs it.
class Dimensions {
 public:
  explicit Dimensions(hid_t group) : group_(group) {}

  void name(hid_t set, const Series& series, std::size_t rows) {
    make({"row", {}, "", ""}, rows);
    std::vector<std::string> scales{"row"};
    if (series.columns != 1) {
      const Columns columns = columns_of(series);
      make(columns, series.columns);
      scales.push_back(columns.name);
    }
    hdf5::name_dimensions(group_, set, scales);
  }

 private:
  void make(const Columns& columns, std::size_t size) {
    if (!made_.insert(columns.name).second) return;
    const bool labelled = columns.labels.size() == size;
    const std::vector<double> values = labelled ? columns.labels : std::vector<double>(size, 0.0);
    const hdf5::Handle set = hdf5::write_doubles(group_, columns.name, {size}, values.data());
    hdf5::write_fixed_attribute(set, "CLASS", "DIMENSION_SCALE");
    // netCDF-4 knows a dimension without labels by these words and its length in ten places.
    std::array<char, 80> words{};
    std::snprintf(words.data(), words.size(), "This is a netCDF dimension but not a netCDF variable.%10zu", size);
    hdf5::write_fixed_attribute(set, "NAME", labelled ? columns.name : words.data());
    if (!labelled) return;
    hdf5::write_attribute(set, "units", columns.unit);
    hdf5::write_attribute(set, "long_name", columns.meaning);
  }

  hid_t group_;
  std::set<std::string> made_;
};

/// What stands over the series, so that they can be read without the rest of the file.
void write_heading(hid_t group, const History& history) {
  hdf5::write_attribute(group, "Conventions", "CF-1.10");
  hdf5::write_attribute(group, "title", history.scenario().name);
  hdf5::write_attribute(group, "status", std::string(to_string(history.status())));
  hdf5::write_attribute(group, "capsim_version", history.version());
  std::string all;
  for (const std::string& caution : cautions_of(history)) all += (all.empty() ? "" : " ") + caution;
  hdf5::write_attribute(group, "caution", all);
}

void write_series(hid_t file, const History& history) {
  const hdf5::Handle group = hdf5::make_group(file, "series");
  write_heading(group, history);
  Dimensions dimensions_of(group);
  std::int64_t position = 0;
  for (const Series& series : history.all_series()) {
    if (series.name.find('/') != std::string::npos || series.name == ".")
      throw hdf5::Failure("series name \"" + series.name + "\" can't be a dataset name");
    hdf5::Shape shape{history.rows()};
    if (series.columns != 1) shape.push_back(series.columns);
    const hdf5::Handle set = hdf5::write_doubles(group, series.name, shape, series.values.data());
    hdf5::write_attribute(set, "units", series.unit);
    hdf5::write_attribute(set, "long_name", series.description);
    hdf5::write_attribute(set, "dimensions", std::string(dimensions(series.axis)));
    hdf5::write_attribute(set, "axis", std::string(to_string(series.axis)));
    hdf5::write_attribute(set, "position", position++);
    if (series.name != "day" && series.name != "event_side")
      hdf5::write_attribute(set, "coordinates", "day event_side");
    dimensions_of.name(set, series, history.rows());
  }
}

void write_cuts(hid_t file, const std::vector<CutRecord>& cuts) {
  const hdf5::Handle group = hdf5::make_group(file, "cuts");
  for (const auto& field : cut_fields) {
    std::vector<double> values;
    for (const CutRecord& cut : cuts) values.push_back(cut.*field.member);
    const hdf5::Handle set = hdf5::write_doubles(group, field.name, {values.size()}, values.data());
    hdf5::write_attribute(set, "units", field.unit);
  }
}

void write_diagnostics(hid_t file, const Diagnostics& diagnostics) {
  const hdf5::Handle group = hdf5::make_group(file, "diagnostics");
  for (const DiagnosticField& field : diagnostic_fields()) {
    const std::string name(field.name);
    const double value = field.of(diagnostics);
    const hdf5::Handle set = field.count != nullptr ? hdf5::write_integer(group, name, diagnostics.*field.count)
                                                    : hdf5::write_doubles(group, name, {}, &value);
    hdf5::write_attribute(set, "units", std::string(field.unit));
  }
}

/// The scenario as text; refuses one that could not be read back.
std::string scenario_text_of(const History& history) {
  const std::string text = history.scenario().to_json();
  try {
    if (Scenario::from_json(text) == history.scenario()) return text;
  } catch (const ScenarioError& error) {
    throw hdf5::Failure(std::string("its scenario is not valid: ") + error.what());
  }
  throw hdf5::Failure("its scenario does not survive being written as JSON");
}

std::vector<char> image_of(const History& history) {
  const std::string scenario_text = scenario_text_of(history);
  const hdf5::Session session;
  const hdf5::Handle file = hdf5::create_image();
  hdf5::write_attribute(file, "format", std::string(format_name));
  hdf5::write_attribute(file, "format_version", format_version);
  hdf5::write_attribute(file, "capsim_version", history.version());
  hdf5::write_attribute(file, "written_by_commit", std::string(commit()));
  hdf5::write_attribute(file, "written_by_build", std::string(build()));
  hdf5::write_attribute(file, "status", std::string(to_string(history.status())));
  hdf5::write_attribute(file, "message", history.message());
  hdf5::write_attribute(file, "checksum", checksum_of(history, scenario_text));
  hdf5::write_text(file, "scenario", scenario_text);
  hdf5::write_texts(file, "cautions", cautions_of(history));
  write_series(file, history);
  write_cuts(file, history.cuts());
  write_diagnostics(file, history.diagnostics());
  std::vector<char> bytes = hdf5::image_bytes(file);
  add_seal(bytes);
  return bytes;
}

// ------------------------------------------------------------------------------------ reading

Status status_named(const std::string& name) {
  for (const StatusEntry& entry : statuses())
    if (entry.name == name) return entry.status;
  throw hdf5::Failure("its status \"" + name + "\" is unknown");
}

void check_format(hid_t file) {
  if (!hdf5::has_attribute(file, "format") || hdf5::read_text_attribute(file, "format") != format_name)
    throw hdf5::Failure("it is an HDF5 file, but not a result of capsim");
  const std::int64_t version = hdf5::read_integer_attribute(file, "format_version");
  if (version > format_version)
    throw hdf5::Failure("it has format version " + std::to_string(version) + ", and capsim " +
                        std::string(capsim::version()) + " reads up to version " + std::to_string(format_version) +
                        ": read it with a newer capsim");
  if (version < 1)
    throw hdf5::Failure("it has format version " + std::to_string(version) +
                        ", and there is none before 1: damaged or edited, " + "run its scenario again");
}

/// What the columns are; a file from before this was written is told from the list.
Axis axis_of(hid_t set, std::string_view name) {
  if (hdf5::has_attribute(set, "axis")) return axis_named(hdf5::read_text_attribute(set, "axis"));
  for (const Observable& known : observables())
    if (known.name == name) return known.axis;
  return Axis::other;
}

Series read_one_series(hid_t group, const std::string& name, std::int64_t& position) {
  const std::string path = "/series/" + name;
  const hdf5::Handle set = hdf5::open_dataset(group, name);
  const hdf5::Shape shape = hdf5::shape_of(set, path);
  const bool is_column = shape.size() == 1;
  if (!is_column && !(shape.size() == 2 && shape[1] != 1))
    throw hdf5::Failure(path + " has the wrong shape: it should be rows, or rows x columns");
  position = hdf5::read_integer_attribute(set, "position");
  Series series;
  series.name = name;
  series.unit = hdf5::read_text_attribute(set, "units");
  series.description = hdf5::read_text_attribute(set, "long_name");
  series.columns = is_column ? 1 : static_cast<std::size_t>(shape[1]);
  series.values = hdf5::read_doubles(set, path);
  series.axis = axis_of(set, name);
  return series;
}

std::vector<Series> read_series(hid_t file) {
  const hdf5::Handle group = hdf5::open_group(file, "series");
  std::map<std::int64_t, Series> by_position;
  for (const std::string& name : hdf5::names_in(group, "/series")) {
    if (hdf5::has_attribute(hdf5::open_dataset(group, name), "CLASS")) continue;  // a dimension; none in version 1
    std::int64_t position = 0;
    Series series = read_one_series(group, name, position);
    if (!by_position.emplace(position, std::move(series)).second)
      throw hdf5::Failure("two series have position " + std::to_string(position));
  }
  std::vector<Series> all;
  for (auto& [position, series] : by_position) all.push_back(std::move(series));
  for (const char* required : {"day", "event_side"})
    if (std::none_of(all.begin(), all.end(), [&](const Series& s) { return s.name == required; }))
      throw hdf5::Failure(std::string("dataset /series/") + required + " is missing");
  return all;
}

std::vector<CutRecord> read_cuts(hid_t file) {
  const hdf5::Handle group = hdf5::open_group(file, "cuts");
  std::optional<std::vector<CutRecord>> cuts;
  for (const auto& field : cut_fields) {
    const std::string path = std::string("/cuts/") + field.name;
    const hdf5::Handle set = hdf5::open_dataset(group, field.name);
    if (hdf5::shape_of(set, path).size() != 1) throw hdf5::Failure(path + " has the wrong shape");
    const std::vector<double> values = hdf5::read_doubles(set, path);
    if (!cuts) cuts.emplace(values.size());
    if (values.size() != cuts->size()) throw hdf5::Failure("the datasets of /cuts differ in length");
    for (std::size_t i = 0; i < values.size(); ++i) (*cuts)[i].*field.member = values[i];
  }
  return std::move(*cuts);
}

Diagnostics read_diagnostics(hid_t file) {
  const hdf5::Handle group = hdf5::open_group(file, "diagnostics");
  Diagnostics diagnostics;
  for (std::size_t k = 0; k < diagnostic_fields().size(); ++k) {
    const DiagnosticField& field = diagnostic_fields()[k];
    const std::string name(field.name);
    if (k >= first_diagnostics && !hdf5::has_link(group, name)) continue;  // an older file
    if (field.count != nullptr)
      diagnostics.*field.count = static_cast<long>(hdf5::read_integer(group, name));
    else
      diagnostics.*field.number = hdf5::read_double(group, name);
  }
  return diagnostics;
}

/// HDF5 may start with a block of the user's own of 512, 1024, 2048 ... bytes.
bool looks_like_hdf5(const std::vector<char>& bytes) {
  constexpr std::string_view signature("\x89HDF\r\n\x1a\n", 8);
  const std::string_view all(bytes.data(), bytes.size());
  for (std::size_t at = 0; at < all.size(); at = at == 0 ? 512 : 2 * at)
    if (all.substr(at).starts_with(signature)) return true;
  return false;
}

History history_in(std::vector<char>& bytes, bool edited) {
  const bool whole = unsealed(bytes);
  if (!looks_like_hdf5(bytes)) throw hdf5::Failure("it is not an HDF5 file");
  if (!whole && !edited)
    throw hdf5::Failure(
        "it has no seal at its end: it is damaged, or another program has changed it; where that has only added to it, "
        "load "
        "it as edited");
  const hdf5::Session session;
  const hdf5::Handle file = hdf5::open_image(bytes);
  check_format(file);
  const std::string scenario_text = hdf5::read_text(file, "scenario");
  const Status status = status_named(hdf5::read_text_attribute(file, "status"));
  History history = History::assemble(
      Scenario::from_json(scenario_text), status, hdf5::read_text_attribute(file, "message"),
      hdf5::read_text_attribute(file, "capsim_version"), read_diagnostics(file), read_cuts(file), read_series(file));
  if (hdf5::read_text_attribute(file, "checksum") != checksum_of(history, scenario_text))
    throw hdf5::Failure("its contents are not those that were written: damaged or edited, the checksum does not agree");
  return history;
}

}  // namespace

void save(const History& history, const std::string& path) {
  try {
    const std::vector<char> bytes = image_of(history);
    Replacement replacement(target_of(path));
    replacement.write(bytes);
    replacement.move_into_place();
  } catch (const hdf5::Failure& failure) {
    throw ResultsFileError("can't write " + path + ": " + failure.what());
  } catch (const DiskFailure& failure) {
    throw ResultsFileError("can't write " + path + ": " + failure.what());
  }
}

History load(const std::string& path, bool edited) {
  try {
    std::vector<char> bytes = read_all(path);
    return history_in(bytes, edited);
  } catch (const hdf5::Failure& failure) {
    throw ResultsFileError("can't read " + path + ": " + failure.what());
  } catch (const DiskFailure& failure) {
    throw ResultsFileError("can't read " + path + ": " + failure.what());
  } catch (const ScenarioError& error) {
    throw ResultsFileError("can't read " + path + ": its scenario is not valid: " + error.what());
  } catch (const InternalError& error) {
    throw ResultsFileError("can't read " + path + ": it is damaged: " + error.what());
  } catch (const std::bad_alloc&) {
    throw ResultsFileError("can't read " + path + ": it does not fit in memory");
  }
}

}  // namespace capsim
