#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# Formats and linters over the whole tree, each a test of its own. Called by tests/run.sh:
#   tests/style.sh <build folder> <JUnit report to write>         formats and linters: under a minute
#   tests/style.sh <build folder> <JUnit report to write> tidy    clang-tidy's checks that find defects: minutes
# The tools have fixed versions and are installed into the build folder; one that can't be had is skipped with the reason.
# Exit code 77: none could be had.
set -uo pipefail
build="$(cd "${1:?build folder}" && pwd -P)"
report="${2:?report}"
what="${3:-style}"
root="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)"
python="${CAPSIM_PYTHON:-python3}"
tools="$build/style"
mkdir -p "$tools"
case "$report" in /*) ;; *) report="$PWD/$report" ;; esac
cd "$root" || exit 1

clang_format_version=20.1.8
ruff_version=0.17.6
clang_tidy_version=20.1.0
# Checks that find defects. Those of names and taste are in .clang-tidy, for an editor.
defects="-*,bugprone-use-after-move,bugprone-dangling-handle,bugprone-infinite-loop,bugprone-sizeof-expression"
defects+=",bugprone-suspicious-memory-comparison,bugprone-undefined-memory-manipulation,bugprone-integer-division"
defects+=",bugprone-incorrect-roundings,bugprone-copy-constructor-init,bugprone-unhandled-self-assignment"
defects+=",bugprone-string-constructor,bugprone-swapped-arguments,bugprone-unused-raii,bugprone-virtual-near-miss"
defects+=",clang-analyzer-core.*,clang-analyzer-cplusplus.*,clang-analyzer-deadcode.*"

cases="$tools/cases.xml"
: >"$cases"
code=0 ran=0
escaped() { tail -n 40 "$1" | sed 's/&/\&amp;/g; s/</\&lt;/g; s/>/\&gt;/g; s/"/\&quot;/g' | tr -cd '\11\12\40-\176'; }
skipped() {
  echo "skipped: $1 ($2)"
  printf '<testcase classname="style" name="%s"><skipped message="%s"/></testcase>\n' "$1" "$2" >>"$cases"
}
# test <name> <command ...>
test_that() {
  local name="$1"
  shift
  ran=$((ran + 1))
  if "$@" >"$tools/$name.log" 2>&1; then
    echo "passed: $name"
    printf '<testcase classname="style" name="%s"/>\n' "$name" >>"$cases"
  else
    code=1
    echo "FAILED: $name"
    tail -n 40 "$tools/$name.log"
    { printf '<testcase classname="style" name="%s"><failure>' "$name"; escaped "$tools/$name.log"; echo '</failure></testcase>'; } >>"$cases"
  fi
}

# From the package index into a folder of its own, once for each version.
installed() {
  local folder="$tools/$1-$2"
  if [ ! -d "$folder" ]; then
    rm -rf "$folder.new"
    "$python" -m pip install --quiet --retries 1 --timeout 20 --target "$folder.new" --no-deps "$1==$2" \
      >"$tools/$1.log" 2>&1 && mv "$folder.new" "$folder"
  fi
  [ -d "$folder" ]
}

# Files of the repository whose path is like one of the patterns; of a copy without its history, those that are not built.
files() {
  local file pattern
  if git -C "$root" rev-parse --is-inside-work-tree >/dev/null 2>&1; then
    git -C "$root" ls-files --cached --others --exclude-standard -- "$@" | while read -r file; do [ -f "$file" ] && echo "$file"; done
  else
    find . -type d \( -name build -o -name node_modules -o -name .git -o -path "./${build#"$root"/}" \) -prune -o -type f -print |
      sed 's#^\./##' |
      while read -r file; do
        # shellcheck disable=SC2053  # the right side is a pattern
        for pattern in "$@"; do [[ "$file" == $pattern ]] && echo "$file" && break; done
      done
  fi
}

if [ "$what" = tidy ]; then
  if [ ! -f "$build/compile_commands.json" ]; then
    skipped no_defect_is_found_by_clang_tidy "$build has no compile_commands.json"
  elif installed clang-tidy "$clang_tidy_version"; then
    # Those of the Python package are compiled together, in files that the build writes.
    mapfile -t sources < <(files 'libcapsim/src/*.cpp' 'bindings/c/src/*.cpp'
      ls "$build"/bindings/python/CMakeFiles/*/Unity/unity_*_cxx.cxx 2>/dev/null)
    export PYTHONPATH="$tools/clang-tidy-$clang_tidy_version${PYTHONPATH:+:$PYTHONPATH}"
    # shellcheck disable=SC2317  # called by its name
    tidy() {
      printf '%s\0' "${sources[@]}" | xargs -0 -P "${CAPSIM_JOBS:-1}" -n 4 \
        "$tools/clang-tidy-$clang_tidy_version/bin/clang-tidy" -p "$build" --quiet "--checks=$defects" --warnings-as-errors='*'
    }
    test_that no_defect_is_found_by_clang_tidy tidy
  else
    skipped no_defect_is_found_by_clang_tidy "clang-tidy $clang_tidy_version can not be had from the package index"
  fi
else
  mapfile -t cpp < <(files '*.cpp' '*.hpp' '*.c' '*.h')
  if installed clang-format "$clang_format_version"; then
    export PYTHONPATH="$tools/clang-format-$clang_format_version${PYTHONPATH:+:$PYTHONPATH}"
    test_that cpp_is_formatted "$tools/clang-format-$clang_format_version/bin/clang-format" --dry-run --Werror "${cpp[@]}"
  else
    skipped cpp_is_formatted "clang-format $clang_format_version can not be had from the package index"
  fi

  mapfile -t py < <(files '*.py' '*.pyi')
  if installed ruff "$ruff_version"; then
    ruff="$tools/ruff-$ruff_version/bin/ruff"
    test_that python_is_formatted "$ruff" format --no-cache --check "${py[@]}"
    test_that python_has_no_mistake_that_ruff_finds "$ruff" check --no-cache "${py[@]}"
  else
    skipped python_is_formatted "ruff $ruff_version can not be had from the package index"
    skipped python_has_no_mistake_that_ruff_finds "ruff $ruff_version can not be had from the package index"
  fi

  mapfile -t scripts < <(files '*.ts' '*.mts' '*.mjs')
  export CAPSIM_WEB_BUILD="$build/web"
  if command -v node >/dev/null && command -v npm >/dev/null &&
    bash bindings/web/build.sh --tools "$CAPSIM_WEB_BUILD" >"$tools/web_tools.log" 2>&1; then
    test_that typescript_is_formatted "$CAPSIM_WEB_BUILD/node_modules/.bin/prettier" --check "${scripts[@]}"
    test_that typescript_has_no_mistake_that_eslint_finds "$CAPSIM_WEB_BUILD/node_modules/.bin/eslint" \
      --config bindings/web/eslint.config.mjs --max-warnings 0 "${scripts[@]}"
  else
    skipped typescript_is_formatted "prettier can not be had from the registry of npm"
    skipped typescript_has_no_mistake_that_eslint_finds "eslint can not be had from the registry of npm"
  fi

  mapfile -t shell < <(files '*.sh' '.ci/run')
  if command -v shellcheck >/dev/null; then
    test_that shell_scripts_have_no_mistake_that_shellcheck_finds shellcheck -x -P SCRIPTDIR "${shell[@]}"
  else
    skipped shell_scripts_have_no_mistake_that_shellcheck_finds "shellcheck can not be installed here"
  fi
fi

{ echo '<testsuite name="style">'; cat "$cases"; echo '</testsuite>'; } >"$report"
[ "$ran" -eq 0 ] && exit 77
exit "$code"
