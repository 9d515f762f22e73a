# SPDX-License-Identifier: BSD-3-Clause
"""No circles in TypeScript: files can be read in an order in which each needs earlier ones only.

Imports of types alone (`import type`) count as well: nothing runs by them, but a reader follows them. The same of the package is in
`test_package.py`.
"""

import graphlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NAMED = re.compile(r'^(?:import|export)\s+(?:[^;"]*?\sfrom\s+)?"(\.[^"]+)"|\bimport\(\s*"(\.[^"]+)"', re.M)


def needs_of(folder):
    needs = {}
    for path in folder.rglob("*.ts"):
        named = (first or second for first, second in NAMED.findall(path.read_text(encoding="utf-8")))
        others = ((path.parent / one).resolve().with_suffix(".ts") for one in named)
        needs[path.resolve()] = {other for other in others if other.exists()}
    return needs


@pytest.mark.parametrize("folder", ["examples/classroom/src", "bindings/web/src"])
def test_files_have_an_order(folder):
    needs = needs_of(ROOT / folder)
    assert sum(map(len, needs.values())) > len(needs)  # imports were found
    assert len(list(graphlib.TopologicalSorter(needs).static_order())) == len(needs)


@pytest.mark.parametrize(
    "back",
    [
        'import { a } from "./a.js";',
        'import type { A } from "./a.js";',
        'import {\n  type A,\n  type B,\n} from "./a.js";',
        'export type * from "./a.js";',
        'type A = import("./a.js").A;',
    ],
)
def test_every_kind_of_import_closes_a_circle(tmp_path, back):
    (tmp_path / "a.ts").write_text('import { b } from "./b.js";\n')
    (tmp_path / "b.ts").write_text(f"{back}\n")
    with pytest.raises(graphlib.CycleError):
        graphlib.TopologicalSorter(needs_of(tmp_path)).prepare()
