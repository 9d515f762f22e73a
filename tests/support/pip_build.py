# SPDX-License-Identifier: BSD-3-Clause
"""What pip is given to compile the package: a clean copy of the sources, and surroundings in which ccache finds what was compiled."""

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BESIDE_THE_SOURCES = "--config-settings=build-dir=build"  # see `surroundings`
PATIENCE_S = 3600  # other work may use the cores


def run(*command, **options):
    """What a command prints; it has to succeed."""
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=PATIENCE_S, **options)
    assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
    return done.stdout


def surroundings():
    """What pip and the compiler are told: no Python path of the build folder, all cores, ccache where there is one.

    To ccache a compiler is its name, and a file what its path is from the build folder: pip's builds and the repository's own have
    `c++` and `../libcapsim`.
    """
    values = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")}
    values["CMAKE_BUILD_PARALLEL_LEVEL"] = os.environ.get("CAPSIM_JOBS", str(os.cpu_count() or 1))
    if shutil.which("ccache"):
        values["CMAKE_CXX_COMPILER_LAUNCHER"] = "ccache"
        values["CCACHE_BASEDIR"] = tempfile.gettempdir()
        values.setdefault("CC", "cc")  # else the name that Python was compiled by
        values.setdefault("CXX", "c++")
    return values


def sources(folder):
    """The sources alone, in a folder; where it is."""
    ignore = shutil.ignore_patterns("__pycache__", "build", "build-*", "*.egg-info", "dist", "doc")
    shutil.copytree(ROOT / "libcapsim", folder / "libcapsim", ignore=ignore)
    shutil.copytree(ROOT / "bindings" / "python", folder / "bindings" / "python", ignore=ignore)
    shutil.copy2(ROOT / "LICENSE", folder / "LICENSE")
    return folder
