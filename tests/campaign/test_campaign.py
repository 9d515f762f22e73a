# SPDX-License-Identifier: BSD-3-Clause
"""Scenarios that once had no answer, and a small campaign: an answer, or an end that says why, within the budget of work."""

import json
import math
from pathlib import Path

import campaign
import capsim
import pytest
from random_eyes import STRATA, eye, quick, violated

FOUND = sorted(Path(__file__).with_name("found").glob("*.json"))
DEFAULT_WORK = 100  # about that of the default eye over a year, in factorizations; asserted below
MOST_WORK = 50 * DEFAULT_WORK
A_FEW = {"clinical": 220, "whole_range": 40, "corners": 40}  # eyes, short and coarse; see the page for whole runs
FIRST = 100_000  # numbers of their own
LEAST_COMPLETED = 0.95  # of those clinical eyes; the aim is 0.997


def names_its_cause(status: str, message: str) -> bool:
    """Whether an end tells what failed and where: the hour and the day, or the field to change."""
    if status == "completed":
        return True
    return ("o'clock" in message and "day" in message) or any(
        field in message for field in ("zonule.", "numerics.", "opening", "capsule")
    )


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_a_scenario_that_was_found_gets_an_answer_or_a_reason_within_the_budget(path):
    tree = json.loads(path.read_text())
    assert violated(tree) == []
    status, message, work, _ = campaign.ended(tree)
    assert names_its_cause(status, message), f"{status}: {message}"
    assert status in {"completed", "no_equilibrium", "folded_element", "too_much_work"}, f"{status}: {message}"
    assert 0 < work <= MOST_WORK * 1.1


@pytest.mark.parametrize("stratum", STRATA)
def test_a_few_eyes_of_each_stratum_end_with_a_reason_and_within_the_budget(stratum):
    ends = list(campaign.ends(stratum, range(FIRST, FIRST + A_FEW[stratum]), 1, short=True))
    assert [e.number for e in ends] == list(range(FIRST, FIRST + A_FEW[stratum]))
    for end in ends:
        assert end.status in {"completed", "no_equilibrium", "folded_element", "too_much_work", "step_too_small"}, end
        assert names_its_cause(end.status, end.message), end
        assert 0 < end.work <= MOST_WORK * 1.1, end
    if stratum == "clinical":
        completed = sum(end.status == "completed" for end in ends)
        assert completed >= LEAST_COMPLETED * len(ends), [e for e in ends if e.status != "completed"]


@pytest.mark.parametrize("stratum", STRATA)
def test_an_eye_is_a_function_of_stratum_and_number_and_valid(stratum):
    for number in range(40):
        tree = eye(stratum, number)
        assert tree == eye(stratum, number)
        assert violated(tree) == []
        assert violated(quick(tree)) == []
    assert eye(stratum, 1) != eye(stratum, 2)


def test_shrinking_leaves_what_makes_a_scenario_fail_and_nothing_else():
    tree = eye("clinical", 3)
    tree["zonule"]["strength"] = 0.123456
    small = campaign.shrunk(tree, lambda t: t.get("zonule", {}).get("strength", 1) < 0.13)
    assert small == {"format": "capsim-scenario", "version": 1, "name": "clinical-3", "zonule": {"strength": 0.12}}


def test_an_eye_that_brings_its_process_down_is_counted_as_crashed_and_the_others_go_on(monkeypatch):
    ends = list(campaign.ends("no such stratum", [], 1))
    assert ends == []
    monkeypatch.setattr(campaign, "run", _crash_at_2)
    ends = list(campaign.ends("clinical", [1, 2, 3], 2))
    assert [e.status for e in ends] == ["completed", "crashed", "completed"]
    assert math.isnan(ends[1].work)


def _crash_at_2(stratum: str, number: int, short: bool) -> campaign.End:
    if number == 2:
        import os

        os._exit(3)
    return campaign.End(stratum, number, "completed", "", 1.0, 0.0)


def test_the_page_is_the_one_of_its_record():
    assert campaign.PAGE.read_text() == campaign.page(json.loads(campaign.RECORD.read_text()))


def test_the_default_eye_takes_the_work_that_the_budget_is_measured_by():
    work = campaign.ended({"format": "capsim-scenario", "version": 1})[2]
    assert 0.3 * DEFAULT_WORK < work < 2 * DEFAULT_WORK
    assert capsim.Scenario().numerics.max_work == MOST_WORK
