# SPDX-License-Identifier: BSD-3-Clause
"""What holds for every eye, asked of a crowd of random clinical ones.

CAPSIM_CAMPAIGN_EYES says how many each invariant is asked of; a night's campaign takes 200. That all forces on an eye add up to
nothing is asked of random eyes in tests/cpp/test_properties.cpp.
"""

from __future__ import annotations

import os
import statistics
from concurrent.futures import ThreadPoolExecutor

import capsim
import numpy as np
import pytest
from random_eyes import Tree, eye, quick, turned

EYES = int(os.environ.get("CAPSIM_CAMPAIGN_EYES", "4"))
FIRST = 200_000  # numbers of their own
SAME_AREA = 2e-4  # relative: twice what the tolerance in time lets two ways to a day differ by
TIGHT_AREA = 5e-4  # against a ten times stricter tolerance in time
ROUNDING = 1e-9  # mm2; a cut that frees nothing


def crowd(first: int, count: int = EYES) -> list[Tree]:
    """Clinical eyes that run to their last day, short and coarse."""
    found: list[Tree] = []
    number = first
    while len(found) < count:
        tree = quick(eye("clinical", number))
        number += 1
        if capsim.simulate(tree).status == "completed":
            found.append(tree)
    return found


def areas(tree: Tree | capsim.Scenario) -> np.ndarray:
    history = capsim.simulate(tree)
    assert history.status == "completed", history.message
    return history.opening_area_mm2


@pytest.fixture(scope="module")
def eyes() -> list[Tree]:
    return crowd(FIRST)


def test_the_mirror_twin_has_the_same_areas(eyes):
    for tree in eyes:
        scenario = capsim.Scenario.from_dict(tree)
        np.testing.assert_allclose(areas(scenario.mirrored()), areas(scenario), rtol=SAME_AREA, err_msg=tree["name"])


def test_an_eye_turned_by_a_quarter_has_the_same_areas(eyes):
    for tree in eyes:
        np.testing.assert_allclose(areas(turned(tree, 3)), areas(tree), rtol=SAME_AREA, err_msg=tree["name"])


def test_a_run_is_the_beginning_of_a_longer_one(eyes):
    for tree in eyes:
        events = [event for event in tree["events"] if event["day"] <= 30]
        short, whole = capsim.simulate(tree | {"duration_days": 30, "events": events}), capsim.simulate(tree)
        rows = short.day < 30
        np.testing.assert_allclose(
            short.opening_area_mm2[rows], whole.opening_area_mm2[: rows.sum()], rtol=SAME_AREA, err_msg=tree["name"]
        )


def test_rows_more_often_change_nothing(eyes):
    for tree in eyes:
        often, seldom = capsim.simulate(tree | {"output_every_days": 5}), capsim.simulate(tree)
        common = [
            int(np.flatnonzero((often.day == day) & (often.event_side == side))[0])
            for day, side in zip(seldom.day, seldom.event_side, strict=True)
        ]
        np.testing.assert_allclose(
            often.opening_area_mm2[common], seldom.opening_area_mm2, rtol=SAME_AREA, err_msg=tree["name"]
        )


def test_a_stricter_tolerance_in_time_changes_little(eyes):
    for tree in eyes:
        strict = tree | {"numerics": {"time_tolerance": 0.1 * capsim.Scenario().numerics.time_tolerance}}
        np.testing.assert_allclose(areas(strict), areas(tree), rtol=TIGHT_AREA, err_msg=tree["name"])


def test_a_cut_never_lowers_the_area(eyes):
    cut = 0
    for tree in eyes:
        history = capsim.simulate(
            tree | {"events": [{"day": 30, "relaxing_cuts": {"hours": [2, 7], "length_mm": 0.5}}]}
        )
        assert history.status == "completed", history.message
        (after,) = np.flatnonzero(history.event_side == 1)
        assert history.opening_area_mm2[after] >= history.opening_area_mm2[after - 1] - ROUNDING, tree["name"]
        cut += 1
    assert cut == len(eyes)


def test_repetition_and_threads_change_no_bit(eyes):
    alone = [capsim.simulate(tree) for tree in eyes]
    with ThreadPoolExecutor(2) as pool:
        together = list(pool.map(capsim.simulate, reversed(eyes)))[::-1]
    for tree, one, other in zip(eyes, alone, together, strict=True):
        for name in one.names:
            assert one.array(name).tobytes() == other.array(name).tobytes(), (tree["name"], name)


def test_a_checkpoint_and_a_fork_go_on_to_the_same_bits(eyes):
    for tree in eyes:
        scenario = capsim.Scenario.from_dict(tree)
        simulation = capsim.Simulation(scenario)
        simulation.advance_to(25)
        fork, saved = simulation.copy(), simulation.checkpoint()
        restored = capsim.Simulation.restore(scenario, saved)
        ends = []
        for goes_on in (simulation, fork, restored):
            goes_on.advance_to(scenario.duration_days)
            ends.append(goes_on.history())
        for name in ends[0].names:
            bits = {end.array(name).tobytes() for end in ends}
            assert len(bits) == 1, (tree["name"], name)


def test_meshes_agree_on_area_and_place_of_the_lens(eyes):
    """Coarse against standard: the areas of most eyes to a hundredth, the lens to a hundredth of a millimetre."""
    off_area, off_lens = [], []
    for tree in eyes[: max(4, EYES // 2)]:
        coarse, standard = capsim.simulate(tree), capsim.simulate(tree | {"mesh": {"level": "standard"}})
        assert standard.status == "completed", standard.message
        off_area.append(abs(coarse.opening_area_mm2[-1] / standard.opening_area_mm2[-1] - 1))
        off_lens.append(float(np.hypot(*(coarse.lens_center_mm[-1] - standard.lens_center_mm[-1]))))
    assert statistics.median(off_area) < 0.01
    assert max(off_area) < 0.05
    assert max(off_lens) < 0.01
