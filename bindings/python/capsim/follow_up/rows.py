# SPDX-License-Identifier: BSD-3-Clause
"""Visits that were read, row by row, and what is wrong between rows: sides, days that are there twice, contradictions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from .events import LASER
from .outline import FloatArray
from .problems import VisitProblem
from .visits import Visits


@dataclass(frozen=True)
class Row:
    line: int
    eye_id: str | None
    eye: str | None
    day: float
    area_mm2: float
    measured_in: str
    sd_percent: float
    laser: bool | None
    event: str
    outline_mm: FloatArray | None


def one_side_each(rows: list[Row]) -> tuple[list[Row], list[VisitProblem]]:
    """The rows with a name for every eye, and where two sides go under one name."""
    problems = []
    sides_of: dict[str | None, dict[str, int]] = {}
    for row in rows:
        if row.eye is not None:
            sides_of.setdefault(row.eye_id, {}).setdefault(row.eye, row.line)
    for name, sides in sides_of.items():
        if name is not None and len(sides) > 1:
            (first, _), (second, line) = sides.items()
            text = f"{name} has {first} and {second} rows; give each eye a name of its own"
            problems.append(VisitProblem(line, "eye_id", f"{text}, such as {name} {first} and {name} {second}"))
    two_sides = len(sides_of.get(None, {})) > 1
    named = []
    for row in rows:
        if row.eye_id is None and two_sides and row.eye is None:
            problems.append(
                VisitProblem(row.line, "eye", "is it the right or the left eye? other rows have both sides")
            )
        own = (row.eye if two_sides else None) or "eye"
        named.append(row if row.eye_id is not None else replace(row, eye_id=own))
    return named, problems


def duplicates(rows: list[Row]) -> list[VisitProblem]:
    problems = []
    seen: dict[tuple[str | None, float], int] = {}
    for row in rows:
        first = seen.setdefault((row.eye_id, row.day), row.line)
        if first != row.line:
            problems.append(
                VisitProblem(row.line, "day", f"{row.eye_id} has a visit on day {row.day:g} already, in line {first}")
            )
    return problems


def doubled(rows: list[Row]) -> list[VisitProblem]:
    """Diameters that double from one visit to the next, with no event: an opening does not, a radius among them does."""
    problems = []
    for name in {row.eye_id: None for row in rows}:
        of_eye = sorted(
            (row for row in _marked(rows) if row.eye_id == name and math.isfinite(row.area_mm2)),
            key=lambda row: row.day,
        )
        for before, after in zip(of_eye, of_eye[1:]):
            factor = math.sqrt(after.area_mm2 / before.area_mm2)
            if 1.8 < factor < 2.2 and not after.laser and not before.event and not after.event:
                problems.append(
                    VisitProblem(
                        before.line,
                        before.measured_in,
                        f"the opening would be {factor:.2f} times as wide at the next visit "
                        f"(line {after.line}); this looks like a radius where a diameter is meant",
                    )
                )
    return problems


def _marked(rows: list[Row]) -> list[Row]:
    """The rows with those after a laser marked: from the first one that says so on."""
    since: dict[str | None, float] = {}
    for row in rows:
        if row.laser or row.event == LASER:
            since[row.eye_id] = min(row.day, since.get(row.eye_id, math.inf))
    return [replace(row, laser=row.day >= since.get(row.eye_id, math.inf)) for row in rows]


def contradictions(rows: list[Row]) -> list[VisitProblem]:
    """Visits that say they are not after a laser, when an earlier one was."""
    return [
        VisitProblem(row.line, "after_laser", "says no, but an earlier visit of this eye was after a laser")
        for row, marked in zip(rows, _marked(rows))
        if marked.laser and row.laser is False
    ]


def visits_of(rows: list[Row], notices: list[VisitProblem]) -> Visits:
    marked = _marked(rows)
    return Visits(
        [row.day for row in marked],
        [row.area_mm2 for row in marked],
        eye_id=[row.eye_id or "eye" for row in marked],
        eye=[row.eye for row in marked],
        sd_percent=[row.sd_percent for row in marked],
        after_laser=[bool(row.laser) for row in marked],
        event=[row.event for row in marked],
        notices=notices,
        line=[row.line for row in marked],
        outlines_mm=[row.outline_mm for row in marked],
    )
