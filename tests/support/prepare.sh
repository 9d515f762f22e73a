# SPDX-License-Identifier: BSD-3-Clause
# shellcheck shell=bash
#
# Sourced by the commands (examples/demo.sh, tests/run.sh). Offers
#   capsim_prepare [ninja target ...]   install what is missing, configure, build (default: everything)
# and afterwards
#   CAPSIM_ROOT        the repository
#   CAPSIM_BUILD_DIR   the build folder; set it beforehand to build elsewhere than in <repo>/build
#   CAPSIM_PYTHON      the Python to run; set it beforehand to choose another
#   CAPSIM_JOBS        compilers at a time; set it beforehand to choose another number
# Needs no network once the packages are installed.

CAPSIM_ROOT="$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd -P)"
CAPSIM_BUILD_DIR="${CAPSIM_BUILD_DIR:-$CAPSIM_ROOT/build}"

# The one list of Debian and Ubuntu packages.
CAPSIM_PACKAGES=(
  # to build
  cmake ninja-build g++ pkgconf
  libeigen3-dev libboost-dev nlohmann-json3-dev libhdf5-dev
  pybind11-dev python3-dev
  # to run the Python package and the demonstration
  python3-numpy python3-h5py python3-matplotlib python3-pil
  # to test
  catch2 python3-pytest
)

# What only the tests of studies (sweeps, fits, notebooks, types, properties) need; tests/run.sh asks for it too.
# shellcheck disable=SC2034
CAPSIM_STUDY_PACKAGES=(
  python3-scipy python3-xarray python3-pandas python3-tqdm python3-h5netcdf python3-distributed
  python3-emcee python3-nbclient python3-ipykernel mypy python3-venv python3-pip python3-hypothesis python3-pytest-xdist
)

# What the documentation site needs; the stage `docs` asks for it.
# shellcheck disable=SC2034
CAPSIM_SITE_PACKAGES=(python3-sphinx python3-myst-parser furo libjs-katex)

capsim_say() { printf '%s\n' "-- $*" >&2; }

capsim_missing_packages() {
  local package
  for package in "${CAPSIM_PACKAGES[@]}"; do
    if [ "$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null)" != installed ]; then
      printf '%s\n' "$package"
    fi
  done
}

capsim_install_packages() {
  if ! command -v dpkg-query >/dev/null; then
    capsim_say "not a Debian or Ubuntu system: expecting the equivalents of ${CAPSIM_PACKAGES[*]}"
    return 0
  fi
  local missing
  mapfile -t missing < <(capsim_missing_packages)
  [ "${#missing[@]}" -eq 0 ] && return 0

  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo >/dev/null; then
      capsim_say "packages are missing, and this is neither root nor a system with sudo. As root, run:"
      capsim_say "  apt-get update && apt-get install --no-install-recommends ${missing[*]}"
      return 1
    fi
    as_root=(sudo)
  fi
  capsim_say "installing ${missing[*]}"
  local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=600)
  local attempt lock
  # Stages that run side by side install one after the other.
  mkdir -p "$CAPSIM_BUILD_DIR"
  exec {lock}>"$CAPSIM_BUILD_DIR/install.lock"
  flock "$lock"
  for attempt in 1 2 3; do
    # A failed update need not matter: the package lists at hand may do.
    "${apt[@]}" update >&2 || capsim_say "could not update the package lists"
    "${apt[@]}" install -y --no-install-recommends "${missing[@]}" </dev/null >&2 && { exec {lock}>&-; return 0; }
    [ "$attempt" -lt 3 ] && sleep 10
  done
  exec {lock}>&-
  capsim_say "could not install ${missing[*]}"
  return 1
}

# Prints the path of the interpreter $1 when it has all that the package and its tests import,
# and headers to compile against. NumPy 2 is served by pybind11 2.12 and newer only.
capsim_usable_python() {
  "$1" - "$(dpkg-query -W -f='${Version}' pybind11-dev 2>/dev/null)" 2>/dev/null <<'PYTHON'
import os, re, sys, sysconfig
import h5py, matplotlib, numpy, PIL, pytest
pybind11 = tuple(int(n) for n in re.findall(r"\d+", sys.argv[1])[:2])
if int(numpy.__version__.split(".")[0]) >= 2 and pybind11 and pybind11 < (2, 12):
    sys.exit(1)
if not os.path.exists(os.path.join(sysconfig.get_path("include"), "Python.h")):
    sys.exit(1)
print(sys.executable)
PYTHON
}

# The first that serves of: the active virtual environment, `python3` on the path, the system's.
capsim_choose_python() {
  local wish="${CAPSIM_PYTHON:-}" candidate found
  local candidates=(python3 /usr/bin/python3)
  [ -n "${VIRTUAL_ENV:-}" ] && candidates=("$VIRTUAL_ENV/bin/python" "${candidates[@]}")
  [ -n "$wish" ] && candidates=("$wish")
  for candidate in "${candidates[@]}"; do
    if found="$(capsim_usable_python "$candidate")" && [ -n "$found" ]; then
      export CAPSIM_PYTHON="$found"
      return 0
    fi
  done
  capsim_say "no usable Python among: ${candidates[*]}"
  capsim_say "it must import numpy, h5py, matplotlib, PIL and pytest, and have its headers (Python.h)"
  return 1
}

# Compilers at a time: one for each core, but no more than memory holds (1.5 GB for each).
capsim_choose_jobs() {
  [ -n "${CAPSIM_JOBS:-}" ] && return 0
  local cores memory_kb limit
  cores="$(nproc 2>/dev/null || echo 1)"
  memory_kb="$(awk '/^MemAvailable:/ {print $2}' /proc/meminfo 2>/dev/null)"
  memory_kb="${memory_kb:-1500000}"
  limit="$(cat /sys/fs/cgroup/memory.max 2>/dev/null)"
  case "$limit" in
    '' | *[!0-9]*) ;;
    *) [ $((limit / 1024)) -lt "$memory_kb" ] && memory_kb=$((limit / 1024)) ;;
  esac
  CAPSIM_JOBS=$((memory_kb / 1500000))
  [ "$CAPSIM_JOBS" -gt "$cores" ] && CAPSIM_JOBS="$cores"
  [ "$CAPSIM_JOBS" -lt 1 ] && CAPSIM_JOBS=1
  return 0
}

capsim_configure() {
  local fresh=() cache="$CAPSIM_BUILD_DIR/CMakeCache.txt"
  # A build folder that came along with a copied or moved repository knows only the old place.
  if [ -f "$cache" ] && { ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$CAPSIM_ROOT" "$cache" ||
                          ! grep -qx 'CMAKE_GENERATOR:INTERNAL=Ninja' "$cache"; }; then
    fresh=(--fresh)
  fi
  cmake "${fresh[@]}" -S "$CAPSIM_ROOT" -B "$CAPSIM_BUILD_DIR" -G Ninja \
    -DCMAKE_BUILD_TYPE=Release -DPython_EXECUTABLE="$CAPSIM_PYTHON" \
    -DCAPSIM_BUILD_TESTS=ON -DCAPSIM_BUILD_PYTHON=ON
}

# Long output goes to a log; it is shown when something goes wrong.
capsim_logged() {
  local log="$CAPSIM_BUILD_DIR/$1.log"
  shift
  if [ -n "${CAPSIM_VERBOSE:-}" ]; then
    "$@" >&2
  elif ! "$@" >"$log" 2>&1; then
    tail -n 200 "$log" >&2
    capsim_say "failed; the whole output is in $log"
    return 1
  fi
}

capsim_build() {
  cmake --build "$CAPSIM_BUILD_DIR" --parallel "$CAPSIM_JOBS" --target "$@"
}

capsim_prepare() {
  local targets=("$@")
  [ "${#targets[@]}" -eq 0 ] && targets=(all)
  capsim_install_packages || return 1
  capsim_choose_python || return 1
  capsim_choose_jobs
  mkdir -p "$CAPSIM_BUILD_DIR" || return 1
  CAPSIM_BUILD_DIR="$(cd "$CAPSIM_BUILD_DIR" && pwd -P)"
  capsim_say "building in $CAPSIM_BUILD_DIR ($CAPSIM_JOBS at a time, Python: $CAPSIM_PYTHON)"
  capsim_logged configure capsim_configure || return 1
  capsim_logged build capsim_build "${targets[@]}" || return 1
  export PYTHONPATH="$CAPSIM_BUILD_DIR/python${PYTHONPATH:+:$PYTHONPATH}"
  export MPLBACKEND="${MPLBACKEND:-Agg}"
}
