# SPDX-License-Identifier: BSD-3-Clause
"""`pip install ./bindings/python` from a clean copy, beside Debian's NumPy, and from a source distribution under the newest
Python of this machine beside the newest NumPy.

Compiles the library twice. Skipped where the package index can't be reached.
"""

import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import numpy
import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "support"))

import pip_build  # noqa: E402
import pythons  # noqa: E402
from pip_build import run  # noqa: E402

CHECK = """
import sys, tempfile, os
first, second = sys.argv[1].split(",")
__import__(first), __import__(second)
import capsim, h5py, numpy
scenario = capsim.Scenario(duration_days=10, output_every_days=5, mesh={"around": 12, "radial": 2})
history = capsim.simulate(scenario)
history.raise_if_failed()
folder = tempfile.mkdtemp()
history.save(os.path.join(folder, "result.h5"))
with h5py.File(os.path.join(folder, "other.h5"), "w") as file:
    file["x"] = numpy.arange(3.0)
    again = capsim.load(os.path.join(folder, "result.h5"))
assert again.opening_area_mm2.tobytes() == history.opening_area_mm2.tobytes()
table = capsim.sweep(scenario, {"opening.diameter_mm": [4.8, 5.2]}, outcomes=["area_loss_percent"], path=os.path.join(folder, "sweep.nc"))
assert (table["status"] == "completed").all()
print(capsim.__version__, numpy.__version__, capsim.__file__, sep="|")
"""


@pytest.fixture(scope="module")
def environment():
    return pip_build.surroundings()


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """The sources alone, in a folder with a space in its name."""
    return pip_build.sources(tmp_path_factory.mktemp("clean copy"))


@pytest.fixture(scope="module")
def venv(tmp_path_factory, environment):
    """Makes virtual environments: the path of their Python. Skips where nothing can be installed into them."""

    def make(*options, of=sys.executable):
        folder = tmp_path_factory.mktemp("environment") / "v"
        done = subprocess.run([of, "-m", "venv", *options, folder], capture_output=True, text=True)
        if done.returncode != 0:
            pytest.skip(
                f"no virtual environment can be made ({(done.stderr or done.stdout).strip()[-200:]}): pip was not tried"
            )
        python = folder / "bin" / "python"
        done = subprocess.run(
            [
                python,
                "-m",
                "pip",
                "install",
                "-q",
                "--retries",
                "1",
                "--timeout",
                "30",
                "--ignore-installed",
                "--no-deps",
                "build",
                "pyproject_hooks",
                "packaging",
            ],
            capture_output=True,
            text=True,
            env=environment,
        )
        if done.returncode != 0:
            pytest.skip(f"the package index can't be reached ({done.stderr.strip()[-200:]}): pip was not tried")
        return python

    return make


def installed_works(python, environment, tmp_path, orders):
    """Runs the check in both orders of import; version of capsim, of NumPy, and where capsim lies."""
    said = {run(python, "-c", CHECK, order, env=environment, cwd=tmp_path).strip() for order in orders}
    assert len(said) == 1
    version, of_numpy, place = said.pop().split("|")
    assert Path(place).resolve().is_relative_to(python.parent.parent.resolve()), place
    assert run(python.parent / "capsim", "--version", env=environment).split()[-1] == version
    return of_numpy


def test_pip_install_from_a_clean_copy_works_beside_the_numpy_of_the_system(copy, venv, environment, tmp_path):
    python = venv("--system-site-packages")
    before = {path.relative_to(copy) for path in copy.rglob("*")}
    run(
        python,
        "-m",
        "pip",
        "install",
        "-q",
        pip_build.BESIDE_THE_SOURCES,
        "--no-deps",
        copy / "bindings" / "python",
        env=environment,
        cwd=tmp_path,
    )
    assert {path.relative_to(copy) for path in copy.rglob("*")} == before, "the sources were changed"
    for package in ("xarray", "h5py", "scipy"):
        pytest.importorskip(package, reason=f"{package} is not installed beside the system's NumPy")
    assert installed_works(python, environment, tmp_path, ("capsim,h5py", "h5py,capsim")) == numpy.__version__


def test_source_distribution_builds_a_wheel_on_its_own_that_works_under_the_newest_python_beside_the_newest_numpy(
    copy, venv, environment, tmp_path
):
    version, newest_python = max(pythons.found().items(), default=(sys.version_info[:2], sys.executable))
    python = venv(of=newest_python)
    assert run(python, "-c", "import sys; print(sys.version_info[:2])", env=environment).strip() == str(tuple(version))
    run(python, "-m", "build", "--sdist", "--outdir", tmp_path / "dist", copy / "bindings" / "python", env=environment)
    (archive,) = (tmp_path / "dist").glob("capsim-*.tar.gz")
    with tarfile.open(archive) as file:
        names = file.getnames()
    assert any(name.endswith("libcapsim/src/run/simulation.cpp") for name in names) and any(
        name.endswith("LICENSE") for name in names
    )
    moved = tmp_path / "elsewhere"
    moved.mkdir()
    run(
        python,
        "-m",
        "pip",
        "wheel",
        "-q",
        pip_build.BESIDE_THE_SOURCES,
        "--no-deps",
        "--wheel-dir",
        moved,
        archive,
        env=environment,
        cwd=moved,
    )
    (wheel,) = moved.glob("capsim-*.whl")
    with zipfile.ZipFile(wheel) as file:
        names = file.namelist()
    assert {"capsim/py.typed", "capsim/_core.pyi", "capsim/plot/panels.py"} <= set(names)
    assert not [name for name in names if name.endswith((".a", ".hpp", ".cpp")) or "libcapsim" in name]
    run(python, "-m", "pip", "install", "-q", f"{wheel}[study,plot]", env=environment, cwd=moved)
    newest = installed_works(python, environment, tmp_path, ("capsim,h5py", "h5py,capsim"))
    assert int(newest.split(".")[0]) >= 2
