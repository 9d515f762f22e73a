# SPDX-License-Identifier: BSD-3-Clause
"""benchmarks/side_by_side.py starts its peer with the Python that it runs in; what that Python lacks it says first."""

import subprocess
import sys
from pathlib import Path

BENCHMARK = Path(__file__).resolve().parents[2] / "benchmarks" / "side_by_side.py"


def test_modules_that_the_peer_lacks_are_named_before_anything_is_measured(tmp_path):
    # Without the site's packages (-S) and those of the environment (-E) Python has neither NumPy nor SciPy.
    command = [sys.executable, "-E", "-S", BENCHMARK, tmp_path]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "needs numpy and scipy" in done.stderr
    assert "Traceback" not in done.stderr
