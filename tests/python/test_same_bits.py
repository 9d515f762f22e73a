# SPDX-License-Identifier: BSD-3-Clause
"""A scenario gives the same bits from Python and from C++, and in eight threads as in one."""

import copy
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import capsim
import pytest
from capsim import _core
from conftest import SMALL

# <build>/tests/capsim_run_scenario beside <build>/python/capsim; the Python files there are links, the compiled one is not.
PROGRAM = Path(_core.__file__).resolve().parents[2] / "tests" / "capsim_run_scenario"


def eye(**changes):
    return {**copy.deepcopy(SMALL), "mesh": {"around": 12, "radial": 2}, **changes}


EYES = {
    "with cuts": eye(),
    "ring, hours missing": eye(
        events=[], tension_ring={"wire_diameter_mm": 0.15}, zonule={"strength": 0.5, "strength_by_hour": {"4": 0.0}}
    ),
    "damaged later, off centre": eye(
        opening={"diameter_mm": 4.9, "center_mm": [0.2, -0.1]},
        lens=None,
        events=[{"day": 20, "zonule_damage": {"strength_by_hour": {"7": 0.1}}}],
    ),
    "another material": eye(
        events=[], capsule={"law": "fung"}, contraction={"chronic_signal": 0.2, "cells_left_by_hour": {"12": 0.1}}
    ),
}


def assert_same_bits(one, other):
    assert one.names == other.names
    for name in one.names:
        assert one.array(name).tobytes() == other.array(name).tobytes(), name
    assert (one.status, one.message, one.cuts) == (other.status, other.message, other.cuts)


@pytest.mark.skipif(
    not PROGRAM.exists(), reason=f"{PROGRAM.name} is not built (ninja {PROGRAM.name}): Python was not compared with C++"
)
@pytest.mark.parametrize("name", EYES)
def test_python_gives_the_bits_of_a_cpp_program(name, tmp_path):
    scenario = capsim.Scenario.from_dict(EYES[name])
    (tmp_path / "scenario.json").write_text(scenario.to_json(), encoding="utf-8")
    done = subprocess.run(
        [PROGRAM, "scenario.json", "result.h5"], cwd=tmp_path, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    from_cpp = capsim.load(tmp_path / "result.h5")
    assert from_cpp.opening_area_mm2[-1] != from_cpp.opening_area_mm2[0]
    assert_same_bits(capsim.simulate(scenario), from_cpp)


def test_eight_threads_give_the_bits_of_one():
    alone = {name: capsim.simulate(values) for name, values in EYES.items()}
    order = list(EYES) * 4  # every thread meets different eyes after one another
    with ThreadPoolExecutor(8) as threads:
        together = list(threads.map(lambda name: capsim.simulate(EYES[name]), order))
    for name, history in zip(order, together):
        assert_same_bits(history, alone[name])
