#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# Builds the browser package and the classroom page, and tests both. Called by tests/run.sh:
#   tests/web/run.sh <JUnit report to write>
# Exit code 77: skipped as a whole, with the reason, because a tool can't be installed here.
set -uo pipefail
report="${1:?report}"
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd -P)"
# shellcheck source=../support/prepare.sh
source "$here/../support/prepare.sh"
capsim_choose_jobs
export CAPSIM_JOBS  # for build.sh: without it the engine is compiled one file at a time
web="$CAPSIM_BUILD_DIR/web"
unset CMAKE_C_COMPILER_LAUNCHER CMAKE_CXX_COMPILER_LAUNCHER  # what caches for g++ need not do so for em++
mkdir -p "$web"

# The packages whose command is missing: a node that did not come from Debian brings its own npm.
packages=()
command -v emcc >/dev/null || packages+=(emscripten)
command -v node >/dev/null || packages+=(nodejs)
command -v npm >/dev/null || packages+=(npm)
[ "${#packages[@]}" -eq 0 ] || (CAPSIM_PACKAGES=("${packages[@]}") && capsim_install_packages)
chromium="${CAPSIM_CHROMIUM:-/usr/bin/chromium}"
firefox="${CAPSIM_FIREFOX:-/usr/bin/firefox-esr}"
[ -x "$chromium" ] || (CAPSIM_PACKAGES=(chromium) && capsim_install_packages)
[ -x "$firefox" ] || (CAPSIM_PACKAGES=(firefox-esr) && capsim_install_packages)  # its tests are skipped without it

cases="$web/cases.xml"
: >"$cases"
write_report() { { echo '<testsuite name="web">'; cat "$cases"; echo '</testsuite>'; } >"$report"; }
skipped() { echo "skipped: $1 ($2)"; printf '<testcase classname="web" name="%s"><skipped message="%s"/></testcase>\n' "$1" "$2" >>"$cases"; }
skip_all() { skipped browser_package_and_classroom_page "$1"; write_report; exit 77; }

for command in emcc node npm; do
  command -v "$command" >/dev/null || skip_all "$command can not be installed here"
done
[ "$(node -p 'process.versions.node.split(".")[0] >= 18')" = true ] || skip_all "node is older than 18"
bash "$here/../../bindings/web/build.sh" --tools "$web" >"$web/tools.log" 2>&1 ||
  skip_all "the tools from npm can not be had here, see build/web/tools.log"

started=$SECONDS
if ! { bash "$here/../../bindings/web/build.sh" "$web" && node "$here/../../examples/classroom/build.mjs" "$web"; } >"$web/build.log" 2>&1; then
  tail -n 60 "$web/build.log"
  echo "FAILED: the_browser_package_and_the_page_build"
  echo '<testcase classname="web" name="the_browser_package_and_the_page_build"><failure>see build/web/build.log</failure></testcase>' >>"$cases"
  write_report
  exit 1
fi
echo "passed: the_browser_package_and_the_page_build ($((SECONDS - started)) s)"
echo '<testcase classname="web" name="the_browser_package_and_the_page_build"/>' >>"$cases"

if "$web/node_modules/.bin/tsc" -p "$here/types/tsconfig.json" >"$web/types.log" 2>&1; then
  echo "passed: types_accept_what_is_right_and_refuse_what_is_wrong"
  echo '<testcase classname="web" name="types_accept_what_is_right_and_refuse_what_is_wrong"/>' >>"$cases"
  types=0
else
  cat "$web/types.log"
  echo "FAILED: types_accept_what_is_right_and_refuse_what_is_wrong"
  echo '<testcase classname="web" name="types_accept_what_is_right_and_refuse_what_is_wrong"><failure>see build/web/types.log</failure></testcase>' >>"$cases"
  types=1
fi

export CAPSIM_WEB_BUILD="$web" CAPSIM_CHROMIUM="$chromium" CAPSIM_FIREFOX="$firefox"
# Two files at a time, the longest first: a page spends much of its time waiting for a clock or for its workers.
# The limit is for one that hangs. Words and report of a file stay together.
one_file() {
  rm -f "$web/$1.xml"
  CAPSIM_WEB_REPORT="$web/$1.xml" timeout 1800 \
    node --test --test-reporter="$here/junit_reporter.mjs" "$here/test_$1.mjs" >"$web/$1.out" 2>&1
  echo $? >"$web/$1.rc"
}
browsing=(exports first_picture access teaching answers controls layout links firefox clock languages studies)
files=(crowd engine plans lessons engine_studies crowd_runs)
if [ -x "$chromium" ]; then
  files=("${browsing[@]}" "${files[@]}")
else
  for file in "${browsing[@]}"; do skipped "classroom_$file" "chromium can not be installed here"; done
fi
for file in "${files[@]}"; do
  [ "$(jobs -rp | wc -l)" -lt 2 ] || wait -n
  one_file "$file" &
done
wait
code=$types
for file in "${files[@]}"; do
  cat "$web/$file.out"
  [ "$(cat "$web/$file.rc")" = 0 ] || code=1
  if [ -f "$web/$file.xml" ]; then
    grep -v '^</\?testsuite' "$web/$file.xml" >>"$cases"
  else
    echo "FAILED: test_$file.mjs left no report"
    printf '<testcase classname="web" name="test_%s"><failure>no report</failure></testcase>\n' "$file" >>"$cases"
  fi
done
write_report
exit "$code"
