# SPDX-License-Identifier: BSD-3-Clause
"""The page of credibility is what its record says, the record what comes out, and the bag with a meridian is a minimum."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no bag with a meridian")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "evidence"))

import credibility
import meridian

SAME = 0.002  # relative; another machine or compiler


@pytest.fixture(scope="module")
def record():
    return json.loads(credibility.RECORD.read_text(encoding="utf-8"))


def test_page_is_written_from_its_record(record):
    assert credibility.PAGE.read_text(encoding="utf-8") == credibility.text(record)


@pytest.mark.parametrize("name", ["middle eye", "the weak eye with four cuts"])
def test_record_is_what_comes_out_today(record, name):
    fresh = credibility.answers(name, {}, "coarse")
    assert fresh == pytest.approx(record["mesh"][name]["coarse"], rel=SAME)


def test_richardson_finds_order_and_limit_of_a_power():
    order, limit = credibility.limit(*(3 + 2 * h**1.7 for h in (1, 0.5, 0.25)))
    assert (order, limit) == (pytest.approx(1.7), pytest.approx(3))
    assert credibility.limit(1.0, 2.0, 1.5) == (None, 1.5)  # to and fro


def test_gradient_of_the_bag_with_a_meridian_is_that_of_its_energy():
    bag = meridian.Bag(meridian.Shape(10.0, 6.0, 0.5), 2.6, 5.1, 5.15)
    x = bag.first + np.random.default_rng(5).normal(0, 0.002, bag.first.size)
    _, gradient = bag.energy(x, 0.7)
    for i in (0, 1, 7, 2 * meridian.RINGS, len(x) - 2):
        ahead, behind = x.copy(), x.copy()
        ahead[i] += 1e-6
        behind[i] -= 1e-6
        slope = (bag.energy(ahead, 0.7)[0] - bag.energy(behind, 0.7)[0]) / 2e-6
        assert gradient[i] == pytest.approx(slope, rel=1e-5, abs=1e-5)


def test_caps_that_nothing_loads_sideways_come_to_lie_flat(monkeypatch):
    monkeypatch.setattr(meridian, "RINGS", 8)
    bag = meridian.Bag(meridian.Shape(10.0, 6.0), 2.6, 5.1, 5.15)
    unloaded = np.ptp(bag.first[1:18:2])
    _, _, x = bag.rest(0.6)
    assert unloaded > 0.9
    assert np.ptp(x[1:18:2]) < 0.01 * unloaded
