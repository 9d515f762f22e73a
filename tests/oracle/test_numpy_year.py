# SPDX-License-Identifier: BSD-3-Clause
"""A year of whole eyes against a program that shares the arrays of the mesh with the library and nothing else.

benchmarks/peers/numpy_year.py has its own kinematics, laws, equilibrium and integration in time (NumPy, SciPy's RK45 with
an equilibrium at each stage). CAPSIM_EXPORT_EYE names the program that writes an eye's arrays.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("scipy", reason="SciPy is not installed: the other program can't run")

PEER = Path(__file__).resolve().parents[2] / "benchmarks" / "peers" / "numpy_year.py"
# Both integrate to this; the area on any row then follows to some times as much.
TIME_TOLERANCE = 1e-5
SAME_AREA = 5e-5


def exported(eye):
    command = [os.environ["CAPSIM_EXPORT_EYE"], eye, "coarse", "1", str(TIME_TOLERANCE)]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def apart(arrays, folder):
    """Largest relative difference of the opening's area on any row. A process of its own has one BLAS thread."""
    (folder / "eye.json").write_text(json.dumps(arrays), encoding="utf-8")
    done = subprocess.run([sys.executable, PEER, folder / "eye.json"], check=True, capture_output=True, text=True)
    return json.loads(done.stdout)["largest_area_difference"]


@pytest.mark.parametrize("eye", ["default", "weak", "sector", "oval_off_centre", "lock_in"])
def test_a_year_of_an_eye_without_lens_is_that_of_another_program(eye, tmp_path):
    arrays = exported(eye)
    assert len(arrays["area_mm2"]) == 54
    lost = 1 - min(arrays["area_mm2"]) / arrays["area_mm2"][0]
    assert lost > 0.02  # there is a course to agree on
    assert apart(arrays, tmp_path) < SAME_AREA


def test_another_strength_of_the_tissue_is_noticed(tmp_path):
    arrays = exported("default")
    stiffness = arrays["tissue"]["fibre_stiffness_mN_per_mm"]
    arrays["tissue"]["fibre_stiffness_mN_per_mm"] = [1.01 * k for k in stiffness]
    assert apart(arrays, tmp_path) > SAME_AREA
