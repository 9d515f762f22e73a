// SPDX-License-Identifier: BSD-3-Clause
#include <hdf5.h>
#include <sys/resource.h>
#include <unistd.h>

#include <bit>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdint>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <limits>
#include <string>
#include <thread>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/results_file.hpp"
#include "sample_history.hpp"

using namespace capsim;
namespace fs = std::filesystem;

namespace {

/// A folder of its own that is gone after the test.
class Folder {
 public:
  Folder() {
    std::string name = (fs::temp_directory_path() / "capsim results XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~Folder() { fs::remove_all(path_); }
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
  [[nodiscard]] std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(path_), fs::directory_iterator()));
  }

 private:
  fs::path path_;
};

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void write_bytes(const std::string& path, const std::string& bytes) { std::ofstream(path, std::ios::binary) << bytes; }

/// Bits, so that NaN equals NaN and 0 differs from -0.
std::vector<std::uint64_t> bits_of(const std::vector<double>& values) {
  std::vector<std::uint64_t> bits;
  for (const double value : values) bits.push_back(std::bit_cast<std::uint64_t>(value));
  return bits;
}

void check_equal(const History& a, const History& b) {
  CHECK(a.status() == b.status());
  CHECK(a.message() == b.message());
  CHECK(a.version() == b.version());
  CHECK(a.scenario() == b.scenario());
  CHECK(a.rows() == b.rows());
  REQUIRE(a.all_series().size() == b.all_series().size());
  for (std::size_t i = 0; i < a.all_series().size(); ++i) {
    const Series& one = a.all_series()[i];
    const Series& other = b.all_series()[i];
    CHECK(one.name == other.name);
    CHECK(one.unit == other.unit);
    CHECK(one.description == other.description);
    CHECK(one.columns == other.columns);
    CHECK(bits_of(one.values) == bits_of(other.values));
  }
  REQUIRE(a.cuts().size() == b.cuts().size());
  for (std::size_t i = 0; i < a.cuts().size(); ++i) {
    CHECK(a.cuts()[i].hour == b.cuts()[i].hour);
    CHECK(a.cuts()[i].length_mm == b.cuts()[i].length_mm);
    CHECK(a.cuts()[i].length_on_day_mm == b.cuts()[i].length_on_day_mm);
    CHECK(a.cuts()[i].day == b.cuts()[i].day);
  }
  const Diagnostics &d = a.diagnostics(), &e = b.diagnostics();
  CHECK(d.steps == e.steps);
  CHECK(d.rejected_steps == e.rejected_steps);
  CHECK(d.right_hand_sides == e.right_hand_sides);
  CHECK(d.equilibria == e.equilibria);
  CHECK(d.newton_iterations == e.newton_iterations);
  CHECK(d.max_newton_iterations == e.max_newton_iterations);
  CHECK(d.factorizations == e.factorizations);
  CHECK(d.projected_factorizations == e.projected_factorizations);
  const auto reals = [](const Diagnostics& x) {
    return bits_of({x.residual_mN, x.tolerance_mN, x.worst_element_hour, x.worst_element_ratio, x.last_good_day,
                    x.wall_seconds, x.seconds_elements, x.seconds_factor, x.seconds_solve});
  };
  CHECK(reals(d) == reals(e));
}

/// Saves the sample, lets `change` edit it as another HDF5 program would, and returns why it is refused.
std::string refusal_after(const std::function<void(hid_t)>& change) {
  const Folder folder;
  const std::string path = folder.file("edited.h5");
  save(sample::history(), path);
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
  REQUIRE(file >= 0);
  change(file);
  REQUIRE(H5Fclose(file) >= 0);
  try {
    (void)load(path, true);
  } catch (const ResultsFileError& error) {
    CHECK_THAT(error.what(), Catch::Contains(path));
    return error.what();
  }
  return "not refused";
}

void set_format_version(hid_t file, int version) {
  const hid_t attribute = H5Aopen(file, "format_version", H5P_DEFAULT);
  CHECK(H5Awrite(attribute, H5T_NATIVE_INT, &version) >= 0);
  H5Aclose(attribute);
}

/// Replaces a dataset by one of zeros of another shape or type, its attributes lost or kept.
void replace_dataset(hid_t file, const char* name, hid_t type, const std::vector<hsize_t>& shape) {
  CHECK(H5Ldelete(file, name, H5P_DEFAULT) >= 0);
  const hid_t space = H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr);
  const hid_t set = H5Dcreate2(file, name, type, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
  CHECK(set >= 0);
  H5Dclose(set);
  H5Sclose(space);
}

}  // namespace

TEST_CASE("load_gives_back_what_save_was_given", "[results_file]") {
  const Folder folder;
  const std::string path = folder.file("run.h5");
  save(sample::history(), path);
  check_equal(load(path), sample::history());
  CHECK(folder.entries() == 1);
}

TEST_CASE("every_status_survives_the_file", "[results_file]") {
  const Folder folder;
  for (const Status status : {Status::completed, Status::cancelled, Status::no_equilibrium, Status::folded_element,
                              Status::too_many_steps, Status::non_finite}) {
    save(sample::history_of(sample::series(), status), folder.file("run.h5"));
    CHECK(load(folder.file("run.h5")).status() == status);
  }
}

TEST_CASE("odd_numbers_survive_the_file_bit_for_bit", "[results_file]") {
  const Folder folder;
  std::vector<Series> series = sample::series();
  const double marked_nan = std::bit_cast<double>(std::uint64_t{0x7ff8000000abcdef});
  series[2].values = {marked_nan, -0.0, std::numeric_limits<double>::infinity(),
                      std::numeric_limits<double>::denorm_min(), std::numeric_limits<double>::max()};
  const History history = sample::history_of(series);
  save(history, folder.file("run.h5"));
  check_equal(load(folder.file("run.h5")), history);
}

TEST_CASE("history_without_rows_or_cuts_survives_the_file", "[results_file]") {
  const Folder folder;
  const History history = sample::history_of(
      {{"day", "day", "", 1, {}}, {"event_side", "1", "", 1, {}}, {"zonule_load_mN", "mN", "", 12, {}}},
      Status::no_equilibrium, {});
  save(history, folder.file("run.h5"));
  check_equal(load(folder.file("run.h5")), history);
}

TEST_CASE("series_of_no_columns_survives_the_file", "[results_file]") {
  const Folder folder;
  std::vector<Series> series = sample::series();
  series.push_back({"cut_gape_mm", "mm", "Gap of each cut.", 0, {}});
  const History history = sample::history_of(series);
  save(history, folder.file("run.h5"));
  check_equal(load(folder.file("run.h5")), history);
}

TEST_CASE("scenario_longer_than_an_attribute_survives_the_file", "[results_file]") {
  const Folder folder;
  Scenario scenario = sample::scenario();
  scenario.opening.outline_mm.clear();
  for (int i = 0; i < 2000; ++i) {  // 80 kB of JSON: HDF5 refuses attributes above 64 KiB
    const double angle = 2 * pi * i / 2000;
    scenario.opening.outline_mm.push_back({2.6 * std::cos(angle), 2.6 * std::sin(angle)});
  }
  REQUIRE(scenario.to_json().size() > 65536);
  const History history =
      History::assemble(scenario, Status::completed, std::string(70000, 'm'), "0.1.0", {}, {}, sample::series());
  save(history, folder.file("run.h5"));
  check_equal(load(folder.file("run.h5")), history);
}

TEST_CASE("file_in_place_is_replaced_through_a_link_with_its_permissions", "[results_file]") {
  const Folder folder;
  write_bytes(folder.file("real.h5"), "old");
  fs::permissions(folder.file("real.h5"), fs::perms::owner_read | fs::perms::owner_write);
  fs::create_symlink("real.h5", folder.file("link.h5"));
  save(sample::history(), folder.file("link.h5"));
  CHECK(fs::is_symlink(folder.file("link.h5")));
  check_equal(load(folder.file("real.h5")), sample::history());
  CHECK(fs::status(folder.file("real.h5")).permissions() == (fs::perms::owner_read | fs::perms::owner_write));
  CHECK(folder.entries() == 2);
}

TEST_CASE("path_that_can_not_hold_a_file_is_refused", "[results_file]") {
  const Folder folder;
  CHECK_THROWS_AS(save(sample::history(), folder.file("no such folder/run.h5")), ResultsFileError);
  CHECK_THROWS_AS(save(sample::history(), folder.file("")), ResultsFileError);
  CHECK_THROWS_AS(save(sample::history(), ""), ResultsFileError);
  fs::create_directory(folder.file("folder.h5"));
  CHECK_THROWS_AS(save(sample::history(), folder.file("folder.h5")), ResultsFileError);
  CHECK_THROWS_AS(save(sample::history(), "/dev/null"), ResultsFileError);
  CHECK(fs::is_character_file("/dev/null"));
  CHECK(folder.entries() == 1);
}

TEST_CASE("failing_write_leaves_the_old_file_and_nothing_else", "[results_file]") {
  const Folder folder;
  const std::string path = folder.file("run.h5");
  save(sample::history(), path);
  const std::string before = bytes_of(path);
  std::vector<Series> series = sample::series();
  series[2].values.assign(sample::rows, -1);

  rlimit old{};
  REQUIRE(::getrlimit(RLIMIT_FSIZE, &old) == 0);
  const auto old_handler = std::signal(SIGXFSZ, SIG_IGN);
  const rlimit small{4096, old.rlim_max};  // no file may grow beyond 4 kB: as on a full disk
  REQUIRE(::setrlimit(RLIMIT_FSIZE, &small) == 0);
  std::string reason = "written";
  try {
    save(sample::history_of(series), path);
  } catch (const ResultsFileError& error) {
    reason = error.what();
  }
  ::setrlimit(RLIMIT_FSIZE, &old);
  std::signal(SIGXFSZ, old_handler);

  CHECK_THAT(reason, Catch::Contains(path) && Catch::Contains("File too large"));
  CHECK(bytes_of(path) == before);
  CHECK(folder.entries() == 1);
}

TEST_CASE("history_that_could_not_be_read_back_is_not_written", "[results_file]") {
  const Folder folder;
  Scenario scenario = sample::scenario();
  scenario.duration_days = std::nan("");
  const auto with = [](const Scenario& s, const std::string& message, std::vector<Series> series) {
    return History::assemble(s, Status::completed, message, "0.1.0", {}, {}, std::move(series));
  };
  CHECK_THROWS_AS(save(with(scenario, "", sample::series()), folder.file("a.h5")), ResultsFileError);
  CHECK_THROWS_WITH(save(with(sample::scenario(), std::string("a\0b", 3), sample::series()), folder.file("a.h5")),
                    Catch::Contains("NUL"));
  std::vector<Series> series = sample::series();
  series[2].name = "a/b";
  CHECK_THROWS_WITH(save(with(sample::scenario(), "", series), folder.file("a.h5")), Catch::Contains("a/b"));
  CHECK(folder.entries() == 0);
}

TEST_CASE("file_that_is_not_ours_is_refused_with_its_reason", "[results_file]") {
  const Folder folder;
  CHECK_THROWS_WITH(load(folder.file("nothing.h5")), Catch::Contains("No such file"));
  CHECK_THROWS_WITH(load(folder.file("")), Catch::Contains("not a regular file"));
  write_bytes(folder.file("empty.h5"), "");
  CHECK_THROWS_WITH(load(folder.file("empty.h5")), Catch::Contains("not an HDF5 file"));
  write_bytes(folder.file("text.h5"), std::string(5000, 'x'));
  CHECK_THROWS_WITH(load(folder.file("text.h5")), Catch::Contains("not an HDF5 file"));
  const hid_t other = H5Fcreate(folder.file("other.h5").c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT);
  REQUIRE(H5Fclose(other) >= 0);
  CHECK_THROWS_WITH(load(folder.file("other.h5")), Catch::Contains("no seal"));
  CHECK_THROWS_WITH(load(folder.file("other.h5"), true), Catch::Contains("not a result of capsim"));
}

TEST_CASE("other_format_is_refused_with_advice", "[results_file]") {
  CHECK_THAT(refusal_after([](hid_t file) { set_format_version(file, 3); }),
             Catch::EndsWith("it has format version 3, and capsim " CAPSIM_EXPECTED_VERSION
                             " reads up to version 2: read it with a newer capsim"));
  CHECK_THAT(refusal_after([](hid_t file) { set_format_version(file, 0); }),
             Catch::EndsWith(
                 "it has format version 0, and there is none before 1: damaged or edited, run its scenario again"));
}

TEST_CASE("missing_pieces_are_named", "[results_file]") {
  for (const char* name : {"scenario", "series", "cuts", "diagnostics", "series/day", "series/event_side", "cuts/hour",
                           "diagnostics/steps", "diagnostics/wall_seconds"}) {
    const std::string piece = fs::path(name).filename().string();
    CHECK_THAT(refusal_after([&](hid_t file) { CHECK(H5Ldelete(file, name, H5P_DEFAULT) >= 0); }),
               Catch::Contains(piece + " is missing"));
  }
  for (const char* name : {"format_version", "status", "message", "capsim_version", "checksum"})
    CHECK_THAT(refusal_after([&](hid_t file) { CHECK(H5Adelete(file, name) >= 0); }),
               Catch::Contains(std::string("attribute ") + name + " is missing"));
}

TEST_CASE("missing_series_is_noticed", "[results_file]") {
  const std::string reason =
      refusal_after([](hid_t file) { CHECK(H5Ldelete(file, "series/opening_area_mm2", H5P_DEFAULT) >= 0); });
  CHECK_THAT(reason, Catch::Contains("checksum"));
}

TEST_CASE("wrong_shapes_and_types_are_refused", "[results_file]") {
  const auto replaced = [](const char* name, hid_t type, const std::vector<hsize_t>& shape) {
    return refusal_after([&](hid_t file) { replace_dataset(file, name, type, shape); });
  };
  CHECK_THAT(replaced("series/opening_area_mm2", H5T_IEEE_F64LE, {5, 1, 1}), Catch::Contains("wrong shape"));
  CHECK_THAT(replaced("series/opening_area_mm2", H5T_IEEE_F64LE, {5, 1}), Catch::Contains("wrong shape"));
  CHECK_THAT(replaced("cuts/hour", H5T_IEEE_F64LE, {2}), Catch::Contains("differ in length"));
  CHECK_THAT(replaced("cuts/hour", H5T_IEEE_F32LE, {1}), Catch::Contains("64-bit floating-point"));
  CHECK_THAT(replaced("cuts/hour", H5T_IEEE_F64LE, {1, 1}), Catch::Contains("wrong shape"));
  CHECK_THAT(replaced("diagnostics/steps", H5T_IEEE_F64LE, {1}), Catch::Contains("not a signed integer"));
  CHECK_THAT(replaced("diagnostics/steps", H5T_STD_I64LE, {1}), Catch::Contains("not a single value"));
  CHECK_THAT(replaced("diagnostics/wall_seconds", H5T_STD_I64LE, {1}), Catch::Contains("not a single value"));
  CHECK_THAT(replaced("scenario", H5T_STD_I64LE, {1}), Catch::Contains("not a variable-length text"));
}

TEST_CASE("file_cut_short_is_refused_wherever_it_was_cut", "[results_file]") {
  const Folder folder;
  save(sample::history(), folder.file("run.h5"));
  const std::string whole = bytes_of(folder.file("run.h5"));
  const std::size_t end_of_data = whole.rfind("\ncapsim-seal ");
  REQUIRE(end_of_data != std::string::npos);
  REQUIRE(end_of_data > 4096);
  for (std::size_t size = 0; size < end_of_data; size += 997) {
    write_bytes(folder.file("cut.h5"), whole.substr(0, size));
    CHECK_THROWS_AS(load(folder.file("cut.h5")), ResultsFileError);
  }
  write_bytes(folder.file("cut.h5"), whole.substr(0, end_of_data - 1));
  CHECK_THROWS_AS(load(folder.file("cut.h5")), ResultsFileError);
  write_bytes(folder.file("cut.h5"), whole.substr(0, end_of_data));  // nothing lost but the seal
  CHECK_THROWS_WITH(load(folder.file("cut.h5")), Catch::Contains("no seal"));
  check_equal(load(folder.file("cut.h5"), true), sample::history());
}

TEST_CASE("damaged_file_whose_seal_is_damaged_too_never_reaches_hdf5", "[results_file]") {
  // Found by fuzz_result: HDF5 1.10 follows a length of zero in the heap of texts for ever.
  const Folder folder;
  save(sample::history(), folder.file("run.h5"));
  std::string bytes = bytes_of(folder.file("run.h5"));
  const std::size_t heap = bytes.find("GCOL");
  REQUIRE(heap != std::string::npos);
  for (std::size_t at = heap + 16; at < heap + 48; ++at) bytes[at] = '\0';
  bytes[bytes.rfind("capsim-seal")] = 'C';
  write_bytes(folder.file("run.h5"), bytes);
  CHECK_THROWS_WITH(load(folder.file("run.h5")), Catch::Contains("no seal"));
}

TEST_CASE("the_same_run_saved_in_another_second_has_the_same_bytes", "[results_file]") {
  const Folder folder;
  const capsim::History history = sample::history();
  save(history, folder.file("run.h5"));
  const std::time_t then = std::time(nullptr);
  while (std::time(nullptr) == then) std::this_thread::sleep_for(std::chrono::milliseconds(20));
  save(history, folder.file("later.h5"));
  CHECK(bytes_of(folder.file("later.h5")) == bytes_of(folder.file("run.h5")));
}

TEST_CASE("flipped_bit_anywhere_is_noticed_before_hdf5_reads_it", "[results_file]") {
  const Folder folder;
  save(sample::history(), folder.file("run.h5"));
  const std::string whole = bytes_of(folder.file("run.h5"));
  const std::size_t end_of_data = whole.rfind("\ncapsim-seal ");
  REQUIRE(end_of_data != std::string::npos);
  for (std::size_t at = 0; at < end_of_data; at += 101) {
    std::string bytes = whole;
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << at % 8));
    write_bytes(folder.file("flipped.h5"), bytes);
    CHECK_THROWS_WITH(load(folder.file("flipped.h5")), Catch::Contains("damaged"));
  }
}

TEST_CASE("value_edited_by_another_program_is_noticed", "[results_file]") {
  const std::string reason = refusal_after([](hid_t file) {
    const hid_t set = H5Dopen2(file, "series/opening_area_mm2", H5P_DEFAULT);
    const std::vector<double> edited{21.6, 19.5, 20.25, 20.0, 19.7500001};
    CHECK(H5Dwrite(set, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, edited.data()) >= 0);
    H5Dclose(set);
  });
  CHECK_THAT(reason, Catch::Contains("edited"));
}

TEST_CASE("note_added_by_another_program_does_no_harm", "[results_file]") {
  CHECK(refusal_after([](hid_t file) {
          const hid_t group = H5Gcreate2(file, "my notes", H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
          CHECK(H5Gclose(group) >= 0);
        }) == "not refused");
}

TEST_CASE("cautions_are_in_the_file", "[results_file]") {
  const Folder folder;
  save(sample::history(), folder.file("run.h5"));
  const std::string bytes = bytes_of(folder.file("run.h5"));
  CHECK(bytes.find(std::string(research_caution())) != std::string::npos);
  CHECK(bytes.find(std::string(relaxing_cut_caution())) != std::string::npos);
}

TEST_CASE("error_stack_of_the_host_is_left_as_it_was", "[results_file]") {
  const Folder folder;
  static int calls;
  const H5E_auto2_t mine = [](hid_t, void* data) -> herr_t {
    ++*static_cast<int*>(data);
    return 0;
  };
  H5E_auto2_t old = nullptr;
  void* old_data = nullptr;
  H5Eget_auto2(H5E_DEFAULT, &old, &old_data);
  calls = 0;
  H5Eset_auto2(H5E_DEFAULT, mine, &calls);
  CHECK(H5Fopen(folder.file("none").c_str(), H5F_ACC_RDONLY, H5P_DEFAULT) < 0);
  CHECK(calls == 1);
  const auto depth = H5Eget_num(H5E_DEFAULT);
  CHECK(depth > 0);

  write_bytes(folder.file("cut.h5"), "\x89HDF\r\n\x1a\n and no more");
  CHECK_THROWS_AS(load(folder.file("cut.h5")), ResultsFileError);
  save(sample::history(), folder.file("run.h5"));

  CHECK(calls == 1);
  CHECK(H5Eget_num(H5E_DEFAULT) == depth);
  H5E_auto2_t now = nullptr;
  void* now_data = nullptr;
  H5Eget_auto2(H5E_DEFAULT, &now, &now_data);
  CHECK(now == mine);
  CHECK(now_data == &calls);
  H5Eset_auto2(H5E_DEFAULT, old, old_data);
}

TEST_CASE("no_identifier_stays_open", "[results_file]") {
  const Folder folder;
  save(sample::history(), folder.file("run.h5"));
  (void)load(folder.file("run.h5"));
  (void)refusal_after([](hid_t file) { H5Ldelete(file, "series/day", H5P_DEFAULT); });
  CHECK(H5Fget_obj_count(H5F_OBJ_ALL, H5F_OBJ_ALL) == 0);
}

TEST_CASE("threads_may_save_and_load_at_once", "[results_file]") {
  const Folder folder;
  const History history = sample::history();
  std::vector<std::string> reasons(4);
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < reasons.size(); ++i)
    threads.emplace_back([&, i] {
      try {
        for (int round = 0; round < 20; ++round) {
          const std::string own = folder.file(std::to_string(i));
          save(history, own);
          save(history, folder.file("shared"));
          if (load(own).rows() != history.rows() || load(folder.file("shared")).rows() != history.rows())
            reasons[i] = "rows differ";
        }
      } catch (const std::exception& error) {
        reasons[i] = error.what();
      }
    });
  for (std::thread& thread : threads) thread.join();
  CHECK(reasons == std::vector<std::string>(4));
  CHECK(folder.entries() == 5);
}
