# SPDX-License-Identifier: BSD-3-Clause
"""The published cohorts: tests/evidence/cohorts.csv, one row per arm and measure.

A row's role says what it may be used for: `calibrate` rows fix parameters, `validate` rows are only ever
compared with, `context` rows are background. Asking for a row in another role is an error, so a
validation row cannot slip into a fit.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

FILE = Path(__file__).resolve().parent.parent / "evidence" / "cohorts.csv"


@dataclass(frozen=True)
class Row:
    """One published row; numbers as printed in the source, None where it gives none."""

    id: str
    source: str
    arm: str
    eyes: str
    measure: str
    months: str
    value: float | None
    sd: float | None
    unit: str
    laser_percent: float | None
    role: str
    notes: str
    doi: str


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def rows() -> list[Row]:
    """All rows, in the order of the file."""
    with FILE.open(newline="", encoding="utf-8") as file:
        return [
            Row(
                r["id"],
                r["authors_year"],
                r["arm"],
                r["n_eyes"],
                r["measure"],
                r["time_months"],
                _number(r["value_mean"]),
                _number(r["value_SD"]),
                r["unit"],
                _number(r["capsulotomy_rate_percent"]),
                r["role"],
                r["notes"],
                r["doi_or_pmid"],
            )
            for r in csv.DictReader(file)
        ]


def row(id_: str, role: str, measure: str = "", months: str = "") -> Row:
    """The only row with this id, role, start of its measure and month. Raises LookupError when there is none or more."""
    found = [r for r in rows() if r.id == id_ and r.measure.startswith(measure) and months in ("", r.months)]
    wrong = [r for r in found if r.role != role]
    if wrong:
        raise LookupError(f"{id_} ({wrong[0].measure}) is a {wrong[0].role} row and may not be used to {role}")
    if len(found) != 1:
        raise LookupError(f"{len(found)} rows match {id_} {measure} {months}")
    return found[0]
