// SPDX-License-Identifier: BSD-3-Clause
// The library is a good guest in other programs: it prints nothing, changes nothing of the host's,
// starts no thread, keeps no memory, and gives the same bytes whoever else is running.
#include <dirent.h>
#include <fcntl.h>
#include <malloc.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <bit>
#include <catch2/catch.hpp>
#include <cfenv>
#include <clocale>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <locale>
#include <map>
#include <new>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "capsim/outcomes.hpp"
#include "capsim/results_file.hpp"
#include "capsim/scenario_schema.hpp"
#include "capsim/simulation.hpp"

#if CAPSIM_HAS_RESULTS_FILE
#include <hdf5.h>
#endif

extern char** environ;

using namespace capsim;
namespace fs = std::filesystem;

namespace {

/// Eyes that differ in all that changes the course of the calculation: number 0 to 7.
Scenario eye(int number) {
  Scenario s;
  s.name = "guest " + std::to_string(number);
  s.duration_days = 20;
  s.output_every_days = 10;
  s.mesh = MeshSpec::coarse();
  s.opening.diameter_mm = 4.6 + 0.1 * number;
  if (number % 2 == 1) s.zonule.strength_by_hour = {{3 + number, 0.3}};
  if (number % 4 == 2) s.capsule.law = CapsuleLaw::fung;
  if (number % 4 == 3) s.lens.reset();
  if (number == 4) s.tension_ring = TensionRingSpec{};
  if (number >= 5) s.events.push_back({12, RelaxingCuts{{12, 6}, 0.5}});
  return s;
}
constexpr int eyes = 8;

/// All numbers and texts of a result, but for the time it took.
std::string bytes_of(const History& history) {
  std::string bytes(to_string(history.status()));
  bytes += history.message() + history.version() + history.scenario().to_json();
  const auto add = [&bytes](double value) {
    const auto word = std::bit_cast<std::array<char, sizeof(double)>>(value);
    bytes.append(word.data(), word.size());
  };
  for (const Series& series : history.all_series()) {
    bytes += series.name + series.unit + series.description;
    for (const double value : series.values) add(value);
  }
  const Outcomes all = outcomes(history);
  for (const Outcome& outcome : all.values) {
    bytes += outcome.name;
    add(outcome.value);
  }
  for (const Flag& flag : all.flags) bytes += flag.code + flag.text;
  for (const std::string& caution : all.cautions) bytes += caution;
  return bytes;
}

/// Everything that a host does with the library: runs, failures, wrong input, files, damaged files.
void use_the_library() {
  const std::string path =
      (fs::temp_directory_path() / ("capsim guest " + std::to_string(::getpid()) + ".h5")).string();
  const History good = simulate(eye(5));
  REQUIRE(good.status() == Status::completed);
  (void)outcomes(good);
  Scenario hurried = eye(1);
  hurried.numerics.max_steps = 2;
  REQUIRE(simulate(hurried).status() == Status::too_many_steps);
  REQUIRE(simulate(eye(0), [](const Progress&) { return false; }).status() == Status::cancelled);
  CHECK_THROWS_AS(Scenario::from_json("{\"format\": NaN"), ScenarioError);
  CHECK_THROWS_AS(Scenario::from_file("/no/such/file"), ScenarioError);
  (void)scenario_schema();
#if CAPSIM_HAS_RESULTS_FILE
  save(good, path);
  CHECK(bytes_of(load(path)) == bytes_of(good));
  std::ofstream(path, std::ios::binary) << "not a result";
  CHECK_THROWS_AS(load(path), ResultsFileError);
  CHECK_THROWS_AS(load("/no/such/file"), ResultsFileError);
  CHECK_THROWS_AS(save(good, "/no/such/folder/x.h5"), ResultsFileError);
#endif
  fs::remove(path);
}

std::vector<std::string> entries_of(const char* folder) {
  std::vector<std::string> names;
  DIR* open = ::opendir(folder);
  REQUIRE(open != nullptr);
  const std::string own = std::to_string(::dirfd(open));
  while (const dirent* entry = ::readdir(open))
    if (own != entry->d_name) names.emplace_back(entry->d_name);
  ::closedir(open);
  std::sort(names.begin(), names.end());
  return names;
}

#if CAPSIM_HAS_RESULTS_FILE
/// The host's own handler of HDF5's errors, for as long as this lives.
class HandlerOfHdf5 {
 public:
  HandlerOfHdf5() {
    H5Eget_auto2(H5E_DEFAULT, &old_, &old_data_);
    H5Eset_auto2(H5E_DEFAULT, &of_the_host, this);
  }
  ~HandlerOfHdf5() { H5Eset_auto2(H5E_DEFAULT, old_, old_data_); }
  HandlerOfHdf5(const HandlerOfHdf5&) = delete;
  HandlerOfHdf5& operator=(const HandlerOfHdf5&) = delete;
  [[nodiscard]] static std::string as_text() {
    H5E_auto2_t handler = nullptr;
    void* data = nullptr;
    H5Eget_auto2(H5E_DEFAULT, &handler, &data);
    return std::to_string(std::bit_cast<std::uintptr_t>(handler)) + ' ' +
           std::to_string(std::bit_cast<std::uintptr_t>(data));
  }

 private:
  static herr_t of_the_host(hid_t, void*) { return 0; }
  H5E_auto2_t old_ = nullptr;
  void* old_data_ = nullptr;
};
#else
struct HandlerOfHdf5 {
  HandlerOfHdf5() {}
  [[nodiscard]] static std::string as_text() { return "no HDF5 here"; }
};
#endif

std::size_t thread_count() { return entries_of("/proc/self/task").size(); }

/// What belongs to the host, as text: equal texts, equal states.
std::map<std::string, std::string> state_of_the_host() {
  std::map<std::string, std::string> state;
  state["C locale"] = std::setlocale(LC_ALL, nullptr);
  state["C++ locale"] = std::locale().name() + (std::use_facet<std::numpunct<char>>(std::locale()).decimal_point());
  std::ostringstream handlers;
  for (int number = 1; number < NSIG; ++number) {
    struct sigaction action{};
    if (::sigaction(number, nullptr, &action) == 0)
      handlers << number << ':' << reinterpret_cast<void*>(action.sa_handler) << ',' << action.sa_flags << ' ';
  }
  state["signal handlers"] = handlers.str();
  sigset_t mask;
  ::sigprocmask(SIG_SETMASK, nullptr, &mask);
  std::string blocked;
  for (int number = 1; number < NSIG; ++number) blocked += ::sigismember(&mask, number) == 1 ? '1' : '0';
  state["blocked signals"] = blocked;
  state["rounding"] = std::to_string(std::fegetround());
#ifdef __GLIBC__
  state["floating-point traps"] = std::to_string(::fegetexcept());
#endif
#if defined(__x86_64__)
  constexpr unsigned exception_flags = 0x3f;  // set by any calculation; the rest is control
  state["floating-point control"] = std::to_string(__builtin_ia32_stmxcsr() & ~exception_flags);
#endif
  state["threads"] = std::to_string(thread_count());
  for (const std::string& number : entries_of("/proc/self/fd")) state["open files"] += number + ' ';
  state["folder"] = fs::current_path().string();
  const mode_t mode = ::umask(0);
  ::umask(mode);
  state["umask"] = std::to_string(mode);
  for (char** variable = environ; *variable != nullptr; ++variable) state["environment"] += *variable;
  state["HDF5 error handler"] = HandlerOfHdf5::as_text();
  state["new handler"] = std::to_string(std::bit_cast<std::uintptr_t>(std::get_new_handler()));
  state["terminate handler"] = std::to_string(std::bit_cast<std::uintptr_t>(std::get_terminate()));
  state["stream format"] = std::to_string(std::cout.flags()) + ' ' + std::to_string(std::cout.precision());
  return state;
}

void host_signal_handler(int) {}

/// Numbers with a decimal comma and dots between thousands.
class CommaNumbers : public std::numpunct<char> {
  char do_decimal_point() const override { return ','; }
  char do_thousands_sep() const override { return '.'; }
  std::string do_grouping() const override { return "\3"; }
};

/// The host's locales with a decimal comma, C and C++, for as long as this lives.
class CommaHost {
 public:
  CommaHost() : old_(std::locale::global(std::locale(std::locale(), new CommaNumbers))) {
    std::string name = (fs::temp_directory_path() / "capsim locale XXXXXX").string();
    folder_ = ::mkdtemp(name.data());
    fs::create_directory(folder_ / "comma");
    // Systems for servers have no locale but C: a compiled LC_NUMERIC of our own, as glibc reads it.
    const std::array<std::uint32_t, 8> head{0x20031114, 6, 0x20, 0x22, 0x24, 0x28, 0x2c, 0x30};
    std::string file(reinterpret_cast<const char*>(head.data()), sizeof head);
    file += std::string(",\0.\0\3\3\0\0,\0\0\0.\0\0\0", 16) + "ANSI_X3.4-1968" + '\0';
    std::ofstream(folder_ / "comma" / "LC_NUMERIC", std::ios::binary) << file;
    ::setenv("LOCPATH", folder_.c_str(), 1);
    in_c_ = std::setlocale(LC_NUMERIC, "comma") != nullptr;
  }
  ~CommaHost() {
    std::setlocale(LC_NUMERIC, "C");
    ::unsetenv("LOCPATH");
    std::locale::global(old_);
    fs::remove_all(folder_);
  }
  CommaHost(const CommaHost&) = delete;
  CommaHost& operator=(const CommaHost&) = delete;
  /// True when the C library took the locale: glibc on a little-endian machine.
  [[nodiscard]] bool in_c() const noexcept { return in_c_; }

 private:
  std::locale old_;
  fs::path folder_;
  bool in_c_ = false;
};

}  // namespace

TEST_CASE("host_is_as_it_was_after_everything_the_library_does", "[good_guest]") {
  // A host with settings of its own.
  struct sigaction mine{}, old_interrupt{}, old_trap{};
  mine.sa_handler = host_signal_handler;
  ::sigaction(SIGINT, &mine, &old_interrupt);
  ::sigaction(SIGFPE, &mine, &old_trap);
  const HandlerOfHdf5 own_handler;
  const mode_t old_umask = ::umask(027);
  std::srand(20240229);
  const int wanted_random = std::rand();
  std::srand(20240229);

  const auto before = state_of_the_host();
  use_the_library();
  const auto after = state_of_the_host();
  CHECK(std::rand() == wanted_random);

  ::umask(old_umask);
  ::sigaction(SIGFPE, &old_trap, nullptr);
  ::sigaction(SIGINT, &old_interrupt, nullptr);
  CHECK(before.size() > 10);
  for (const auto& [what, was] : before) {
    INFO(what);
    CHECK(after.at(what) == was);
  }
}

TEST_CASE("nothing_is_printed", "[good_guest]") {
  std::string name = (fs::temp_directory_path() / "capsim printed XXXXXX").string();
  const int file = ::mkstemp(name.data());
  REQUIRE(file >= 0);
  std::cout.flush();
  std::cerr.flush();
  std::fflush(nullptr);
  const int old_out = ::dup(1), old_err = ::dup(2);
  ::dup2(file, 1);
  ::dup2(file, 2);
  // The reporter must not write meanwhile: exceptions are carried out, checks come after.
  std::exception_ptr thrown;
  try {
    use_the_library();
  } catch (...) {
    thrown = std::current_exception();
  }
  std::cout.flush();
  std::cerr.flush();
  std::fflush(nullptr);
  ::dup2(old_out, 1);
  ::dup2(old_err, 2);
  for (const int number : {file, old_out, old_err}) ::close(number);
  std::ifstream printed(name);
  const std::string text{std::istreambuf_iterator<char>(printed), {}};
  fs::remove(name);
  if (thrown) std::rethrow_exception(thrown);
  CHECK(text.empty());
}

TEST_CASE("no_thread_is_started_while_running", "[good_guest]") {
  const std::size_t before = thread_count();
  std::size_t most = 0;
  (void)simulate(eye(0), [&](const Progress&) {
    most = std::max(most, thread_count());
    return true;
  });
  CHECK(most == before);
}

TEST_CASE("eight_threads_give_the_bytes_of_one", "[good_guest]") {
  std::vector<std::string> alone, together(eyes);
  for (int k = 0; k < eyes; ++k) alone.push_back(bytes_of(simulate(eye(k))));
  for (int k = 1; k < eyes; ++k) CHECK(alone[0] != alone[k]);  // they are eight different eyes
  std::vector<std::thread> threads;
  for (int k = 0; k < eyes; ++k) threads.emplace_back([&, k] { together[k] = bytes_of(simulate(eye(k))); });
  for (std::thread& thread : threads) thread.join();
  for (int k = 0; k < eyes; ++k) {
    INFO("eye " << k);
    CHECK(together[k] == alone[k]);
  }
}

TEST_CASE("same_eye_gives_the_same_bytes_again", "[good_guest]") {
  const std::string first = bytes_of(simulate(eye(5)));
  std::vector<std::unique_ptr<std::string>> other_heap;  // so that addresses differ
  for (int k = 0; k < 1000; ++k) other_heap.push_back(std::make_unique<std::string>(100 + k, 'x'));
  (void)simulate(eye(2));
  CHECK(bytes_of(simulate(eye(5))) == first);
}

// Not a test: what the next one runs in other processes.
TEST_CASE("print_bytes_of_an_eye", "[.]") {
  std::cout << "bytes:" << std::hash<std::string>()(bytes_of(simulate(eye(5)))) << '\n';
}

TEST_CASE("other_processes_give_the_same_bytes", "[good_guest]") {
  const std::string wanted = "bytes:" + std::to_string(std::hash<std::string>()(bytes_of(simulate(eye(5)))));
  // With another environment the stack starts elsewhere, and every process has its own addresses.
  for (const char* environment : {"", "CAPSIM_PADDING=xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx "}) {
    const std::string self = fs::read_symlink("/proc/self/exe").string();
    FILE* other = ::popen((environment + ("'" + self + "' print_bytes_of_an_eye")).c_str(), "r");
    REQUIRE(other != nullptr);
    std::string printed;
    for (int c = std::fgetc(other); c != EOF; c = std::fgetc(other)) printed += static_cast<char>(c);
    REQUIRE(::pclose(other) == 0);
    CHECK_THAT(printed, Catch::Contains(wanted));
  }
}

TEST_CASE("locale_of_the_host_changes_no_number_and_no_text", "[good_guest]") {
  const auto everything = [] {
    Scenario cut = eye(5);
    cut.events = {{12.5, RelaxingCuts{{12, 6}, 0.5}}};  // the day is part of the names of its outcomes
    Scenario hurried = eye(1);
    hurried.numerics.max_steps = 2;  // the message says on which day
    Scenario torn = eye(0);
    torn.duration_days = 1;
    torn.zonule.pull_mN = 90;
    torn.zonule.stiffness_mN_per_mm = 320;  // a rim stretched beyond what donor eyes bore
    std::string all = bytes_of(simulate(cut)) + bytes_of(simulate(hurried)) + bytes_of(simulate(torn));
    all += eye(5).to_json() + scenario_schema();
    try {
      (void)Scenario::from_json(R"({"format": "capsim-scenario", "version": 1, "opening": {"diameter_mm": 0.25}})");
    } catch (const ScenarioError& error) {
      all += error.what();
    }
    return all;
  };
  const std::string wanted = everything();
  std::string got;
  bool in_c = false, has_comma = false;
  {
    const CommaHost host;
    in_c = host.in_c();
    char text[16];
    std::snprintf(text, sizeof text, "%.1f", 0.5);
    has_comma = text == std::string("0,5");
    got = everything();
  }
#ifdef __GLIBC__
  CHECK(in_c);
#endif
  CHECK(has_comma == in_c);
  for (const char* part : {"_day_12.5_", "reached day ", "= 0.25", "tore at 1.35"})
    CHECK(wanted.find(part) != std::string::npos);
  CHECK((got == wanted));
}

#ifdef __GLIBC__
TEST_CASE("host_that_traps_floating_point_errors_is_not_hit", "[good_guest]") {
  const std::string wanted = bytes_of(simulate(eye(5)));
  std::feclearexcept(FE_ALL_EXCEPT);
  ::feenableexcept(FE_DIVBYZERO | FE_INVALID | FE_OVERFLOW);
  const std::string got = bytes_of(simulate(eye(5)));
  ::fedisableexcept(FE_ALL_EXCEPT);
  CHECK((got == wanted));
}

TEST_CASE("repeated_runs_hold_no_memory", "[good_guest]") {
  use_the_library();
  use_the_library();
  const std::size_t before = ::mallinfo2().uordblks;
  for (int k = 0; k < 3; ++k) use_the_library();
  const std::size_t after = ::mallinfo2().uordblks;
  // One run holds more than a megabyte while it lasts; the allocator's own bookkeeping stays far below this.
  constexpr std::size_t bookkeeping_bytes = 20'000;
  CHECK(after < before + bookkeeping_bytes);
}
#endif
