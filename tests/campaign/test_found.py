# SPDX-License-Identifier: BSD-3-Clause
"""Eyes that once ended without an answer, too late or with the wrong reason, are answered.

Each was found in a campaign and shrunk; the files are those that `campaign.py --shrink` writes. Those that still end with a
reason instead of a result lie in `open`; they are far from any eye that is operated on.
"""

from __future__ import annotations

import json
from pathlib import Path

import capsim
import pytest
from campaign import ended

FOUND = sorted((Path(__file__).parent / "found").glob("*.json"))
OPEN = sorted((Path(__file__).parent / "open").glob("*.json"))
BUDGET = capsim.Scenario().numerics.max_work


def test_there_are_eyes_to_ask():
    assert len(FOUND) >= 5


@pytest.mark.parametrize("file", FOUND, ids=lambda file: file.stem)
def test_an_eye_that_was_found_is_answered(file):
    status, message, work, _ = ended(json.loads(file.read_text()))
    assert status == "completed", f"{message} (work {work:.0f})"
    assert work < BUDGET


@pytest.mark.parametrize("file", OPEN, ids=lambda file: file.stem)
def test_an_eye_without_an_answer_ends_with_a_reason(file):
    """None of them raises, and none takes much more than its budget."""
    status, message, work, _ = ended(json.loads(file.read_text()))
    assert status in ("completed", "no_equilibrium", "too_much_work"), message
    assert message
    assert work < 1.1 * BUDGET
