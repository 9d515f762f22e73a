# SPDX-License-Identifier: BSD-3-Clause
"""Results as text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from ..history import History
from ..outcomes import Outcomes, outcomes

MILESTONE_DAYS = (0, 7, 30, 90, 180, 365)
CENTRAL_MM = 0.005  # nearer to the centre than is shown there is no direction
SIDES = {-1.0: "  just before event", 1.0: "  just after event"}


def report_of(history: History, result: Outcomes | None = None) -> str:
    """How a run went, the opening on a few days, flags and cautions."""
    result = outcomes(history) if result is None else result
    lines = [f"{history.scenario.name}: {history.status} ({history.message})", ""]
    lines += _table(history)
    lines += ["", *_summary(result)] if len(history) else []
    lines += ["", *flags_of(result)] if result.flags else []
    lines += ["", *map(wrapped, result.cautions)]
    return "\n".join(lines)


def flags_of(result: Outcomes) -> list[str]:
    """The flags, one in each item."""
    return [wrapped(f"! {flag}") for flag in result.flags]


def columns(rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells in columns, the first to the left, the others to the right."""
    table = [list(row) for row in rows]
    widths = [max(len(row[k]) for row in table) for k in range(len(table[0]))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if k == 0 else cell.rjust(width) for k, (cell, width) in enumerate(zip(row, widths))
        ).rstrip()
        for row in table
    )


def counted(count: int, noun: str) -> str:
    """``1 event``, ``2 events``"""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def wrapped(text: str) -> str:
    """In lines that fit a terminal."""
    return textwrap.fill(text, width=100, subsequent_indent="  ")


def _summary(result: Outcomes) -> list[str]:
    """What the run was made for: where opening and lens have gone, the largest load, what cuts gave back."""
    lines = []
    for what, words in (("opening", "opening off centre"), ("lens", "lens off centre")):
        if f"{what}_decentration_mm" not in result:
            continue
        off = result[f"{what}_decentration_mm"]
        towards = f" towards {result[f'{what}_decentration_hour']:.1f} o'clock" if off >= CENTRAL_MM else ""
        lines.append(f"{words}: {off:.2f} mm{towards}")
    lines.append(
        f"largest load: {result['zonule_load_max_mN']:.1f} mN at {result['zonule_load_max_hour']:.0f} o'clock, "
        f"day {result['zonule_load_max_day']:.0f}"
    )
    for name in result:
        if name.startswith("relief_day_") and name.endswith("_mm2"):
            day = name[len("relief_day_") : -len("_mm2")]
            lines.append(
                f"cuts of day {day} gave back {result[name]:+.2f} mm2 at once ({result[f'relief_day_{day}_percent']:+.0f} %); "
                f"on the last day {result[f'relief_kept_day_{day}_mm2']:+.2f} mm2 over the day of the cuts"
            )
    return lines


def _table(history: History) -> list[str]:
    """The opening on a few days: milestones, both sides of each event, and the last day reached."""
    lines = [f"{'day':>7}  {'area mm2':>9}  {'diameter mm':>11}  {'area loss %':>11}"]
    for row in _rows_to_show(history):
        area = history.opening_area_mm2[row]
        loss = 100 * (1 - area / history.opening_area_mm2[0])
        lines.append(
            f"{history.day[row]:7.1f}  {area:9.2f}  {history.opening_diameter_mm[row]:11.2f}  {loss:11.1f}"
            + SIDES.get(float(history.event_side[row]), "")
        )
    return lines


def _rows_to_show(history: History) -> list[int]:
    if len(history) == 0:
        return []
    last = float(history.day[-1])
    rows = {history.row_at(day) for day in MILESTONE_DAYS if day <= last}
    rows |= {row for row, side in enumerate(history.event_side) if side != 0}
    return sorted(rows | {len(history) - 1})
