# SPDX-License-Identifier: BSD-3-Clause
"""Damaged files: read, or refused with an error of their own; a sealed one is never believed."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "fuzz"))
import capsim
import mutations

DAMAGED_FILES = {
    "visits": 1500,
    "sweep": 1000,
    "journal": 1000,
    "result": 1000,
    "scenario": 1000,
    "checkpoint": 1000,
}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("subject", sorted(DAMAGED_FILES))
def test_a_damaged_file_is_refused_or_read_and_never_anything_else(subject, tmp_path):
    wanted = DAMAGED_FILES[subject]
    assert mutations.tried(subject, tmp_path, 14, lambda count: count == wanted) == wanted


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("cells", ["1e309", "-1e400"])
def test_a_number_beyond_all_numbers_is_refused_in_a_visit(cells, tmp_path):
    areas, outline = tmp_path / "areas.csv", tmp_path / "outline.csv"
    areas.write_text(f"day,area_mm2\n0,{cells}\n")
    corners = "10 10;20 10;25 15;25 25;20 30;10 30;5 25;5 " + cells
    outline.write_text(f'day,outline_px,mm_per_px\n0,"{corners}",0.1\n')
    for path in (areas, outline):
        with pytest.raises(capsim.VisitsError, match="too large for"):
            capsim.read_visits(path)


def test_no_mutation_leaves_a_file_as_it_was():
    files = mutations.damaged([b"day,area_mm2\n0,21\n"], 3)
    assert all(next(files) != b"day,area_mm2\n0,21\n" for _ in range(500))
