#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# Installs what is missing, builds, and runs all tests. The last line is the sum over all stages:
#   N passed, N failed
#
#   tests/run.sh                     everything but `sanitize` (an hour), `tidy` and `packages` (ten minutes each)
#   tests/run.sh cpp                 one stage or several of: style cpp python docs consumer oracle web pip tidy sanitize packages
#   tests/run.sh -k opening cpp      only tests whose name has `opening` in it (cpp, python, pip, packages, sanitize)
#   tests/run.sh -s thread sanitize  only that sanitizer of address, thread and fuzz; -s may be given twice
set -uo pipefail
# shellcheck source=support/prepare.sh
source "$(dirname "${BASH_SOURCE[0]}")/support/prepare.sh"
CAPSIM_PACKAGES+=("${CAPSIM_STUDY_PACKAGES[@]}")

all_stages=(style cpp python docs consumer oracle web pip)
filter=""
sanitizers=()

# What each stage needs built, and how it runs. Each leaves a JUnit report at the path in $1.
# Formats and linters; nothing has to be built for them.
targets_style() { echo help; }
run_style() {
  command -v shellcheck >/dev/null || (CAPSIM_PACKAGES=(shellcheck) && capsim_install_packages)
  bash "$CAPSIM_ROOT/tests/style.sh" "$CAPSIM_BUILD_DIR" "$1"
}

# clang-tidy's checks that find defects; the compilation database comes with the configured build.
targets_tidy() { echo libcapsim/all; }
run_tidy() { bash "$CAPSIM_ROOT/tests/style.sh" "$CAPSIM_BUILD_DIR" "$1" tidy; }

targets_cpp() { echo tests/all; }
run_cpp() {
  local select=()
  [ -n "$filter" ] && select=(-R "$filter")
  ctest --test-dir "$CAPSIM_BUILD_DIR" --output-on-failure --parallel "$CAPSIM_JOBS" \
    --no-tests=error --output-junit "$1" "${select[@]}"
}

targets_python() { echo bindings/python/all capsim_run_scenario; }
run_python() {
  add_salib
  local select=()
  [ -n "$filter" ] && select=(-k "$filter")
  # Files side by side where pytest-xdist is installed: what the tests of a file share is made once.
  local side_by_side=()
  "$CAPSIM_PYTHON" -c 'import xdist' 2>/dev/null && side_by_side=(-n "$CAPSIM_JOBS" --dist loadfile)
  CAPSIM_GALLERY="$CAPSIM_BUILD_DIR/gallery" PYTHONDONTWRITEBYTECODE=1 "$CAPSIM_PYTHON" -m pytest \
    "$CAPSIM_ROOT/tests/python" "$CAPSIM_ROOT/tests/clinical" "$CAPSIM_ROOT/tests/campaign" -q -ra "${side_by_side[@]}" \
    -o cache_dir="$CAPSIM_BUILD_DIR/pytest_cache" --durations=5 --junitxml="$1" "${select[@]}"
}

# Debian has no packages of SALib, which one example needs, and of mici, which samples by gradients: from the package index where it can be reached, into the build folder.
add_salib() {
  "$CAPSIM_PYTHON" -c 'import SALib, mici' 2>/dev/null && return
  local folder="$CAPSIM_BUILD_DIR/from_index"
  if [ ! -d "$folder" ]; then
    rm -rf "$folder.new"
    if "$CAPSIM_PYTHON" -m pip install --quiet --retries 1 --timeout 20 --target "$folder.new" --no-deps SALib multiprocess dill mici \
         >"$CAPSIM_BUILD_DIR/salib.log" 2>&1; then
      mv "$folder.new" "$folder"
    else
      capsim_say "SALib and mici can't be had from the package index: the Sobol study and sampling by gradients are not tested (see $CAPSIM_BUILD_DIR/salib.log)"
      return
    fi
  fi
  export PYTHONPATH="$PYTHONPATH:$folder"
}

# The documentation site. Its gallery shows the runs of the examples that the stage `python` left; without Sphinx it is skipped.
targets_docs() { echo bindings/python/all; }
run_docs() {
  local code p f s
  (CAPSIM_PACKAGES=("${CAPSIM_SITE_PACKAGES[@]}") && capsim_install_packages) ||
    capsim_say "Sphinx can't be installed here: the documentation site is not built"
  add_salib
  export CAPSIM_BUILD_DIR
  PYTHONDONTWRITEBYTECODE=1 "$CAPSIM_PYTHON" -m pytest "$CAPSIM_ROOT/tests/docs" -q -ra \
    -o cache_dir="$CAPSIM_BUILD_DIR/pytest_cache" --durations=3 --junitxml="$1"
  code=$?
  read -r p f s < <("$CAPSIM_PYTHON" "$CAPSIM_ROOT/tests/support/count_tests.py" "$1" 2>/dev/null)
  [ "${p:-1}" -eq 0 ] && [ "${f:-1}" -eq 0 ] && [ "${s:-0}" -gt 0 ] && return 77
  return "$code"
}

targets_consumer() { echo libcapsim/all bindings/c/all; }
run_consumer() {
  # What can't be had is skipped, with the reason, by the tests that want it.
  local package
  for package in dpkg-dev valgrind clang; do
    (CAPSIM_PACKAGES=("$package") && capsim_install_packages) || capsim_say "$package can't be installed here"
  done
  bash "$CAPSIM_ROOT/tests/consumer/run.sh" "$CAPSIM_BUILD_DIR" "$1"
}

# The library against CalculiX and against a year in NumPy, and the evidence page against what comes out today. Without CalculiX its
# recorded answers stand in, and the tests that run it are skipped, with the reason in the output.
targets_oracle() { echo capsim_bench_leaf benchmark_export_eye capsim_tests; }
run_oracle() {
  if ! command -v ccx >/dev/null; then
    (CAPSIM_PACKAGES=(calculix-ccx) && capsim_install_packages) ||
      capsim_say "CalculiX can't be installed here: the tests that run it are skipped"
  fi
  export CAPSIM_BUILD_DIR
  # Test by test: one large deck takes half of the stage's time.
  local side_by_side=()
  "$CAPSIM_PYTHON" -c 'import xdist' 2>/dev/null && side_by_side=(-n "$CAPSIM_JOBS" --dist load)
  CAPSIM_BENCH_LEAF="$CAPSIM_BUILD_DIR/tests/capsim_bench_leaf" \
    CAPSIM_EXPORT_EYE="$CAPSIM_BUILD_DIR/benchmarks/benchmark_export_eye" PYTHONDONTWRITEBYTECODE=1 "$CAPSIM_PYTHON" -m pytest \
    "$CAPSIM_ROOT/tests/oracle" "$CAPSIM_ROOT/tests/evidence" -q -ra "${side_by_side[@]}" \
    -o cache_dir="$CAPSIM_BUILD_DIR/pytest_cache" --durations=5 --junitxml="$1"
}

# The browser package and the classroom page, compared with the Python package as the native side.
targets_web() { echo bindings/python/all; }
run_web() { bash "$CAPSIM_ROOT/tests/web/run.sh" "$1"; }

# What pip makes of the package: compiles the library twice, in environments of its own. Where no index can be reached every test
# of it is skipped, and so is the stage.
targets_pip() { echo libcapsim/all; }
run_pip() {
  local select=() code p f s
  [ -n "$filter" ] && select=(-k "$filter")
  CAPSIM_JOBS="$CAPSIM_JOBS" PYTHONDONTWRITEBYTECODE=1 "$CAPSIM_PYTHON" -m pytest "$CAPSIM_ROOT/tests/pip" -q -ra \
    -o cache_dir="$CAPSIM_BUILD_DIR/pytest_cache" --junitxml="$1" "${select[@]}"
  code=$?
  read -r p f s < <("$CAPSIM_PYTHON" "$CAPSIM_ROOT/tests/support/count_tests.py" "$1" 2>/dev/null)
  [ "$code" -eq 0 ] && [ "${p:-1}" -eq 0 ] && [ "${s:-0}" -gt 0 ] && return 77
  return "$code"
}

# Recipes for Conan and vcpkg, wheels, other compilers: each compiles the library once more, hence by name.
targets_packages() { echo libcapsim/all bindings/python/all capsim_areas; }
run_packages() {
  local select=() code p f s
  [ -n "$filter" ] && select=(-k "$filter")
  (CAPSIM_PACKAGES=(clang) && capsim_install_packages) || capsim_say "clang can't be installed here"
  export CAPSIM_BUILD_DIR CAPSIM_JOBS
  PYTHONDONTWRITEBYTECODE=1 "$CAPSIM_PYTHON" -m pytest "$CAPSIM_ROOT/tests/packages" -q -ra \
    -o cache_dir="$CAPSIM_BUILD_DIR/pytest_cache" --junitxml="$1" "${select[@]}"
  code=$?
  read -r p f s < <("$CAPSIM_PYTHON" "$CAPSIM_ROOT/tests/support/count_tests.py" "$1" 2>/dev/null)
  [ "$code" -eq 0 ] && [ "${p:-1}" -eq 0 ] && [ "${s:-0}" -gt 0 ] && return 77
  return "$code"
}

# The tests in C and C++ once more under the address, undefined-behaviour and thread sanitizers, and fuzzing, in builds of
# their own. Fuzzing takes clang, and the Python package for the files that only Python reads.
targets_sanitize() { echo libcapsim/all bindings/python/all; }
run_sanitize() {
  local select=() which="${sanitizers[*]}" major
  which="${which:-address thread fuzz}"
  if [[ "$which" == *fuzz* ]]; then
    (CAPSIM_PACKAGES=(clang) && capsim_install_packages) || capsim_say "clang can't be installed here"
    major="$(clang -dumpversion 2>/dev/null | cut -d. -f1)"
    (CAPSIM_PACKAGES=("libclang-rt-$major-dev") && capsim_install_packages) ||
      capsim_say "clang's sanitizers can't be installed here: only files that Python reads are damaged"
  fi
  [ -n "$filter" ] && select=(-R "$filter")
  CAPSIM_JOBS="$CAPSIM_JOBS" bash "$CAPSIM_ROOT/tests/sanitize.sh" "$CAPSIM_BUILD_DIR" "$1" \
    "$which" "${select[@]}"
}

stages=()
while [ "$#" -gt 0 ]; do
  case "$1" in
    -k) filter="${2:?-k needs a word}"; shift ;;
    -s) case "${2:-}" in
          address | thread | fuzz) sanitizers+=("$2"); shift ;;
          *) echo "-s needs one of: address thread fuzz" >&2; exit 2 ;;
        esac ;;
    style | cpp | python | docs | consumer | oracle | web | pip | tidy | sanitize | packages) stages+=("$1") ;;
    *) sed -n '4,10s/^# \{0,1\}//p' "${BASH_SOURCE[0]}" >&2; exit 2 ;;
  esac
  shift
done
targets=()
if [ "${#stages[@]}" -eq 0 ]; then
  stages=("${all_stages[@]}")
  targets=(all)
else
  # shellcheck disable=SC2207  # names of targets have no spaces
  for stage in "${stages[@]}"; do targets+=($("targets_$stage")); done
fi

# The stages `consumer`, `pip` and `sanitize` compile what the build has compiled: where flags and sources are the same, once. To the
# cache a file is what its path is from the build folder, so each keeps sources and build folder as they lie here (../libcapsim).
if (CAPSIM_PACKAGES=(ccache) && capsim_install_packages) && command -v ccache >/dev/null; then
  export CMAKE_C_COMPILER_LAUNCHER=ccache CMAKE_CXX_COMPILER_LAUNCHER=ccache
  export CCACHE_DIR="${CCACHE_DIR:-$CAPSIM_BUILD_DIR/ccache}" CCACHE_NOHASHDIR=1
  export CCACHE_BASEDIR="$CAPSIM_ROOT" CCACHE_SLOPPINESS="${CCACHE_SLOPPINESS:-pch_defines,time_macros}"
fi

started=$SECONDS
if ! capsim_prepare "${targets[@]}"; then
  echo "The build failed; no test was run."
  echo "0 passed, 1 failed"
  exit 1
fi
echo "-- built in $((SECONDS - started)) s"

passed=0 failed=0 skipped=0 trouble=()
reports="$CAPSIM_BUILD_DIR/reports"
mkdir -p "$reports"

# Runs a stage; its exit code and seconds go to <stage>.end.
work_on() {
  local stage_started=$SECONDS code
  rm -f "$reports/$1.xml" "$reports/$1.end"
  "run_$1" "$reports/$1.xml"
  code=$?
  echo "$code $((SECONDS - stage_started))" >"$reports/$1.end"
}

# Adds a stage that has ended to the sum.
count_in() {
  local stage="$1" code=1 seconds=0 counts p=0 f=0 s=0
  read -r code seconds <"$reports/$stage.end"
  if counts="$("$CAPSIM_PYTHON" "$CAPSIM_ROOT/tests/support/count_tests.py" "$reports/$stage.xml")"; then
    read -r p f s <<<"$counts"
  fi
  # A stage that died, or ran nothing, has failed even when no test of it is on record as failed.
  if [ "$code" -eq 77 ] && [ $((p + f)) -eq 0 ] && [ "$s" -gt 0 ]; then
    trouble+=("$stage: skipped, what it needs can't be had here (see above)")
  elif [ $((p + f)) -eq 0 ]; then
    trouble+=("$stage: no test was run")
    [ "$f" -eq 0 ] && f=1
  elif [ "$code" -ne 0 ] && [ "$f" -eq 0 ]; then
    trouble+=("$stage: its runner ended with exit code $code")
    f=1
  elif [ "$f" -gt 0 ]; then
    trouble+=("$stage: $f failed")
  fi
  echo "== $stage: $p passed, $f failed, $s skipped in $seconds s"
  passed=$((passed + p)) failed=$((failed + f)) skipped=$((skipped + s))
}

# A browser waits for clocks and for one worker, and most of what else follows Python's tests has one process: side by side both
# cores are busy. What the browser's stage says is kept until it has ended.
behind=""
for stage in "${stages[@]}"; do
  if [ "$stage" = web ] && [ "$CAPSIM_JOBS" -gt 1 ]; then continue; fi
  if [ -z "$behind" ] && [[ " ${stages[*]} " == *" web "* ]] && [[ "$stage" != @(style|cpp|python) ]] && [ "$CAPSIM_JOBS" -gt 1 ]; then
    work_on web >"$reports/web.log" 2>&1 &
    behind=$!
  fi
  echo "== $stage"
  work_on "$stage"
  count_in "$stage"
done
if [[ " ${stages[*]} " == *" web "* ]] && [ "$CAPSIM_JOBS" -gt 1 ]; then
  echo "== web"
  if [ -n "$behind" ]; then
    wait "$behind"
    cat "$reports/web.log"
  else
    work_on web
  fi
  count_in web
fi

echo
for line in ${trouble[@]+"${trouble[@]}"}; do echo "$line"; done
if [ "$skipped" -gt 0 ]; then
  echo "$passed passed, $failed failed, $skipped skipped"
else
  echo "$passed passed, $failed failed"
fi
[ "$failed" -eq 0 ]
