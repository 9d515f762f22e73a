# SPDX-License-Identifier: BSD-3-Clause
"""Of a crowd of random clinical eyes nearly all are answered, and none takes much more than most.

The aims are those of the page of the campaign, which counts whole runs of more eyes. Here each eye is on the coarse mesh for
sixty days.
"""

from __future__ import annotations

import os
import statistics
from concurrent.futures import ThreadPoolExecutor

import pytest
from campaign import ended
from random_eyes import eye, quick

FIRST = 300_000  # numbers of their own
MOST_UNANSWERED = 1  # 99.7 % are asked for
MOST_WORK = 20  # of 99 in 100 eyes, over the median


@pytest.mark.parametrize(("stratum", "eyes"), [("clinical", 300), ("whole_bag", 100)])
def test_nearly_all_eyes_are_answered_and_none_takes_much_more_work_than_most(stratum, eyes):
    trees = [quick(eye(stratum, FIRST + k)) for k in range(eyes)]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        ends = list(pool.map(ended, trees))
    unanswered = [
        f"{tree['name']}: {message}" for tree, (status, message, *_) in zip(trees, ends) if status != "completed"
    ]
    assert len(unanswered) <= MOST_UNANSWERED, "\n".join(unanswered)
    work = sorted(work for _, _, work, _ in ends)
    assert work[int(0.99 * eyes)] <= MOST_WORK * statistics.median(work), work[-5:]
