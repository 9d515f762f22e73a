# SPDX-License-Identifier: BSD-3-Clause
"""What can be asked of a run, as data: its outcomes and its series, each with unit and sentence."""

from __future__ import annotations

from dataclasses import dataclass

from . import _core
from .sweeps.quantities import known_outcomes


@dataclass(frozen=True)
class Described:
    """A named number or series.

    >>> print(capsim.outcome_names()["opening_area_mm2"])
    opening_area_mm2 [mm2]: ...
    """

    name: str
    """Its name, with the unit as its ending."""
    unit: str
    """Its unit, "mm2"; "1" for a plain number."""
    description: str
    """What it is, in one sentence."""

    def __str__(self) -> str:
        return f"{self.name} [{self.unit}]: {self.description}"


def outcome_names() -> dict[str, Described]:
    """Every outcome that a run can have, by its name.

    In a name ``{day}`` stands for the day of cuts: ``relief_day_90_mm2`` of those on day 90.

    >>> capsim.outcome_names()["area_loss_percent"].unit
    '%'
    """
    return {q.name: Described(q.name, q.unit, q.description) for q in known_outcomes().values()}


def series_names() -> dict[str, Described]:
    """Every series that a run can record, by its name.

    >>> capsim.series_names()["opening_area_mm2"].unit
    'mm2'
    """
    return {name: Described(name, unit, description) for name, unit, _, description in _core.observables()}
