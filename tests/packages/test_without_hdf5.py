# SPDX-License-Identifier: BSD-3-Clause
"""The library's own tests in a build without HDF5: all of them compile, link and pass."""

import os
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BUILD = Path(os.environ.get("CAPSIM_BUILD_DIR", ROOT / "build"))
PATIENCE_S = 3600  # other work may use the cores
WITHOUT = ["RESULTS_FILE", "BUILD_PYTHON", "BUILD_EXAMPLES", "BUILD_BENCHMARKS", "CARGO", "JAVAC"]


def test_tests_of_the_library_pass_in_a_build_without_hdf5():
    folder = BUILD / "without_hdf5"
    jobs = os.environ.get("CAPSIM_JOBS", "1")
    options = [f"-DCAPSIM_{part}=OFF" for part in WITHOUT] + ["-DCMAKE_DISABLE_FIND_PACKAGE_HDF5=ON"]
    for command in (
        ["cmake", "-S", ROOT, "-B", folder, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release", *options],
        ["cmake", "--build", folder, "--parallel", jobs],
        ["ctest", "--test-dir", folder, "--output-on-failure", "--no-tests=error", "--parallel", jobs],
    ):
        done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=PATIENCE_S)
        assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
