# SPDX-License-Identifier: BSD-3-Clause
"""The recipe for Conan makes a package that a program can be built with, from the headers and the HDF5 of the system."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 3600  # other work may use the cores

# What the system has stands in for packages that would have to be fetched and compiled. Not optimised: it is the recipe
# that is tried.
PROFILE = """
include(default)
[settings]
build_type=Debug
compiler.cppstd=20
[platform_requires]
eigen/3.4.0
boost/1.74.0
nlohmann_json/3.11.2
hdf5/1.10.8
"""


def run(*command, env):
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=PATIENCE_S, env=env)
    assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
    return done.stdout + done.stderr


@pytest.fixture(scope="module")
def recipe(tmp_path_factory):
    """The recipe in a copy of the sources, where it may leave what it builds."""
    folder = tmp_path_factory.mktemp("sources")
    ignore = shutil.ignore_patterns("__pycache__", "build", "build-*")
    for name in ("libcapsim", "bindings/c", "examples/embedding"):
        shutil.copytree(ROOT / name, folder / name, ignore=ignore)
    for name in ("CMakeLists.txt", "LICENSE"):
        shutil.copy2(ROOT / name, folder / name)
    return folder / "libcapsim" / "packaging" / "conan"


@pytest.fixture(scope="module")
def conan(tmp_path_factory):
    """Runs Conan from an environment of its own, with a home of its own. Skips where the index can't be reached."""
    folder = tmp_path_factory.mktemp("conan")
    env = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")}
    env["CONAN_HOME"] = str(folder / "home")
    try:
        subprocess.run([sys.executable, "-m", "venv", folder / "v"], check=True, capture_output=True)
        pip = [folder / "v" / "bin" / "python", "-m", "pip", "install", "-q", "--retries", "1", "--timeout", "30"]
        subprocess.run([*pip, "conan>=2.10,<3"], check=True, capture_output=True, env=env)
    except subprocess.CalledProcessError as error:
        pytest.skip(f"Conan can't be had here ({error.stderr.decode().strip()[-200:]})")

    def command(*words):
        return run(folder / "v" / "bin" / "conan", *words, env=env)

    command("profile", "detect")
    (folder / "profile").write_text(PROFILE, encoding="utf-8")
    command.profile = folder / "profile"
    return command


def test_recipe_makes_a_package_that_a_program_is_built_with(conan, recipe):
    said = conan("create", recipe, "--profile:all", conan.profile, "--build", "capsim/*")
    version = (ROOT / "CMakeLists.txt").read_text(encoding="utf-8").split("project(capsim VERSION ")[1].split()[0]
    assert f"capsim {version}: completed 10 days" in said
