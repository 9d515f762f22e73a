# SPDX-License-Identifier: BSD-3-Clause
"""Scenarios and runs that the tests share. The package is found through PYTHONPATH."""

import copy
import json
import signal
import subprocess
import sys

import capsim
import pytest
from invented_fit import fit_of_known_eye, invented_eye

# A shell that starts the tests in the background has them ignore interrupts, and their children, too;
# the tests of Ctrl-C need it back.
signal.signal(signal.SIGINT, signal.default_int_handler)

# An invented eye on a coarse mesh, with a relaxing cut: a short run that has all there is to see.
SMALL = {
    "format": "capsim-scenario",
    "version": 1,
    "name": "invented eye, small",
    "eye": "right",
    "duration_days": 60,
    "output_every_days": 10,
    "opening": {"diameter_mm": 5.0},
    "events": [{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}],
    "mesh": {"around": 24, "radial": 4},
}

# So many time steps that it never ends by itself while a test waits for it.
ENDLESS = {
    "format": "capsim-scenario",
    "version": 1,
    "name": "invented eye, endless",
    "duration_days": 3650,
    "output_every_days": 10,
    "mesh": {"around": 24, "radial": 4},
    "numerics": {"max_step_days": 0.01, "max_steps": 10000000, "max_work": 1e9},
}


@pytest.fixture
def small():
    """The values of a short run, free to be changed."""
    return copy.deepcopy(SMALL)


@pytest.fixture
def endless():
    """The values of a run that must be stopped."""
    return copy.deepcopy(ENDLESS)


@pytest.fixture(scope="session")
def history():
    """A completed run; histories can't be changed, so all tests share it."""
    run = capsim.simulate(copy.deepcopy(SMALL))
    run.raise_if_failed()
    return run


@pytest.fixture(scope="session")
def base():
    """The invented eye that tests of fits start from."""
    return invented_eye()


@pytest.fixture(scope="session")
def known_eye(base):
    """A fit of that eye, and the truth behind its data."""
    return fit_of_known_eye(base)


@pytest.fixture
def scenario_file(tmp_path, small):
    """The short run's scenario as a file, in a folder with a space in its name."""
    folder = tmp_path / "my scenarios"
    folder.mkdir()
    path = folder / "small.json"
    path.write_text(json.dumps(small), encoding="utf-8")
    return path


@pytest.fixture
def python():
    """Runs a script in a Python of its own: what it printed, or an assertion with what went wrong."""

    def run(script, *arguments, timeout=120):
        done = subprocess.run(
            [sys.executable, "-c", script, *map(str, arguments)], capture_output=True, text=True, timeout=timeout
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    return run
