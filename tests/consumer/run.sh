#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# Installs a built libcapsim, moves it, and builds small projects against it, each in another way.
#   tests/consumer/run.sh <build folder> <JUnit report to write>
# Every step is one test of the report. Folders have spaces in their names on purpose.
set -uo pipefail
build="${1:?build folder}"
report="${2:?report}"
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd -P)"
root="$(cd "$here/../.." && pwd -P)"
jobs="${CAPSIM_JOBS:-1}"
version="$(sed -n 's/^CMAKE_PROJECT_VERSION:STATIC=//p' "$build/CMakeCache.txt")"
minor="${version%.*}"

work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
prefix="$work/moved here/capsim prefix"
shared_prefix="$work/moved here/shared prefix"
# Projects that compile the library compile this copy, in folders beside libcapsim, as the build did: then a compiler cache has it.
sources="$work/capsim sources"
export CCACHE_BASEDIR="$sources"
cases="$work/cases.xml"
: >"$cases"
failed=0

escaped() { sed -e 's/&/\&amp;/g' -e 's/</\&lt;/g' -e 's/>/\&gt;/g' | tr -cd '\11\12\15\40-\176'; }

# test_that <statement> <command...>: runs the command and puts the outcome on record.
test_that() {
  local name="$1" log="$work/$1.log" started=$SECONDS
  shift
  if "$@" >"$log" 2>&1; then
    echo "passed: $name"
    printf '<testcase classname="consumer" name="%s" time="%d"/>\n' "$name" $((SECONDS - started)) >>"$cases"
  else
    echo "FAILED: $name"
    sed 's/^/    /' "$log" | tail -n 60
    { printf '<testcase classname="consumer" name="%s" time="%d"><failure>' "$name" $((SECONDS - started))
      tail -n 200 "$log" | escaped
      printf '</failure></testcase>\n'; } >>"$cases"
    failed=$((failed + 1))
  fi
}

# skipped <statement> <reason>
skipped() {
  echo "skipped: $1 ($2)"
  printf '<testcase classname="consumer" name="%s"><skipped message="%s"/></testcase>\n' "$1" "$2" >>"$cases"
}

configure() { cmake -G Ninja -DCMAKE_BUILD_TYPE=Release "$@"; }
build_in() { cmake --build "$1" --parallel "$jobs"; }

install_and_move() {  # <build folder> <final prefix>
  cmake --install "$1" --prefix "$work/first place/prefix" &&
    mkdir -p "$(dirname "$2")" && mv "$work/first place/prefix" "$2"
}

# The installed files are those of the library, and none of them knows where it was built.
only_movable_files() {
  local file
  for file in include/capsim/simulation.hpp include/capsim.h include/capsim/built_with.hpp share/capsim/scenario.schema.json \
    share/doc/capsim/theory.md share/doc/capsim/examples/embedding/planner.c; do
    [ -f "$prefix/$file" ] || { echo "not installed: $file"; return 1; }
  done
  local traces
  traces="$(grep -rlF -e "$build" -e "$root" -e "$work/first place" \
              --include='*.cmake' --include='*.pc' --include='*.h' --include='*.hpp' --include='*.so*' "$prefix")"
  if [ -n "$traces" ]; then printf 'names its old place: %s\n' "$traces"; return 1; fi
}

find_package_project() {  # <prefix> <build folder> [cmake arguments]
  local from="$1" into="$2"
  shift 2
  configure -S "$here/find_package" -B "$into" -DCMAKE_PREFIX_PATH="$from" "$@" &&
    build_in "$into" && "$into/consumer" "$into/result.h5"
}

other_minor_version_is_refused() {
  local wanted="${minor%.*}.$((${minor#*.} + 1))" log="$work/other minor.log"
  if configure -S "$here/find_package" -B "$work/other minor" -DCMAKE_PREFIX_PATH="$prefix" \
       -DCAPSIM_WANTED_VERSION="$wanted" >"$log" 2>&1; then
    echo "version $wanted was accepted from capsim $version"
    return 1
  fi
  grep -q 'considered but not accepted' "$log" || { cat "$log"; return 1; }
}

pkg_config_project() {
  local folder flags
  folder="$(dirname "$(find "$prefix" -name capsim.pc)")"
  flags="$(PKG_CONFIG_PATH="$folder" pkg-config --cflags --libs "capsim = $version")" || return 1
  printf '%s\n' "$flags"
  # pkg-config quotes spaces for a shell, hence eval.
  eval "\"\${CXX:-c++}\" -std=c++20 -DCONSUMER_EXPECTED_VERSION='\"$version\"'" \
    "\"\$here/program.cpp\" $flags -o \"\$work/pkg config consumer\"" &&
    "$work/pkg config consumer" "$work/pkg config.h5"
}

add_subdirectory_project() {
  # Hidden is what a careful parent project asks of its own code.
  configure -S "$here/add_subdirectory" -B "$sources/sub directory" -DCAPSIM_SOURCE_DIR="$sources" \
    -DCMAKE_CXX_VISIBILITY_PRESET=hidden -DCMAKE_VISIBILITY_INLINES_HIDDEN=ON &&
    build_in "$sources/sub directory" && "$sources/sub directory/consumer" "$sources/sub directory/result.h5"
}

only_the_library_came_along() {
  # capsim_build_identity writes what capsim::build() and capsim::commit() say; the library is built after it.
  printf 'capsim\ncapsim_build_identity\nbuild type: Release\n' | diff - "$sources/sub directory/capsim_targets.txt"
}

fetch_content_project() {
  configure -S "$here/fetch_content" -B "$sources/fetch content" -DFETCHCONTENT_FULLY_DISCONNECTED=ON \
    -DFETCHCONTENT_SOURCE_DIR_CAPSIM="$sources" -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON &&
    build_in "$sources/fetch content" && "$sources/fetch content/consumer" &&
    "$sources/fetch content/planner" "$work/never written.h5" && [ ! -e "$work/never written.h5" ]
}

cpp_planners() {  # <prefix> <build folder> [cmake arguments]
  local from="$1" into="$2" planner
  shift 2
  configure -S "$root/examples/embedding/cpp" -B "$into" -DCMAKE_PREFIX_PATH="$from" "$@" && build_in "$into" || return 1
  for planner in fork_and_compare part_of_your_own; do "$into/$planner" || return 1; done
}

# ---- the C interface, by way of the examples for embedding

planner_project() {  # <prefix> <build folder> <component> [cmake arguments]
  local from="$1" into="$2" component="$3"
  shift 3
  configure -S "$root/examples/embedding" -B "$into" -DCMAKE_PREFIX_PATH="$from" \
    -DCAPSIM_COMPONENT="$component" "$@" &&
    build_in "$into" && "$into/planner" "$into/result.h5" && [ -s "$into/result.h5" ]
}

c_planner_of_a_project_without_cxx() {
  planner_project "$prefix" "$work/c planner" c -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON || return 1
  if grep -E 'CMAKE_CXX_COMPILER:|HDF5' "$work/c planner/CMakeCache.txt" | grep -v CMAKE_DISABLE_FIND; then
    echo "C++ or HDF5 came along"
    return 1
  fi
}

c_planner_by_pkg_config() {
  local folder flags
  folder="$(dirname "$(find "$prefix" -name capsim_c.pc)")"
  export PKG_CONFIG_PATH="$folder"
  flags="$(pkg-config --cflags --libs "capsim_c = $version")" || return 1
  printf 'shared: %s\n' "$flags"
  eval "\"\${CC:-cc}\" -std=c99 -pedantic -Wall -Wextra -Werror \"\$root/examples/embedding/planner.c\" $flags" \
    "-Wl,-rpath,\"\$folder/..\" -o \"\$work/pkg config planner\"" && "$work/pkg config planner" || return 1
  flags="$(pkg-config --static --libs capsim_c)" || return 1
  printf 'static: %s\n' "$flags"
  eval "\"\${CC:-cc}\" -std=c99 -I\"\$prefix/include\" \"\$root/examples/embedding/planner.c\"" \
    "${flags//-lcapsim_c/-l:libcapsim_c.a} -o \"\$work/pkg config static planner\"" &&
    "$work/pkg config static planner" "$work/pkg config planner.h5"
}

# Hosts that ask a lot of a header and a library: another compiler, everything hidden, no exceptions, linked either way.
host_of() {  # <compiler> <program> <flags of the language> <flags of the library, quoted for a shell>
  local output="$work/$1 $2 $5.out"
  echo "$1, $2, $5"
  eval "$1 $3 -Wall -Wextra -Werror -fvisibility=hidden -O1 \"\$here/\$2\" -x none $4 -lm -o \"\$output\"" &&
    "$output" "$work/host.h5"
}

hosts_of() {  # <compiler>
  local compiler="$1" folder cpp_folder shared static cpp
  folder="$(dirname "$(find "$prefix" -name capsim_c.pc)")"
  cpp_folder="$(dirname "$(find "$prefix" -name capsim.pc)")"
  export PKG_CONFIG_PATH="$folder:$cpp_folder"
  shared="$(pkg-config --cflags --libs capsim_c) -Wl,-rpath,\"$folder/..\"" || return 1
  static="$(pkg-config --static --cflags --libs capsim_c)" || return 1
  static="-DCAPSIM_C_STATIC ${static//-lcapsim_c/-l:libcapsim_c.a}"
  cpp="$(pkg-config --cflags --libs capsim)" || return 1
  host_of "$compiler" abusive.c "-x c -std=c99 -pedantic" "$shared" shared &&
    host_of "$compiler" abusive.c "-x c -std=c99 -pedantic" "$static" static &&
    host_of "$compiler" without_exceptions.cpp "-std=c++20 -fno-exceptions -fno-rtti" "$shared" shared &&
    host_of "$compiler" without_exceptions.cpp "-std=c++20 -fno-exceptions -fno-rtti" "$static" static &&
    host_of "$compiler" program.cpp "-std=c++20 -DCONSUMER_EXPECTED_VERSION='\"$version\"'" "$cpp" static
}

# Some valgrinds do not know every encoding of the wide instructions: the program takes the narrow path, which gives the
# same digits. It is the static one, for what is said of the processor belongs to whatever the library is linked into.
narrow_host() {
  local static
  static="$(PKG_CONFIG_PATH="$(dirname "$(find "$prefix" -name capsim_c.pc)"):$(dirname "$(find "$prefix" -name capsim.pc)")" \
    pkg-config --static --cflags --libs capsim_c)" || return 1
  eval "\"\${CC:-cc}\" -std=c99 -pedantic -Wall -Wextra -Werror -O1 -g -DCAPSIM_C_STATIC \"\$here/abusive.c\"" \
    "\"\$here/narrow_processor.c\" ${static//-lcapsim_c/-l:libcapsim_c.a} -lm -o \"\$work/narrow host\""
}
wrong_calls_leave_no_trace_in_memory() {
  narrow_host && "$work/narrow host" || return 1
  valgrind -q --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite,possible "$work/narrow host"
}

python_planner() {
  "${CAPSIM_PYTHON:-python3}" "$root/examples/embedding/planner.py" "$(find "$prefix" -name 'libcapsim_c.so')"
}

component_that_is_not_there_is_refused() {
  local log="$work/no such component.log"
  if configure -S "$root/examples/embedding" -B "$work/no such component" -DCMAKE_PREFIX_PATH="$prefix" \
       -DCAPSIM_COMPONENT=fortran >"$log" 2>&1; then
    echo "the component fortran was found"
    return 1
  fi
  grep -q 'has no component "fortran"' "$log" || { cat "$log"; return 1; }
}

# An installed library without HDF5 needs none, and says so when result files are asked for.
library_without_result_files() {
  local without="$work/moved here/without hdf5" log="$work/no result files.log"
  install_and_move "$sources/fetch content" "$without" &&
    configure -S "$here/find_package" -B "$work/without hdf5" -DCMAKE_PREFIX_PATH="$without" \
      -DCAPSIM_WANTED_COMPONENTS=cxx -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON || return 1
  if configure -S "$here/find_package" -B "$work/no result files" -DCMAKE_PREFIX_PATH="$without" >"$log" 2>&1; then
    echo "result files were found in a library without them"
    return 1
  fi
  grep -q 'has no component "results_file"' "$log" || { cat "$log"; return 1; }
}

# Installed by dpkg into a system of its own, which has nothing else; whoever has it can build; and when it is removed
# nothing stays.
debian_package_installs_and_removes() {
  local system="$work/a system" folder="$work/debian package"
  # In the build folder, as a person would; it sees to it by itself that everything is built.
  (cd "$build" && cpack -G DEB -B "$folder") || return 1
  mkdir -p "$system/var/lib/dpkg/info" "$system/var/lib/dpkg/updates" && : >"$system/var/lib/dpkg/status" || return 1
  # No shell is there to run its scripts (ldconfig): they run outside.
  local dpkg=(dpkg --root="$system" --log=/dev/null --force-not-root --force-depends --force-bad-path
    --force-script-chrootless)
  "${dpkg[@]}" --install "$folder"/capsim_*.deb || return 1
  [ -f "$system/usr/share/doc/capsim/theory.md" ] || { echo "no documentation"; return 1; }
  [ -f "$system/usr/share/doc/capsim/examples/embedding/planner.c" ] || { echo "no examples"; return 1; }
  find_package_project "$system/usr" "$work/debian consumer" || return 1
  "${dpkg[@]}" --purge capsim || return 1
  local left
  left="$(find "$system" -path "$system/var" -prune -o -type f -print)"
  if [ -n "$left" ]; then printf 'still there: %s\n' "$left"; return 1; fi
}

shared_c_library_beside_the_shared_cpp_library() {
  planner_project "$shared_prefix" "$work/shared planner" c -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON
}

shared_install_needs_no_hdf5() {
  # With the C interface besides, for the test after this one.
  cmake -DCAPSIM_BUILD_C=ON "$sources/sub directory" && build_in "$sources/sub directory" &&
    install_and_move "$sources/sub directory" "$shared_prefix" &&
    find_package_project "$shared_prefix" "$work/shared consumer" \
      -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON
}

copy_sources() {
  mkdir -p "$sources/bindings" && cp -r "$root/CMakeLists.txt" "$root/LICENSE" "$root/libcapsim" "$root/examples" "$sources/" &&
    cp -r "$root/bindings/c" "$sources/bindings/"
}
copy_sources || exit 1

test_that installed_tree_can_be_moved_to_a_path_with_spaces install_and_move "$build" "$prefix"
test_that installed_files_do_not_name_the_place_they_were_built_in only_movable_files
test_that find_package_gives_a_library_that_links_and_runs find_package_project "$prefix" "$work/find package"
test_that same_minor_version_is_accepted find_package_project "$prefix" "$work/same minor" \
  -DCAPSIM_WANTED_VERSION="$minor"
test_that another_minor_version_is_refused other_minor_version_is_refused
test_that pkg_config_gives_flags_that_link_and_run pkg_config_project
test_that add_subdirectory_builds_a_shared_library_that_runs add_subdirectory_project
test_that add_subdirectory_brings_nothing_but_the_library only_the_library_came_along
test_that shared_library_is_found_and_linked_without_hdf5 shared_install_needs_no_hdf5
test_that cpp_planners_fork_and_add_a_part_of_their_own cpp_planners "$prefix" "$work/cpp planners"
test_that cpp_planners_use_a_shared_library_without_hdf5 cpp_planners "$shared_prefix" "$work/shared cpp planners" \
  -DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON
test_that shared_c_library_finds_the_shared_cpp_library_beside_it shared_c_library_beside_the_shared_cpp_library
test_that fetch_content_builds_offline_and_without_hdf5 fetch_content_project
test_that library_without_result_files_says_so_when_asked_for_them library_without_result_files
test_that c_planner_needs_neither_cxx_nor_hdf5 c_planner_of_a_project_without_cxx
test_that c_planner_links_statically_too planner_project "$prefix" "$work/c static planner" c_static
test_that pkg_config_gives_flags_for_c_that_link_and_run c_planner_by_pkg_config
test_that python_loads_the_c_library_by_itself python_planner
for compiler in g++ clang++; do
  name="hidden_hosts_and_those_without_exceptions_are_served: $compiler"
  if command -v "$compiler" >/dev/null; then
    test_that "$name" hosts_of "$compiler"
  else
    skipped "$name" "$compiler is not installed"
  fi
done
if command -v valgrind >/dev/null; then
  test_that wrong_calls_read_write_and_leave_nothing_that_is_not_theirs wrong_calls_leave_no_trace_in_memory
else
  skipped wrong_calls_read_write_and_leave_nothing_that_is_not_theirs "valgrind is not installed"
fi
if command -v dpkg-shlibdeps >/dev/null; then
  test_that debian_package_installs_serves_and_leaves_nothing_behind debian_package_installs_and_removes
else
  skipped debian_package_installs_serves_and_leaves_nothing_behind "no dpkg-shlibdeps here"
fi
test_that component_that_is_not_there_is_refused component_that_is_not_there_is_refused

mkdir -p "$(dirname "$report")"
{ echo '<?xml version="1.0" encoding="UTF-8"?>'
  echo '<testsuite name="consumer">'
  cat "$cases"
  echo '</testsuite>'; } >"$report"
[ "$failed" -eq 0 ]
