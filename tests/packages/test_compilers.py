# SPDX-License-Identifier: BSD-3-Clause
"""Compilers and their levels of optimisation agree on the areas of several eyes.

No flag lets a compiler reorder or contract sums, so that most often all digits are the same; what is promised is the
tolerance below.
"""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BUILD = Path(os.environ.get("CAPSIM_BUILD_DIR", ROOT / "build"))
PATIENCE_S = 3600  # other work may use the cores

# Of the area. Rounding moves an equilibrium by what its force tolerance (numerics.force_tolerance, 1e-6 of the largest
# force, and mm of the stated opening) leaves open.
TOLERANCE = 1e-6

WAYS = {"gcc -O2": ("gcc", "g++", "-O2"), "clang -O2": ("clang", "clang++", "-O2"), "gcc -O0": ("gcc", "g++", "-O0")}

PROJECT = """
cmake_minimum_required(VERSION 3.25)
project(areas LANGUAGES C CXX)
set(CAPSIM_RESULTS_FILE OFF)
add_subdirectory("{root}" capsim)
add_executable(areas "{root}/tests/packages/areas.cpp")
target_link_libraries(areas PRIVATE capsim::capsim)
target_compile_options(areas PRIVATE -ffp-contract=off)
"""


def said(*command):
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=PATIENCE_S)
    assert done.returncode == 0, f"{done.stdout[-3000:]}\n{done.stderr[-3000:]}"
    return done.stdout


def areas_of(program):
    """What the program prints: {(eye, day): area}."""
    return {(eye, float(day)): float(area) for eye, day, area in map(str.split, said(program).splitlines())}


def built(folder, c, cxx, flags):
    """The program, built with the library this way, in a folder that is kept."""
    source, build = folder / "project", folder / "build"
    source.mkdir(parents=True, exist_ok=True)
    (source / "CMakeLists.txt").write_text(PROJECT.format(root=ROOT), encoding="utf-8")
    compilers = [f"-DCMAKE_C_COMPILER={c}", f"-DCMAKE_CXX_COMPILER={cxx}", f"-DCMAKE_CXX_FLAGS={flags} -DNDEBUG"]
    said("cmake", "-S", source, "-B", build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=None", *compilers)
    said("cmake", "--build", build, "--parallel", os.environ.get("CAPSIM_JOBS", "1"), "--target", "areas")
    return build / "areas"


@pytest.fixture(scope="module")
def wanted():
    """As the build folder has it: -O3."""
    program = BUILD / "tests" / "capsim_areas"
    if not program.exists():
        pytest.skip(f"{program} is not built")
    return areas_of(program)


@pytest.mark.parametrize("way", WAYS)
def test_areas_agree_with_those_of_the_build_folder(way, wanted):
    c, cxx, flags = WAYS[way]
    if shutil.which(cxx) is None:
        pytest.skip(f"{cxx} is not installed here")
    got = areas_of(built(BUILD / "compilers" / way.replace(" ", "_"), c, cxx, flags))
    assert got.keys() == wanted.keys() and len({eye for eye, _ in got}) >= 5
    off = {key: abs(got[key] / wanted[key] - 1) for key in wanted}
    worst = max(off, key=off.get)
    same = sum(got[key] == wanted[key] for key in wanted)
    print(f"{way}: {same} of {len(wanted)} areas to the last digit, {worst} by {off[worst]:.2g} of it")
    assert off[worst] < TOLERANCE, f"{worst}: {got[worst]!r} and {wanted[worst]!r} with {way}"
