# SPDX-License-Identifier: BSD-3-Clause
"""Colours stay apart for the colour-blind, and what they say is said a second time without colour.

Dichromatic vision is simulated after Vienot, Brettel and Mollon (1999), Color Research and Application 24:243; the
matrices are from memory. Distances are those of CIE L*a*b* (1976).
"""

import itertools

import numpy as np
import pytest
from capsim.plot import palette
from matplotlib.colors import to_rgb

TO_LMS = np.array([[17.8824, 43.5161, 4.11935], [3.45565, 27.1554, 3.86714], [0.0299566, 0.184309, 1.46709]])
SEEN_BY = {
    "everyone": np.eye(3),
    "protanopes": np.array([[0, 2.02344, -2.52581], [0, 1, 0], [0, 0, 1]]),
    "deuteranopes": np.array([[1, 0, 0], [0.494207, 0, 1.24827], [0, 0, 1]]),
}
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
# A difference of about 2.3 is just noticed side by side; lines and areas apart from one another need several times that.
APART = 10.0


def lab_seen(colour, simulation):
    """L*a*b* of a colour as those with that vision see it."""
    rgb = np.array(to_rgb(colour))
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.linalg.solve(TO_LMS, simulation @ TO_LMS @ linear).clip(0, 1)
    ratio = TO_XYZ @ seen / (TO_XYZ @ np.ones(3))
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one, other, simulation):
    return float(np.linalg.norm(lab_seen(one, simulation) - lab_seen(other, simulation)))


def test_the_simulation_takes_red_and_green_together():
    """Else the tests below could not fail."""
    red, green = "#D62728", "#6A7B16"
    assert distance(red, green, SEEN_BY["everyone"]) > 60
    assert min(distance(red, green, SEEN_BY[kind]) for kind in ("protanopes", "deuteranopes")) < 25
    for simulation in SEEN_BY.values():
        assert distance("#FFFFFF", "#FFFFFF", simulation) == 0
        assert lab_seen("#808080", simulation)[1:] == pytest.approx([0, 0], abs=2)  # grey stays grey


@pytest.mark.parametrize("kind", SEEN_BY)
def test_plans_stay_apart(kind):
    for one, other in itertools.combinations(palette.PLAN_COLOURS, 2):
        assert distance(one, other, SEEN_BY[kind]) > APART, (one, other)
    for colour in palette.PLAN_COLOURS:
        assert distance(colour, palette.PAPER, SEEN_BY[kind]) > APART


@pytest.mark.parametrize("kind", SEEN_BY)
def test_parts_of_the_eye_stay_apart(kind):
    for one, other in [
        (palette.TISSUE, palette.LEAF),
        (palette.RING, palette.LEAF),
        (palette.CUT, palette.TISSUE),
        (palette.RIM, palette.TISSUE),
        (palette.NO_LOAD, palette.FULL_LOAD),
        (palette.FULL_LOAD, palette.PAPER),
        (palette.OPTIC, palette.LEAF),
    ]:
        assert distance(one, other, SEEN_BY[kind]) > APART, (one, other)


def test_plans_differ_without_colour_too():
    count = len(palette.PLAN_COLOURS)
    assert len({str(palette.plan_dashes(number)) for number in range(count)}) == count
    assert len({palette.plan_letter(number) for number in range(count)}) == count
