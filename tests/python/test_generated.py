# SPDX-License-Identifier: BSD-3-Clause
"""Declarations of the bindings are those that the library's lists give."""

import dataclasses
import subprocess
import sys
from pathlib import Path

import capsim
import pytest
from capsim import _core
from capsim.recorded import STATUSES, RecordedSeries
from capsim.units import unit_of

ROOT = Path(__file__).resolve().parents[2]


def test_declarations_are_those_of_the_lists():
    done = subprocess.run(
        [sys.executable, ROOT / "bindings" / "generate.py", "--check"], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, f"write them anew with bindings/generate.py:\n{done.stdout}{done.stderr}"


@pytest.fixture(scope="module")
def everything():
    """A run in which every series is recorded."""
    return capsim.simulate(
        {
            "format": "capsim-scenario",
            "version": 1,
            "mesh": {"around": 12, "radial": 2},
            "duration_days": 0,
            "tension_ring": {},
            "events": [{"day": 0, "relaxing_cuts": {"hours": [12, 6]}}],
        }
    )


def test_a_run_with_everything_records_the_whole_list_in_its_order(everything):
    assert everything.names == [name for name, *_ in _core.observables()]
    for name, unit, axis, sentence in _core.observables():
        assert (everything.unit(name), everything.axis(name), everything.description(name)) == (unit, axis, sentence)


def test_every_series_of_the_list_is_declared(everything):
    declared = RecordedSeries.__annotations__
    assert list(declared) == everything.names  # in the order of the list
    for name in declared:
        assert len(getattr(everything, name)) == len(everything)


def test_axis_tells_the_number_of_columns(everything):
    columns = {"one": 1, "xy": 2, "clock_hour": 12, "pupil": 3, "cut": 2}
    for name in everything.names:
        values = everything.array(name)
        wide = values.shape[1] if values.ndim == 2 else 1
        axis = everything.axis(name)
        assert wide == columns[axis] if axis in columns else wide % 2 == 0 and wide >= 8, name


def test_diagnostics_have_all_fields_of_the_list(everything):
    fields = [field.name for field in dataclasses.fields(everything.diagnostics)]
    assert fields == [name for name, *_ in _core.diagnostic_fields()]
    for name, _, is_count, _ in _core.diagnostic_fields():
        assert isinstance(getattr(everything.diagnostics, name), int if is_count else float)


def test_status_of_a_run_is_in_the_list(everything):
    assert everything.status in STATUSES


def test_pupils_in_the_sentence_are_those_of_the_list(everything):
    for size in _core.pupil_diameters_mm:
        assert f"{size:.1f}" in everything.description("pupil_clear_fraction")


def test_names_of_series_and_outcomes_tell_their_units():
    known = [*_core.observables(), *_core.known_outcomes()]
    assert len(known) > 80
    for name, unit, *_ in known:
        assert unit_of(name) == unit, name


def test_known_outcomes_are_those_of_a_run_with_everything(everything):
    names = [name.replace("{day}", "0") for name, *_ in _core.known_outcomes()]
    found = list(capsim.outcomes(everything))
    assert [name for name in names if name in found] == found  # in the order of the list
    assert set(names) - set(found) == {
        "runaway_margin",
        *(n for n in names if n.startswith("area_loss_") and "d_" in n),
    } | {n for n in names if n.endswith("_nasal_mm")}
