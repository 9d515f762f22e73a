# SPDX-License-Identifier: BSD-3-Clause
"""Plans side by side: front views on the same days, and their curves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ..errors import ArgumentError
from ..history import History
from . import palette
from .curves import Curves, Histories, as_list
from .front_view import FrontView, events_in_words, opening_in_words
from .key import draw_key, key_height
from .sheet import LINE_HEIGHT, MARGIN_IN, Sheet, cautions_for, height_of, wrapped

QUANTITIES = ("opening_area_mm2", "opening_decentration_mm", "zonule_load_max_mN")
POINTS = palette.LABEL_PT + 1
VIEW_IN, NARROWEST_IN, LABEL_COLUMN_IN, HEADER_INDENT_IN, DAY_IN = 3.35, 6.8, 0.42, 0.5, 0.3
CURVE_IN, CURVES_HIGH_IN = 3.4, 2.75
DAYS_ACROSS = 4  # of a single run


def shared_load_limit(histories: Sequence[History]) -> float:
    """The load that is drawn darkest in all views of these runs: the largest of any clock hour and day."""
    return max((float(np.max(history.zonule_load_mN)) for history in histories if len(history)), default=1.0) or 1.0


def header_lines(histories: Sequence[History], width_in: float, points: float) -> list[str]:
    """The scenario names as headings of columns, broken to `width_in`; the letter goes in front."""
    return [wrapped(history.scenario.name, width_in, points, lines=3, bold=True) for history in histories]


def header_height(histories: Sequence[History], column_in: float, points: float) -> float:
    """Inches that the headings need; none over a single run, whose name is the title."""
    if len(histories) == 1:
        return 0.05
    texts = header_lines(histories, column_in - HEADER_INDENT_IN, points)
    return max(text.count("\n") + 1 for text in texts) * points * LINE_HEIGHT / 72 + 0.12


def draw_headers(
    sheet: Sheet,
    histories: Sequence[History],
    lefts: Sequence[float],
    column_in: float,
    top: float,
    points: float,
    letters: Sequence[int],
) -> None:
    """Name over each column, and in front of it the letter of that number."""
    texts = header_lines(histories, column_in - HEADER_INDENT_IN, points)
    for number, left, text in zip(letters, lefts, texts):
        sheet.text(
            left,
            top,
            palette.plan_letter(number),
            va="top",
            fontsize=points + 3,
            fontweight="bold",
            color=palette.plan_colour(number),
        )
        sheet.text(left + 0.28, top, text, va="top", fontsize=points, fontweight="bold", linespacing=1.15)


def caption(history: History, row: int, day: float) -> str:
    """What stands under a small view: area and loss, and the day when it is not the one asked for."""
    words = opening_in_words(history, row, short=True)
    if history.event_side[row] > 0:
        words += ", after " + events_in_words(history, float(history.day[row]))
    if history.status != "completed" and day > history.day[-1] + 0.5:
        words += f"; the run stopped on day {history.day[row]:g}: {history.status}"
    elif abs(history.day[row] - day) > 0.5:
        words += f", on day {history.day[row]:g}"
    return words


def comparison(
    histories: Histories,
    days: Sequence[float] = (0, 90, 365),
    *,
    quantities: Sequence[str] = QUANTITIES,
    title: str | None = None,
) -> Any:
    """Plans side by side: a column for each run, a row of front views for each day, curves below.

    A single run has its days side by side. Darkness and width of the zonule mean the same load in
    all views. Returns the Matplotlib figure.

    >>> figure = capsim.plot.comparison([history, history], days=(0, 60))
    """
    runs, names = as_list(histories), list(quantities)
    wanted = [float(day) for day in days]
    if not wanted:
        raise ArgumentError("give at least one day")
    cells = [[(run, day) for run in runs] for day in wanted]
    if len(runs) == 1:
        cells = [
            [(runs[0], day) for day in wanted[first : first + DAYS_ACROSS]]
            for first in range(0, len(wanted), DAYS_ACROSS)
        ]
    across = len(cells[0])
    side = LABEL_COLUMN_IN if len(runs) > 1 else MARGIN_IN
    width = max(side + across * VIEW_IN + MARGIN_IN, NARROWEST_IN)
    view_wide = (width - side - MARGIN_IN) / across
    view_high = min(view_wide, 1.4 * VIEW_IN) * 0.92
    lefts = [side + number * view_wide for number in range(across)]
    texts = [[_caption(run, day, view_wide) for run, day in line] for line in cells]
    heights = [
        view_high + 0.08 + max(height_of(text, POINTS) for text in line) + (DAY_IN if len(runs) == 1 else 0)
        for line in texts
    ]
    head = header_height(runs, view_wide, POINTS + 1)
    curves_high, key = curves_height(names, width), key_height(width, runs, POINTS) + 0.18
    body = head + sum(heights) + curves_high + key
    sheet = Sheet(
        width, body, title if title is not None else heading(runs), cautions_for(runs), palette.TITLE_PT + 2, POINTS
    )
    limit = shared_load_limit(runs)
    if len(runs) > 1:
        draw_headers(
            sheet, runs, [left + 0.15 for left in lefts], view_wide, body - 0.02, POINTS + 1, list(range(len(runs)))
        )
    for left in lefts[1:]:
        sheet.rule(left, key + curves_high + 0.1, body)
    top = body - head
    for line, words, height in zip(cells, texts, heights):
        if len(runs) > 1:
            _day(sheet, line[0][1], 0.2, top - view_high / 2, 90)
        for left, (run, day), text in zip(lefts, line, words):
            low = top - view_high
            if len(runs) == 1:
                _day(sheet, day, left + view_wide / 2, top - DAY_IN / 2)
                low -= DAY_IN
            if len(run):
                FrontView(sheet.axes(left, low, view_wide, view_high), run, limit, POINTS - 1.5).show(run.row_at(day))
            sheet.text(left + view_wide / 2, low - 0.02, text, ha="center", va="top", fontsize=POINTS, linespacing=1.15)
        top -= height
    draw_curves(sheet, runs, names, key, POINTS)
    draw_key(sheet, runs, limit, POINTS)
    return sheet.figure


def curves_across(width_in: float) -> int:
    """How many curves fit beside one another on a sheet of that width."""
    return max(1, min(3, int(width_in // CURVE_IN)))


def curves_height(names: Sequence[str], width_in: float, high_in: float = CURVES_HIGH_IN) -> float:
    """Inches that the curves of these quantities need on a sheet of that width."""
    return -(-len(names) // curves_across(width_in)) * high_in


def draw_curves(
    sheet: Sheet,
    runs: Sequence[History],
    names: Sequence[str],
    bottom: float,
    points: float,
    high_in: float = CURVES_HIGH_IN,
    moving: bool = False,
) -> list[Curves]:
    """The curves of the quantities in lines that fill the sheet's width, the lowest line at `bottom`; not yet drawn when `moving`."""
    across = min(curves_across(sheet.width), max(len(names), 1))
    lines = -(-len(names) // across)
    wide = (sheet.width - MARGIN_IN) / across
    drawn = []
    for number, name in enumerate(names):
        low = bottom + (lines - 1 - number // across) * high_in
        axes = sheet.axes(number % across * wide + 0.62, low + 0.5, wide - 1.05, high_in - 0.92)
        drawn.append(Curves(axes, runs, name, points))
        if not moving:
            drawn[-1].draw()
    return drawn


def _day(sheet: Sheet, day: float, left: float, bottom: float, rotation: float = 0) -> None:
    sheet.text(
        left,
        bottom,
        f"day {day:g}",
        rotation=rotation,
        ha="center",
        va="center",
        fontsize=POINTS + 2,
        fontweight="bold",
    )


def _caption(run: History, day: float, wide: float) -> str:
    words = caption(run, run.row_at(day), day) if len(run) else f"no result: {run.status}"
    return wrapped(words, wide - 0.2, POINTS)


def heading(runs: Sequence[History]) -> str:
    """The title of a sheet when the user gives none."""
    return runs[0].scenario.name if len(runs) == 1 else f"{len(runs)} plans side by side"
