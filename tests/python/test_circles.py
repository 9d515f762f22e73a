# SPDX-License-Identifier: BSD-3-Clause
"""No circles in TypeScript: modules can be read in an order in which each needs earlier ones only.

Imports of types alone (`import type`) do not count: nothing runs by them. The same of the package is in `test_package.py`.
"""

import graphlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
VALUES = re.compile(r'^(?:import|export)\s+(?!type\b)(?:[^;"]*?\sfrom\s+)?"(\.[^"]+)"', re.M)


def needs_of(folder):
    needs = {}
    for path in (ROOT / folder).rglob("*.ts"):
        named = VALUES.findall(path.read_text(encoding="utf-8"))
        others = ((path.parent / one).resolve().with_suffix(".ts") for one in named)
        needs[path] = {other for other in others if other.exists()}
    return needs


@pytest.mark.parametrize("folder", ["examples/classroom/src", "bindings/web/src"])
def test_modules_have_an_order(folder):
    needs = needs_of(folder)
    assert sum(map(len, needs.values())) > len(needs) / 2  # imports were found
    assert len(list(graphlib.TopologicalSorter(needs).static_order())) >= len(needs)
