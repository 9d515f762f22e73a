# SPDX-License-Identifier: BSD-3-Clause
"""A sweep leaves the cores to its runs: Python costs little beside them, and two workers do not wait for one another.

In processor time, and in time that a thread was blocked: neither depends on who else uses the machine.
"""

import importlib.util
import math
from pathlib import Path

import pytest

pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
pytest.importorskip("scipy.stats", reason="SciPy is not installed: no samples for the sweep")

BENCHMARK = Path(__file__).resolve().parents[2] / "benchmarks" / "sweep_rate.py"
# What the runs may cost beside themselves, and what two workers may take from each other: 1.8 times the rate of one needs 10 %.
MOST_OF_PYTHON = 0.05
MOST_BLOCKED = 0.05


def test_python_costs_little_and_workers_do_not_block_one_another(capsys):
    spec = importlib.util.spec_from_file_location("sweep_rate", BENCHMARK)
    benchmark = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(benchmark)
    found = benchmark.main(["--runs", "24", "--blocks", "2"])
    said = capsys.readouterr().out
    assert found["completed"] == 1
    assert 0 < found["overhead"] < MOST_OF_PYTHON, said
    if math.isnan(found["blocked"]):
        pytest.skip(
            "this system does not tell how long threads are blocked: whether workers wait for one another was not measured"
        )
    assert found["blocked"] < MOST_BLOCKED, said
