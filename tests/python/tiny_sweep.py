# SPDX-License-Identifier: BSD-3-Clause
"""The smallest sweep there is, for the tests of sweeps: its eye, its grid, and what tells two results apart."""

import capsim
import pytest

# An invented eye, as small as it gets: 10 ms for each run.
TINY = {"name": "invented eye, tiny", "eye": "right", "duration_days": 30, "mesh": {"around": 12, "radial": 2}}
GRID = {"opening.diameter_mm": [4.5, 5.0, 5.5], "zonule.strength": [0.3, 1.0]}


def grid_of(eye):
    """The sweep over the grid, with two series."""
    return capsim.sweep(eye, GRID, series=["zonule_load_mN", "opening_center_mm"], workers=1)


def identical(one, other):
    """Asserts that two sweeps are the same bits."""
    import xarray

    xarray.testing.assert_identical(one, other)
    for name in one.variables:
        if one[name].dtype != object:
            assert one[name].values.tobytes() == other[name].values.tobytes(), name


def never_run(monkeypatch):
    """From here on a run is a failure."""
    for place in ("capsim.sweeps.run.simulate", "capsim._core.run_rows"):
        monkeypatch.setattr(place, lambda *_: pytest.fail("a run was begun"))
