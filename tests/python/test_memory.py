# SPDX-License-Identifier: BSD-3-Clause
"""Memory stays flat over many runs, whether they end well, badly or half-way."""

import sys

import pytest

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc: memory was not measured")

# Allocators keep what they were given back; a leak of a tenth of one run's arrays would pass this after 1,000 runs.
FLAT = 0.05

SCRIPT = """
import gc, sys
import capsim

def resident():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1])

eye = capsim.Scenario(name="invented eye", mesh={"around": 12, "radial": 2}, duration_days=4, output_every_days=1,
                      events=[{"day": 2, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}])
plain = eye.with_(events=[], duration_days=2).to_dict()
wrong = {**plain, "duration_days": -1}
kept = []

def runs(count):
    for number in range(count):
        kind = number % 5
        if kind == 0:
            history = capsim.simulate(eye)
            history.outline_mm(-1).sum(), capsim.outcomes(history), history.zonule_load_mN.sum(), history.cuts
        elif kind == 1:
            history = capsim.simulate(plain, progress=lambda progress: None)
        elif kind == 2:
            history = capsim.simulate(plain, progress=lambda progress: False)
            assert history.status == "cancelled"
        elif kind == 3:
            try:
                history = capsim.simulate(wrong)
            except capsim.ScenarioError as error:
                assert error.violations
        else:
            history = capsim.simulate(plain)
            arrays = [history.array(name) for name in history.names]
            history = arrays
        if keep:
            kept.append(history)
    gc.collect()

keep = sys.argv[1] == "keep"
runs(200)
seen = [resident()]
for _ in range(int(sys.argv[2])):
    runs(100)
    seen.append(resident())
print(*seen)
"""


def test_resident_memory_is_flat_over_a_thousand_runs(python):
    seen = [int(number) for number in python(SCRIPT, "drop", 10, timeout=600).split()]
    assert len(seen) == 11
    assert max(seen) <= (1 + FLAT) * seen[0], seen


def test_kept_histories_would_be_seen(python):
    """The measurement above can fail: the same runs with their results held need more than it allows."""
    seen = [int(number) for number in python(SCRIPT, "keep", 3, timeout=600).split()]
    assert max(seen) > (1 + FLAT) * seen[0], seen
