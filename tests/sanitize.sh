#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# All C++ tests under the compiler's sanitizers, each with a build folder of its own. Called by tests/run.sh:
#   tests/sanitize.sh <build folder> <JUnit report to write> [ctest arguments]
# Two builds: address and undefined behaviour together, and threads. Heavy, more than an hour on two
# cores: run by name.
set -uo pipefail
build="${1:?build folder}"
report="${2:?report}"
shift 2
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
  if ! { cmake -S "$root" -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=None \
           -DCAPSIM_BUILD_PYTHON=OFF -DCAPSIM_BUILD_BENCHMARKS=OFF -DCAPSIM_TEST_TIMEOUT=7200 \
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
  sed -e '/<?xml/d' "$folder/junit.xml" >>"$cases" || broken "has_a_report: $name" "$folder/build.log"
}

run_under address "-fsanitize=address,undefined -fno-sanitize-recover=all" "$@"
run_under thread "-fsanitize=thread" "$@"

{ echo '<?xml version="1.0" encoding="UTF-8"?>'
  echo '<testsuites>'
  cat "$cases"
  echo '</testsuites>'; } >"$report"
exit "$failed"
