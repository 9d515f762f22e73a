#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# The tests in C and C++ under the compiler's sanitizers, each with a build folder of its own. Called by tests/run.sh:
#   tests/sanitize.sh <build folder> <JUnit report to write> <which> [ctest arguments]
# <which> is one or several, separated by spaces, of
#   address   address and undefined behaviour; of the C interface it is counted which functions were entered
#   thread    threads
#   fuzz      damaged input for what reads text and bytes (tests/fuzz), under address and undefined behaviour
# Heavy, more than an hour on two cores for all: run by name.
set -uo pipefail
build="${1:?build folder}"
report="${2:?report}"
which="${3:?which sanitizers}"
shift 3
root="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)"
jobs="${CAPSIM_JOBS:-1}"

# A report of any of them ends the test with a failure.
export ASAN_OPTIONS="detect_stack_use_after_return=1:strict_string_checks=1:check_initialization_order=1"
export UBSAN_OPTIONS="print_stacktrace=1:halt_on_error=1"
export TSAN_OPTIONS="exitcode=66:second_deadlock_stack=1"

cases="$build/sanitize_cases.xml"
: >"$cases"
broken() {  # <name> <log>
  tail -n 100 "$2"
  printf '<testcase classname="sanitize" name="%s"><failure/></testcase>\n' "$1" >>"$cases"
}

failed=0
run_under() {  # <name> <flags> [ctest arguments]
  local name="$1" flags="$2" folder="$build/sanitize_$1" unrandom=()
  shift 2
  mkdir -p "$folder"
  echo "-- sanitizer: $name"
  # Rust and Java can't load a library that wants a sanitizer's runtime before everything else.
  if ! { cmake -S "$root" -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=None -DCAPSIM_CARGO=OFF -DCAPSIM_JAVAC=OFF \
           -DCAPSIM_BUILD_PYTHON=OFF -DCAPSIM_BUILD_BENCHMARKS=OFF -DCAPSIM_TEST_TIMEOUT=7200 \
           "-DCAPSIM_COUNT_C_CALLS=$([ "$name" = address ] && echo ON || echo OFF)" \
           "-DCMAKE_CXX_FLAGS=-O1 -g1 -fno-omit-frame-pointer $flags" "-DCMAKE_C_FLAGS=-O1 $flags" &&
         cmake --build "$folder" --parallel "$jobs"; } >"$folder/build.log" 2>&1; then
    broken "builds_under_the_sanitizer: $name" "$folder/build.log"
    failed=1
    return
  fi
  # Some kernels place memory where the thread sanitizer can't follow; without randomness it can.
  if ! "$folder/tests/capsim_tests" --list-tags >/dev/null 2>&1 && command -v setarch >/dev/null; then
    unrandom=(setarch "$(uname -m)" -R)
  fi
  "${unrandom[@]}" ctest --test-dir "$folder" --output-on-failure --parallel "$jobs" --no-tests=error \
    --output-junit "$folder/junit.xml" "$@" || failed=1
  # Which functions of the C interface were entered: only when all tests have run.
  if [ "$name" = address ] && [ "$#" -eq 0 ]; then
    "${CAPSIM_PYTHON:-python3}" "$root/tests/support/functions_entered.py" "$root/bindings/c/capsim.h" \
      "$folder/bindings/c" >"$folder/entered.log" 2>&1 ||
      { broken "every_c_function_is_entered_in_a_test" "$folder/entered.log" && failed=1; }
    cat "$folder/entered.log"
  fi
  sed -e '/<?xml/d' "$folder/junit.xml" >>"$cases" || broken "has_a_report: $name" "$folder/build.log"
}

# One case of the report: <name> <seconds> <command...>; what a failing one says is shown.
case_of() {
  local name="$1" log="$build/sanitize_fuzz/$1.log" started=$SECONDS
  shift
  if "$@" >"$log" 2>&1; then
    echo "passed: $name ($(tail -n 1 "$log"))"
    printf '<testcase classname="fuzz" name="%s" time="%d"/>\n' "$name" $((SECONDS - started)) >>"$cases"
  else
    echo "FAILED: $name"
    tail -n 60 "$log"
    printf '<testcase classname="fuzz" name="%s"><failure/></testcase>\n' "$name" >>"$cases"
    failed=1
  fi
}

# What reads text or bytes, each for half a minute. Inputs that break it stay in <build>/sanitize_fuzz/finds.
run_fuzz() {
  local folder="$build/sanitize_fuzz" seconds="${CAPSIM_FUZZ_SECONDS:-30}" flags name seeds lengths
  mkdir -p "$folder/finds"
  echo "-- fuzzing, $seconds s each"
  flags="-O1 -g1 -fno-omit-frame-pointer -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all"
  if ! echo 'int main() {}' | clang++ -x c++ -fsanitize=address,undefined - -o "$folder/tried" 2>"$folder/build.log"; then
    echo "skipped: clang++ with its sanitizers is not installed here"
    printf '<testcase classname="fuzz" name="programs"><skipped message="no clang++ with sanitizers"/></testcase>\n' >>"$cases"
  elif ! { cmake -S "$root" -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=None -DCAPSIM_CARGO=OFF -DCAPSIM_JAVAC=OFF \
             -DCAPSIM_BUILD_PYTHON=OFF -DCAPSIM_BUILD_BENCHMARKS=OFF -DCAPSIM_BUILD_EXAMPLES=OFF \
             -DCAPSIM_BUILD_FUZZ_PROGRAMS=ON -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ \
             "-DCMAKE_CXX_FLAGS=$flags" "-DCMAKE_C_FLAGS=$flags" &&
           cmake --build "$folder" --parallel "$jobs" --target fuzz_programs; } >"$folder/build.log" 2>&1; then
    broken "builds_for_fuzzing" "$folder/build.log"
    failed=1
  else
    for name in checkpoint fields population result scenario; do
      seeds="$root/tests/fuzz/corpus/$name"
      [ "$name" = result ] && seeds="$root/tests/evidence/formats"
      [ "$name" = population ] && seeds="$root/libcapsim/data/populations"
      # Some inputs are files, others lists of what a host does.
      lengths=(-max_len=65536)
      [[ "$name" == @(fields|checkpoint) ]] && lengths=(-max_len=400 -len_control=0)
      mkdir -p "$folder/found_$name"
      case_of "any_input_is_read_or_refused: $name" "$folder/tests/fuzz/fuzz_$name" "-max_total_time=$seconds" -timeout=25 \
        -rss_limit_mb=2048 "${lengths[@]}" "-artifact_prefix=$folder/finds/$name-" \
        "$folder/found_$name" "$seeds"
    done
  fi
  for name in visits sweep journal result checkpoint scenario; do
    case_of "damaged_files_are_refused: $name" env "PYTHONPATH=$build/python" "${CAPSIM_PYTHON:-python3}" \
      "$root/tests/fuzz/mutations.py" "$name" --seconds "$seconds" --seed "$RANDOM"
  done
}

for sanitizer in $which; do
  case "$sanitizer" in
    address) run_under address "-fsanitize=address,undefined -fno-sanitize-recover=all" "$@" ;;
    thread) run_under thread "-fsanitize=thread" "$@" ;;
    fuzz) run_fuzz ;;
    *) echo "no sanitizer '$sanitizer': address, thread, fuzz" >&2; exit 2 ;;
  esac
done

{ echo '<?xml version="1.0" encoding="UTF-8"?>'
  echo '<testsuites>'
  cat "$cases"
  echo '</testsuites>'; } >"$report"
exit "$failed"
